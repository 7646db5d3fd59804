//! Where strokes lie on the grid of their bars.

use super::heard::Heard;
use super::report::Report;
use crate::kit::Piece;
use crate::kit::hi_hat::usual_opening;
use crate::time::{Bar, Count, Meter, Ticks};
use std::collections::BTreeMap;

/// A stroke at a place of a bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Placed {
    /// The bar's index.
    pub(super) bar: usize,
    /// The count, from 0.
    pub(super) count: usize,
    /// Ticks after the count.
    pub(super) at: Ticks,
    pub(super) piece: Piece,
    pub(super) velocity: u8,
    pub(super) ghost: bool,
    pub(super) fill: bool,
}

/// The grids that a voice may lie on: into how many parts counts of two and of three units are divided, and how much nearer
/// the strokes have to lie there on average than on the first, in ticks. Judged.
const GRIDS: [(Ticks, Ticks, f64); 5] = [
    (4, 6, 0.0),
    (3, 3, 6.0),
    (8, 12, 26.0),
    (6, 9, 26.0),
    (12, 18, 34.0),
];
/// The same where the places are known: the coarsest that has them all.
const EXACT: f64 = 0.01;

/// Strokes that lie farther from the grid are told of, in ticks: 30 ms at 110 BPM. Judged.
const BETWEEN: Ticks = 50;
/// Strokes at one place count as a flam where they are so far apart, in ticks: 5 ms at 120 BPM. Judged.
const APART: Ticks = 10;

/// The pieces that share a grid.
fn voice(piece: Piece) -> Piece {
    match piece {
        Piece::HiHatFoot => piece,
        _ if usual_opening(piece).is_some() => Piece::HiHatClosed,
        Piece::RideBell => Piece::Ride,
        Piece::SideStick => Piece::Snare,
        _ => piece,
    }
}

/// How many parts a grid divides a count into.
fn parts(grid: usize, count: &Count) -> Ticks {
    let (simple, compound, _) = GRIDS[grid.min(GRIDS.len() - 1)];
    if count.units == 3 { compound } else { simple }
}

/// Puts strokes on the grid, the louder of two on one piece at a place.
pub(super) fn place(
    heard: &[Heard],
    bars: &[Bar],
    meter: Meter,
    report: &mut Report,
) -> Vec<Placed> {
    let others = bars
        .iter()
        .enumerate()
        .filter(|(_, bar)| bar.meter != meter);
    report.other_meters = others.map(|(i, _)| i + 1).collect();
    let mut voices: BTreeMap<Piece, Vec<Heard>> = BTreeMap::new();
    for one in heard {
        match one.piece {
            _ if one.grace => report.graces += 1,
            Piece::Sticks => report.sticks += 1,
            piece => voices.entry(voice(piece)).or_default().push(*one),
        }
    }
    // The louder of two first, and its tick: whoever comes to the same place beside it is a grace note or a double.
    let mut found: BTreeMap<(usize, usize, Ticks, Piece), (Placed, Ticks)> = BTreeMap::new();
    for strokes in voices.values() {
        let grid = grid_of(strokes, bars);
        for one in strokes {
            let Some((bar, count, at, off)) = snap(one.tick, bars, grid) else {
                report.outside += 1;
                continue;
            };
            if bars[bar].meter != meter {
                continue;
            }
            report.between += usize::from(off.abs() > BETWEEN);
            let placed = Placed {
                bar,
                count,
                at,
                piece: one.piece,
                velocity: one.velocity,
                ghost: one.ghost,
                fill: one.fill,
            };
            let key = (bar, count, at, voice_at(one.piece));
            match found.get_mut(&key) {
                Some((before, tick)) => {
                    if (*tick - one.tick).abs() >= APART {
                        report.graces += 1;
                    } else {
                        report.doubled += 1;
                    }
                    if placed.velocity > before.velocity {
                        (*before, *tick) = (placed, one.tick);
                    }
                }
                None => {
                    found.insert(key, (placed, one.tick));
                }
            }
        }
    }
    found.into_values().map(|(placed, _)| placed).collect()
}

/// Pieces of which one limb strikes one at a place.
fn voice_at(piece: Piece) -> Piece {
    match piece {
        Piece::HiHatLoose | Piece::HiHatOpen => Piece::HiHatClosed,
        Piece::SideStick => Piece::Snare,
        Piece::RideBell => Piece::Ride,
        _ => piece,
    }
}

/// The grid that a voice lies on.
fn grid_of(strokes: &[Heard], bars: &[Bar]) -> usize {
    let exact = strokes.iter().all(|one| one.exact);
    let cost = |grid: usize| {
        let offs = strokes.iter().filter_map(|one| snap(one.tick, bars, grid));
        let offs: Vec<_> = offs.map(|(.., off)| off.abs() as f64).collect();
        let mean = offs.iter().sum::<f64>() / (offs.len().max(1) as f64);
        if exact {
            mean * 1000.0 + EXACT * grid as f64
        } else {
            mean + GRIDS[grid].2
        }
    };
    let grids = 0..GRIDS.len();
    grids
        .min_by(|a, b| cost(*a).total_cmp(&cost(*b)))
        .unwrap_or_default()
}

/// The place of the grid that is nearest to a tick: bar, count, ticks after it, and how far the tick is from there. `None`
/// outside of the bars.
fn snap(tick: Ticks, bars: &[Bar], grid: usize) -> Option<(usize, usize, Ticks, Ticks)> {
    let next = bars.partition_point(|bar| bar.start <= tick);
    let Some(index) = next.checked_sub(1) else {
        // Who plays the first 1 a little early means the 1.
        let first = bars.first()?;
        let step = first
            .meter
            .counts()
            .first()
            .map(|count| count.len / parts(grid, count))?;
        let early = tick - first.start;
        return (-early * 2 < step).then_some((0, 0, 0, early));
    };
    let bar = bars.get(index)?;
    let at = tick - bar.start;
    if at >= bar.meter.bar_len() {
        return None;
    }
    let counts = bar.meter.counts();
    let number = counts.iter().rposition(|count| count.start <= at)?;
    let count = counts.get(number)?;
    let parts = parts(grid, count);
    let within = at - count.start;
    let part = (within * parts * 2 + count.len) / (count.len * 2);
    let placed = part * count.len / parts;
    let off = within - placed;
    if placed < count.len {
        return Some((index, number, placed, off));
    }
    if number + 1 < counts.len() {
        return Some((index, number + 1, 0, off));
    }
    // A last stroke that leads beyond the bars belongs to a bar that was not heard.
    (index + 1 < bars.len()).then_some((index + 1, 0, 0, off))
}
