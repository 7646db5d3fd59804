//! A riff from a file, read and heard off the audio thread.

use super::keeper::Keeper;
use super::working::Working;
use crate::riff::import::{ImportError, Place, from_midi, from_sound, is_midi};
use crate::time::TempoMap;
use std::path::PathBuf;

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

/// How far the loading is; what comes of it is the number of attacks.
pub type Loading = Working<usize>;

/// Reads a file and lays its riff over the kept one; can be undone. Background thread.
pub fn run(job: &Job, keeper: &Keeper) {
    let loading = keeper.loading();
    loading.begin();
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
            loading.tell(share);
            true
        })
    };
    riff.map_err(|error| error.to_string())
}
