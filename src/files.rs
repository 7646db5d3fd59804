//! Atomic file writes, and the export of a song file as a MIDI file. For the commands and the plugin's background
//! thread. These functions access the disk: never call them on the audio thread.
//!
//! Not part of the core: behind the feature `files`, which the plugin and the commands turn on.

use crate::export::score::{self, ScoreFormat, ScoreOptions};
use crate::export::{ExportError, Options, export};
use crate::kit::NoteMap;
use crate::song::{SongError, SongFile, Timeline};
use std::fmt::Display;
use std::fs::{self, File, Permissions};
use std::io::{self, ErrorKind, Read as _, Write as _};
use std::path::{Path, PathBuf};

pub mod names;

/// A file that could not be read or written. Each message names the file and says what to do. The previous file is
/// still there.
#[derive(Debug, thiserror::Error)]
pub enum FileError {
    /// A file of that name exists, and replacing it was not allowed.
    #[error("{} exists already, and may hold your edits: choose another name, or replace it (--replace on a command line)", .0.display())]
    Exists(PathBuf),
    /// What is written would overwrite the song file.
    #[error("{} is the song itself: choose another name for what is written", .0.display())]
    SongItself(PathBuf),
    /// The path is an existing folder.
    #[error("{} is a folder: name a file in it", .0.display())]
    IsFolder(PathBuf),
    /// The folder to write to is missing.
    #[error("there is no folder {}: make it first, or choose another", .0.display())]
    NoFolder(PathBuf),
    /// The folder can't be written to.
    #[error("the folder {} can't be written to: choose another, or change its permissions", .0.display())]
    ReadOnly(PathBuf),
    /// Another program keeps the file from being replaced or read, as Windows lets it.
    #[error("{} is open in another program: close it there, then try again, or choose another name", .0.display())]
    InUse(PathBuf),
    /// Writing failed, as on a full disk.
    #[error("could not write {path}: {1}", path = .0.display())]
    Write(PathBuf, io::Error),
    /// Reading failed.
    #[error("could not read {path}: {1}", path = .0.display())]
    Read(PathBuf, io::Error),
    /// The file is larger than what it is read as ever is.
    #[error("{path}: it is larger than any {1}: choose the file of a {1}", path = .0.display())]
    Large(PathBuf, &'static str),
    /// The song file is invalid.
    #[error("{path}: {1}", path = .0.display())]
    Song(PathBuf, SongError),
    /// The song can't be exported as asked.
    #[error(transparent)]
    Export(#[from] ExportError),
}

/// How to treat an existing file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Existing {
    /// Keep it and write nothing.
    Keep,
    /// Replace it once the new file is complete; its permissions stay.
    Replace,
}

/// Writes a file atomically: to a temporary file in the same folder, synced to disk, then renamed. Readers see the
/// old file or the new one, never half of one, and so does the disk after a power failure. Blocks until the data is
/// on disk.
///
/// # Errors
/// [`FileError`], and nothing has changed.
pub fn write(path: &Path, bytes: &[u8], existing: Existing) -> Result<(), FileError> {
    write_with(path, existing, |file| file.write_all(bytes))
}

/// The same for a writer that writes piece by piece and may seek.
///
/// # Errors
/// [`FileError`], and nothing has changed.
pub fn write_with(
    path: &Path,
    existing: Existing,
    fill: impl FnOnce(&mut File) -> io::Result<()>,
) -> Result<(), FileError> {
    if path.is_dir() {
        return Err(FileError::IsFolder(path.to_owned()));
    }
    let exists = path.symlink_metadata().is_ok();
    if exists && existing == Existing::Keep {
        return Err(FileError::Exists(path.to_owned()));
    }
    // Follows a symbolic link and replaces its target, so that the link stays. On Windows the standard library's path would
    // begin with `\\?\`, which nobody writes.
    let target = dunce::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let folder = match target.parent() {
        Some(folder) if folder != Path::new("") => folder,
        _ => Path::new("."),
    };
    if !folder.is_dir() {
        return Err(FileError::NoFolder(folder.to_owned()));
    }
    let failed = |error: io::Error| match error.kind() {
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => {
            FileError::ReadOnly(folder.to_owned())
        }
        ErrorKind::AlreadyExists => FileError::Exists(path.to_owned()),
        _ => FileError::Write(path.to_owned(), error),
    };
    let kept = fs::metadata(&target).ok().map(|data| data.permissions());
    if kept.as_ref().is_some_and(Permissions::readonly) {
        let error = io::Error::other("it is marked read-only");
        return Err(FileError::Write(path.to_owned(), error));
    }
    let mut beside = beside(folder).map_err(failed)?;
    fill(beside.as_file_mut()).map_err(failed)?;
    // Some file systems have no permissions and refuse to set them; then there is nothing to keep.
    if let Some(kept) = kept
        && kept != beside.as_file().metadata().map_err(failed)?.permissions()
    {
        beside.as_file().set_permissions(kept).map_err(failed)?;
    }
    beside.as_file().sync_all().map_err(failed)?;
    let renamed = match existing {
        // Not every file system can rename without replacing. The check above found no file here.
        Existing::Keep => {
            beside
                .persist_noclobber(&target)
                .or_else(|error| match error.error.kind() {
                    ErrorKind::AlreadyExists => Err(error),
                    _ => error.file.persist(&target),
                })
        }
        Existing::Replace => beside.persist(&target),
    };
    renamed.map_err(|error| {
        // The folder took the new file, so it can be written to: the old one is what can't be replaced.
        let (code, replaces) = (error.error.raw_os_error(), target.exists());
        if cfg!(windows) && is_held_open(code, replaces) {
            return FileError::InUse(path.to_owned());
        }
        failed(error.error)
    })?;
    Ok(())
}

/// Whether an error of Windows, by its number, says that another program holds a file open. Where one file was to replace
/// another, "access denied" does too.
fn is_held_open(code: Option<i32>, replaces: bool) -> bool {
    const ACCESS_DENIED: i32 = 5;
    const SHARING_VIOLATION: i32 = 32;
    const LOCK_VIOLATION: i32 = 33;
    match code {
        Some(SHARING_VIOLATION | LOCK_VIOLATION) => true,
        Some(ACCESS_DENIED) => replaces,
        _ => false,
    }
}

/// Why a file could not be read.
fn unread(path: &Path, error: io::Error) -> FileError {
    if cfg!(windows) && is_held_open(error.raw_os_error(), false) {
        return FileError::InUse(path.to_owned());
    }
    FileError::Read(path.to_owned(), error)
}

/// A new file in a folder, deleted unless it is renamed. It has a new file's usual permissions; a temporary file's
/// would be for its owner alone.
fn beside(folder: &Path) -> io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".fourlimb-");
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    builder.tempfile_in(folder)
}

