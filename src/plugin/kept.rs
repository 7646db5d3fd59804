//! What the stand-alone keeps between runs: transport, devices, the panel, the project. One file in the user's data
//! folder, written whole when the program ends.

use crate::bridge::standalone_transport::{DeviceChoice, Wishes};
use crate::files::{self, Existing, FileError};
use crate::project::default_map::FOLDER;
use crate::project::document::SavedDocument;
use crate::settings::{SettingId, Settings};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

/// The file in the folder.
const NAME: &str = "stand-alone.json";
/// The version that this program writes, and the latest that it knows.
const VERSION: u32 = 1;

/// What is kept can't be read or written. Each message says what to do.
#[derive(Debug, thiserror::Error)]
pub enum KeptError {
    /// It can't be read.
    #[error("what the last run kept, {path}, can't be read ({1}): Fourlimb starts anew, and the file stays. Move it away to have settings kept again", path = .0.display())]
    Read(PathBuf, std::io::Error),
    /// It is damaged.
    #[error("what the last run kept, {path}, is damaged ({1}): Fourlimb starts anew, and the file stays. Move it away to have settings kept again", path = .0.display())]
    Damaged(PathBuf, serde_json::Error),
    /// A newer program wrote it.
    #[error("what the last run kept, {path}, is of a newer Fourlimb (version {1}, this one knows {VERSION}): Fourlimb starts anew, and the file stays", path = .0.display())]
    Newer(PathBuf, u32),
    /// Its folder can't be made.
    #[error("could not make the folder {path}, so nothing is kept for the next run: {1}", path = .0.display())]
    Folder(PathBuf, std::io::Error),
    /// It can't be written.
    #[error("nothing is kept for the next run: {0}")]
    File(#[from] FileError),
}

/// What is kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Kept {
    /// The version of the file.
    fourlimb_stand_alone: u32,
    bpm: f64,
    meter: (u32, u32),
    looping: bool,
    loop_bars: (u32, u32),
    follow: bool,
    /// The output device; `None` is the system's default.
    sound: Option<String>,
    /// The MIDI output port.
    port: Option<String>,
    /// The panel, by the settings' ids.
    panel: BTreeMap<String, f32>,
    /// Song, riff, note map and the rest.
    project: SavedDocument,
}

impl Kept {
    /// What there is to be kept.
    pub fn new(
        wishes: Wishes,
        sound: Option<String>,
        port: Option<String>,
        panel: &Settings,
        project: SavedDocument,
    ) -> Self {
        let value = |id: SettingId| (id.row().id.to_owned(), panel.get(id));
        Self {
            fourlimb_stand_alone: VERSION,
            bpm: wishes.bpm,
            meter: wishes.meter,
            looping: wishes.looping,
            loop_bars: wishes.loop_bars,
            follow: wishes.follow,
            sound,
            port,
            panel: SettingId::shown()
                .filter(|id| is_kept(*id))
                .map(value)
                .collect(),
            project,
        }
    }

    /// The transport as it was; it stands.
    pub fn wishes(&self) -> Wishes {
        Wishes {
            playing: false,
            bpm: self.bpm,
            meter: self.meter,
            looping: self.looping,
            loop_bars: self.loop_bars,
            follow: self.follow,
        }
        .sane()
    }

    /// The devices, and the panel in the editor's order. A setting that it does not know has its default.
    pub fn choice(&self) -> DeviceChoice {
        let usual = Settings::default();
        let value = |id: SettingId| {
            let kept = self.panel.get(id.row().id).copied();
            let kept = kept.filter(|value| value.is_finite() && is_kept(id));
            kept.unwrap_or_else(|| usual.get(id))
        };
        DeviceChoice {
            sound: self.sound.clone(),
            port: self.port.clone(),
            values: SettingId::shown().map(value).collect(),
        }
    }

    /// The project.
    pub fn project(&self) -> SavedDocument {
        self.project.clone()
    }
}

/// Whether a setting is kept: a press is not.
fn is_kept(id: SettingId) -> bool {
    !matches!(id, SettingId::FillNow | SettingId::Bypass)
}

/// The file, where the system names a folder: `FOURLIMB_CONFIG` names another one.
pub fn path() -> Option<PathBuf> {
    if let Some(folder) = std::env::var_os(FOLDER) {
        return Some(PathBuf::from(folder).join(NAME));
    }
    let folders = directories::ProjectDirs::from("org", "", "fourlimb")?;
    Some(folders.data_dir().join(NAME))
}

