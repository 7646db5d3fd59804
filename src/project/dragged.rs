//! MIDI files that leave the window by dragging: what is in them, and the folder of the user's data in which they stay for
//! as long as a recording program may read them.

use crate::export::{ExportError, Exported, Options, What, export, number_of, sections};
use crate::files::names::{LONGEST_TITLE, safe};
use crate::files::{self, Existing, FileError};
use crate::kit::NoteMap;
use crate::riff::Riff;
use crate::settings::Settings;
use crate::song::file::{Section, SectionMeter};
use crate::song::{SongError, SongFile, Timeline};
use crate::time::Meter;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

/// Names another folder, for tests and for those who keep their data elsewhere.
pub const FOLDER: &str = "FOURLIMB_DATA";
/// The folder in the user's data.
const NAME: &str = "dragged";
/// The ending of what is written, and the only one that is cleared.
const ENDING: &str = "mid";
/// A file is cleared once it is older. Judged: a program that links to a file instead of copying it is saved, and its
/// project cleaned up or backed up, within days.
const OLD: Duration = Duration::from_hours(7 * 24);
/// The longest part in a name, in bytes.
const LONGEST_PART: usize = 64;
/// Numbers are tried up to this one where a name is taken. Judged.
const MOST_NUMBERS: u32 = 999;

/// A file that can't be dragged out. Each message says what to do.
#[derive(Debug, thiserror::Error)]
pub enum DragError {
    /// The system names no folder.
    #[error("this system names no folder for data: set {FOLDER} to one")]
    NoFolder,
    /// The folder can't be made.
    #[error("could not make the folder {path}: {1}", path = .0.display())]
    Folder(PathBuf, std::io::Error),
    /// It can't be exported.
    #[error(transparent)]
    Export(#[from] ExportError),
    /// It can't be written.
    #[error(transparent)]
    File(#[from] FileError),
    /// All numbers are taken.
    #[error("{path} and all its numbers up to {MOST_NUMBERS} exist already: clear the folder", path = .0.display())]
    Numbers(PathBuf),
}

/// What is dragged: a part of a song as it is played.
#[derive(Debug, Clone)]
pub struct Region {
    /// The song.
    pub timeline: Box<Timeline>,
    /// The part.
    pub what: What,
}

/// A file that was written to be dragged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Written {
    /// Where it is.
    pub path: PathBuf,
    /// What is in it.
    pub exported: Exported,
}

impl Region {
    /// Bars of the panel where no chart is played, as many from the bar `first` (from 1) on as `bars` says; `bpm` in
    /// quarter notes a minute. It is named after the panel's beat.
    ///
    /// # Errors
    /// [`SongError`] where there is no such bar or tempo.
    pub fn of_panel(
        panel: &Settings,
        riff: &Riff,
        (meter, bpm): (Meter, f64),
        (first, bars): (u32, u32),
    ) -> Result<Self, SongError> {
        let last = first.saturating_add(bars.max(1)) - 1;
        let beat = panel.bar_settings.beat().name();
        let section = Section {
            name: beat.to_owned(),
            bars: last,
            meter: Some(SectionMeter::Own(meter)),
            bpm: Some(bpm),
            ..Section::default()
        };
        let mut timeline = Timeline::automated(&SongFile::of(beat, section))?;
        *timeline.start_mut() = Settings {
            follow_chart: false,
            fill_now: false,
            ..*panel
        };
        timeline.set_riff(riff.clone());
        Ok(Self {
            timeline: Box::new(timeline),
            what: What::Bars(first, last),
        })
    }

    /// The name of its file, with the ending: the title and the part.
    pub fn name(&self) -> String {
        let part = match &self.what {
            What::Whole => None,
            What::Section(name) => Some(match number_of(&self.timeline, name) {
                Ok(place) => sections(&self.timeline).swap_remove(place).label,
                Err(_) => name.clone(),
            }),
            bars @ What::Bars(..) => Some(bars.to_string()),
        };
        name(self.timeline.title(), part.as_deref())
    }

