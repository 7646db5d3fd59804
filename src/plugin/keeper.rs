//! Keeps the riff: the copy that is saved and shown, beside the one that the audio thread plays.
//!
//! The audio thread owns its riff and edits it in place while it captures; every edit travels through
//! a bounded queue to the kept copy, which takes them up before it is saved, shown or changed. What
//! the user changes (clear, undo, load) or a project brings along is [handed over](super::handover) the
//! other way as a whole riff.

use super::handover::{Giver, Taker, handover};
use super::load::Loading;
use super::undo::{Turns, Undo};
use crate::editor::riff::{RiffAct, RiffFacts};
use crate::riff::attacks::Saved;
use crate::riff::{Edit, Riff};
use crate::time::Ticks;
use nice_plug::params::persist::PersistentField;
use rtrb::{Consumer, Producer, RingBuffer};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// Edits that can wait: half an hour of sixteenths at 130 BPM while nobody takes them up.
const QUEUE: usize = 16_384;
/// How many changes can be taken back. Judged.
const UNDO: usize = 20;
/// Strokes weaker than this go where the strong ones alone are wanted. Judged.
const WEAK: f32 = 0.5;

/// A riff on its way to the audio thread, with the number of its generation.
#[derive(Debug)]
struct Parcel {
    riff: Riff,
    generation: u32,
}

/// The kept copy.
struct Kept {
    riff: Riff,
    /// The same to be looked at, until it changes.
    shown: Option<Arc<Riff>>,
    /// What the last change by the user replaced.
    undo: Undo<Riff>,
    /// How often the user has changed it; loading a project is no change.
    changes: u32,
    generation: u32,
    edits: Consumer<(u32, Edit)>,
}

/// The keeper's end for every thread but the audio thread.
pub struct Keeper {
    kept: Mutex<Kept>,
    riffs: Giver<Parcel>,
    /// The audio thread's end until it is taken.
    audio: Mutex<Option<AudioRiff>>,
    loading: Loading,
}

/// The audio thread's end.
pub struct AudioRiff {
    riffs: Taker<Parcel>,
    edits: Producer<(u32, Edit)>,
    generation: u32,
}

impl Default for Keeper {
    fn default() -> Self {
        let (producer, consumer) = RingBuffer::new(QUEUE);
        let (giver, taker) = handover();
        let audio = AudioRiff {
            riffs: taker,
            edits: producer,
            generation: 0,
        };
        Self {
            kept: Mutex::new(Kept {
                riff: Riff::default(),
                shown: None,
                undo: Undo::new(UNDO),
                changes: 0,
                generation: 0,
                edits: consumer,
            }),
            riffs: giver,
            audio: Mutex::new(Some(audio)),
            loading: Loading::default(),
        }
    }
}

impl Keeper {
    /// The audio thread's end, once. Main thread.
    pub fn take_audio(&self) -> Option<AudioRiff> {
        self.audio
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .take()
    }

    /// The riff as it is now. Any thread but the audio thread.
    pub fn riff(&self) -> Riff {
        self.lock().riff.clone()
    }

    /// The riff to be looked at: the same one as long as it does not change. Any thread but the audio thread.
    pub fn shown(&self) -> Arc<Riff> {
        let mut kept = self.lock();
        let Kept { riff, shown, .. } = &mut *kept;
        shown.get_or_insert_with(|| Arc::new(riff.clone())).clone()
    }

    /// How the loading of a file goes.
    pub fn loading(&self) -> &Loading {
        &self.loading
    }

    /// What the editor shows of it. Any thread but the audio thread.
    pub fn facts(&self) -> RiffFacts {
        let kept = self.lock();
        RiffFacts {
            attacks: kept.riff.attacks().len(),
            known: !kept.riff.is_empty(),
            repeats: kept.riff.repeat().is_some(),
            changes: kept.changes,
        }
    }

    /// Does what the user wants done; `bar` is the length of a bar in ticks. Any thread but the
    /// audio thread.
    pub fn act(&self, act: RiffAct, bar: Ticks) {
        match act {
            RiffAct::Clear => self.change(Riff::clear),
            RiffAct::Thin => self.change(|riff| riff.thin(WEAK)),
            RiffAct::Nudge(by) => self.change(|riff| riff.nudge(by)),
            RiffAct::Repeat(repeats) => self.change(|riff| {
                let bars = riff.whole_bars(bar).filter(|_| repeats);
                riff.set_repeat(bars);
            }),
        }
    }

    /// Changes the riff; can be undone. Any thread but the audio thread.
    pub fn change(&self, change: impl FnOnce(&mut Riff)) {
        let mut kept = self.lock();
        let mut riff = kept.riff.clone();
        change(&mut riff);
        let before = std::mem::replace(&mut kept.riff, riff);
        kept.undo.replaced(before, None);
        kept.changes = kept.changes.wrapping_add(1);
        self.send(&mut kept);
    }

    /// Takes the last change by the user back. Any thread but the audio thread.
    pub fn undo(&self) {
        self.turn(Undo::undo);
    }

    /// Makes the change again that was last taken back. Any thread but the audio thread.
    pub fn redo(&self) {
        self.turn(Undo::redo);
    }

    /// Which changes come next.
    pub fn turns(&self) -> Turns {
        self.lock().undo.turns()
    }

    fn turn(&self, turn: impl FnOnce(&mut Undo<Riff>, &mut Riff) -> bool) {
        let mut kept = self.lock();
        let Kept { undo, riff, .. } = &mut *kept;
        if turn(undo, riff) {
            kept.changes = kept.changes.wrapping_add(1);
            self.send(&mut kept);
        }
    }

    /// Takes up what was captured. Any thread but the audio thread.
    pub fn take_up(&self) {
        drop(self.lock());
    }

    /// The kept copy, with every edit that has arrived.
    fn lock(&self) -> MutexGuard<'_, Kept> {
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        let Kept {
            riff,
            shown,
            generation,
            edits,
            ..
        } = &mut *kept;
        while let Ok((of, edit)) = edits.pop() {
            // Edits of a riff that was replaced since are void.
            if of == *generation {
                riff.apply(edit);
                *shown = None;
            }
        }
        kept
    }

    fn send(&self, kept: &mut Kept) {
        kept.generation = kept.generation.wrapping_add(1);
        kept.shown = None;
        let mut riff = Riff::with_room();
        riff.copy_from(&kept.riff);
        self.riffs.give(Parcel {
            riff,
            generation: kept.generation,
        });
    }
}

impl AudioRiff {
    /// Takes a new riff over where one waits; whether it did.
    ///
    /// # Realtime
    /// No allocation, no lock, nothing is freed.
    pub fn receive(&mut self, mut exchange: impl FnMut(&mut Riff)) -> bool {
        let generation = &mut self.generation;
        self.riffs.take(|parcel| {
            *generation = parcel.generation;
            exchange(&mut parcel.riff);
        })
    }

    /// Hands an edit on; false where the queue is full.
    pub fn send(&mut self, edit: Edit) -> bool {
        self.edits.push((self.generation, edit)).is_ok()
    }
}

impl PersistentField<'_, Saved> for Arc<Keeper> {
    /// A project is loaded: the riff of before is gone.
    fn set(&self, saved: Saved) {
        let Ok(riff) = Riff::load(&saved) else {
            return;
        };
        let mut kept = self.lock();
        if kept.riff == riff {
            return;
        }
        kept.riff = riff;
        kept.undo.forget();
        self.send(&mut kept);
    }

    fn map<F, R>(&self, f: F) -> R
    where
        F: Fn(&Saved) -> R,
    {
        let saved = self.lock().riff.save();
        f(&saved)
    }
}
