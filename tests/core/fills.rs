//! Fills, phrases and endings. What a drummer does with them is common practice, no source; that the
//! rules hold for every setting is the project's own promise.

use crate::brute_force::{Blow, two_hands_and_two_feet};
use crate::support::*;
use fourlimb::export::text_chart;
use fourlimb::groove::{Call, Fill, Hit, Part, Request, StrokeTarget, compose_with, vocabulary};
use fourlimb::kit::Piece;
use fourlimb::settings::{BarSettings, Play, Player, Settings, StrokeSettings};
use fourlimb::time::tempo::ticks_per_second;
use fourlimb::time::{Meter, Ticks};
use proptest::prelude::*;
use std::collections::BTreeSet;

fn settings(style: &str) -> Settings {
    let mut settings = Settings::default();
    settings.bar_settings.style = vocabulary::slot(style).unwrap();
    settings.bar_settings.fill_chance = 1.0;
    settings.bar_settings.feel = 0.0;
    settings.stroke_settings.intensity = 0.8;
    settings
}

fn meter(text: &str) -> Meter {
    text.parse().unwrap()
}

/// Where and what a fill strikes, from its start on.
fn notes(part: &Part, stroke_settings: &StrokeSettings) -> Vec<(Ticks, Piece)> {
    let fill = part.fill().unwrap();
    let mut notes: Vec<_> = part
        .hits(stroke_settings)
        .filter(|hit| (fill.start..fill.end).contains(&hit.tick))
        .map(|hit| (hit.tick - part.bar().end(), hit.piece))
        .collect();
    notes.sort_unstable();
    notes
}

/// The fills that end `n` phrases of four bars.
fn fills(settings: &Settings, meter: Meter, bpm: f64, n: i64) -> Vec<Vec<(Ticks, Piece)>> {
    (1..=n)
        .map(|i| {
            notes(
                &part(bar(i * 4 - 1, meter), bpm, &settings.bar_settings),
                &settings.stroke_settings,
            )
        })
        .collect()
}

#[test]
fn one_setting_has_sixty_different_fills() {
    for style in [
        "rock",
        "half-time",
        "double-kick",
        "gallop",
        "syncopated groove",
        "breakdown",
    ] {
        for bpm in [90.0, 140.0, 190.0] {
            let found: BTreeSet<_> = fills(&settings(style), Meter::FOUR_FOUR, bpm, 200)
                .into_iter()
                .collect();
            assert!(found.len() >= 60, "{style} at {bpm}: {}", found.len());
        }
    }
}

/// For every beat and however loud: neighbouring phrases end differently.
#[test]
fn no_two_neighbouring_fills_are_the_same() {
    let mut same = Vec::new();
    for style in 0..BEATS {
        for bpm in [80.0, 140.0, 220.0] {
            for name in ["4/4", "3/4", "6/8", "7/8"] {
                let mut settings = settings("rock");
                settings.bar_settings.style = style;
                for intensity in [0.3, 0.9] {
                    settings.stroke_settings.intensity = intensity;
                    let fills = fills(&settings, meter(name), bpm, 25);
                    let beat = settings.bar_settings.beat().name();
                    for (i, pair) in fills.windows(2).enumerate() {
                        if pair[0] == pair[1] {
                            same.push(format!("{beat} {name} {bpm} phrase {i} {intensity}"));
                        }
                    }
                }
            }
        }
    }
    assert!(
        same.is_empty(),
        "{} pairs are the same: {same:#?}",
        same.len()
    );
}

fn places() -> impl Strategy<Value = (Meter, f64, BarSettings, StrokeSettings, i64)> {
    (likely_meters(), bpms(), plans(), moments(), 0..400_i64).prop_map(
        |(meter, bpm, bar_settings, stroke_settings, phrase)| {
            let bar_settings = BarSettings {
                fill_chance: 1.0,
                play: Play::Beat,
                ..bar_settings
            };
            let last = (phrase + 1) * bar_settings.phrase.bars() - 1;
            (meter, bpm, bar_settings, stroke_settings, last)
        },
    )
}

