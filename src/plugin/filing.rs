//! Song files read and written, and charts exported, in the background.

use crate::files::{self, Existing, FileError};
use crate::kit::NoteMap;
use crate::output::export::{Options, export};
use crate::song::{SongFile, Timeline};
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, PoisonError};

/// What is to be done.
#[derive(Debug, Clone)]
pub enum Job {
    /// Read a song file.
    Load(PathBuf),
    /// Write a song file.
    Save {
        /// Where to.
        path: PathBuf,
        /// The song.
        song: SongFile,
        /// What happens to a file that is there.
        existing: Existing,
    },
    /// Export a song as a MIDI file.
    Export {
        /// Where to.
        path: PathBuf,
        /// The song, as it is to be played.
        timeline: Timeline,
        /// What of it, and how.
        options: Options,
        /// What happens to a file that is there.
        existing: Existing,
    },
}

/// How a job ended.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// A song was read; it makes sense.
    Loaded(Box<SongFile>),
    /// A file was written: says what and where.
    Written(String),
    /// A file of that name is there already, and stayed.
    Exists(PathBuf),
    /// It went wrong: what, and the remedy.
    Failed(String),
}

/// How the jobs go. Any thread but the audio thread.
#[derive(Debug, Default)]
pub struct Filing {
    busy: AtomicBool,
    outcome: Mutex<Option<Outcome>>,
}

impl Filing {
    /// Whether a job is under way.
    pub fn is_busy(&self) -> bool {
        self.busy.load(Ordering::Relaxed)
    }

    /// A job is on its way.
    pub fn expect(&self) {
        self.busy.store(true, Ordering::Relaxed);
    }

    /// How the last job ended, once.
    pub fn take(&self) -> Option<Outcome> {
        let mut outcome = self.outcome.lock().unwrap_or_else(PoisonError::into_inner);
        outcome.take()
    }

    /// Does a job. Background thread.
    pub fn run(&self, job: &Job) {
        self.expect();
        let outcome = run(job).unwrap_or_else(|error| match error {
            FileError::Exists(path) => Outcome::Exists(path),
            error => Outcome::Failed(error.to_string()),
        });
        let mut place = self.outcome.lock().unwrap_or_else(PoisonError::into_inner);
        *place = Some(outcome);
        self.busy.store(false, Ordering::Relaxed);
    }
}

fn run(job: &Job) -> Result<Outcome, FileError> {
    match job {
        Job::Load(path) => {
            let lay_out = |song: SongFile| Timeline::new(&song).map(|_| song);
            let song = files::read_song(path, lay_out)?;
            Ok(Outcome::Loaded(Box::new(song)))
        }
        Job::Save {
            path,
            song,
            existing,
        } => {
            // Names and numbers alone: nothing in a song can't be said in JSON.
            let text = serde_json::to_string_pretty(song).unwrap_or_default();
            files::write(path, text.as_bytes(), *existing)?;
            let sections = song.sections.len();
            Ok(Outcome::Written(format!(
                "{sections} sections, written to {}",
                path.display()
            )))
        }
        Job::Export {
            path,
            timeline,
            options,
            existing,
        } => {
            let exported = export(timeline, options, &NoteMap::GENERAL_MIDI)?;
            files::write(path, &exported.bytes, *existing)?;
            Ok(Outcome::Written(format!(
                "{exported}, written to {}",
                path.display()
            )))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_song_goes_out_and_comes_back_and_no_file_is_lost() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("song.json");
        let song = SongFile::parse(SongFile::DEMO).unwrap();
        let filing = Filing::default();
        let end = |job: Job| {
            filing.run(&job);
            assert!(!filing.is_busy());
            let outcome = filing.take().unwrap();
            assert_eq!(filing.take(), None);
            outcome
        };
        let save = |existing| Job::Save {
            path: path.clone(),
            song: song.clone(),
            existing,
        };
        assert!(matches!(end(save(Existing::Keep)), Outcome::Written(_)));
        assert_eq!(end(save(Existing::Keep)), Outcome::Exists(path.clone()));
        assert!(matches!(end(save(Existing::Replace)), Outcome::Written(_)));
        let loaded = end(Job::Load(path.clone()));
        assert_eq!(loaded, Outcome::Loaded(Box::new(song.clone())));
        let export = Job::Export {
            path: path.clone(),
            timeline: Timeline::new(&song).unwrap(),
            options: Options::default(),
            existing: Existing::Keep,
        };
        assert_eq!(end(export), Outcome::Exists(path.clone()));
        let Outcome::Failed(why) = end(Job::Load(folder.path().join("none.json"))) else {
            panic!("there is no such file");
        };
        assert!(why.contains("none.json"), "{why}");
    }
}
