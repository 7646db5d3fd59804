//! A riff from a file, read and heard off the audio thread.

use super::keeper::Keeper;
use crate::riff::import::{ImportError, Place, from_midi, from_sound, is_midi};
use crate::time::TempoMap;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::sync::{Mutex, PoisonError};

/// What is to be loaded.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// The file.
    pub path: PathBuf,
    /// The track of a MIDI file, from 1; the only one with notes where `None`.
    pub track: Option<usize>,
    /// Where it is put.
    pub place: Place,
    /// The song's tempo there, in quarter notes a minute.
    pub bpm: f64,
    /// How readily a change of the sound counts as a stroke, 0..=1.
    pub sensitivity: f32,
}

/// How far the loading is. Any thread but the audio thread.
#[derive(Debug, Default)]
pub struct Loading {
    busy: AtomicBool,
    /// Thousandths.
    done: AtomicU32,
    last: Mutex<Option<Result<usize, String>>>,
}

impl Loading {
    /// How much is done, 0..=1; `None` while nothing is loaded.
    pub fn progress(&self) -> Option<f32> {
        let done = self.done.load(Ordering::Relaxed) as f32 / 1000.0;
        self.busy.load(Ordering::Relaxed).then_some(done)
    }

    /// How the last loading ended: the attacks, or what was wrong.
    pub fn outcome(&self) -> Option<Result<usize, String>> {
        self.last
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .clone()
    }

    fn end(&self, outcome: Result<usize, String>) {
        *self.last.lock().unwrap_or_else(PoisonError::into_inner) = Some(outcome);
        self.busy.store(false, Ordering::Relaxed);
    }
}

/// Reads a file and lays its riff over the kept one; can be undone. Background thread.
pub fn run(job: &Job, keeper: &Keeper) {
    let loading = keeper.loading();
    loading.done.store(0, Ordering::Relaxed);
    loading.busy.store(true, Ordering::Relaxed);
    let outcome = read(job, loading).map(|riff| {
        keeper.change(|kept| kept.lay_over(&riff));
        riff.attacks().len()
    });
    loading.end(outcome);
}

fn read(job: &Job, loading: &Loading) -> Result<crate::riff::Riff, String> {
    let file = std::fs::read(&job.path).map_err(|error| error.to_string())?;
    let riff: Result<_, ImportError> = if is_midi(&file) {
        from_midi(&file, job.track, job.place)
    } else {
        let tempo = TempoMap::constant(job.bpm);
        from_sound(file, job.sensitivity, &tempo, job.place, |share| {
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            loading
                .done
                .store((share * 1000.0) as u32, Ordering::Relaxed);
            true
        })
    };
    riff.map_err(|error| error.to_string())
}
