//! What two keys are to each other: struck together, one after the other, in turn, in the same bars.

use super::strokes::{Stroke, TOGETHER, Used, any_in};
use crate::time::{TICKS_PER_QUARTER, Ticks};
use std::collections::BTreeSet;

/// How many ways of being to each other [`between`] measures.
pub(super) const WAYS: usize = 7;

fn share(strokes: &[Stroke], good: impl Fn(&Stroke) -> bool) -> f64 {
    strokes.iter().filter(|stroke| good(stroke)).count() as f64 / strokes.len().max(1) as f64
}

/// The distance to the nearest stroke before and after a tick, both farther than [`TOGETHER`].
fn around(strokes: &[Stroke], tick: Ticks) -> (Option<Ticks>, Option<Ticks>) {
    let before = strokes.partition_point(|stroke| stroke.tick < tick - TOGETHER);
    let after = strokes.partition_point(|stroke| stroke.tick <= tick + TOGETHER);
    (
        before
            .checked_sub(1)
            .map(|index| tick - strokes[index].tick),
        strokes.get(after).map(|stroke| stroke.tick - tick),
    )
}

/// Whether a stroke at `tick` fills a gap of an even run of `strokes`.
fn fills_gap(strokes: &[Stroke], tick: Ticks) -> bool {
    let even = |(before, after): (Option<Ticks>, Option<Ticks>)| {
        let (Some(before), Some(after)) = (before, after) else {
            return false;
        };
        (before - after).abs() < TOGETHER && before <= TICKS_PER_QUARTER + TOGETHER
    };
    !any_in(strokes, tick - TOGETHER, tick + TOGETHER) && even(around(strokes, tick))
}

/// What `one` is to `other`, each a share of 0 to 1: struck together; `other` up to an eighth before; up to an eighth
/// after; within a quarter on either side; in the same bar; how much of `other` is struck together with `one`; `one`
/// fills the gaps of `other`'s run.
pub(super) fn between(one: &Used, other: &Used) -> [f64; WAYS] {
    let (mine, theirs) = (&one.strokes, &other.strokes);
    let eighth = TICKS_PER_QUARTER / 2 + TOGETHER;
    let near = |from: Ticks, to: Ticks| {
        move |stroke: &Stroke| any_in(theirs, stroke.tick + from, stroke.tick + to)
    };
    let bars: BTreeSet<i64> = theirs.iter().map(|stroke| stroke.bar).collect();
    [
        share(mine, near(-TOGETHER, TOGETHER)),
        share(mine, near(-eighth, -TOGETHER - 1)),
        share(mine, near(TOGETHER + 1, eighth)),
        share(
            mine,
            near(-TICKS_PER_QUARTER - TOGETHER, TICKS_PER_QUARTER + TOGETHER),
        ),
        share(mine, |stroke| bars.contains(&stroke.bar)),
        share(theirs, |stroke| {
            any_in(mine, stroke.tick - TOGETHER, stroke.tick + TOGETHER)
        }),
        share(mine, |stroke| fills_gap(theirs, stroke.tick)),
    ]
}
