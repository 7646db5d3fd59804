//! Phrases: fills that are called, count-ins, endings, and bars that vary. What a drummer does is common
//! practice, no source; that called fills keep to their counts is the project's own promise.

use crate::support::*;
use fourlimb::check::playable::{TimedStroke, problems};
use fourlimb::engine::Sequencer;
use fourlimb::groove::{Call, Hit, Limb, Part, Request, StrokeTarget, compose_with, vocabulary};
use fourlimb::kit::{Piece, Ring};
use fourlimb::riff::Attack;
use fourlimb::settings::{BarSettings, KickSource, Phrase, Play, Player, RiffGrid, Settings};
use fourlimb::time::{Meter, Ticks};
use fourlimb::transport::bars::BarGrid;
use proptest::prelude::*;
use proptest::sample::select;
use std::collections::BTreeSet;

fn settings(style: &str) -> Settings {
    let mut settings = Settings::default();
    settings.bar_settings.style = vocabulary::slot(style).unwrap();
    settings.bar_settings.fill_chance = 0.0;
    settings.bar_settings.feel = 0.0;
    settings.stroke_settings.intensity = 0.8;
    settings
}

/// Plays bars of 4/4 at 120 BPM with settings that change at ticks; `split` cuts the way.
fn play(changes: &[(Ticks, Settings)], end: Ticks, split: Ticks) -> Vec<Hit> {
    let (mut sequencer, grid) = (Sequencer::new(), BarGrid::new());
    let mut hits = Vec::new();
    for (i, &(from, now)) in changes.iter().enumerate() {
        let until = changes.get(i + 1).map_or(end, |next| next.0);
        let mut at = from;
        while at < until {
            let to = (at + split).min(until);
            play_span(&mut sequencer, (at, to), &now, &grid, 120.0, |hit| {
                hits.push(hit)
            });
            at = to;
        }
    }
    hits
}

const BAR: Ticks = 3840;

/// Rock, whose fills are called and never drawn.
fn calls(pressed: bool) -> Settings {
    let mut settings = settings("rock");
    settings.bar_settings.phrase = Phrase::Eight;
    // The bare beat, whose counts are all the same.
    settings.stroke_settings.density = 0.0;
    settings.fill_now = pressed;
    settings
}

/// The counts from 0 on that have lead-hand cymbals of the beat: where no fill is.
fn beat_counts(hits: &[Hit], bars: i64) -> Vec<i64> {
    (0..bars * 4)
        .filter(|count| {
            let at = count * 960;
            let here = hits.iter().filter(|hit| hit.grid == at);
            let cymbal = here.filter(|hit| hit.limb == Limb::LeadHand && hit.piece == Piece::Ride);
            cymbal.count() > 0
        })
        .collect()
}

/// The crash on the side of the ride and a kick stand at a tick.
fn assert_lands(hits: &[Hit], tick: Ticks) {
    let here = hits.iter().filter(|hit| hit.grid == tick);
    let landing: Vec<_> = here.map(|hit| hit.piece).collect();
    let crashes = [Piece::CrashLeft, Piece::CrashRight];
    assert!(
        landing.iter().any(|piece| crashes.contains(piece)) && landing.contains(&Piece::Kick),
        "{landing:?}"
    );
}

fn ride(pressed: bool) -> Settings {
    let mut settings = calls(pressed);
    settings.stroke_settings.hand = fourlimb::settings::Hand::Ride;
    settings
}

/// Pressed between counts 2 and 3 of the second bar and held past the bar line: a fill on 3 and 4, a
/// crash with kick on the next 1, the beat after it once it is let go of.
#[test]
fn fill_now_goes_from_the_next_count_to_the_end_of_the_bar() {
    let changes = [
        (0, ride(false)),
        (BAR + 1200, ride(true)),
        (2 * BAR, ride(false)),
    ];
    let hits = play(&changes, 4 * BAR, 5000);
    let counts = beat_counts(&hits, 4);
    assert_eq!(
        counts,
        [1, 2, 3, 4, 5, 9, 10, 11, 12, 13, 14, 15],
        "the fill is on 6 and 7, and 8 is crashed"
    );
    assert_lands(&hits, 2 * BAR);
}

/// Let go of between counts 3 and 4: the fill ends on 4, with a crash.
#[test]
fn a_released_fill_ends_at_the_next_count() {
    let changes = [
        (0, ride(false)),
        (BAR + 100, ride(true)),
        (BAR + 2500, ride(false)),
    ];
    let hits = play(&changes, 3 * BAR, 5000);
    assert_lands(&hits, BAR + 2880);
    // Called just after the 1, which has been played.
    assert_eq!(beat_counts(&hits, 3), [1, 2, 3, 4, 8, 9, 10, 11]);
}

