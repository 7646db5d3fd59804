//! What the songwriter gives a chart by hand: edits, hits of the band, own beats.

use super::{Chart, OwnHand};
use crate::groove::ByHand;
use crate::groove::own::OwnBeats;

impl Chart {
    /// Sets what its sections have by hand, in ticks of the song.
    pub(in crate::song) fn set_by_hand(&mut self, by_hand: OwnHand) {
        self.by_hand = by_hand.in_order();
    }

    /// What its sections have by hand.
    pub fn by_hand(&self) -> &OwnHand {
        &self.by_hand
    }

    /// The same chart as the drummer plays it without the edits of its sections. Main thread; allocates.
    #[must_use]
    pub fn unedited(&self) -> Self {
        let mut chart = self.clone();
        chart.by_hand.edits.clear();
        chart
    }

    /// Sets what the song has by hand where the chart is not followed, in ticks of the song. Main thread.
    pub fn set_beside(&mut self, beside: OwnHand) {
        self.beside = beside.in_order();
    }

    /// What the song has by hand where the chart is not followed.
    pub fn beside(&self) -> ByHand<'_> {
        ByHand {
            edits: &self.beside.edits,
            stabs: &self.beside.stabs,
            later: 0,
        }
    }

    /// Gives it the songwriter's own beats. Main thread.
    pub fn set_own_beats(&mut self, own_beats: OwnBeats) {
        self.own_beats = own_beats;
    }

    /// The songwriter's own beats.
    pub fn own_beats(&self) -> &OwnBeats {
        &self.own_beats
    }
}
