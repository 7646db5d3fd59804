//! The work on the variation of one bar: what it changes, what it draws, and where.

use crate::groove::beat::Beat;
use crate::groove::chance::{Decision, chance};
use crate::groove::context::Context;
use crate::groove::stroke::{Limb, Origin, Part, Stroke, StrokeTarget};
use crate::time::Ticks;
use arrayvec::ArrayVec;

/// The rank of what sounds at every density above 0.
pub(super) const BARELY: f32 = f32::MIN_POSITIVE;
/// Extras of a higher rank do not sound at the default density.
pub(super) const DENSE: f32 = 0.45;

/// Whose strokes change.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Voice {
    Hand,
    Kick,
    Snare,
}

/// A change that a bar could make, with its share, and its place in the bar.
#[derive(Debug, Clone, Copy)]
pub(super) struct Change {
    pub(super) share: f32,
    pub(super) at: Ticks,
    pub(super) what: What,
}

#[derive(Debug, Clone, Copy)]
pub(super) enum What {
    /// Leave out the stroke with this index.
    LeaveOut(usize),
    /// Move it to a tick of the bar.
    Move(usize, Ticks),
    /// Add a stroke at a tick of the bar.
    Add(Ticks),
    /// Add the snare pick-up at a tick of the bar.
    PickUp(Ticks),
    /// Bring the extra with this index in at every density, in place of one that only a high density has: the bar
    /// differs from its groove at both.
    Bring(usize),
}

/// Most changes that a bar chooses from.
pub(super) type Changes = ArrayVec<Change, 64>;

/// Most places that a bar changes: six a voice, and both ends of what moves.
pub(super) const MOST_TOUCHED: usize = 24;

/// The work on a bar.
pub(super) struct Work<'a> {
    pub(super) ctx: &'a Context<'a>,
    pub(super) beat: &'a Beat<'a>,
    pub(super) part: &'a mut Part,
    /// Whether the feet play a riff, to which nothing is added and from which nothing is taken.
    pub(super) feet_follow: bool,
    /// From this tick of the timeline on the lead hand's strokes stay: the hi-hat opens with them into the next bar.
    pub(super) opens: Ticks,
    /// Why the strokes that change now do so.
    pub(super) origin: Origin,
    /// Where the voice at hand has changed already: a change must not undo another.
    pub(super) touched: ArrayVec<Ticks, MOST_TOUCHED>,
}

impl Work<'_> {
    /// A draw of this bar and this beat.
    pub(super) fn draw(&self, decision: Decision, index: u64) -> f32 {
        let index = index * 64 + self.beat.seed();
        chance(
            self.ctx.bar_settings.take,
            self.ctx.bar.start,
            decision,
            index,
        )
    }

    /// The place of a tick among the sixteenths of a bar of 4/4 that the tables count.
    fn slot(&self, at: Ticks) -> usize {
        let (i, count) = self.ctx.layout.count_of(at);
        let beat = i * 4 / self.ctx.layout.counts.len().max(1);
        let sixteenth = (at - count.start) * 4 / count.len.max(1);
        beat * 4 + usize::try_from(sixteenth).unwrap_or_default().min(3)
    }

    pub(super) fn share(&self, of: &[f32; 16], at: Ticks) -> f32 {
        of.get(self.slot(at)).copied().unwrap_or_default()
    }

    /// A stroke's tick in the bar.
    pub(super) fn at(&self, stroke: &Stroke) -> Ticks {
        stroke.tick - self.part.bar.start
    }

    pub(super) fn struck(&self, at: Ticks, target: StrokeTarget) -> bool {
        self.part
            .strokes
            .iter()
            .any(|s| s.target == target && self.at(s) == at)
    }

    pub(super) fn first_of_lead_hand(&self) -> Ticks {
        let mine = self
            .part
            .strokes
            .iter()
            .filter(|s| s.limb == Limb::LeadHand);
        mine.map(|s| self.at(s)).min().unwrap_or_default()
    }
}

/// Offers a change of the stroke at a tick of the bar.
pub(super) fn offer(changes: &mut Changes, at: Ticks, share: f32, what: What) {
    if share > 0.0 {
        let _ = changes.try_push(Change { share, at, what });
    }
}

/// Draws one of the changes by their shares; `draw` in 0..1.
pub(super) fn choose(changes: &Changes, draw: f32) -> Option<Change> {
    let total: f32 = changes.iter().map(|change| change.share).sum();
    let mut left = draw * total;
    let chosen = changes.iter().find(|change| {
        left -= change.share;
        left < 0.0
    });
    chosen.copied()
}
