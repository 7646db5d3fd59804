//! When the foot moves the hi-hat for strokes to come: a sampler's controller has a lead.
//!
//! The foot moves ahead of its stroke by the lead, but after the stroke on the hi-hat before, and not before the bar
//! line: what a bar plays is known from there on.

use crate::groove::Hit;
use crate::kit::Piece;
use crate::time::{Bar, Ticks};
use arrayvec::ArrayVec;

/// Most strokes on a hi-hat within the longest lead: far more than a hand can play.
const MOST: usize = 32;

/// What the foot of a sampler's hi-hat has to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Foot {
    /// How long before its stroke it moves, in ticks; 0 where it does not move ahead.
    pub lead: Ticks,
    /// The pieces whose strokes it moves for, one bit each by [`Piece`].
    pub pieces: u32,
}

impl Foot {
    /// Whether it moves for strokes on a piece.
    pub(super) fn moves_for(self, piece: Piece) -> bool {
        self.pieces & (1 << piece as u32) != 0
    }
}

/// The moves of a span, in order of time: when, and the hit that each is for.
pub(super) type Moves = ArrayVec<(Ticks, Hit), MOST>;

/// The moves that are due from tick `from` up to, not including, `to`, for the hits of `bar` from there on. `last` is
/// the tick of the last stroke on the hi-hat.
pub(super) fn moves(
    hits: impl Iterator<Item = Hit>,
    (from, to): (Ticks, Ticks),
    bar: Bar,
    foot: Foot,
    mut last: Ticks,
) -> Moves {
    let mut moves = Moves::new();
    for hit in hits.take_while(|hit| hit.tick < (to + foot.lead).min(bar.end())) {
        if !foot.moves_for(hit.piece) {
            continue;
        }
        let after = last.saturating_add(1);
        let due = (hit.tick - foot.lead).max(bar.start).max(after);
        if due < hit.tick && (from..to).contains(&due) {
            let _ = moves.try_push((due, hit));
        }
        last = hit.tick;
    }
    moves
}

/// Yields the moves before a tick.
pub(super) fn yield_before(moves: &mut Moves, tick: Ticks, mut yields: impl FnMut(Ticks, Hit)) {
    while let Some(&(due, hit)) = moves.first()
        && due < tick
    {
        moves.remove(0);
        yields(due, hit);
    }
}