    /// Writes it into a folder, which is made where it is not there, with the keys of `map`. A file that is there
    /// stays, since a recording program may refer to it: the new one gets a number, unless it would be the same. It
    /// plays the whole song: not for the audio thread.
    ///
    /// # Errors
    /// [`DragError`], and nothing has been written.
    pub fn write(&self, folder: &Path, map: &NoteMap) -> Result<Written, DragError> {
        let options = Options {
            what: self.what.clone(),
            ..Options::default()
        };
        let exported = export(&self.timeline, &options, map)?;
        let no_folder = |error| DragError::Folder(folder.to_owned(), error);
        fs::create_dir_all(folder).map_err(no_folder)?;
        let path = put(&folder.join(self.name()), &exported.bytes)?;
        Ok(Written { path, exported })
    }
}

/// The folder, where the system names one.
pub fn folder() -> Option<PathBuf> {
    if let Some(folder) = std::env::var_os(FOLDER) {
        return Some(PathBuf::from(folder).join(NAME));
    }
    let folders = directories::ProjectDirs::from("org", "", "fourlimb")?;
    Some(folders.data_local_dir().join(NAME))
}

/// Removes the MIDI files of a folder that are older than a week at this time. What can't be removed stays, and other
/// files and folders do. Any thread but the audio thread.
pub fn clear(folder: &Path, now: SystemTime) {
    let Ok(entries) = fs::read_dir(folder) else {
        return;
    };
    for entry in entries.flatten() {
        let path = entry.path();
        let is_ours = path.extension().is_some_and(|ending| ending == ENDING);
        let Some(data) = entry
            .metadata()
            .ok()
            .filter(|data| is_ours && data.is_file())
        else {
            continue;
        };
        let age = data.modified().map(|at| now.duration_since(at));
        if matches!(age, Ok(Ok(age)) if age > OLD) {
            // Another instance may have removed it.
            let _ = fs::remove_file(path);
        }
    }
}

/// Writes a new file under this name or with a number; where one of them has these bytes already, that one.
fn put(path: &Path, bytes: &[u8]) -> Result<PathBuf, DragError> {
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    for number in 1..=MOST_NUMBERS {
        let path = match number {
            1 => path.to_owned(),
            number => path.with_file_name(format!("{stem} {number}.{ENDING}")),
        };
        match files::write(&path, bytes, Existing::Keep) {
            Ok(()) => return Ok(path),
            Err(FileError::Exists(_)) => {
                if fs::read(&path).is_ok_and(|there| there == bytes) {
                    // It is wanted again: its week begins anew.
                    let touched = fs::File::options().append(true).open(&path);
                    let _ = touched.and_then(|file| file.set_modified(SystemTime::now()));
                    return Ok(path);
                }
            }
            Err(error) => return Err(error.into()),
        }
    }
    Err(DragError::Numbers(path.to_owned()))
}

/// A name that every system takes.
fn name(title: &str, part: Option<&str>) -> String {
    let title = safe(title, LONGEST_TITLE);
    let part = part
        .map(|part| safe(part, LONGEST_PART))
        .unwrap_or_default();
    let stem = match (&*title, &*part) {
        ("", "") => "Drums".to_owned(),
        (title, "") => title.to_owned(),
        ("", part) => part.to_owned(),
        (title, part) => format!("{title} - {part}"),
    };
    format!("{stem}.{ENDING}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::midi::smf_read::read;
    use crate::settings::SettingId;

    fn demo(what: What) -> Region {
        let song = SongFile::parse(SongFile::DEMO).unwrap();
        Region {
            timeline: Box::new(Timeline::new(&song).unwrap()),
            what,
        }
    }

    #[test]
    fn a_name_is_one_on_every_system() {
        for (title, part, expected) in [
            ("Cinder Mill", None, "Cinder Mill.mid"),
            ("Cinder Mill", Some("Riff 2"), "Cinder Mill - Riff 2.mid"),
            ("a/b\\c:d", Some("e\nf?"), "a-b-c-d - e-f-.mid"),
            (" .hidden. ", Some(" . "), "hidden.mid"),
            ("", Some("Lift"), "Lift.mid"),
            ("", None, "Drums.mid"),
            ("NUL", None, "NUL-.mid"),
            ("com1.song", None, "com1-.song.mid"),
            ("Gewölbe", Some("…"), "Gewölbe - ….mid"),
        ] {
            assert_eq!(name(title, part), expected);
        }
        let long = name(&"ö".repeat(500), Some(&"€".repeat(500)));
        assert!(long.len() < 200, "{}", long.len());
        assert_eq!(
            demo(What::Section("3".to_owned())).name(),
            "Cinder Mill - Riff.mid"
        );
        assert_eq!(demo(What::Bars(5, 8)).name(), "Cinder Mill - bars 5-8.mid");
    }

    #[test]
    fn the_file_is_the_region_and_no_file_is_lost() {
        let folder = tempfile::tempdir().unwrap();
        let folder = folder.path().join("new").join(NAME);
        let map = NoteMap::default();
        let region = demo(What::Section("Riff".to_owned()));
        let first = region.write(&folder, &map).unwrap();
        let options = Options {
            what: region.what.clone(),
            ..Options::default()
        };
        let expected = export(&region.timeline, &options, &map).unwrap();
        assert!(expected.notes > 20, "{expected}");
        assert_eq!(fs::read(&first.path).unwrap(), expected.bytes);
        assert_eq!(region.write(&folder, &map).unwrap().path, first.path);
        let mut other = region.clone();
        other.timeline.start_mut().bar_settings.take = 99;
        let second = other.write(&folder, &map).unwrap();
        assert!(second.path.ends_with("Cinder Mill - Riff 2.mid"));
        assert_eq!(fs::read(&first.path).unwrap(), expected.bytes);
        assert_eq!(fs::read_dir(&folder).unwrap().count(), 2);
        let none = demo(What::Section("none".to_owned()));
        let why = none.write(&folder, &map).unwrap_err().to_string();
        assert!(why.contains("use one of"), "{why}");
    }

    /// What the panel plays from its bar 5 on, cut out of what it plays from bar 1 on.
    #[test]
    fn bars_of_the_panel_are_as_it_plays_them_there() {
        let mut panel = Settings::default();
        panel.set(SettingId::Style, 3.0);
        panel.set(SettingId::Intensity, 0.8);
        let of = |bars| {
            let bpm = (Meter::FOUR_FOUR, 160.0);
            let region = Region::of_panel(&panel, &Riff::default(), bpm, bars).unwrap();
            let folder = tempfile::tempdir().unwrap();
            let written = region.write(folder.path(), &NoteMap::default()).unwrap();
            let read = read(&written.exported.bytes, &NoteMap::default()).unwrap();
            (region.name(), read.notes)
        };
        let (_, all) = of((1, 8));
        let (name, four) = of((5, 4));
        assert_eq!(
            name,
            format!("{} - bars 5-8.mid", panel.bar_settings.beat().name())
        );
        let at = 4 * Meter::FOUR_FOUR.bar_len();
        let late: Vec<_> = all.iter().filter(|note| note.tick >= at).collect();
        assert!(late.len() > 20);
        assert_eq!(late.len(), four.len());
        for (late, note) in late.iter().zip(&four) {
            assert_eq!(
                (late.tick - at, late.note, late.velocity),
                (note.tick, note.note, note.velocity)
            );
        }
    }

    #[test]
    fn old_files_are_cleared_and_others_stay() {
        let folder = tempfile::tempdir().unwrap();
        let now = SystemTime::now();
        let make = |name: &str, age: u64| {
            let file = fs::File::create(folder.path().join(name)).unwrap();
            file.set_modified(now - Duration::from_hours(age)).unwrap();
        };
        make("young.mid", 6 * 24);
        make("old.mid", 8 * 24);
        make("old.txt", 8 * 24);
        fs::create_dir(folder.path().join("old.d.mid")).unwrap();
        clear(folder.path(), now);
        let left = |name: &str| folder.path().join(name).exists();
        assert!(left("young.mid") && left("old.txt") && left("old.d.mid"));
        assert!(!left("old.mid"));
        clear(&folder.path().join("none"), now);
    }
}
