//! What the songwriter gives a bar by hand: edits of single strokes, and hits of the band.

use super::edit::Edit;
use crate::time::Ticks;
use std::ops::Range;

/// A hit of the band, marked by the songwriter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Stab {
    /// Its place on the grid, in ticks.
    pub at: Ticks,
    /// Whether it is held: the cymbal rings on. Else a hand grabs it.
    pub held: bool,
}

impl Stab {
    /// The same so many ticks later.
    #[must_use]
    pub fn moved(self, by: Ticks) -> Self {
        Self {
            at: self.at + by,
            ..self
        }
    }
}

/// What the songwriter gives a song by hand, as a bar is given it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ByHand<'a> {
    /// The edits, in order of [`Edit::at`].
    pub edits: &'a [Edit],
    /// The hits of the band, in order of [`Stab::at`], each at a place of its own.
    pub stabs: &'a [Stab],
    /// By how many ticks the bar's own time is later than theirs.
    pub later: Ticks,
}

impl ByHand<'_> {
    /// The same for a bar whose own time is later by so many ticks more.
    pub(super) fn later_by(self, ticks: Ticks) -> Self {
        Self {
            later: self.later + ticks,
            ..self
        }
    }

    /// The places in the list of the edits from a tick of the bar's own time up to another.
    pub(super) fn edits_within(&self, from: Ticks, to: Ticks) -> Range<usize> {
        let first = |tick| {
            self.edits
                .partition_point(|edit| edit.at + self.later < tick)
        };
        first(from)..first(to)
    }

    /// An edit in the bar's own time.
    pub(super) fn edit(&self, i: usize) -> Option<Edit> {
        Some(self.edits.get(i)?.moved(self.later))
    }

    /// The hits from a tick of the bar's own time up to another, in that time.
    pub(super) fn stabs_within(
        &self,
        from: Ticks,
        to: Ticks,
    ) -> impl Iterator<Item = Stab> + use<'_> {
        let first = |tick| {
            self.stabs
                .partition_point(|stab| stab.at + self.later < tick)
        };
        let found = self.stabs.get(first(from)..first(to)).unwrap_or_default();
        found.iter().map(|stab| stab.moved(self.later))
    }
}