/// A touch shorter than the way to the next count still gives a fill of one count.
#[test]
fn a_touch_is_a_fill_of_one_count() {
    let changes = [
        (0, ride(false)),
        (BAR + 1200, ride(true)),
        (BAR + 1210, ride(false)),
    ];
    let hits = play(&changes, 3 * BAR, 5000);
    assert_eq!(beat_counts(&hits, 3), [1, 2, 3, 4, 5, 8, 9, 10, 11]);
}

/// A host without sample-accurate automation lets go a little after the bar line: the 1 is the landing
/// all the same, and the beat goes on.
#[test]
fn a_fill_let_go_of_late_still_lands_on_the_1() {
    let changes = [
        (0, ride(false)),
        (BAR + 1900, ride(true)),
        (2 * BAR + 100, ride(false)),
    ];
    let hits = play(&changes, 3 * BAR, 5000);
    assert_eq!(beat_counts(&hits, 3), [1, 2, 3, 4, 5, 9, 10, 11]);
    assert_lands(&hits, 2 * BAR);
}

/// Called just after a count, which the beat has struck: the stroke stays, and the fill begins where the hands can be
/// next. Before: the fill began on the count, too close to it.
#[test]
fn a_fill_called_late_begins_where_the_hands_can_be() {
    let everyday = Player::Everyday;
    for style in 0..BEATS {
        for late in [1, 60, 130, 239] {
            let settings = |pressed| {
                let mut settings = calls(pressed);
                settings.bar_settings.style = style;
                settings.bar_settings.player = everyday;
                settings
            };
            let press = BAR + 960 + late;
            let changes = [
                (0, settings(false)),
                (press, settings(true)),
                (2 * BAR, settings(false)),
            ];
            let hits = play(&changes, 3 * BAR, 5000);
            let bare = play(&changes[..1], 3 * BAR, 5000);
            let before = |hits: &[Hit]| -> Vec<Hit> {
                hits.iter()
                    .filter(|hit| hit.tick < press)
                    .copied()
                    .collect()
            };
            assert_eq!(before(&hits), before(&bare));
            let struck: Vec<TimedStroke> = hits
                .iter()
                .filter(|hit| (BAR + 900..2 * BAR + 900).contains(&hit.tick))
                .map(|hit| TimedStroke {
                    tick: hit.tick,
                    seconds: hit.tick as f64 / 1920.0,
                    piece: hit.piece,
                })
                .collect();
            let found = problems(&struck, &everyday.limits());
            let name = settings(true).bar_settings.beat().name();
            assert!(
                found.is_empty(),
                "{name}, {late} late: {found:?} {struck:?}"
            );
        }
    }
}

/// A guitarist plays a little before and after the counts on which a called fill begins and lands.
#[test]
fn riff_and_call_share_one_kick() {
    let near = [
        [-1000, 860, 1500, 2790, 3400],
        [-1000, 1050, 1500, 2990, 3400],
    ];
    let attacks = near.map(|ticks| {
        ticks.map(|tick| Attack {
            tick: BAR + tick,
            strength: 1.0,
        })
    });
    for style in 0..BEATS {
        for source in [KickSource::Riff, KickSource::Both] {
            for take in 1..20 {
                let attacks = &attacks[take as usize % 2];
                let Settings { bar_settings, .. } = settings("rock");
                let bar_settings = BarSettings {
                    style,
                    take,
                    kick_source: source,
                    riff_grid: RiffGrid::Off,
                    ..bar_settings
                };
                let bar = bar(1, Meter::FOUR_FOUR);
                let call = Call {
                    fill: Some((960, 2880)),
                    lands: false,
                };
                let mut part = Part::new();
                let request = Request {
                    call,
                    riff: Some(attacks),
                    ..Request::new(bar, 80.0, &bar_settings)
                };
                compose_with(&request, &mut part);
                let kicks = part
                    .strokes()
                    .iter()
                    .filter(|s| s.target == StrokeTarget::Piece(Piece::Kick));
                let mut kicks: Vec<Ticks> = kicks.map(|s| s.tick - BAR).collect();
                kicks.sort_unstable();
                for seam in [960, 2880] {
                    let near = kicks.iter().filter(|tick| (**tick - seam).abs() < 120);
                    let name = bar_settings.beat().name();
                    assert!(
                        near.count() <= 1,
                        "{name} {source:?} take {take} at {seam}: {kicks:?}"
                    );
                }
                assert!(kicks.contains(&2880), "{kicks:?}");
            }
        }
    }
}