/// The limbs of two bars can be had, by trial and error.
fn can_be_played(bar_settings: &BarSettings, bpm: f64, hits: &[Hit]) -> bool {
    let first = hits.first().map_or(0, |hit| hit.tick);
    let ms = |tick: Ticks| (tick - first) as f64 / ticks_per_second(bpm) * 1000.0;
    let blows: Vec<Blow> = hits.iter().map(|hit| (ms(hit.tick), hit.piece)).collect();
    two_hands_and_two_feet(bar_settings.player, &blows)
}

proptest! {
    #![proptest_config(cases(192))]

    /// A fill ends with its bar, and the next 1 has a kick; a long fill ends on a crash or china.
    #[test]
    fn a_fill_ends_on_time_and_lands_on_the_1((meter, bpm, bar_settings, stroke_settings, last) in places()) {
        // In shorter bars one limb may have no time for two 1s.
        prop_assume!(meter.bar_len() >= 1920);
        let (filled, next) = (part(bar(last, meter), bpm, &bar_settings), part(bar(last + 1, meter), bpm, &bar_settings));
        let fill = filled.fill().unwrap();
        prop_assert_eq!(fill.end, filled.bar().end());
        prop_assert!(fill.start >= filled.bar().start);
        let starts = meter.counts().iter().any(|count| count.start == fill.start - filled.bar().start);
        prop_assert!(starts, "a fill begins on a count");
        let on_1: Vec<_> = next.hits(&stroke_settings).filter(|hit| hit.grid == next.bar().start).map(|hit| hit.piece).collect();
        let crash = [Piece::CrashLeft, Piece::CrashRight, Piece::China];
        let short = meter.counts().iter().filter(|count| count.start >= fill.start - filled.bar().start).count() < 3;
        prop_assert!(short || on_1.iter().any(|piece| crash.contains(piece)), "{on_1:?}");
        prop_assert!(on_1.contains(&Piece::Kick), "{on_1:?}");
    }

    /// The fill and the bars around it, at any intensity, are for two hands and two feet.
    #[test]
    fn a_fill_can_be_played((meter, bpm, bar_settings, stroke_settings, last) in places()) {
        prop_assume!(meter.bar_len() >= 960);
        let parts = [last - 1, last, last + 1].map(|i| part(bar(i, meter), bpm, &bar_settings));
        let mut hits: Vec<_> = parts.iter().flat_map(|part| part.hits(&stroke_settings)).collect();
        let near = |hit: &Hit| (hit.tick - parts[1].bar().start).abs() < 5 * 3840;
        hits.retain(near);
        prop_assert!(can_be_played(&bar_settings, bpm, &hits), "{}", parts[1].fill().unwrap());
    }

    /// Louder adds strokes to a fill and takes none away.
    #[test]
    fn intensity_only_adds_strokes_to_a_fill(
        (meter, bpm, bar_settings, stroke_settings, last) in places(),
        (a, b) in (0.0..=1.0_f32, 0.0..=1.0_f32),
    ) {
        let part = part(bar(last, meter), bpm, &bar_settings);
        let at = |intensity| {
            let stroke_settings = StrokeSettings { intensity, ..stroke_settings };
            let hits = part.hits(&stroke_settings).map(|hit| (hit.tick, hit.limb));
            hits.collect::<BTreeSet<_>>()
        };
        prop_assert!(at(a.min(b)).is_subset(&at(a.max(b))));
    }

    /// Grace notes come just before a stroke of the other hand on the same piece, and softer.
    #[test]
    fn grace_notes_belong_to_a_stroke((meter, bpm, bar_settings, stroke_settings, last) in places()) {
        let part = part(bar(last, meter), bpm, &bar_settings);
        let hits: Vec<_> = part.hits(&stroke_settings).collect();
        for grace in hits.iter().filter(|hit| hit.grace) {
            let stroke = hits.iter().find(|hit| {
                !hit.grace && hit.grid == grace.grid && hit.piece == grace.piece && hit.limb != grace.limb
            });
            let stroke = stroke.ok_or_else(|| TestCaseError::fail(format!("{grace:?} is alone")))?;
            let ahead = (stroke.tick - grace.tick) as f64 / ticks_per_second(bpm);
            prop_assert!((0.010..0.130).contains(&ahead), "{ahead}");
            prop_assert!(grace.velocity < stroke.velocity);
        }
    }

    /// A called fill goes from its count to its end, and leaves what was played before as it was.
    #[test]
    fn a_called_fill_keeps_to_its_counts(
        (meter, bpm, bar_settings, _, last) in places(),
        (from, to) in (0..8_usize, 1..9_usize),
    ) {
        // Faster, and everyday feet may have no time for the landing.
        let bpm = bpm.min(240.0);
        let bar = bar(last + 1, meter);
        let counts = meter.counts();
        let from = from.min(counts.len() - 1);
        let at = |i: usize| counts.get(i).map_or(meter.bar_len(), |count| count.start);
        let span = (at(from), at(to.max(from + 1)));
        let bar_settings = BarSettings { fill_chance: 0.0, ..bar_settings };
        let mut called = Part::new();
        let call = Call { fill: Some(span), lands: false };
        compose_with(&Request { call, ..Request::new(bar, bpm, &bar_settings) }, &mut called);
        let fill: Fill = called.fill().unwrap();
        prop_assert_eq!((fill.start - bar.start, fill.end - bar.start), span);
        if span.1 < meter.bar_len() {
            let lands = |s: &&fourlimb::groove::Stroke| s.tick - bar.start == span.1;
            let landing: Vec<_> = called.strokes().iter().filter(lands).map(|s| s.target).collect();
            prop_assert!(landing.contains(&StrokeTarget::Piece(Piece::Kick)), "{landing:?}");
        }
    }
}

