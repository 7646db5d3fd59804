//! Which stroke is whose: the riding hand's, a ghost note, a crash that opens a bar; and how strong each place is.

use super::bars::{Bars, Key};
use super::report::Report;
use super::riding::Riding;
use crate::groove::own::OwnHands;
use crate::groove::own::model::{MAX_WEIGHT, OwnBeat, Strikes};
use crate::kit::Piece;
use std::collections::BTreeMap;

/// A stroke on the snare is a ghost note where it is softer than this share of the loud ones. Judged: the softest layer of a
/// person's snare strokes.
const GHOST: f64 = 0.5;
/// Velocity that weight 1 adds at the accent that a new project has: half of `dynamics::DEPTH`.
const DEPTH: f32 = 18.0;
/// A voice whose means lie within so few velocity steps has no accents of its own.
const FLAT: f32 = 6.0;

/// Gives the riding hand its strokes, tells ghost notes, and counts the crashes that stand in the riding hand's place.
pub(super) fn name(table: &mut Bars, riding: &Riding, report: &mut Report) {
    tell_ghosts(table);
    for bar in table.bars.iter_mut().flatten() {
        let keys: Vec<Key> = bar.keys().copied().collect();
        for key in keys {
            let (count, at, Strikes::Piece(piece)) = key else {
                continue;
            };
            let hand = (count, at, Strikes::Hand);
            if riding.rides(piece) {
                if let Some(struck) = bar.remove(&key) {
                    // Of a hi-hat and a crash at one place the hi-hat is the figure.
                    bar.insert(hand, struck);
                }
            } else if is_crash(piece)
                && riding.is_some()
                && !bar.contains_key(&hand)
                && !bar.keys().any(|&(c, t, s)| {
                    (c, t) == (count, at) && matches!(s, Strikes::Piece(p) if riding.rides(p))
                })
                && ((count, at) == (0, 0) || riding.is_usual(count, at))
                && let Some(struck) = bar.remove(&key)
            {
                report.openings += 1;
                bar.insert(hand, struck);
            }
        }
    }
}

fn is_crash(piece: Piece) -> bool {
    matches!(
        piece,
        Piece::CrashLeft | Piece::CrashRight | Piece::China | Piece::Splash
    )
}

/// Marks the soft strokes on the snare as ghost notes.
fn tell_ghosts(table: &mut Bars) {
    let mut loud: Vec<u8> = table
        .heard()
        .flatten()
        .filter(|(_, struck)| struck.piece == Piece::Snare && !struck.ghost)
        .map(|(_, struck)| struck.velocity)
        .collect();
    loud.sort_unstable();
    let Some(&loud) = loud.get(loud.len() * 4 / 5) else {
        return;
    };
    for bar in table.bars.iter_mut().flatten() {
        for struck in bar.values_mut().filter(|s| s.piece == Piece::Snare) {
            struck.ghost |= f64::from(struck.velocity) < f64::from(loud) * GHOST;
        }
    }
}

/// Gives core strokes weights by how hard they were struck on average, against the others of their voice. A voice that
/// is struck evenly has none: its places say how strong it is, as in any beat.
pub(super) fn weigh(beat: &mut OwnBeat, table: &Bars, cycle: usize) {
    let ridden = beat.hand_cymbal().piece();
    let mean_at = |place: usize, key: Key| {
        let bars = table.bars.iter().skip(place).step_by(cycle).flatten();
        let struck = bars.filter_map(|bar| bar.get(&key));
        // An opened hi-hat, a bell or a crash is another sound.
        let alike = struck.filter(|s| key.2 != Strikes::Hand || s.piece == ridden);
        let all: Vec<f32> = alike.map(|s| f32::from(s.velocity)).collect();
        (!all.is_empty()).then(|| all.iter().sum::<f32>() / all.len() as f32)
    };
    let mut voices: BTreeMap<Strikes, Vec<f32>> = BTreeMap::new();
    let mut means = Vec::new();
    for (place, bar) in beat.bars.iter().enumerate() {
        for stroke in bar {
            let count = usize::from(stroke.count) - 1;
            let mean = mean_at(place, (count, stroke.tick, stroke.strikes));
            let mean = mean.filter(|_| stroke.rank == 0.0);
            if let Some(mean) = mean {
                voices.entry(stroke.strikes).or_default().push(mean);
            }
            means.push(mean);
        }
    }
    let on_drums = matches!(beat.hands, OwnHands::Drums(..));
    for (stroke, mean) in beat.bars.iter_mut().flatten().zip(means) {
        let (Some(mean), Some(voice)) = (mean, voices.get(&stroke.strikes)) else {
            continue;
        };
        let least = voice.iter().copied().fold(f32::INFINITY, f32::min);
        let most = voice.iter().copied().fold(f32::NEG_INFINITY, f32::max);
        if most - least < FLAT || on_drums {
            continue;
        }
        let centre = voice.iter().sum::<f32>() / voice.len() as f32;
        let weight = ((mean - centre) / DEPTH).clamp(-MAX_WEIGHT, MAX_WEIGHT);
        stroke.weight = Some((weight * 100.0).round() / 100.0);
    }
}
