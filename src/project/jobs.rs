//! Jobs that take a while, done in the background one after the other: files read and written.
//!
//! - `beats`: those of own beats
//! - `hand_edits`: those of sections that were edited in a recording program
//! - [`maps`]: those of note maps
//! - `riffs`: those of riffs
//! - [`taken_out`]: what is dragged out of the window

mod beats;
mod hand_edits;
pub mod maps;
mod riffs;
pub mod taken_out;

use super::background::Worker;
use super::recording::{self, Recording};
use super::store::Project;
use crate::export::hand_edit::EditError;
use crate::export::score::{self, ScoreFormat, ScoreOptions};
use crate::export::{ExportError, NamedSection, Options, What, export, sections};
use crate::files::{self, Existing, FileError};
use crate::groove::own::OwnBeat;
use crate::kit::map_file::NamedMap;
use crate::midi::map_source::ReadMap;
use crate::midi::smf_write::SmfError;
use crate::riff::import::Place;
use crate::song::{SongError, SongFile, Timeline};
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use taken_out::TakeOut;

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
    /// Make edits of what a MIDI file does otherwise than the drummer in a section.
    Compare(HandEdit),
    /// Read an own beat for the slot of this number, from 1: from a beat file, a region or a text chart.
    LoadBeat(PathBuf, u8),
    /// Write an own beat.
    SaveBeat {
        /// Where to.
        path: PathBuf,
        /// The beat.
        beat: Box<OwnBeat>,
        /// What happens to a file that is there.
        existing: Existing,
    },
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
    /// Write a song, or a section of it, as a drummer reads it: the ending of the path says how.
    Score {
        /// Where to.
        path: PathBuf,
        /// The song, as it is to be played.
        timeline: Box<Timeline>,
        /// What of it.
        what: What,
        /// What happens to a file that is there.
        existing: Existing,
    },
    /// Read a riff from a file and lay it over the one that is there; can be undone.
    LoadRiff(RiffFile),
    /// Write what was played last to a new file, or into a folder.
    KeepPlayed(PathBuf),
    /// Read a note map.
    LoadMap(PathBuf),
    /// Write a note map.
    SaveMap {
        /// Where to.
        path: PathBuf,
        /// The map.
        map: Arc<NamedMap>,
        /// What happens to a file that is there.
        existing: Existing,
    },
    /// Have new instances start with a note map.
    KeepMap(Arc<NamedMap>),
    /// Write what is dragged out of the window to the folder of such files.
    TakeOut(TakeOut),
    /// Clear the old ones of them.
    ClearTakenOut,
}

/// A file that a riff is read from.
#[derive(Debug, Clone, PartialEq)]
pub struct RiffFile {
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
    /// Something about a song went wrong: what, and the remedy.
    Failed(String),
    /// A riff was read, of so many attacks, or why not.
    Riff(Result<usize, String>),
    /// What was played was written, or why not.
    Kept(Result<Recording, String>),
    /// A note map was read, or why not.
    MapRead(Result<Box<ReadMap>, String>),
    /// A note map was written: says what and where, or why not.
    MapWritten(Result<String, String>),
    /// A file of that name is there already, and the note map was not written.
    MapExists(PathBuf),
    /// What is dragged out was written: says what and where, or why not.
    TakenOut(Result<String, String>),
    /// An own beat was read for the slot of this number, with what was understood, or why not.
    BeatRead(u8, Result<(Box<OwnBeat>, String), String>),
    /// An own beat was written: says what and where, or why not.
    BeatWritten(Result<String, String>),
    /// There is nothing to tell.
    Done,
}

/// The jobs of an instance, and how they go. Any thread but the audio thread.
pub struct JobQueue {
    project: Arc<Project>,
    progress: Arc<Progress>,
    worker: Worker<Job>,
}

/// How far the jobs are.
#[derive(Debug, Default)]
struct Progress {
    /// Jobs that wait or are under way.
    waiting: AtomicU32,
    /// Whether the one under way reads a riff.
    riff: AtomicBool,
    /// How much of it is done, in thousandths.
    done: AtomicU32,
    /// The job under way is to end.
    cancelled: AtomicBool,
    ended: Mutex<Vec<Outcome>>,
}

impl JobQueue {
    /// A queue of jobs on a project.
    pub fn new(project: Arc<Project>) -> Self {
        let progress = Arc::<Progress>::default();
        let (on, told) = (project.clone(), progress.clone());
        let work = move |job: Job| {
            let outcome = told.follow(&job, &on);
            let mut ended = told.ended.lock().unwrap_or_else(PoisonError::into_inner);
            ended.push(outcome);
            told.waiting.fetch_sub(1, Ordering::Release);
        };
        Self {
            project,
            progress,
            worker: Worker::new(work),
        }
    }

    /// The project that the jobs are about.
    pub fn project(&self) -> &Arc<Project> {
        &self.project
    }

    /// Has a job done after those that wait.
    pub fn send(&self, job: Job) {
        self.progress.waiting.fetch_add(1, Ordering::Relaxed);
        self.worker.send(job);
    }

    /// Whether a job waits or is under way.
    pub fn is_busy(&self) -> bool {
        self.progress.waiting.load(Ordering::Acquire) > 0
    }

    /// How much of a riff that is being read is done, 0..=1; `None` while none is.
    pub fn riff_progress(&self) -> Option<f32> {
        let done = self.progress.done.load(Ordering::Relaxed) as f32 / 1000.0;
        self.progress.riff.load(Ordering::Relaxed).then_some(done)
    }

