//! Sends a note-off for every note-on, releases a sounding key before it is struck again, chokes what is grabbed, and moves
//! the hi-hat's controller.

use super::Expression;
use super::region::{CHOKES_AT, NOTE_TICKS, note_ticks};
use crate::kit::hi_hat::{Controller, Opened};
use crate::kit::note_map::{Choke, Length};
use crate::kit::{Note, Ring, Sent};
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

/// What is sent beside notes, inside a block.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ExpressionEvent {
    /// Samples from the start of the block.
    pub sample: u32,
    /// What.
    pub expression: Expression,
}

/// Receives events. All of them come in non-decreasing order of `sample`.
pub trait NoteOut {
    /// Takes a note event; false where the host's buffer is full. A refused note-on never sounded; a refused note-off
    /// is sent again in the next block.
    fn send(&mut self, event: NoteEvent) -> bool;

    /// Takes what is sent beside notes; false where the host's buffer is full.
    fn express(&mut self, event: ExpressionEvent) -> bool;
}

/// Keeps the notes alone.
impl NoteOut for Vec<NoteEvent> {
    fn send(&mut self, event: NoteEvent) -> bool {
        self.push(event);
        true
    }

    fn express(&mut self, _: ExpressionEvent) -> bool {
        true
    }
}

/// Most notes sounding at once: every key of a kit, several times over.
const MAX_SOUNDING: usize = 64;

#[derive(Debug, Clone, Copy)]
struct Sounding {
    note: Note,
    /// Samples from the start of the block to its note-on; negative where it began in a block before.
    began: i64,
    /// Samples from the start of the block to its note-off; negative where it is overdue.
    left: i64,
    /// How it is choked at its end, and how many samples the note of a choke lasts.
    choke: Option<(Choke, u32)>,
    /// Whether the user tries it: it outlasts a transport that stands.
    tried: bool,
}

/// The notes that sound, and where the hi-hat's controller stands. Audio thread; no allocation.
#[derive(Debug, Clone, Default)]
pub struct NoteOffTracker {
    sounding: ArrayVec<Sounding, MAX_SOUNDING>,
    /// The sample of the block's latest event: events that are sent again come no earlier.
    latest: u32,
    /// What the hi-hat's controller was last given.
    hi_hat: Option<Opened>,
}

impl NoteOffTracker {
    /// Strikes what a note map sends for a stroke. First it releases notes that end by then, and the same note where it
    /// still sounds, and moves the hi-hat's controller. A stroke that does not ring freely is grabbed at its end. `bpm` in
    /// quarter notes a minute, `sample_rate` in Hz.
    pub fn strike(
        &mut self,
        sample: u32,
        (sent, ring): (&Sent, Ring),
        (bpm, sample_rate): (f64, f64),
        sink: &mut impl NoteOut,
    ) {
        if let Some(opened) = sent.opening {
            self.move_hi_hat(sample, opened, sink);
        }
        let ticks = note_ticks(sent.length, ring);
        let short = samples(NOTE_TICKS, bpm, sample_rate);
        let is_grabbed = ring != Ring::Free && sent.length != Length::Short;
        let choke = (sent.choke != Choke::NoteOff && is_grabbed).then_some((sent.choke, short));
        let length = samples(ticks, bpm, sample_rate);
        self.sound(sample, sent.note, sent.velocity, (length, choke), sink);
    }

    /// Sounds a note for a number of samples. First it releases notes that end by then, and the same note where it still
    /// sounds; a note that was struck at this very sample stays.
    pub fn sound(
        &mut self,
        sample: u32,
        note: Note,
        velocity: u8,
        (length, choke): (u32, Option<(Choke, u32)>),
        sink: &mut impl NoteOut,
    ) {
        self.release_until(sample, sink);
        let sounding = self.sounding.iter().position(|s| s.note == note);
        if let Some(i) = sounding {
            let since = self.sounding[i].began;
            if since == i64::from(sample) || !self.send(sample, note, None, sink) {
                return;
            }
            self.sounding.remove(i);
        }
        if !self.sounding.is_full() && self.send(sample, note, Some(velocity), sink) {
            self.sounding.push(Sounding {
                note,
                began: i64::from(sample),
                left: i64::from(sample) + i64::from(length.max(1)),
                choke,
                tried: false,
            });
        }
    }

    /// Strikes at the start of the block, for the user to hear. The note is a short one, and outlasts
    /// [`NoteOffTracker::release_all`].
    pub fn try_note(
        &mut self,
        sent: &Sent,
        (bpm, sample_rate): (f64, f64),
        sink: &mut impl NoteOut,
    ) {
        if let Some(opened) = sent.opening {
            self.move_hi_hat(0, opened, sink);
        }
        let length = samples(NOTE_TICKS, bpm, sample_rate);
        self.sound(0, sent.note, sent.velocity, (length, None), sink);
        if let Some(sounding) = self.sounding.iter_mut().find(|s| s.note == sent.note) {
            sounding.tried = true;
        }
    }

