//! The first thirteen beats, tick by tick in 4/4, and three facts of the trade.
//!
//! Everything here is common practice, no source, unless a line says otherwise.

use crate::support::*;
use fourlimb::groove::{HandCymbal, Limb, vocabulary};
use fourlimb::kit::Piece;
use fourlimb::settings::{BarSettings, Hand, HandRate, Settings, StrokeSettings};
use fourlimb::time::{Meter, Ticks};

/// A beat as it is written: sixteenths of a bar, or sixths of a count (`>` marks it), a bar an
/// entry.
struct Row {
    name: &'static str,
    cymbal: Piece,
    hand: &'static [&'static str],
    snare: &'static [&'static str],
    kick: &'static [&'static str],
}

const HALVES: &str = "x-------x-------";
const QUARTERS: &str = "x---x---x---x---";
const EIGHTHS: &str = "x-x-x-x-x-x-x-x-";
const SIXTEENTHS: &str = "oooooooooooooooo";
const ON_EIGHTHS: &str = "o-o-o-o-o-o-o-o-";
const BACKBEAT: &str = "----o-------o---";
const ON_THREE: &str = "--------o-------";
const ON_ONE: &str = "o---------------";
const COUNTS: &str = "o---o---o---o---";
const ANDS: &str = "--o---o---o---o-";
const NOTHING: &str = "----------------";

const fn row(
    name: &'static str,
    cymbal: Piece,
    hand: &'static [&'static str],
    snare: &'static [&'static str],
    kick: &'static [&'static str],
) -> Row {
    Row {
        name,
        cymbal,
        hand,
        snare,
        kick,
    }
}

/// The beats. Common practice, no source.
const TABLE: [Row; 13] = [
    row(
        "rock",
        Piece::HiHatClosed,
        &[QUARTERS],
        &[BACKBEAT],
        &["o-------o-------"],
    ),
    row(
        "half-time",
        Piece::CrashRight,
        &[QUARTERS],
        &[ON_THREE],
        &[ON_ONE],
    ),
    row(
        "double-kick",
        Piece::HiHatClosed,
        &[QUARTERS],
        &[BACKBEAT],
        &[SIXTEENTHS],
    ),
    row(
        "snare on every count",
        Piece::Ride,
        &[EIGHTHS],
        &[COUNTS],
        &[SIXTEENTHS],
    ),
    row(
        "double-kick half-time",
        Piece::Ride,
        &[EIGHTHS],
        &[ON_THREE],
        &[SIXTEENTHS],
    ),
    row(
        "quarter-time feel",
        Piece::Ride,
        &[EIGHTHS, EIGHTHS],
        &[NOTHING, ON_ONE],
        &[ON_ONE, "--------------o-"],
    ),
    row("skank", Piece::HiHatClosed, &[EIGHTHS], &[ANDS], &[COUNTS]),
    row(
        "double-kick skank",
        Piece::HiHatClosed,
        &[EIGHTHS],
        &[ANDS],
        &[SIXTEENTHS],
    ),
    row(
        "blast",
        Piece::HiHatClosed,
        &[EIGHTHS],
        &["-o-o-o-o-o-o-o-o"],
        &[ON_EIGHTHS],
    ),
    row(
        "snare triplets",
        Piece::China,
        &[QUARTERS],
        &[">o---o---o---o---o---o---"],
        &[SIXTEENTHS],
    ),
    row(
        "breakdown",
        Piece::China,
        &[QUARTERS],
        &[ON_THREE],
        &["o--o--o---o----o"],
    ),
    row(
        "slow breakdown",
        Piece::CrashRight,
        &[HALVES, HALVES],
        &[NOTHING, ON_ONE],
        &[SIXTEENTHS, SIXTEENTHS],
    ),
    row(
        "hammer blast",
        Piece::HiHatClosed,
        &[EIGHTHS],
        &[ON_EIGHTHS],
        &[ON_EIGHTHS],
    ),
];

/// A written line in ticks.
fn ticks(line: &str) -> Vec<Ticks> {
    let (line, step) = match line.strip_prefix('>') {
        Some(line) => (line, 160),
        None => (line, 240),
    };
    line.chars()
        .enumerate()
        .filter(|(_, c)| *c != '-')
        .map(|(i, _)| i as Ticks * step)
        .collect()
}

fn bare(style: u8) -> (BarSettings, StrokeSettings) {
    let Settings {
        bar_settings,
        stroke_settings,
        ..
    } = Settings::default();
    let bar_settings = BarSettings {
        feel: 0.0,
        style,
        fill_chance: 0.0,
        ..bar_settings
    };
    let stroke_settings = StrokeSettings {
        intensity: 0.5,
        hand: Hand::Auto,
        density: 0.0,
        ..stroke_settings
    };
    (bar_settings, stroke_settings)
}

