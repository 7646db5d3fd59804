//! What the songwriter gives a song by hand, as the drummer is given it.

use crate::groove::{Edit, Stab};

/// What is given by hand, in ticks of the song and in order of its places.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct OwnHand {
    /// Edits of single strokes.
    pub edits: Vec<Edit>,
    /// Hits of the band.
    pub stabs: Vec<Stab>,
}

impl OwnHand {
    /// Brings what it has into its order. Of two hits at one place one stays.
    #[must_use]
    pub(super) fn in_order(mut self) -> Self {
        self.edits.sort_by_key(Edit::name);
        self.stabs.sort();
        self.stabs.dedup_by_key(|stab| stab.at);
        self
    }
}
