//! The receiver of the engine's output.

use crate::groove::Hit;
use crate::midi::{NoteEvent, NoteOut};
use crate::time::Bar;
use crate::transport::Span;

/// The tempo and bar in force while the playhead passes over a span.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Passing {
    /// Quarter notes a minute.
    pub bpm: f64,
    /// The host's bar in which the span begins.
    pub bar: Bar,
    /// Whether the host has reported these values. Within a block that wrapped a loop it has not yet: the values
    /// are then those of the loop's end.
    pub said: bool,
}

/// Receives the engine's output: note events, the strokes themselves, and the passing time.
pub trait EventSink: NoteOut {
    /// Receives a stroke, for receivers that play pieces rather than notes. In order of time, whether or not the
    /// host took its note. `sample` as in [`NoteEvent`]. `grab`: so many samples later a hand grabs the piece.
    fn struck(&mut self, sample: u32, hit: &Hit, grab: Option<u32>) {
        let _ = (sample, hit, grab);
    }

    /// Receives the ticks that the playhead passes, span by span, before the notes of the span. Releases at a jump
    /// come before the span that jumped.
    fn passes(&mut self, span: &Span, passing: &Passing) {
        let _ = (span, passing);
    }

    /// Receives the end of a block of `frames` samples. Blocks in which nothing happened are told as one, when they
    /// are over.
    fn ends(&mut self, frames: u32) {
        let _ = frames;
    }
}

impl EventSink for Vec<NoteEvent> {}