/// Ticks of a bar, counted from its start, at which a piece is struck by one of the limbs.
fn struck(style: u8, index: i64, bpm: f64, piece: Piece) -> Vec<Ticks> {
    let (bar_settings, stroke_settings) = bare(style);
    let part = part(bar(index, Meter::FOUR_FOUR), bpm, &bar_settings);
    let start = part.bar().start;
    part.hits(&stroke_settings)
        .filter(|hit| hit.piece == piece)
        .map(|hit| hit.tick - start)
        .collect()
}

#[test]
fn the_first_thirteen_beats_are_as_written() {
    for (style, row) in (0..).zip(&TABLE) {
        assert_eq!(vocabulary::slot(row.name), Some(style), "{}", row.name);
        // Bars 2 and 3 of a phrase of four; a phrase's first has its crash. Cycles of two bars
        // begin on its bars 1 and 3.
        for index in [1, 2] {
            let of = |lines: &[&str]| ticks(lines[index as usize % lines.len()]);
            let found = |piece| struck(style, index, 120.0, piece);
            let name = row.name;
            assert_eq!(found(row.cymbal), of(row.hand), "{name}, hand, bar {index}");
            assert_eq!(
                found(Piece::Snare),
                of(row.snare),
                "{name}, snare, bar {index}"
            );
            assert_eq!(
                found(Piece::Kick),
                of(row.kick),
                "{name}, kick, bar {index}"
            );
            let (bar_settings, stroke_settings) = bare(style);
            let all = part(bar(index, Meter::FOUR_FOUR), 120.0, &bar_settings)
                .hits(&stroke_settings)
                .count();
            let written = of(row.hand).len() + of(row.snare).len() + of(row.kick).len();
            assert_eq!(all, written, "{name} strikes something else, bar {index}");
        }
    }
}

#[test]
fn a_phrase_opens_with_crash_and_kick() {
    for (style, row) in (0..).zip(&TABLE) {
        let (bar_settings, stroke_settings) = bare(style);
        let part = part(bar(0, Meter::FOUR_FOUR), 120.0, &bar_settings);
        let first: Vec<_> = part
            .hits(&stroke_settings)
            .filter(|hit| hit.tick == 0)
            .collect();
        // On the side of the hand.
        let opening = match row.cymbal {
            Piece::China => Piece::China,
            Piece::Ride | Piece::RideBell | Piece::FloorLow | Piece::CrashRight => {
                Piece::CrashRight
            }
            _ => Piece::CrashLeft,
        };
        assert!(
            first
                .iter()
                .any(|h| h.piece == opening && h.limb == Limb::LeadHand),
            "{}",
            row.name
        );
        assert!(first.iter().any(|h| h.piece == Piece::Kick), "{}", row.name);
    }
}

/// Common practice, no source: with the same feet, a larger and louder cymbal means more energy,
/// and the floor tom stands below them all.
#[test]
fn larger_cymbals_mean_more_energy() {
    use HandCymbal::{Crash, FloorTom, HiHatClosed, Splash};
    assert!(FloorTom < Splash && Splash < HiHatClosed && HiHatClosed < Crash);
    let ladder: Vec<_> = (0..=20_u8)
        .map(|i| HandCymbal::auto(HiHatClosed, &HandCymbal::ALL, f32::from(i) / 20.0))
        .collect();
    assert!(ladder.is_sorted());
    assert!(ladder.last() >= Some(&Crash));
}

/// Common practice, no source: the hands decide whether the same feet feel fast or slow. Each step
/// of the hand rate doubles the lead hand's strokes.
#[test]
fn hand_rate_doubles_the_lead_hand() {
    for style in ["rock", "double-kick", "half-time", "breakdown", "skank"] {
        let rates = [
            HandRate::Halves,
            HandRate::Quarters,
            HandRate::Eighths,
            HandRate::Sixteenths,
        ];
        let strokes = rates.map(|hand_rate| {
            let (bar_settings, stroke_settings) = bare(vocabulary::slot(style).unwrap());
            // Slow enough for one hand to play sixteenths.
            let part = part(
                bar(1, Meter::FOUR_FOUR),
                80.0,
                &BarSettings {
                    hand_rate,
                    ..bar_settings
                },
            );
            part.hits(&stroke_settings)
                .filter(|hit| hit.limb == Limb::LeadHand)
                .count()
        });
        assert_eq!(strokes, [2, 4, 8, 16], "{style}");
    }
}

/// Common practice, no source: more kicks mean more intensity.
#[test]
fn more_kicks_mean_more_intensity() {
    let kicks = |name| struck(vocabulary::slot(name).unwrap(), 1, 120.0, Piece::Kick).len();
    assert_eq!(
        [
            "half-time",
            "rock",
            "four on the floor",
            "gallop",
            "double-kick"
        ]
        .map(kicks),
        [1, 2, 4, 12, 16]
    );
}
