//! Everything that the engine plays can be played: a sweep over beats, cymbals, rates, meters, tempi
//! and players, each bar with the beginning of the next, judged by trial and error; and the library's
//! own judge of playability against trial and error.

use crate::brute_force::{self, Blow, faults, fewest_left_out, two_hands_and_two_feet};
use crate::support::*;
use fourlimb::check::playable::{Change, TimedStroke, problems};
use fourlimb::export::text_chart;
use fourlimb::groove::Hit;
use fourlimb::groove::vocabulary::VOCABULARY;
use fourlimb::kit::Piece;
use fourlimb::settings::{
    BarSettings, FillShape, Hand, HandRate, Phrase, Play, Player, StrokeSettings,
};
use fourlimb::time::Meter;
use fourlimb::time::tempo::ticks_per_second;
use proptest::prelude::*;
use proptest::sample::select;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::ops::Range;
use std::thread;

const METERS: [&str; 12] = [
    "4/4", "3/4", "5/4", "6/8", "7/8", "12/8", "2/4", "9/8", "5/8", "2/2", "7/4", "15/16",
];
/// Quarter notes a minute: 40 to 320.
const TEMPI: u64 = 29;
/// Density and intensity. Just above density 0, a bar plays its variation without extras.
const CORNERS: [(f32, f32); 7] = [
    (f32::MIN_POSITIVE, 0.8),
    (0.0, 0.0),
    (1.0, 0.0),
    (1.0, 1.0),
    (0.0, 1.0),
    (1.0, 0.5),
    (0.4, 0.8),
];
/// Bars of a phrase of four: its opening, its second, its third, which a fill of two bars begins in, its
/// last, which ends in a fill.
const PLACES: [i64; 5] = [4, 5, 6, 7, 11];

/// One bar of the sweep.
#[derive(Debug)]
struct Place {
    bar_settings: BarSettings,
    stroke_settings: StrokeSettings,
    meter: Meter,
    bpm: f64,
    index: i64,
}

/// How many places there are.
fn total() -> u64 {
    let choices = [
        BEATS.into(),
        Hand::ALL.len(),
        HandRate::ALL.len(),
        METERS.len(),
        Player::ALL.len(),
    ];
    choices.iter().map(|n: &usize| *n as u64).product::<u64>()
        * TEMPI
        * (CORNERS.len() * PLACES.len() * FillShape::ALL.len()) as u64
}

/// The n-th place.
fn place(n: u64) -> Place {
    let mut rest = n;
    let mut pick = |len: usize| {
        let i = rest % len as u64;
        rest /= len as u64;
        i as usize
    };
    let style = pick(BEATS.into()) as u8;
    let hand = Hand::ALL[pick(Hand::ALL.len())];
    let hand_rate = HandRate::ALL[pick(HandRate::ALL.len())];
    let meter: Meter = METERS[pick(METERS.len())].parse().unwrap();
    let player = Player::ALL[pick(Player::ALL.len())];
    let bpm = 40.0 + 10.0 * pick(TEMPI as usize) as f64;
    let (density, intensity) = CORNERS[pick(CORNERS.len())];
    let index = PLACES[pick(PLACES.len())];
    let fill_shape = FillShape::ALL[pick(FillShape::ALL.len())];
    Place {
        bar_settings: BarSettings {
            style,
            hand_rate,
            fill_chance: 1.0,
            fill_shape,
            play: Play::Beat,
            phrase: Phrase::Four,
            player,
            take: (n % 997) as u32 + 1,
            feel: [0.0, 0.5, 1.0][(n % 3) as usize],
            swing: [0.5, 2.0 / 3.0][(n % 2) as usize],
            ..fourlimb::settings::Settings::default().bar_settings
        },
        stroke_settings: StrokeSettings {
            intensity,
            hand,
            density,
            accent: 0.5,
        },
        meter,
        bpm,
        index,
    }
}

/// Violations by class: how many, and the first in full.
type Findings = BTreeMap<String, (usize, String)>;

/// How much of the next bar is looked at, in milliseconds: longer than any limb's limit.
const NEXT_MS: f64 = 400.0;

