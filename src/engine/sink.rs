//! Where the engine sends what it plays.

use crate::groove::Hit;
use crate::midi::{NoteEvent, NoteOut};
use crate::time::Bar;
use crate::transport::Span;

/// What holds while the playhead passes over a span.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Passing {
    /// Quarter notes a minute.
    pub bpm: f64,
    /// The bar of the host that the span begins in.
    pub bar: Bar,
    /// Whether the host has said so. Inside a block that wrapped a loop, it has not yet: what stands here
    /// is then what held where the loop ends.
    pub said: bool,
}

/// Takes what the engine plays: note events, and beside them the strokes and the time that passes.
pub trait EventSink: NoteOut {
    /// Hears of the stroke itself, for whoever sounds pieces and not notes; in order of time, whether
    /// or not its note is taken. `sample` as in [`NoteEvent`].
    fn struck(&mut self, sample: u32, hit: &Hit) {
        let _ = (sample, hit);
    }

    /// Hears which ticks the playhead passes, span by span, before the notes of the span are sent; what is
    /// released at a jump comes before the span that jumped.
    fn passes(&mut self, span: &Span, passing: &Passing) {
        let _ = (span, passing);
    }
}

impl EventSink for Vec<NoteEvent> {}
