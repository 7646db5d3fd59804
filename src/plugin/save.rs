//! What was played, written to a MIDI file off the audio thread.

use super::history::History;
use super::working::Working;
use crate::export::Exported;
use crate::export::recording;
use crate::files::{self, Existing, FileError};
use crate::midi::smf_write::SmfError;
use std::path::{Path, PathBuf};

/// The name of a file where a folder alone is named.
const NAME: &str = "played.mid";
/// Numbers are tried up to this one where a name is taken. Judged.
const MOST_NUMBERS: u32 = 999;

/// What is to be saved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Job {
    /// The file, or a folder to put it in. A file that is there stays: the new one gets a number.
    pub path: PathBuf,
}

/// What was saved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Saved {
    /// How many notes are in the file.
    pub notes: usize,
    /// The host's bars that are in it, counted from 1: the first, and the last. 0 is before the song.
    pub bars: (u32, u32),
    /// How many notes are missing.
    pub lost: u32,
    /// The file.
    pub path: PathBuf,
}

/// How the saving goes.
pub type Saving = Working<Saved>;

/// What was played can't be saved. Each message says what to do.
#[derive(Debug, thiserror::Error)]
pub enum SaveError {
    /// Nothing was played.
    #[error("nothing has been played yet: press play in your recording program, then keep it")]
    Nothing,
    /// It can't be said in the format.
    #[error(transparent)]
    Smf(#[from] SmfError),
    /// It can't be written.
    #[error(transparent)]
    File(#[from] FileError),
    /// All numbers are taken.
    #[error("{path} and all its numbers up to {MOST_NUMBERS} exist already: choose another name", path = .0.display())]
    Numbers(PathBuf),
}

/// Saves what was played last. Background thread.
pub fn run(job: &Job, history: &History) {
    let saving = history.saving();
    saving.begin();
    saving.end(save(job, history).map_err(|error| error.to_string()));
}

/// The same, with what came of it.
///
/// # Errors
/// [`SaveError`], and nothing has been written.
pub fn save(job: &Job, history: &History) -> Result<Saved, SaveError> {
    let (passage, seen) = history.latest().ok_or(SaveError::Nothing)?;
    let Exported { bytes, notes, bars } = recording::file(&passage, &seen)?;
    let path = write(&named(&job.path), &bytes)?;
    Ok(Saved {
        notes,
        bars,
        lost: passage.lost,
        path,
    })
}

/// The file that a path means: in a folder, one of our own name; a MIDI file ends in `.mid`.
fn named(path: &Path) -> PathBuf {
    // A path is told whole, since nobody knows where a host looks for a short one.
    let path = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    if path.is_dir() {
        return path.join(NAME);
    }
    let is_midi =
        |ext: &std::ffi::OsStr| ["mid", "midi"].iter().any(|m| ext.eq_ignore_ascii_case(m));
    if path.extension().is_some_and(is_midi) {
        return path;
    }
    let mut name = path.into_os_string();
    name.push(".mid");
    name.into()
}

/// Writes a new file, with a number where the name is taken, and returns its path.
fn write(path: &Path, bytes: &[u8]) -> Result<PathBuf, SaveError> {
    let part = |part: Option<&std::ffi::OsStr>| part.unwrap_or_default().to_owned();
    let (stem, ext) = (part(path.file_stem()), part(path.extension()));
    for number in 1..=MOST_NUMBERS {
        let mut name = stem.clone();
        if number > 1 {
            name.push(format!(" {number}"));
        }
        name.push(".");
        name.push(&ext);
        let numbered = path.with_file_name(name);
        match files::write(&numbered, bytes, Existing::Keep) {
            Err(FileError::Exists(_) | FileError::IsFolder(_)) => {}
            written => return Ok(written.map(|()| numbered)?),
        }
    }
    Err(SaveError::Numbers(path.to_owned()))
}
