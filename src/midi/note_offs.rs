//! Sends a note-off for every note-on, and releases a sounding key before it is struck again.

use super::{NOTE_TICKS, RING_TICKS};
use crate::kit::Note;
use arrayvec::ArrayVec;

/// A note event inside a block.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NoteEvent {
    /// Samples from the start of the block.
    pub sample: u32,
    /// Which note.
    pub note: Note,
    /// Note-on velocity, 1..=127; `None` for a note-off.
    pub velocity: Option<u8>,
}

/// Receives note events. Events come in non-decreasing order of `sample`.
pub trait NoteOut {
    /// Takes an event; false where the host's buffer is full. A refused note-on never sounded; a refused note-off
    /// is sent again in the next block.
    fn send(&mut self, event: NoteEvent) -> bool;
}

impl NoteOut for Vec<NoteEvent> {
    fn send(&mut self, event: NoteEvent) -> bool {
        self.push(event);
        true
    }
}

/// Most notes sounding at once: every key of a kit, several times over.
const MAX_SOUNDING: usize = 64;

#[derive(Debug, Clone, Copy)]
struct Sounding {
    note: Note,
    /// Samples from the start of the block to its note-off; negative where it is overdue.
    left: i64,
}

/// The notes that sound. Audio thread; no allocation.
#[derive(Debug, Clone, Default)]
pub struct NoteOffTracker {
    sounding: ArrayVec<Sounding, MAX_SOUNDING>,
    /// The sample of the block's latest event: events that are sent again come no earlier.
    latest: u32,
}

impl NoteOffTracker {
    /// Strikes a note. First it releases notes that end by then, and the same note where it still sounds. `length`
    /// in samples, see [`NoteOffTracker::length`].
    pub fn strike(
        &mut self,
        sample: u32,
        note: Note,
        velocity: u8,
        length: u32,
        sink: &mut impl NoteOut,
    ) {
        self.release_until(sample, sink);
        let sounding = self.sounding.iter().position(|s| s.note == note);
        if let Some(i) = sounding {
            if !self.send(sample, note, None, sink) {
                return;
            }
            self.sounding.remove(i);
        }
        if !self.sounding.is_full() && self.send(sample, note, Some(velocity), sink) {
            let left = i64::from(sample) + i64::from(length.max(1));
            self.sounding.push(Sounding { note, left });
        }
    }

    /// Ends a block of `frames` samples: releases the notes that end in it.
    pub fn end_block(&mut self, frames: u32, sink: &mut impl NoteOut) {
        if let Some(last) = frames.checked_sub(1) {
            self.release_until(last, sink);
        }
        self.sounding
            .iter_mut()
            .for_each(|s| s.left -= i64::from(frames));
        self.latest = 0;
    }

    /// How many samples of the next block pass before a note ends; `None` where none sounds.
    pub fn due(&self) -> Option<i64> {
        self.sounding.iter().map(|s| s.left).min()
    }

    /// Releases everything at a sample of the block.
    pub fn release_all(&mut self, sample: u32, sink: &mut impl NoteOut) {
        let mut i = 0;
        while let Some(&Sounding { note, .. }) = self.sounding.get(i) {
            if self.send(sample, note, None, sink) {
                self.sounding.remove(i);
            } else {
                i += 1;
            }
        }
    }

    /// The length of a note at a tempo, in samples: [`NOTE_TICKS`], but at most one second; for a ringing note
    /// [`RING_TICKS`], but at most ten seconds.
    pub fn length(rings: bool, bpm: f64, sample_rate: f64) -> u32 {
        let (ticks, most_s) = if rings {
            (RING_TICKS, 10.0)
        } else {
            (NOTE_TICKS, 1.0)
        };
        let samples = ticks as f64 / crate::time::tempo::ticks_per_second(bpm) * sample_rate;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let samples = samples.clamp(1.0, sample_rate * most_s) as u32;
        samples
    }

    fn release_until(&mut self, sample: u32, sink: &mut impl NoteOut) {
        // In order of time. Few notes sound at once, so a linear search is fastest.
        while let Some(i) = (0..self.sounding.len())
            .filter(|&i| self.sounding[i].left <= i64::from(sample))
            .min_by_key(|&i| self.sounding[i].left)
        {
            let Sounding { note, left } = self.sounding[i];
            let at = u32::try_from(left).unwrap_or(0);
            if !self.send(at, note, None, sink) {
                return;
            }
            self.sounding.remove(i);
        }
    }

    /// Sends an event, no earlier than the latest one.
    fn send(
        &mut self,
        sample: u32,
        note: Note,
        velocity: Option<u8>,
        sink: &mut impl NoteOut,
    ) -> bool {
        let sample = sample.max(self.latest);
        let taken = sink.send(NoteEvent {
            sample,
            note,
            velocity,
        });
        if taken {
            self.latest = sample;
        }
        taken
    }
}
