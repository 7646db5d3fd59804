//! The minimum gaps between strokes of one limb, and between the kicks of both feet, once feel and swing have moved them:
//! the limits, but at least half of the gap on the grid, and at most all of it.

use super::context::Context;
use super::stroke::{Limb, Stroke};
use super::{limbs, limits};
use crate::time::Ticks;

/// The minimum gaps between strokes, in ticks: the limits, or the gap on the grid where that is
/// smaller.
pub(super) struct Gaps<'a> {
    ctx: &'a Context<'a>,
    /// From a hand's stroke to a bar line.
    travel: Ticks,
    foot: Ticks,
    /// Between kicks of one foot and the other.
    feet: Ticks,
}

impl<'a> Gaps<'a> {
    pub(super) fn new(ctx: &'a Context) -> Self {
        let limits::Limits {
            hand_s,
            travel_s,
            foot_s,
            feet_s,
            ..
        } = ctx.limits;
        Self {
            ctx,
            travel: ctx.ticks(hand_s + travel_s),
            foot: ctx.ticks(foot_s),
            feet: ctx.ticks(feet_s),
        }
    }

    /// The minimum gap between two strokes of one limb, or two kicks. `None` is a bar line, where the neighbouring bar may have a stroke.
    /// `to_line` is the distance to it, on the grid.
    pub(super) fn between(
        &self,
        earlier: Option<&Stroke>,
        later: Option<&Stroke>,
        to_line: Ticks,
    ) -> Ticks {
        let hand = |s: &Stroke| s.limb < Limb::LeadFoot;
        match (earlier, later) {
            (Some(a), Some(b)) => {
                let limit = if hand(a) {
                    limbs::minimum_gap(self.ctx, a, b)
                } else if a.limb == b.limb {
                    self.foot
                } else {
                    self.feet
                };
                // A player without limits keeps half of the gap, too.
                let grid = b.tick - a.tick;
                limit.max(grid / 2).min(grid)
            }
            (Some(s), None) | (None, Some(s)) if hand(s) => self.travel.min(to_line),
            _ => self.foot.min(to_line),
        }
    }
}