/// Reads what the last run kept; `None` where there is nothing. Main thread.
///
/// # Errors
/// [`KeptError`]; the file stays as it is.
pub fn load(path: &Path) -> Result<Option<Kept>, KeptError> {
    let json = match std::fs::read_to_string(path) {
        Ok(json) => json,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(KeptError::Read(path.to_owned(), error)),
    };
    let damaged = |error| KeptError::Damaged(path.to_owned(), error);
    // The version first: a newer one may have other fields.
    let version: Version = serde_json::from_str(&json).map_err(damaged)?;
    if version.fourlimb_stand_alone > VERSION {
        return Err(KeptError::Newer(
            path.to_owned(),
            version.fourlimb_stand_alone,
        ));
    }
    serde_json::from_str(&json).map(Some).map_err(damaged)
}

#[derive(Deserialize)]
struct Version {
    fourlimb_stand_alone: u32,
}

/// Writes what is kept, whole or not at all. Main thread.
///
/// # Errors
/// [`KeptError`], and what was there has not changed.
pub fn save(path: &Path, kept: &Kept) -> Result<(), KeptError> {
    if let Some(folder) = path.parent() {
        std::fs::create_dir_all(folder)
            .map_err(|error| KeptError::Folder(folder.to_owned(), error))?;
    }
    // Names and numbers alone: nothing of it can't be said in JSON.
    let json = serde_json::to_vec_pretty(kept).unwrap_or_default();
    Ok(files::write(path, &json, Existing::Replace)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::Project;
    use crate::song::SongFile;

    fn kept() -> Kept {
        let project = Project::default();
        let song = SongFile::parse(SongFile::DEMO).unwrap();
        project.open_song(song, None, Vec::new()).unwrap();
        let mut panel = Settings::default();
        panel.stroke_settings.intensity = 0.31;
        panel.fill_now = true;
        panel.follow_chart = true;
        let wishes = Wishes {
            playing: true,
            bpm: 173.5,
            meter: (7, 8),
            looping: true,
            loop_bars: (3, 9),
            follow: false,
        };
        let port = Some("module".to_owned());
        Kept::new(wishes, None, port, &panel, project.document().saved())
    }

    #[test]
    fn a_run_goes_on_where_the_last_one_ended() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("new").join(NAME);
        assert_eq!(load(&path).unwrap(), None);
        save(&path, &kept()).unwrap();
        let back = load(&path).unwrap().unwrap();
        assert_eq!(back, kept());
        let wishes = back.wishes();
        assert!(!wishes.playing, "nothing starts by itself");
        assert_eq!(
            (wishes.bpm, wishes.meter, wishes.loop_bars),
            (173.5, (7, 8), (3, 9))
        );
        let choice = back.choice();
        assert_eq!(
            (choice.sound, choice.port.as_deref()),
            (None, Some("module"))
        );
        let mut panel = Settings::default();
        for (id, value) in SettingId::shown().zip(choice.values) {
            panel.set(id, value);
        }
        assert_eq!(panel.stroke_settings.intensity, 0.31);
        assert!(panel.follow_chart && !panel.fill_now, "a press is not kept");
        let project = Project::default();
        project.load(back.project());
        assert!(project.song().is_some());
    }

    #[test]
    fn a_damaged_or_newer_file_is_said_and_stays() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join(NAME);
        for (text, says) in [
            ("{\"bpm\": 12", "damaged"),
            ("{\"fourlimb_stand_alone\": 1}", "damaged"),
            ("{\"fourlimb_stand_alone\": 2, \"tempo\": []}", "newer"),
        ] {
            std::fs::write(&path, text).unwrap();
            let why = load(&path).unwrap_err().to_string();
            assert!(why.contains(says) && why.contains(NAME), "{why}");
            assert_eq!(std::fs::read_to_string(&path).unwrap(), text);
        }
    }

    #[test]
    fn nonsense_is_mended() {
        let mut kept = kept();
        kept.meter = (0, 3);
        kept.loop_bars = (9, 2);
        kept.panel.clear();
        kept.panel.insert("of another day".to_owned(), 3.0);
        assert_eq!(
            (kept.wishes().meter, kept.wishes().loop_bars),
            ((1, 4), (9, 9))
        );
        let usual: Vec<f32> = SettingId::shown()
            .map(|id| Settings::default().get(id))
            .collect();
        assert_eq!(kept.choice().values, usual);
    }
}
