//! How far a hand goes from one stroke to another.
//!
//! Composing a bar asks hundreds of times, so the answers stand in a table that [`prepare`] computes once.

use crate::groove::cymbal::HandCymbal;
use crate::groove::stroke::{Manner, Stroke, StrokeTarget};
use crate::kit::Piece;
use crate::kit::reach::distance;
use std::sync::LazyLock;

/// The pieces that follow from the hand cymbal of the moment.
const RIDDEN: [fn(HandCymbal) -> Piece; 6] = [
    HandCymbal::piece,
    HandCymbal::lifted,
    HandCymbal::near_opening,
    HandCymbal::stated_crash,
    HandCymbal::opening,
    |_| Piece::CrashRight,
];

/// The number of places where a stroke may fall: every piece, then those of [`RIDDEN`].
const PLACES: usize = Piece::COUNT + RIDDEN.len();

/// The distances between any two places, 0..=1. A composer computes them when it is made, so that nothing waits for
/// them on the audio thread.
static WAYS: LazyLock<[[f64; PLACES]; PLACES]> =
    LazyLock::new(|| std::array::from_fn(|from| std::array::from_fn(|to| greatest(from, to))));

/// Computes the table. Call it before composing, on any thread but the audio thread.
pub(in crate::groove) fn prepare() {
    LazyLock::force(&WAYS);
}

/// The distance between two places. Where the settings of the moment choose the cymbal, the greatest possible one.
fn greatest(from: usize, to: usize) -> f64 {
    let places = |at: usize, cymbal: HandCymbal| match Piece::ALL.get(at) {
        Some(&piece) => [piece; 2],
        // Below its minimum intensity an opening crash is a stroke on the hand cymbal.
        None => [RIDDEN[at - Piece::COUNT](cymbal), cymbal.piece()],
    };
    let ways = HandCymbal::ALL.into_iter().flat_map(|cymbal| {
        let (a, b) = (places(from, cymbal), places(to, cymbal));
        [
            distance(a[0], b[0]),
            distance(a[1], b[0]),
            distance(a[0], b[1]),
        ]
    });
    ways.fold(0.0, f64::max)
}

/// The distance a hand moves between two strokes, 0..=1.
pub(super) fn way(from: &Stroke, to: &Stroke) -> f64 {
    if from.target == to.target && from.manner == to.manner {
        return 0.0;
    }
    let row = WAYS.get(place(from));
    row.and_then(|row| row.get(place(to)))
        .copied()
        .unwrap_or(1.0)
}

/// The place of a stroke in the table.
fn place(stroke: &Stroke) -> usize {
    let ridden = match (stroke.target, stroke.manner) {
        (StrokeTarget::Piece(piece), _) => return piece as usize,
        (StrokeTarget::HandCymbal, _) => 0,
        (StrokeTarget::Lifted, _) => 1,
        (StrokeTarget::Opening { .. }, Manner::Near) => 2,
        (StrokeTarget::Opening { .. }, Manner::Crash) => 3,
        (StrokeTarget::Opening { .. }, Manner::Low) => 5,
        (StrokeTarget::Opening { .. }, _) => 4,
    };
    Piece::COUNT + ridden
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The table is indexed by the pieces' numbers.
    #[test]
    fn pieces_are_numbered_in_order() {
        for (i, piece) in Piece::ALL.into_iter().enumerate() {
            assert_eq!(piece as usize, i, "{piece:?}");
            assert_eq!(
                WAYS[Piece::Snare as usize][i],
                distance(Piece::Snare, piece)
            );
        }
    }
}