/// The largest file that [`read_small`] reads, in bytes. Judged: a region of a long song has under two million.
const MOST_BYTES: u64 = 16 << 20;

/// Reads a file that the user chose as a `what`, for example a "map". It may be anything, so it is not read beyond
/// 16 MiB.
///
/// # Errors
/// [`FileError`] names the file.
pub fn read_small(path: &Path, what: &'static str) -> Result<Vec<u8>, FileError> {
    let mut bytes = Vec::new();
    File::open(path)
        .and_then(|file| file.take(MOST_BYTES + 1).read_to_end(&mut bytes))
        .map_err(|error| unread(path, error))?;
    if bytes.len() as u64 > MOST_BYTES {
        return Err(FileError::Large(path.to_owned(), what));
    }
    Ok(bytes)
}

/// Reads a song file and lays it out with `lay_out`, for example [`Timeline::new`].
///
/// # Errors
/// [`FileError`] names the file and the invalid field.
pub fn read_song<T>(
    path: &Path,
    lay_out: impl FnOnce(SongFile) -> Result<T, SongError>,
) -> Result<T, FileError> {
    let json = fs::read_to_string(path).map_err(|error| unread(path, error))?;
    let song = SongFile::parse(&json).and_then(lay_out);
    song.map_err(|error| FileError::Song(path.to_owned(), error))
}

/// Exports a song file as a MIDI file, with the notes of a map. Returns one line for each warning about the
/// song, then a line that says what was written.
///
/// # Errors
/// [`FileError`], and nothing has been written.
pub fn export_song(
    song: &Path,
    out: &Path,
    options: &Options,
    map: &NoteMap,
    existing: Existing,
) -> Result<String, FileError> {
    let timeline = read_song(song, |song| Timeline::new(&song))?;
    let exported = export(&timeline, options, map)?;
    write_beside(song, out, &exported.bytes, existing)?;
    Ok(told(&timeline, &exported, out))
}

/// Writes a song file down as a score, in the format that the ending of `out` names. Returns one line for each warning
/// about the song, then a line that says what was written.
///
/// # Errors
/// [`FileError`], and nothing has been written.
pub fn export_score(
    song: &Path,
    out: &Path,
    options: &ScoreOptions,
    existing: Existing,
) -> Result<String, FileError> {
    let format = ScoreFormat::of_file(&out.to_string_lossy())?;
    let timeline = read_song(song, |song| Timeline::new(&song))?;
    let written = score::write(&timeline, format, options)?;
    write_beside(song, out, &written.bytes, existing)?;
    Ok(told(&timeline, &written, out))
}

/// Writes what was made of a song, but not over the song.
fn write_beside(
    song: &Path,
    out: &Path,
    bytes: &[u8],
    existing: Existing,
) -> Result<(), FileError> {
    if let (Ok(song), Ok(there)) = (dunce::canonicalize(song), dunce::canonicalize(out))
        && song == there
    {
        return Err(FileError::SongItself(out.to_owned()));
    }
    write(out, bytes, existing)
}

/// The warnings about a song, and what was written of it.
fn told(timeline: &Timeline, written: &impl Display, out: &Path) -> String {
    let warnings = timeline.warnings().iter().map(ToString::to_string);
    let written = format!("{written}, written to {}", out.display());
    warnings.chain([written]).collect::<Vec<_>>().join("\n")
}

#[cfg(test)]
mod tests;