fn examine(place: &Place, found: &mut Findings) {
    let Place {
        bar_settings,
        stroke_settings,
        meter,
        bpm,
        index,
    } = place;
    let bars = [0, 1].map(|i| bar(index + i, *meter));
    // The engine's own assertion is a finding like the others.
    let composed = std::panic::catch_unwind(|| bars.map(|b| part(b, *bpm, bar_settings)));
    let Ok(parts) = composed else {
        let first = || (0, format!("  {place:?}\n"));
        found
            .entry("the engine asserts".to_owned())
            .or_insert_with(first)
            .0 += 1;
        return;
    };
    let ms = |hit: &Hit| (hit.tick - bars[0].start) as f64 / ticks_per_second(*bpm) * 1000.0;
    let next = ms_of(bars[0].meter, *bpm) + NEXT_MS;
    let hits: Vec<(f64, Hit)> = parts
        .iter()
        .flat_map(|part| part.hits(stroke_settings))
        .map(|hit| (ms(&hit), hit))
        .filter(|hit| hit.0 < next)
        .collect();
    let fill = parts[0].fill();
    let name = bar_settings.beat().name();
    let mut note = |class: String, detail: String| {
        let entry = found.entry(class).or_insert_with(|| {
            let own: Vec<Hit> = hits.iter().map(|hit| hit.1).collect();
            let text = format!(
                "{detail}\n  {name}, {meter}, {bpm} BPM, {} player, hand {}, rate {}, density {}, intensity {}, take {}, \
                 bar {index} of the song, fill {}\n{}next bar\n{}",
                bar_settings.player.name(),
                stroke_settings.hand.name(),
                bar_settings.hand_rate.name(),
                stroke_settings.density,
                stroke_settings.intensity,
                bar_settings.take,
                fill.map_or("none".to_owned(), |fill| fill.to_string()),
                text_chart::bar(bars[0], &own),
                text_chart::bar(bars[1], &own),
            );
            (0, text)
        });
        entry.0 += 1;
    };
    let blows: Vec<Blow> = hits.iter().map(|hit| (hit.0, hit.1.piece)).collect();
    let area = |tick| {
        if tick >= bars[1].start {
            "over the bar line"
        } else if fill.is_some_and(|fill| tick >= fill.start) {
            "in the fill"
        } else {
            "in the bar"
        }
    };
    for (fault, before, hit) in faults(bar_settings.player, &hits) {
        let limb = hit.1.limb.name();
        let class = format!("as stated: {limb} {fault:?} {}", area(hit.1.tick));
        let spoken = |hit: &Hit| format!("{} on {}", hit.piece.name(), spoken(bars[0], hit.tick));
        let gap = hit.0 - before.0;
        note(
            class,
            format!("  {} to {}: {gap:.0} ms", spoken(&before.1), spoken(&hit.1)),
        );
    }
    let (hands, feet) = (
        brute_force::hands_can(bar_settings.player, &blows),
        brute_force::feet_can(bar_settings.player, &blows),
    );
    let struck: Vec<TimedStroke> = hits
        .iter()
        .map(|&(ms, hit)| TimedStroke {
            tick: hit.tick,
            seconds: ms / 1000.0,
            piece: hit.piece,
        })
        .collect();
    let judged = problems(&struck, &bar_settings.player.limits());
    for problem in &judged {
        let it = struck[problem.stroke];
        let side = if matches!(it.piece, Piece::Kick | Piece::HiHatFoot) {
            "feet"
        } else {
            "hands"
        };
        let class = format!("nobody can: {side} {:?} {}", problem.why, area(it.tick));
        let place = spoken(bars[0], it.tick);
        note(
            class,
            format!(
                "  {} on {place}: {}; {}",
                it.piece.name(),
                problem.why,
                problem.change.words(it.piece)
            ),
        );
    }
    let pedal = brute_force::pedal_can(&blows);
    if (hands && feet && pedal) != judged.is_empty() {
        note(
            "the two judges disagree".to_owned(),
            format!("  trial and error: {hands} {feet} {pedal}, library: {judged:?}"),
        );
    }
}

fn ms_of(meter: Meter, bpm: f64) -> f64 {
    meter.bar_len() as f64 / ticks_per_second(bpm) * 1000.0
}

/// Examines `n` places spread evenly over all.
fn sweep(n: u64) {
    let all = total();
    // A step without a common factor visits every place once before it repeats; the golden section
    // spreads them evenly in every choice.
    let mut step = (all as f64 * 0.618_034) as u64 | 1;
    let gcd = |mut a: u64, mut b: u64| {
        while b > 0 {
            (a, b) = (b, a % b);
        }
        a
    };
    while gcd(step, all) != 1 {
        step += 2;
    }
    let part = |places: Range<u64>| {
        let mut found = Findings::new();
        let mut bad = 0;
        for i in places {
            let before: usize = found.values().map(|f| f.0).sum();
            let at = (u128::from(i) * u128::from(step) % u128::from(all)) as u64;
            examine(&place(at), &mut found);
            bad += usize::from(found.values().map(|f| f.0).sum::<usize>() > before);
        }
        (found, bad)
    };
    let part = &part;
    let threads = thread::available_parallelism().map_or(1, |n| n.get() as u64);
    let parts = thread::scope(|scope| {
        let bound = |thread| n * thread / threads;
        let parts = (0..threads).map(|i| scope.spawn(move || part(bound(i)..bound(i + 1))));
        // All of them begin before the first is waited for.
        let parts: Vec<_> = parts.collect();
        parts
            .into_iter()
            .map(|part| part.join().unwrap())
            .collect::<Vec<_>>()
    });
    let mut found = Findings::new();
    let mut bad = 0;
    for (part, bad_there) in parts {
        for (class, (count, first)) in part {
            found.entry(class).or_insert((0, first)).0 += count;
        }
        bad += bad_there;
    }
    println!(
        "{n} bars checked of {all} places, {} beats; {bad} bars with violations",
        VOCABULARY.len()
    );
    let mut report = String::new();
    for (class, (count, first)) in &found {
        let _ = writeln!(report, "{count} x {class}, first:\n{first}");
    }
    assert!(
        bad == 0,
        "{bad} of {n} bars can't be played as they stand:\n{report}"
    );
}