/// No kick that density may leave out stands in the way of the kick that a called fill lands on.
#[test]
fn a_called_fill_lands_on_a_kick_in_mid_bar() {
    let Settings { bar_settings, .. } = settings("breakdown");
    let bar_settings = BarSettings {
        player: Player::Everyday,
        fill_chance: 0.0,
        ..bar_settings
    };
    let call = Call {
        fill: Some((0, 2880)),
        lands: false,
    };
    for index in 0..64 {
        let bar = bar(index, Meter::FOUR_FOUR);
        let mut called = Part::new();
        let request = Request {
            call,
            ..Request::new(bar, 160.0, &bar_settings)
        };
        compose_with(&request, &mut called);
        let lands = |s: &fourlimb::groove::Stroke| {
            s.tick - bar.start == 2880
                && s.target == StrokeTarget::Piece(Piece::Kick)
                && s.rank == 0.0
        };
        assert!(
            called.strokes().iter().any(lands),
            "bar {index}: {called:?}"
        );
    }
}

/// The style's taste: blasts fill short, breakdowns leave room, slow beats go over the toms.
#[test]
fn fills_suit_the_beat() {
    let toms = [
        Piece::RackHigh,
        Piece::RackLow,
        Piece::FloorHigh,
        Piece::FloorLow,
    ];
    let of = |style: &str, bpm: f64| {
        let settings = settings(style);
        let parts = (1..=100).map(|i| {
            part(
                bar(i * 4 - 1, Meter::FOUR_FOUR),
                bpm,
                &settings.bar_settings,
            )
        });
        let (mut counts, mut strokes, mut on_toms) = (0.0, 0.0, 0.0);
        for part in parts {
            counts += (part.bar().end() - part.fill().unwrap().start) as f64 / 960.0;
            let notes = notes(&part, &settings.stroke_settings);
            let hands: BTreeSet<_> = notes.iter().filter(|n| n.1 != Piece::Kick).collect();
            let times: BTreeSet<_> = hands.iter().map(|n| n.0).collect();
            strokes += times.len() as f64;
            on_toms += hands.iter().filter(|n| toms.contains(&n.1)).count() as f64
                / hands.len().max(1) as f64;
        }
        (counts / 100.0, strokes / counts, on_toms / 100.0)
    };
    let (blast, breakdown, doom, rock) = (
        of("blast", 200.0),
        of("breakdown", 120.0),
        of("slow doom pulse", 80.0),
        of("rock", 120.0),
    );
    assert!(
        blast.0 < 1.7 && blast.0 < rock.0 && rock.0 < doom.0,
        "length: {blast:?} {rock:?} {doom:?}"
    );
    assert!(
        breakdown.1 < rock.1 * 0.85,
        "strokes a count: {breakdown:?} {rock:?}"
    );
    assert!(doom.2 > 0.5 && blast.2 < 0.35, "toms: {doom:?} {blast:?}");
}

