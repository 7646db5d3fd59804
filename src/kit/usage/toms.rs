//! Which tom is the smaller: fills run from small toms to large ones.

use super::strokes::{TOGETHER, Used};
use crate::kit::Piece;
use crate::time::TICKS_PER_QUARTER;

/// How often `one` is followed by `other` within a quarter.
fn followed(one: &Used, other: &Used) -> f64 {
    let next = |tick| {
        let after = other.strokes.partition_point(|s| s.tick <= tick + TOGETHER);
        other.strokes.get(after).map(|stroke| stroke.tick - tick)
    };
    let soon =
        |ticks: Option<i64>| ticks.is_some_and(|ticks| ticks <= TICKS_PER_QUARTER + TOGETHER);
    one.strokes.iter().filter(|s| soon(next(s.tick))).count() as f64
}

/// How much speaks for `one` as the smaller of both, -1 to 1.
///
/// Common practice, no source: fills run down the kit. Where that says nothing, the higher key is the smaller tom, as
/// on a keyboard; that is weak, and counts as much as one stroke in ten.
fn smaller(one: &Used, other: &Used) -> f64 {
    let (down, up) = (followed(one, other), followed(other, one));
    let flow = (down - up) / (down + up + 2.0);
    flow + if one.note.key > other.note.key {
        0.1
    } else {
        -0.1
    }
}

/// Toms from the smallest to the largest.
pub(super) fn smallest_first(toms: &[usize], keys: &[Used]) -> Vec<usize> {
    let lead = |tom: usize| -> f64 {
        let others = toms.iter().filter(|other| **other != tom);
        others.map(|other| smaller(&keys[tom], &keys[*other])).sum()
    };
    let mut order = toms.to_vec();
    order.sort_by(|a, b| lead(*b).total_cmp(&lead(*a)).then(a.cmp(b)));
    order
}

/// The piece of the nth of `n` toms, the smallest first. Two are a rack and a floor tom, three have one floor tom
/// (common practice, no source); of more than four, neighbours share a piece.
pub(super) fn piece(nth: usize, n: usize) -> Piece {
    const FOUR: [Piece; 4] = [
        Piece::RackHigh,
        Piece::RackLow,
        Piece::FloorHigh,
        Piece::FloorLow,
    ];
    match n {
        0 | 1 => Piece::FloorHigh,
        2 => [Piece::RackHigh, Piece::FloorHigh][nth.min(1)],
        3 => FOUR[nth.min(2)],
        _ => FOUR[(nth * 4 / n).min(3)],
    }
}