#[test]
fn every_beat_can_be_played() {
    sweep(4_000);
}

/// `cargo test --test core -- --ignored --nocapture a_quarter_of_a_million`
#[test]
#[ignore = "long: run by `cargo xtask test`"]
fn a_quarter_of_a_million_bars_can_be_played() {
    sweep(250_000);
}

fn struck() -> impl Strategy<Value = Vec<(i64, Piece)>> {
    use Piece::{
        China, CrashLeft, FloorLow, HiHatClosed, HiHatFoot, HiHatOpen, Kick, RackHigh, Ride, Snare,
    };
    let pieces = vec![
        Snare,
        Snare,
        Snare,
        HiHatClosed,
        HiHatOpen,
        Ride,
        China,
        CrashLeft,
        FloorLow,
        RackHigh,
        Kick,
        Kick,
        HiHatFoot,
    ];
    // At 120 BPM a step is 5.2 ms, or 31 ms, so that strokes meet.
    let tick = prop_oneof![
        (0..80_i64).prop_map(|t| t * 10),
        (0..14_i64).prop_map(|t| t * 60)
    ];
    proptest::collection::vec((tick, select(pieces)), 0..11)
}

fn blow(&(tick, piece): &(i64, Piece)) -> Blow {
    (tick as f64 / 1.92, piece)
}

fn as_struck(strokes: &[(i64, Piece)]) -> Vec<TimedStroke> {
    let one = |&(tick, piece): &(i64, Piece)| TimedStroke {
        tick,
        seconds: tick as f64 / 1920.0,
        piece,
    };
    strokes.iter().map(one).collect()
}

proptest! {
    #![proptest_config(cases(512))]

    /// Playable or not, and no stroke more left out than has to be.
    #[test]
    fn the_library_and_trial_and_error_agree(strokes in struck(), player in select(Player::ALL.to_vec())) {
        let blows: Vec<Blow> = strokes.iter().map(blow).collect();
        let found = problems(&as_struck(&strokes), &player.limits());
        prop_assert_eq!(found.is_empty(), two_hands_and_two_feet(player, &blows));
        prop_assert_eq!(found.len(), fewest_left_out(player, &blows));
    }

    /// Each change that is proposed helps: with the other problems' strokes left out, it plays.
    #[test]
    fn the_changes_that_are_proposed_help(strokes in struck(), player in select(Player::ALL.to_vec())) {
        let found = problems(&as_struck(&strokes), &player.limits());
        for problem in &found {
            prop_assert!(!problem.in_the_way.is_empty(), "{problem:?}");
            let gone = |i: &usize| *i != problem.stroke && found.iter().any(|p| p.stroke == *i);
            let blows: Vec<Blow> = (0..strokes.len())
                .filter(|i| !gone(i))
                .filter_map(|i| {
                    let (tick, piece) = strokes[i];
                    match problem.change {
                        _ if i != problem.stroke => Some(blow(&strokes[i])),
                        Change::LeaveOut => None,
                        Change::Earlier(by) => Some(blow(&(tick - by, piece))),
                        Change::Later(by) => Some(blow(&(tick + by, piece))),
                    }
                })
                .collect();
            prop_assert!(two_hands_and_two_feet(player, &blows), "{problem:?}");
        }
    }
}

/// The demo song, with its changes of style, tempo and meter and its cymbals that move inside a bar.
#[test]
fn the_demo_song_can_be_played() {
    let file = fourlimb::song::SongFile::parse(fourlimb::song::SongFile::DEMO).unwrap();
    let song = fourlimb::song::Timeline::new(&file).unwrap();
    let hits = fourlimb::engine::offline::play(&song);
    let struck: Vec<TimedStroke> = hits
        .iter()
        .map(|hit| TimedStroke {
            tick: hit.tick,
            seconds: song.tempo().seconds(hit.tick as f64),
            piece: hit.piece,
        })
        .collect();
    let found = problems(&struck, &Player::Extreme.limits());
    assert!(found.is_empty(), "{found:?}");
}