/// Hosts' audio threads have small stacks: 512 kB in one audio server (from memory), and a host's own
/// frames are on it already.
#[test]
fn fills_are_made_on_a_small_stack() {
    let compose = || {
        for style in 0..BEATS {
            let mut settings = settings("rock");
            settings.bar_settings.style = style;
            for index in 0..16 {
                part(bar(index, Meter::FOUR_FOUR), 150.0, &settings.bar_settings);
            }
        }
    };
    let thread = std::thread::Builder::new().stack_size(192 * 1024);
    thread.spawn(compose).unwrap().join().unwrap();
}

/// A beat that follows the riff keeps its kicks under the hands' fill.
#[test]
fn feet_that_follow_the_riff_go_on_under_a_fill() {
    let settings = settings("breakdown");
    let kicks = |part: &Part| -> BTreeSet<Ticks> {
        let core = part
            .strokes()
            .iter()
            .filter(|s| s.target == StrokeTarget::Piece(Piece::Kick) && s.rank == 0.0);
        core.map(|s| s.tick - part.bar().start).collect()
    };
    let plain = BarSettings {
        fill_chance: 0.0,
        ..settings.bar_settings
    };
    let beat = kicks(&part(bar(1, Meter::FOUR_FOUR), 120.0, &plain));
    assert!(beat.len() >= 4);
    for i in 1..40 {
        let filled = part(
            bar(i * 4 - 1, Meter::FOUR_FOUR),
            120.0,
            &settings.bar_settings,
        );
        assert!(
            kicks(&filled).is_superset(&beat),
            "phrase {i}: {}",
            filled.fill().unwrap()
        );
    }
}

/// Beats, tempi, meters and phrases of the fills that the guide shows.
const SHOWN: [(&str, f64, &str, i64); 12] = [
    ("rock", 120.0, "4/4", 5),
    ("rock", 120.0, "4/4", 8),
    ("syncopated groove", 140.0, "4/4", 3),
    ("half-time", 100.0, "4/4", 2),
    ("double-kick", 170.0, "4/4", 2),
    ("skank", 190.0, "4/4", 2),
    ("blast", 210.0, "4/4", 9),
    ("bomb blast", 220.0, "4/4", 1),
    ("breakdown", 120.0, "4/4", 6),
    ("slow doom pulse", 70.0, "4/4", 4),
    ("rock", 100.0, "6/8", 5),
    ("rock", 140.0, "7/8", 4),
];

const GUIDE: &str = "docs/fills.md";

/// The guide shows what is played; `UPDATE_GOLDENS=1` writes it anew.
#[test]
fn the_guide_shows_what_is_played() {
    let mut charts = String::new();
    for (style, bpm, name, phrase) in SHOWN {
        let settings = settings(style);
        let bar = bar(phrase * 4 - 1, meter(name));
        let part = part(bar, bpm, &settings.bar_settings);
        charts += &format!("### {style}, {bpm} BPM, {name}: {}\n", part.fill().unwrap());
        for intensity in [0.3, 0.6, 0.9] {
            let stroke_settings = StrokeSettings {
                intensity,
                density: 0.0,
                ..settings.stroke_settings
            };
            let hits: Vec<_> = part.hits(&stroke_settings).collect();
            charts += &format!("\n```text\n{}```\n", text_chart::bar(bar, &hits));
        }
        charts += "\n";
    }
    let guide = std::fs::read_to_string(GUIDE).unwrap();
    let (words, shown) = guide
        .split_once("### ")
        .map_or((guide.as_str(), ""), |(words, _)| {
            (words, &guide[words.len()..])
        });
    if std::env::var_os("UPDATE_GOLDENS").is_some() {
        std::fs::write(GUIDE, format!("{words}{charts}")).unwrap();
    } else {
        assert_eq!(shown, charts, "{GUIDE} is out of date: UPDATE_GOLDENS=1");
    }
}