    /// Has the riff that is being read end where it is; nothing of it is kept.
    pub fn cancel(&self) {
        self.progress.cancelled.store(true, Ordering::Relaxed);
    }

    /// How jobs ended since the last call.
    pub fn ended(&self) -> Vec<Outcome> {
        let ended = &self.progress.ended;
        std::mem::take(&mut ended.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

impl Progress {
    fn follow(&self, job: &Job, project: &Project) -> Outcome {
        self.cancelled.store(false, Ordering::Relaxed);
        self.tell(0.0);
        let is_riff = matches!(job, Job::LoadRiff(_));
        self.riff.store(is_riff, Ordering::Relaxed);
        let outcome = job.run(project, |share| self.tell(share));
        self.riff.store(false, Ordering::Relaxed);
        outcome
    }

    /// So much of the job is done, 0..=1; whether it goes on.
    fn tell(&self, share: f32) -> bool {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let done = (share * 1000.0) as u32;
        self.done.store(done, Ordering::Relaxed);
        !self.cancelled.load(Ordering::Relaxed)
    }
}

impl Job {
    /// Does the job, and tells `progress` how much of it is done, 0..=1, which says whether it goes on. Any thread but the
    /// audio thread.
    pub fn run(&self, project: &Project, progress: impl FnMut(f32) -> bool) -> Outcome {
        match self {
            Self::LoadRiff(file) => {
                let read = riffs::load(file, project, progress);
                Outcome::Riff(read.map_err(|error| error.to_string()))
            }
            Self::KeepPlayed(path) => {
                let kept = recording::save(path, project);
                Outcome::Kept(kept.map_err(|error| error.to_string()))
            }
            Self::LoadMap(path) => Outcome::MapRead(maps::load(path).map(Box::new)),
            Self::SaveMap {
                path,
                map,
                existing,
            } => maps::save(path, map, *existing),
            Self::KeepMap(map) => maps::keep(map),
            Self::LoadBeat(path, number) => {
                Outcome::BeatRead(*number, beats::load(path, &project.document().map.map))
            }
            Self::SaveBeat {
                path,
                beat,
                existing,
            } => beats::save(path, beat, *existing),
            Self::TakeOut(take) => Outcome::TakenOut(take.run(&project.document().map.map)),
            Self::ClearTakenOut => taken_out::clear(),
            song => song.run_song(project).unwrap_or_else(|error| match error {
                JobError::File(FileError::Exists(path)) => Outcome::Exists(path),
                error => Outcome::Failed(error.to_string()),
            }),
        }
    }

    /// Reads or writes a song.
    fn run_song(&self, project: &Project) -> Result<Outcome, JobError> {
        match self {
            Self::Load(path) => {
                let lay_out = |song: SongFile| Timeline::new(&song).map(|_| song);
                let song = files::read_song(path, lay_out)?;
                Ok(Outcome::Loaded(Box::new(song)))
            }
            Self::Save {
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
            Self::Lock(edit) => hand_edits::lock(edit, &project.document().map.map),
            Self::Compare(edit) => hand_edits::compare(edit, &project.document().map.map),
            Self::Unlock(edit) => hand_edits::unlock(edit, &project.document().map.map),
            // These are no jobs on a song.
            Self::LoadRiff(_)
            | Self::KeepPlayed(_)
            | Self::LoadMap(_)
            | Self::SaveMap { .. }
            | Self::KeepMap(_)
            | Self::LoadBeat(..)
            | Self::SaveBeat { .. }
            | Self::TakeOut(_)
            | Self::ClearTakenOut => Err(JobError::NoSection),
            Self::Score {
                path,
                timeline,
                what,
                existing,
            } => {
                let name = path.to_string_lossy();
                let format = ScoreFormat::of_file(&name)?;
                let options = ScoreOptions {
                    what: what.clone(),
                    ..ScoreOptions::default()
                };
                let score = score::write(timeline, format, &options)?;
                files::write(path, &score.bytes, *existing)?;
                Ok(Outcome::Written(format!(
                    "{score}, written to {}",
                    path.display()
                )))
            }
            Self::Export {
                path,
                timeline,
                options,
                existing,
            } => {
                let exported = export(timeline, options, &project.document().map.map)?;
                files::write(path, &exported.bytes, *existing)?;
                Ok(Outcome::Written(format!(
                    "{exported}, written to {}",
                    path.display()
                )))
            }
        }
    }
}

/// A job that can't be done. Each message says what to do.
#[derive(Debug, thiserror::Error)]
enum JobError {
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
    #[error("{0}")]
    Riff(String),
    #[error(transparent)]
    Recording(#[from] recording::RecordingError),
    #[error("you cancelled the reading, and the riff is as it was")]
    Cancelled,
    #[error("there is no such section any more: choose one")]
    NoSection,
    #[error("{0} is not locked")]
    NotLocked(String),
    #[error(
        "{0} is locked, so nothing of the drummer's is left to edit: give it back to the drummer first"
    )]
    IsLocked(String),
    #[error("{1} of {0} can't be said as edits: lock the section with the file instead")]
    NoEdits(String, String),
}

/// A section of a song by its place from 0.
fn named(timeline: &Timeline, section: usize) -> Result<NamedSection, JobError> {
    let found = sections(timeline).into_iter().nth(section);
    found.ok_or(JobError::NoSection)
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
        let end = |job: Job| job.run(&Project::default(), |_| true);
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
        let end = |job: Job| job.run(&Project::default(), |_| true);
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
