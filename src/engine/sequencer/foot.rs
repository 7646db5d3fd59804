//! When the foot moves the hi-hat for strokes to come: a sampler's controller has a lead.
//!
//! The foot moves ahead of its stroke by the lead, but after the stroke on the hi-hat before, and not before the bar
//! line: what a bar plays is known from there on.

use crate::groove::Hit;
use crate::kit::hi_hat::usual_opening;
use crate::time::{Bar, Ticks};
use arrayvec::ArrayVec;

/// Most strokes on a hi-hat within the longest lead: far more than a hand can play.
const MOST: usize = 32;

/// The moves of a span, in order of time: when, and the hit that each is for.
pub(super) type Moves = ArrayVec<(Ticks, Hit), MOST>;

/// The moves that are due from tick `from` up to, not including, `to`, for the hits of `bar` from there on. `last` is
/// the tick of the last stroke on the hi-hat.
pub(super) fn moves(
    hits: impl Iterator<Item = Hit>,
    (from, to): (Ticks, Ticks),
    bar: Bar,
    lead: Ticks,
    mut last: Ticks,
) -> Moves {
    let mut moves = Moves::new();
    for hit in hits.take_while(|hit| hit.tick < (to + lead).min(bar.end())) {
        if usual_opening(hit.piece).is_none() {
            continue;
        }
        let due = (hit.tick - lead).max(bar.start).max(last);
        if due < hit.tick && (from..to).contains(&due) {
            let _ = moves.try_push((due, hit));
        }
        last = hit.tick;
    }
    moves
}
