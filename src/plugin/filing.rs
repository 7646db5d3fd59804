//! Song files read and written, and charts exported, in the background.

use crate::export::hand_edit::{EditError, Reading, Unknown, bring_back, strokes, to_midi};
use crate::export::{ExportError, NamedSection, Options, export, sections};
use crate::files::{self, Existing, FileError};
use crate::kit::NoteMap;
use crate::midi::smf_write::SmfError;
use crate::song::{SongError, SongFile, Timeline};
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
        song: Box<SongFile>,
        /// What happens to a file that is there.
        existing: Existing,
    },
    /// Lock a section with a MIDI file that was edited by hand.
    Lock(HandEdit),
    /// Unlock a section; its strokes go to a MIDI file, which must be new.
    Unlock(HandEdit),
    /// Export a song as a MIDI file.
    Export {
        /// Where to.
        path: PathBuf,
        /// The song, as it is to be played.
        timeline: Box<Timeline>,
        /// What of it, and how.
        options: Options,
        /// What happens to a file that is there.
        existing: Existing,
    },
}

/// A section that is edited by hand.
#[derive(Debug, Clone)]
pub struct HandEdit {
    /// The MIDI file.
    pub path: PathBuf,
    /// The song.
    pub song: Box<SongFile>,
    /// The same, laid out as it is played.
    pub timeline: Box<Timeline>,
    /// The section, by its place from 0.
    pub section: usize,
}

/// How a job ended.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// A song was read; it makes sense.
    Loaded(Box<SongFile>),
    /// The song was changed: says how.
    Changed(Box<SongFile>, String),
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
            FilingError::File(FileError::Exists(path)) => Outcome::Exists(path),
            error => Outcome::Failed(error.to_string()),
        });
        let mut place = self.outcome.lock().unwrap_or_else(PoisonError::into_inner);
        *place = Some(outcome);
        self.busy.store(false, Ordering::Relaxed);
    }
}

/// A job that can't be done. Each message says what to do.
#[derive(Debug, thiserror::Error)]
enum FilingError {
    #[error(transparent)]
    File(#[from] FileError),
    #[error("{path} can't be {1}: {2}", path = .0.display())]
    Edit(PathBuf, String, EditError),
    #[error(transparent)]
    Song(#[from] SongError),
    #[error(transparent)]
    Export(#[from] ExportError),
    #[error(transparent)]
    Smf(#[from] SmfError),
    #[error("there is no such section any more: choose one")]
    NoSection,
    #[error("{0} is not locked")]
    NotLocked(String),
}

/// A section of a song by its place from 0.
fn named(timeline: &Timeline, section: usize) -> Result<NamedSection, FilingError> {
    let found = sections(timeline).into_iter().nth(section);
    found.ok_or(FilingError::NoSection)
}

fn lock(edit: &HandEdit) -> Result<Outcome, FilingError> {
    let HandEdit {
        path,
        song,
        timeline,
        section,
    } = edit;
    let named = named(timeline, *section)?;
    let reading = Reading {
        map: None,
        bars: None,
        // The file stays, and what was left out is told.
        unknown: Unknown::LeaveOut,
        player: timeline.start_settings().bar_settings.player,
    };
    let bytes = std::fs::read(path).map_err(|error| FileError::Read(path.clone(), error))?;
    let back = bring_back(&bytes, timeline, &named, &reading)
        .map_err(|error| FilingError::Edit(path.clone(), named.label.clone(), error))?;
    let said = format!(
        "{} is locked with {}\n{back}",
        named.label,
        strokes(back.rows.len())
    );
    let mut song = song.clone();
    song.lock(*section, back.rows)?;
    Ok(Outcome::Changed(song, said.trim_end().to_owned()))
}

fn unlock(edit: &HandEdit) -> Result<Outcome, FilingError> {
    let named = named(&edit.timeline, edit.section)?;
    let mut song = edit.song.clone();
    let rows = song.unlock(edit.section);
    let rows = rows.ok_or_else(|| FilingError::NotLocked(named.label.clone()))?;
    let (bytes, _) = to_midi(&rows, &edit.timeline, &named, &NoteMap::GENERAL_MIDI)?;
    files::write(&edit.path, &bytes, Existing::Keep)?;
    let said = format!(
        "{} is the drummer's again; {} that it was locked with: {}",
        named.label,
        strokes(rows.len()),
        edit.path.display()
    );
    Ok(Outcome::Changed(song, said))
}

fn run(job: &Job) -> Result<Outcome, FilingError> {
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
            files::write(path, song.to_text().as_bytes(), *existing)?;
            let sections = song.sections.len();
            Ok(Outcome::Written(format!(
                "{sections} sections, written to {}",
                path.display()
            )))
        }
        Job::Lock(edit) => lock(edit),
        Job::Unlock(edit) => unlock(edit),
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
    use std::path::Path;

    /// A section that was exported comes back locked, and goes to a file of its own when it is unlocked; never
    /// over another one.
    #[test]
    fn a_section_is_locked_and_let_go() {
        let folder = tempfile::tempdir().unwrap();
        let [riff, kept] = ["riff.mid", "kept.mid"].map(|name| folder.path().join(name));
        let plain = SongFile::parse(SongFile::DEMO).unwrap();
        let timeline = Box::new(Timeline::new(&plain).unwrap());
        let mut options = Options::default();
        options.set("section", "Riff").unwrap();
        let end = |job: Job| {
            let filing = Filing::default();
            filing.run(&job);
            filing.take().unwrap()
        };
        end(Job::Export {
            path: riff.clone(),
            timeline: timeline.clone(),
            options,
            existing: Existing::Keep,
        });
        let edit = |path: &Path, song: &SongFile, section| HandEdit {
            path: path.to_owned(),
            song: Box::new(song.clone()),
            timeline: timeline.clone(),
            section,
        };
        let lock = |path: &Path, section| Job::Lock(edit(path, &plain, section));
        let Outcome::Changed(locked, said) = end(lock(&riff, 2)) else {
            panic!("it is not locked");
        };
        assert!(said.starts_with("Riff is locked with "), "{said}");
        assert!(locked.sections[2].locked.is_some());
        let Outcome::Failed(why) = end(lock(&riff, 7)) else {
            panic!("a bar of 4/4 is none of 7/8");
        };
        assert!(why.contains("riff.mid can't be Turn"), "{why}");
        assert!(matches!(end(lock(&riff, 99)), Outcome::Failed(_)));
        let unlock = |path: &Path| Job::Unlock(edit(path, &locked, 2));
        assert_eq!(end(unlock(&riff)), Outcome::Exists(riff.clone()));
        let Outcome::Changed(free, _) = end(unlock(&kept)) else {
            panic!("it is not unlocked");
        };
        assert_eq!(*free, plain);
        assert!(matches!(end(lock(&kept, 2)), Outcome::Changed(again, _) if again == locked));
    }

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
            song: Box::new(song.clone()),
            existing,
        };
        assert!(matches!(end(save(Existing::Keep)), Outcome::Written(_)));
        assert_eq!(end(save(Existing::Keep)), Outcome::Exists(path.clone()));
        assert!(matches!(end(save(Existing::Replace)), Outcome::Written(_)));
        let loaded = end(Job::Load(path.clone()));
        assert_eq!(loaded, Outcome::Loaded(Box::new(song.clone())));
        let export = Job::Export {
            path: path.clone(),
            timeline: Box::new(Timeline::new(&song).unwrap()),
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
