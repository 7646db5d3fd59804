//! How hard the strokes are, against what the trade agrees on and what an open data set says.
//!
//! Data: the Groove MIDI Dataset (Gillick et al. 2019, CC BY 4.0), our measurement of its 211 rock and
//! punk performances [measured]; medians and the range from the 10th to the 90th percentile. Its
//! median tempo is 105 BPM: it says nothing of metal speed, so it is compared there.

use crate::support::*;
use fourlimb::groove::vocabulary::{VOCABULARY, slot};
use fourlimb::groove::{Hit, Part};
use fourlimb::kit::Piece;
use fourlimb::settings::{BarSettings, Settings, StrokeSettings};
use fourlimb::time::Meter;

fn bar_settings(style: &str) -> BarSettings {
    BarSettings {
        style: slot(style).unwrap(),
        fill_chance: 0.0,
        ..Settings::default().bar_settings
    }
}

fn stroke_settings(intensity: f32) -> StrokeSettings {
    StrokeSettings {
        intensity,
        density: 1.0,
        ..Settings::default().stroke_settings
    }
}

/// The hits of 64 bars of 4/4, each with its place in the bar in sixteenths.
fn played(
    bar_settings: &BarSettings,
    bpm: f64,
    stroke_settings: &StrokeSettings,
) -> Vec<(i64, Hit)> {
    (0..64)
        .flat_map(|i| {
            let bar = bar(i, Meter::FOUR_FOUR);
            let part: Part = part(bar, bpm, bar_settings);
            part.hits(stroke_settings)
                .map(|hit| ((hit.grid - bar.start) / 240, hit))
                .collect::<Vec<_>>()
        })
        .collect()
}

fn mean(velocities: impl Iterator<Item = f64>) -> f64 {
    let all: Vec<f64> = velocities.collect();
    assert!(!all.is_empty());
    all.iter().sum::<f64>() / all.len() as f64
}

fn mean_of(hits: &[(i64, Hit)], wanted: impl Fn(i64, &Hit) -> bool) -> f64 {
    let wanted = hits.iter().filter(|(at, hit)| wanted(*at, hit));
    mean(wanted.map(|(_, hit)| f64::from(hit.velocity)))
}

fn is_hat(hit: &Hit) -> bool {
    matches!(
        hit.piece,
        Piece::HiHatClosed | Piece::HiHatLoose | Piece::HiHatOpen | Piece::Ride
    )
}

#[test]
fn a_rock_groove_is_within_the_open_data() {
    let mut bar_settings = bar_settings("rock");
    bar_settings.hand_rate = fourlimb::settings::HandRate::Eighths;
    let hits = played(&bar_settings, 105.0, &stroke_settings(0.75));
    let snare = |at: i64, hit: &Hit| hit.piece == Piece::Snare && (at == 4 || at == 12);
    // Backbeat: mean velocity 123 [92..127], spread 7.6.
    let backbeat = mean_of(&hits, snare);
    assert!((92.0..=127.0).contains(&backbeat), "{backbeat}");
    // Hi-hat or ride: on the beat minus off the beat +20.0 [-10..56].
    let on = mean_of(&hits, |at, hit| is_hat(hit) && at % 4 == 0);
    let off = mean_of(&hits, |at, hit| is_hat(hit) && at % 4 == 2);
    assert!((0.0..=56.0).contains(&(on - off)), "{on} {off}");
    // Kick: standard deviation 14.6 [7.3..26.1]. Ours is evener, since no kick is a mistake; a
    // machine's would be 0. Extra kicks have no weight of their own and make it evener still.
    let kicks: Vec<f64> = hits
        .iter()
        .filter(|(_, hit)| hit.piece == Piece::Kick)
        .map(|(_, hit)| f64::from(hit.velocity))
        .collect();
    let middle = mean(kicks.iter().copied());
    let sd = mean(kicks.iter().map(|v| (v - middle).powi(2))).sqrt();
    assert!((2.5..=26.1).contains(&sd), "{sd}");
}

/// Common practice, no source.
#[test]
fn the_order_that_the_trade_agrees_on() {
    let hits = played(&bar_settings("rock"), 120.0, &stroke_settings(0.6));
    let backbeat = mean_of(&hits, |at, hit| hit.piece == Piece::Snare && at % 8 == 4);
    let ghost = mean_of(&hits, |at, hit| hit.piece == Piece::Snare && at % 8 != 4);
    // Ghost notes are at most about half an accent.
    assert!(ghost <= backbeat * 0.6, "{ghost} {backbeat}");
    let kick = mean_of(&hits, |_, hit| hit.piece == Piece::Kick);
    assert!(backbeat > kick && kick > ghost);

    let train = played(&bar_settings("train"), 120.0, &stroke_settings(0.6));
    let accent = mean_of(&train, |at, hit| hit.piece == Piece::Snare && at % 8 == 4);
    let tap = mean_of(&train, |at, hit| hit.piece == Piece::Snare && at % 8 != 4);
    assert!(accent >= tap + 20.0, "{accent} {tap}");
}

/// Common practice, no source.
#[test]
fn feet_are_softer_as_they_go_faster() {
    let kick = |bpm| {
        let hits = played(&bar_settings("double-kick"), bpm, &stroke_settings(0.6));
        mean_of(&hits, |_, hit| hit.piece == Piece::Kick)
    };
    let (slow, middle, fast) = (kick(90.0), kick(150.0), kick(220.0));
    assert!(slow > middle && middle > fast, "{slow} {middle} {fast}");
}

/// What a sampler makes of it: nothing clipped flat, nothing too soft to hear, no machine gun.
#[test]
fn velocities_are_a_persons() {
    for beat in &VOCABULARY {
        for intensity in [0.0, 0.5, 1.0] {
            for accent in [0.0, 0.5, 1.0] {
                let stroke_settings = StrokeSettings {
                    accent,
                    ..stroke_settings(intensity)
                };
                let hits = played(&bar_settings(beat.name()), 160.0, &stroke_settings);
                let all = || hits.iter().map(|(_, hit)| hit.velocity);
                let (softest, loudest) = (all().min().unwrap(), all().max().unwrap());
                assert!(softest >= 12, "{}: {softest}", beat.name());
                assert!(
                    loudest < 127,
                    "{}: {loudest} at {intensity} {accent}",
                    beat.name()
                );
                let mut kicks = hits.iter().filter(|(_, hit)| hit.piece == Piece::Kick);
                let (mut last, mut equal, mut longest) = (0, 0, 0);
                for (_, hit) in &mut kicks {
                    equal = if hit.velocity == last { equal + 1 } else { 1 };
                    longest = longest.max(equal);
                    last = hit.velocity;
                }
                assert!(
                    longest <= 6,
                    "{}: {longest} equal kicks in a row",
                    beat.name()
                );
            }
        }
    }
}
