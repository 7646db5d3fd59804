//! Sends hits through the note map: to the host as notes, to the preview as strokes.

use super::sink::EventSink;
use crate::groove::Hit;
use crate::kit::{NoteMap, Struck};
use crate::midi::NoteOffTracker;

/// Where the hits of a span go. Audio thread; no allocation.
pub(super) struct Output<'a, S> {
    /// What the sampler is sent.
    pub(super) map: &'a NoteMap,
    /// What sounds there.
    pub(super) note_offs: &'a mut NoteOffTracker,
    /// The host and the preview.
    pub(super) sink: &'a mut S,
    /// Quarter notes a minute.
    pub(super) bpm: f64,
    /// In Hz.
    pub(super) sample_rate: f64,
    /// Whether nothing is sent.
    pub(super) bypass: bool,
}

impl<S: EventSink> Output<'_, S> {
    /// Sends a hit at a sample of the block.
    pub(super) fn strike(&mut self, hit: &Hit, at: u32) {
        if self.bypass {
            return;
        }
        self.sink.struck(at, hit);
        if let Some(sent) = self.map.send(&hit.struck()) {
            let controller = self.map.hi_hat.controller();
            let time = (self.bpm, self.sample_rate);
            self.note_offs
                .strike(at, (&sent, hit.rings), controller, time, self.sink);
        }
    }

    /// Plays a stroke at the start of the block, for the user to hear. It outlasts a transport that stands.
    pub(super) fn try_stroke(&mut self, struck: Struck) {
        self.sink.struck(0, &Hit::of(&struck));
        if let Some(sent) = self.map.send(&struck) {
            if let (Some(value), Some(controller)) = (sent.opening, self.map.hi_hat.controller()) {
                self.note_offs.move_hi_hat(0, controller, value, self.sink);
            }
            self.note_offs.try_note(
                sent.note,
                sent.velocity,
                (self.bpm, self.sample_rate),
                self.sink,
            );
        }
    }

    /// Moves the hi-hat's controller ahead of a hit.
    pub(super) fn move_foot(&mut self, hit: &Hit, at: u32) {
        let sent = self.map.send(&hit.struck()).filter(|_| !self.bypass);
        let value = sent.and_then(|sent| sent.opening);
        if let (Some(value), Some(controller)) = (value, self.map.hi_hat.controller()) {
            self.note_offs.move_hi_hat(at, controller, value, self.sink);
        }
    }
}