    /// Gives the hi-hat's controller a value, unless it has it. First it releases notes that end by then.
    pub fn move_hi_hat(&mut self, sample: u32, opened: Opened, sink: &mut impl NoteOut) {
        self.release_until(sample, sink);
        if self.hi_hat != Some(opened) && self.express(sample, Expression::hi_hat(opened), sink) {
            self.hi_hat = Some(opened);
        }
    }

    /// The controller of the hi-hat that was moved last, where it has not been left shut since.
    pub fn moved(&self) -> Option<&Controller> {
        self.hi_hat.as_ref().map(|opened| &opened.controller)
    }

    /// Shuts the hi-hat, where its controller was moved: the foot rests on the pedal. Where it is shut already, nothing
    /// is sent; the next stroke says again how far it is open.
    pub fn shut_hi_hat(&mut self, sample: u32, sink: &mut impl NoteOut) {
        let Some(Opened { controller, value }) = self.hi_hat else {
            return;
        };
        let closed = controller.closed;
        let shut = Expression::hi_hat(Opened {
            controller,
            value: closed,
        });
        if value == closed || self.express(sample, shut, sink) {
            self.hi_hat = None;
        }
    }

    /// Ends a block of `frames` samples: releases the notes that end in it.
    pub fn end_block(&mut self, frames: u32, sink: &mut impl NoteOut) {
        if let Some(last) = frames.checked_sub(1) {
            self.release_until(last, sink);
        }
        for sounding in &mut self.sounding {
            sounding.left -= i64::from(frames);
            sounding.began -= i64::from(frames);
        }
        self.latest = 0;
    }

    /// How many samples of the next block pass before a note ends; `None` where none sounds.
    pub fn due(&self) -> Option<i64> {
        self.sounding.iter().map(|s| s.left).min()
    }

    /// Releases everything that was played at a sample of the block.
    pub fn release_all(&mut self, sample: u32, sink: &mut impl NoteOut) {
        let mut i = 0;
        while let Some(&Sounding { note, tried, .. }) = self.sounding.get(i) {
            if !tried && self.send(sample, note, None, sink) {
                self.sounding.remove(i);
            } else {
                i += 1;
            }
        }
    }

    fn release_until(&mut self, sample: u32, sink: &mut impl NoteOut) {
        // In order of time. Few notes sound at once, so a linear search is fastest.
        while let Some(i) = (0..self.sounding.len())
            .filter(|&i| self.sounding[i].left <= i64::from(sample))
            .min_by_key(|&i| self.sounding[i].left)
        {
            let Sounding {
                note, left, choke, ..
            } = self.sounding[i];
            let at = u32::try_from(left).unwrap_or(0);
            let presses = |(choke, _)| choke == Choke::Aftertouch;
            let press = |value| Expression::Pressure { note, value };
            if choke.is_some_and(presses) && !self.express(at, press(127), sink) {
                return;
            }
            if !self.send(at, note, None, sink) {
                return;
            }
            self.sounding.remove(i);
            match choke {
                // The hand lets go again, so that the next stroke rings.
                Some((Choke::Aftertouch, _)) => {
                    self.express(at, press(0), sink);
                }
                Some((Choke::Key(grab), short)) => self.grab(at, grab, short, sink),
                Some((Choke::NoteOff, _)) | None => {}
            }
        }
    }

    /// Sounds the note of a choke.
    fn grab(&mut self, sample: u32, note: Note, length: u32, sink: &mut impl NoteOut) {
        let sounds = self.sounding.iter().any(|s| s.note == note);
        if !sounds && !self.sounding.is_full() && self.send(sample, note, Some(CHOKES_AT), sink) {
            self.sounding.push(Sounding {
                note,
                began: i64::from(sample),
                left: i64::from(sample) + i64::from(length.max(1)),
                choke: None,
                tried: false,
            });
        }
    }

    /// Sends a note event, no earlier than the latest one.
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

    /// Sends what is no note, no earlier than the latest event.
    fn express(&mut self, sample: u32, expression: Expression, sink: &mut impl NoteOut) -> bool {
        let sample = sample.max(self.latest);
        let taken = sink.express(ExpressionEvent { sample, expression });
        if taken {
            self.latest = sample;
        }
        taken
    }
}

/// A length in ticks as samples, at a tempo in quarter notes a minute and a sample rate in Hz: a short note one second at
/// most, a long one ten.
pub fn samples(ticks: i64, bpm: f64, sample_rate: f64) -> u32 {
    let most_s = if ticks == NOTE_TICKS { 1.0 } else { 10.0 };
    let samples = ticks as f64 / crate::time::tempo::ticks_per_second(bpm) * sample_rate;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let samples = samples.clamp(1.0, sample_rate * most_s) as u32;
    samples
}
