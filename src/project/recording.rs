//! What was played, written to a MIDI file off the audio thread.

use super::store::Project;
use crate::export::Exported;
use crate::export::recording::file;
use crate::files::{self, Existing, FileError};
use crate::midi::smf_write::SmfError;
use std::path::{Path, PathBuf};

/// The name of a file where a folder alone is named.
const NAME: &str = "played.mid";
/// Numbers are tried up to this one where a name is taken. Judged.
const MOST_NUMBERS: u32 = 999;

/// What was saved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Recording {
    /// How many notes are in the file.
    pub notes: usize,
    /// The host's bars that are in it, counted from 1: the first, and the last. 0 is before the song.
    pub bars: (u32, u32),
    /// How many notes are missing.
    pub lost: u32,
    /// The file.
    pub path: PathBuf,
}

/// What was played can't be saved. Each message says what to do.
#[derive(Debug, thiserror::Error)]
pub enum RecordingError {
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

/// Writes what was played last to a file, or into a folder. A file that is there stays: the new one gets a number.
///
/// # Errors
/// [`RecordingError`], and nothing has been written.
pub fn save(path: &Path, project: &Project) -> Result<Recording, RecordingError> {
    let (passage, observed) = project.latest().ok_or(RecordingError::Nothing)?;
    let Exported { bytes, notes, bars } = file(&passage, &observed)?;
    let path = write(&named(path), &bytes)?;
    Ok(Recording {
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
fn write(path: &Path, bytes: &[u8]) -> Result<PathBuf, RecordingError> {
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
    Err(RecordingError::Numbers(path.to_owned()))
}
