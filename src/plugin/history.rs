//! Keeps what was played, and what was seen of the host's tempi and meters.
//!
//! The audio thread writes a tape through a bounded queue; the kept copy takes it up a few times a second
//! (`collector.rs`), and whenever somebody asks. The map of tempi and meters is saved with the project,
//! the notes are not.

use super::save::Saving;
use crate::recorder::passes::{Passage, Played};
use crate::recorder::tape::{Entry, Outlet, Tape};
use crate::time::ObservedTempoMap;
use crate::time::observed::Saved;
use nice_plug::params::persist::PersistentField;
use rtrb::{Consumer, Producer, RingBuffer};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// Entries that can wait. Four limbs in sixteenths at 300 BPM make 160 a second: fifty seconds of them, or a
/// fifth of a second of a host that renders 250 times as fast.
const QUEUE: usize = 8192;

/// The audio thread's end.
pub type AudioTape = Tape<Queue>;

/// The way from the audio thread.
#[derive(Debug)]
pub struct Queue(Producer<Entry>);

impl Outlet for Queue {
    fn put(&mut self, entry: Entry) -> bool {
        self.0.push(entry).is_ok()
    }
}

/// The kept copy.
struct Kept {
    played: Played,
    seen: ObservedTempoMap,
    entries: Consumer<Entry>,
}

/// The history of an instance. Any thread but the audio thread.
pub struct History {
    kept: Mutex<Kept>,
    /// The audio thread's end until it is taken.
    audio: Mutex<Option<AudioTape>>,
    saving: Saving,
}

impl Default for History {
    fn default() -> Self {
        let (producer, entries) = RingBuffer::new(QUEUE);
        Self {
            kept: Mutex::new(Kept {
                played: Played::default(),
                seen: ObservedTempoMap::default(),
                entries,
            }),
            audio: Mutex::new(Some(Tape::new(Queue(producer)))),
            saving: Saving::default(),
        }
    }
}

impl History {
    /// The audio thread's end, once. Main thread.
    pub fn take_audio(&self) -> Option<AudioTape> {
        self.audio
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .take()
    }

    /// Takes up what was played.
    pub fn take_up(&self) {
        drop(self.lock());
    }

    /// The host's tempi and meters as far as they were seen.
    pub fn seen(&self) -> ObservedTempoMap {
        self.lock().seen.clone()
    }

    /// What was played last ([`Played::latest`]), if anything was, and the map that it was played in.
    pub fn latest(&self) -> Option<(Passage, ObservedTempoMap)> {
        let kept = self.lock();
        Some((kept.played.latest()?, kept.seen.clone()))
    }

    /// How the saving of what was played goes.
    pub fn saving(&self) -> &Saving {
        &self.saving
    }

    /// The kept copy, with all that has arrived.
    fn lock(&self) -> MutexGuard<'_, Kept> {
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        let Kept {
            played,
            seen,
            entries,
        } = &mut *kept;
        while let Ok(entry) = entries.pop() {
            if let Entry::Over(stretch) = &entry {
                // A song with too many changes of tempo keeps those that it has.
                let _ = seen.pass(stretch);
            }
            played.take(&entry);
        }
        kept
    }
}

impl PersistentField<'_, Saved> for Arc<History> {
    /// A project is loaded: its map counts. A damaged one leaves what was seen.
    fn set(&self, saved: Saved) {
        if let Ok(seen) = ObservedTempoMap::load(&saved) {
            self.lock().seen = seen;
        }
    }

    fn map<F, R>(&self, f: F) -> R
    where
        F: Fn(&Saved) -> R,
    {
        let saved = self.lock().seen.save();
        f(&saved)
    }
}
