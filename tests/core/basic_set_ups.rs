//! The sixteen basic set-ups, note by note: what the bare beat plays at density 0 without fills.
//!
//! The grids are written out by hand from what the set-ups are: common practice, no source. Sixteen places stand for
//! the sixteenths of a bar of 4/4, forty-eight for its sixteenths of triplets. A set-up of two bars has two grids.

use crate::support::*;
use fourlimb::groove::vocabulary;
use fourlimb::kit::Piece;
use fourlimb::settings::Settings;
use fourlimb::time::{Meter, Ticks};

/// Quarter notes a minute.
const TEMPI: [f64; 4] = [100.0, 150.0, 200.0, 260.0];
/// After the first, which opens with the song's crash.
const BARS: i64 = 32;

struct SetUp {
    beat: &'static str,
    /// What the lead hand rides: h for the hi-hat closed or loose, r for the ride, c for a crash, n for the china.
    hand: char,
    /// Lead hand, snare and kick, for each bar of the cycle.
    bars: &'static [[&'static str; 3]],
}

const QUARTERS: &str = "x---x---x---x---";
const EIGHTHS: &str = "x-x-x-x-x-x-x-x-";
const SIXTEENTHS: &str = "xxxxxxxxxxxxxxxx";
const BACKBEATS: &str = "----x-------x---";
const ON_3: &str = "--------x-------";
const ON_1: &str = "x---------------";
const ANDS: &str = "--x---x---x---x-";
const NOTHING: &str = "----------------";

const SET_UPS: [SetUp; 16] = [
    SetUp {
        beat: "rock",
        hand: 'h',
        bars: &[[QUARTERS, BACKBEATS, "x-------x-------"]],
    },
    SetUp {
        beat: "half-time",
        hand: 'c',
        bars: &[[QUARTERS, ON_3, ON_1]],
    },
    SetUp {
        beat: "double-kick",
        hand: 'h',
        bars: &[[QUARTERS, BACKBEATS, SIXTEENTHS]],
    },
    SetUp {
        beat: "snare on every count",
        hand: 'r',
        bars: &[[EIGHTHS, QUARTERS, SIXTEENTHS]],
    },
    SetUp {
        beat: "double-kick half-time",
        hand: 'r',
        bars: &[[EIGHTHS, ON_3, SIXTEENTHS]],
    },
    SetUp {
        beat: "quarter-time feel",
        hand: 'r',
        bars: &[
            [EIGHTHS, NOTHING, ON_1],
            [EIGHTHS, ON_1, "--------------x-"],
        ],
    },
    SetUp {
        beat: "skank",
        hand: 'h',
        bars: &[[EIGHTHS, ANDS, QUARTERS]],
    },
    SetUp {
        beat: "double-kick skank",
        hand: 'h',
        bars: &[[EIGHTHS, ANDS, SIXTEENTHS]],
    },
    SetUp {
        beat: "blast",
        hand: 'h',
        bars: &[[EIGHTHS, "-x-x-x-x-x-x-x-x", EIGHTHS]],
    },
    SetUp {
        beat: "snare triplets",
        hand: 'n',
        bars: &[[
            "x-----------x-----------x-----------x-----------",
            "x-------x-------x-------x-------x-------x-------",
            "x--x--x--x--x--x--x--x--x--x--x--x--x--x--x--x--",
        ]],
    },
    SetUp {
        beat: "breakdown",
        hand: 'n',
        bars: &[[QUARTERS, ON_3, "x--x--x---x----x"]],
    },
    SetUp {
        beat: "slow breakdown",
        hand: 'c',
        bars: &[
            ["x-------x-------", NOTHING, SIXTEENTHS],
            ["x-------x-------", ON_1, SIXTEENTHS],
        ],
    },
    SetUp {
        beat: "hammer blast",
        hand: 'h',
        bars: &[[EIGHTHS, EIGHTHS, EIGHTHS]],
    },
    SetUp {
        beat: "gallop",
        hand: 'h',
        bars: &[[EIGHTHS, BACKBEATS, "x-xxx-xxx-xxx-xx"]],
    },
    SetUp {
        beat: "reverse gallop",
        hand: 'r',
        bars: &[[QUARTERS, BACKBEATS, "xxx-xxx-xxx-xxx-"]],
    },
    SetUp {
        beat: "two-step",
        hand: 'h',
        bars: &[[QUARTERS, ANDS, "x--xx---x--xx---"]],
    },
];

fn letter(piece: Piece) -> char {
    match piece {
        Piece::HiHatClosed | Piece::HiHatLoose => 'h',
        Piece::Ride => 'r',
        Piece::CrashLeft | Piece::CrashRight => 'c',
        Piece::China => 'n',
        Piece::Snare => 's',
        Piece::Kick => 'k',
        _ => '?',
    }
}

/// The strokes of a bar, each with its place in ticks.
fn expected(set_up: &SetUp, in_cycle: usize) -> Vec<(Ticks, char)> {
    let voices = [set_up.hand, 's', 'k'];
    let grids = set_up.bars[in_cycle % set_up.bars.len()];
    let mut strokes: Vec<_> = voices
        .iter()
        .zip(grids)
        .flat_map(|(&voice, grid)| {
            let step = 3840 / grid.len() as Ticks;
            let struck = grid.char_indices().filter(|(_, c)| *c == 'x');
            struck.map(move |(place, _)| (place as Ticks * step, voice))
        })
        .collect();
    strokes.sort_unstable();
    strokes
}

#[test]
fn the_sixteen_basic_set_ups_are_exact() {
    for (slot, set_up) in SET_UPS.iter().enumerate() {
        assert_eq!(vocabulary::slot(set_up.beat), Some(slot as u8));
        let mut settings = Settings::default();
        settings.bar_settings.style = slot as u8;
        settings.bar_settings.fill_chance = 0.0;
        settings.bar_settings.feel = 0.0;
        settings.stroke_settings.density = 0.0;
        settings.stroke_settings.intensity = 0.5;
        for bpm in TEMPI {
            for take in [1, 2, 999] {
                settings.bar_settings.take = take;
                for index in 1..=BARS {
                    let part = part(bar(index, Meter::FOUR_FOUR), bpm, &settings.bar_settings);
                    let mut played: Vec<_> = part
                        .hits(&settings.stroke_settings)
                        .map(|hit| (hit.tick - part.bar().start, letter(hit.piece)))
                        .collect();
                    played.sort_unstable();
                    assert_eq!(
                        played,
                        expected(set_up, (index % 2) as usize),
                        "{} at {bpm} BPM, take {take}, bar {}",
                        set_up.beat,
                        index + 1
                    );
                }
            }
        }
    }
}