proptest! {
    #![proptest_config(cases(96))]

    /// However the way is cut, and wherever fills are called.
    #[test]
    fn calls_do_not_depend_on_how_time_is_cut(
        bar_settings in plans(),
        stroke_settings in moments(),
        presses in proptest::collection::vec(0..8 * BAR, 0..10),
        split in select(vec![1, 7, 64, 333, 1000, 3840, 9999]),
    ) {
        let mut at: Vec<_> = presses;
        at.push(0);
        at.sort_unstable();
        at.dedup();
        let changes: Vec<_> = at.iter().enumerate().map(|(i, &tick)| {
            let mut settings = Settings { bar_settings, stroke_settings, ..Settings::default() };
            settings.fill_now = i % 2 == 1;
            (tick, settings)
        }).collect();
        let whole = play(&changes, 8 * BAR, 100_000);
        let cut = play(&changes, 8 * BAR, split);
        prop_assert_eq!(&whole, &cut);
        // Nothing is struck twice by one limb at once.
        let mut seen = BTreeSet::new();
        for hit in &whole {
            prop_assert!(seen.insert((hit.tick, hit.limb)), "{hit:?} twice");
        }
    }
}

fn hits(style: &str, play: Play, meter: Meter) -> Vec<Hit> {
    let mut settings = settings(style);
    settings.bar_settings.play = play;
    part(bar(5, meter), 120.0, &settings.bar_settings)
        .hits(&settings.stroke_settings)
        .collect()
}

#[test]
fn count_ins_are_sticks_on_counts() {
    let check = |play, name: &str, expected: &[Ticks]| {
        let meter: Meter = name.parse().unwrap();
        let start = 5 * meter.bar_len();
        let hits = hits("blast", play, meter);
        let found: Vec<_> = hits.iter().map(|hit| hit.tick - start).collect();
        assert_eq!(found, expected, "{name}");
        assert!(hits.iter().all(|hit| hit.piece == Piece::Sticks));
    };
    check(Play::CountIn, "4/4", &[0, 960, 1920, 2880]);
    check(Play::ShortCountIn, "4/4", &[1920, 2880]);
    check(Play::CountIn, "5/4", &[960, 1920, 2880, 3840]);
    check(Play::CountIn, "6/8", &[0, 1440]);
    check(Play::CountIn, "7/8", &[0, 960, 1920]);
}

/// One hit on the 1, everything together, ringing; then nothing.
#[test]
fn an_ending_is_one_hit_that_rings() {
    let hits = hits("double-kick", Play::Ending, Meter::FOUR_FOUR);
    assert!(
        hits.iter()
            .all(|hit| hit.tick == 5 * BAR && hit.ring == Ring::On),
        "{hits:?}"
    );
    let pieces: BTreeSet<_> = hits.iter().map(|hit| hit.piece).collect();
    assert_eq!(
        pieces,
        [Piece::Kick, Piece::CrashLeft, Piece::CrashRight].into()
    );
    assert!(self::hits("rock", Play::Rest, Meter::FOUR_FOUR).is_empty());
}

/// Sixteen bars of one setting at a low density: not one bar sixteen times, yet one groove. Bars are compared by what
/// is struck where.
#[test]
fn sixteen_bars_vary_and_stay_the_same_groove() {
    for style in 0..BEATS {
        let mut settings = settings("rock");
        settings.bar_settings.style = style;
        settings.stroke_settings.density = 0.1;
        let bars: Vec<BTreeSet<_>> = (0..16)
            .map(|i| {
                let part = part(bar(i, Meter::FOUR_FOUR), 150.0, &settings.bar_settings);
                let hits = part.hits(&settings.stroke_settings);
                hits.map(|hit| (hit.tick - i * BAR, hit.piece)).collect()
            })
            .collect();
        let name = settings.bar_settings.beat().name();
        let kinds: BTreeSet<_> = bars.iter().collect();
        // An emphasised stroke on the open hi-hat, a crash or the china is louder and strikes the same piece.
        assert!(kinds.len() >= 2, "{name}: {} kinds of bars", kinds.len());
        // Against the bar two before it, which has the same place in the cycle. People's kicks of such bars share .60
        // [.39 .. .81] of their places (Groove MIDI Dataset, measured by us).
        let shared = |a: &BTreeSet<_>, b: &BTreeSet<_>| {
            a.intersection(b).count() as f64 / a.len().max(b.len()) as f64
        };
        let shares: Vec<_> = (2..16).map(|i| shared(&bars[i], &bars[i - 2])).collect();
        let mean = shares.iter().sum::<f64>() / shares.len() as f64;
        let least = shares.iter().copied().fold(1.0, f64::min);
        assert!(
            mean >= 0.62 && least >= 0.39,
            "{name}: {mean:.2}, at least {least:.2}"
        );
    }
}
