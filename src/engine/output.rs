//! Sends hits through the note map: to the host as notes, to the preview as strokes.

use super::sequencer::Foot;
use super::sink::EventSink;
use crate::groove::Hit;
use crate::kit::{NoteMap, Ring, Struck};
use crate::midi::note_offs::samples;
use crate::midi::{GRAB_TICKS, NoteOffTracker};
use crate::time::tempo::ticks_per_second;

/// The sampler: what it is sent, and what sounds there. Audio thread; no allocation.
#[derive(Debug, Clone, Default)]
pub(super) struct Sampler {
    map: NoteMap,
    /// The pieces whose strokes move the hi-hat's controller.
    on_controller: u32,
    pub(super) note_offs: NoteOffTracker,
}

impl Sampler {
    /// Lets `exchange` replace the note map; it returns whether it did. What sounds ends on its own note.
    pub(super) fn exchange(&mut self, exchange: impl FnOnce(&mut NoteMap) -> bool) -> bool {
        let is_new = exchange(&mut self.map);
        if is_new {
            self.on_controller = self.map.on_controller();
        }
        is_new
    }

    /// What the foot has to do at a tempo in quarter notes a minute.
    pub(super) fn foot(&self, bpm: f64) -> Foot {
        let controller = self.map.hi_hat.controller();
        controller.map_or_else(Foot::default, |controller| Foot {
            lead: controller.lead(ticks_per_second(bpm)),
            pieces: self.on_controller,
        })
    }

    /// Begins a block. Where it is `silent`, what was played ends, and the foot shuts the hi-hat; it shuts one too that the
    /// map has no longer.
    pub(super) fn begin_block(&mut self, silent: bool, sink: &mut impl EventSink) {
        if silent {
            self.note_offs.release_all(0, sink);
        }
        if silent || self.note_offs.moved() != self.map.hi_hat.controller() {
            self.note_offs.shut_hi_hat(0, sink);
        }
    }

    /// The way to it, at a tempo in quarter notes a minute and a sample rate in Hz. While `bypass` is on, no hit goes out.
    pub(super) fn output<'a, S>(
        &'a mut self,
        sink: &'a mut S,
        time: (f64, f64),
        bypass: bool,
    ) -> Output<'a, S> {
        Output {
            map: &self.map,
            note_offs: &mut self.note_offs,
            sink,
            time,
            bypass,
        }
    }
}

/// Where hits go. Audio thread; no allocation.
pub(super) struct Output<'a, S> {
    map: &'a NoteMap,
    note_offs: &'a mut NoteOffTracker,
    /// The host and the preview.
    sink: &'a mut S,
    /// Quarter notes a minute, and the sample rate in Hz.
    time: (f64, f64),
    bypass: bool,
}

impl<S: EventSink> Output<'_, S> {
    /// Sends a hit at a sample of the block.
    pub(super) fn strike(&mut self, hit: &Hit, at: u32) {
        if self.bypass {
            return;
        }
        let (bpm, sample_rate) = self.time;
        let grabbed = hit.ring == Ring::Grabbed;
        let grab = grabbed.then(|| samples(GRAB_TICKS, bpm, sample_rate));
        self.sink.struck(at, hit, grab);
        if let Some(sent) = self.map.send(&hit.struck()) {
            self.note_offs
                .strike(at, (&sent, hit.ring), self.time, self.sink);
        }
    }

    /// Plays a stroke at the start of the block, for the user to hear. It outlasts a transport that stands.
    pub(super) fn try_stroke(&mut self, struck: Struck) {
        self.sink.struck(0, &Hit::of(&struck), None);
        if let Some(sent) = self.map.send(&struck) {
            self.note_offs.try_note(&sent, self.time, self.sink);
        }
    }

    /// Moves the hi-hat's controller ahead of a hit.
    pub(super) fn move_foot(&mut self, hit: &Hit, at: u32) {
        let sent = self.map.send(&hit.struck()).filter(|_| !self.bypass);
        if let Some(opened) = sent.and_then(|sent| sent.opening) {
            self.note_offs.move_hi_hat(at, opened, self.sink);
        }
    }
}
