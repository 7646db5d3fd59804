//! The note map that new instances start with: a file in the user's configuration folder.

use crate::files::{self, Existing, FileError};
use crate::kit::map_file::{MapError, NamedMap};
use std::io::ErrorKind;
use std::path::PathBuf;

/// The file in the folder.
const NAME: &str = "map.json";
/// Names another folder, for tests and for those who keep their configuration elsewhere.
pub const FOLDER: &str = "FOURLIMB_CONFIG";

/// The map for new instances can't be read or written. Each message says what to do.
#[derive(Debug, thiserror::Error)]
pub enum DefaultMapError {
    /// The system names no folder.
    #[error("this system names no folder for configurations: set {FOLDER} to one")]
    NoFolder,
    /// It can't be read.
    #[error("the map for new instances, {path}, can't be read ({1}): General MIDI is used, and the file stays", path = .0.display())]
    Read(PathBuf, std::io::Error),
    /// It is no map.
    #[error("the map for new instances, {path}, is damaged: {1}. General MIDI is used, and the file stays", path = .0.display())]
    Damaged(PathBuf, MapError),
    /// It can't be written.
    #[error(transparent)]
    File(#[from] FileError),
    /// Its folder can't be made.
    #[error("could not make the folder {path}: {1}", path = .0.display())]
    Folder(PathBuf, std::io::Error),
}

/// The file, where the system names a folder.
pub fn path() -> Option<PathBuf> {
    file(NAME)
}

/// A file of this name in the user's configuration folder, where the system names one.
pub fn file(name: &str) -> Option<PathBuf> {
    if let Some(folder) = std::env::var_os(FOLDER) {
        return Some(PathBuf::from(folder).join(name));
    }
    let folders = directories::ProjectDirs::from("org", "", "fourlimb")?;
    Some(folders.config_dir().join(name))
}

/// Reads the map for new instances; `None` where there is none. Main thread: a small file, and only where it is there.
///
/// # Errors
/// [`DefaultMapError`]; the file stays as it is.
pub fn load() -> Result<Option<NamedMap>, DefaultMapError> {
    path().map_or(Ok(None), load_from)
}

fn load_from(path: PathBuf) -> Result<Option<NamedMap>, DefaultMapError> {
    let json = match std::fs::read_to_string(&path) {
        Ok(json) => json,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(DefaultMapError::Read(path, error)),
    };
    let map = NamedMap::parse(&json);
    map.map(Some)
        .map_err(|error| DefaultMapError::Damaged(path, error))
}

/// Makes a map the one for new instances; whole or not at all. Returns where it is. Not on the audio thread.
///
/// # Errors
/// [`DefaultMapError`], and nothing has changed.
pub fn keep(map: &NamedMap) -> Result<PathBuf, DefaultMapError> {
    keep_at(path().ok_or(DefaultMapError::NoFolder)?, map)
}

fn keep_at(path: PathBuf, map: &NamedMap) -> Result<PathBuf, DefaultMapError> {
    if let Some(folder) = path.parent() {
        let no_folder = |error| DefaultMapError::Folder(folder.to_owned(), error);
        std::fs::create_dir_all(folder).map_err(no_folder)?;
    }
    files::write(&path, map.to_text().as_bytes(), Existing::Replace)?;
    Ok(path)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kit::general_midi::level_1;

    #[test]
    fn a_map_is_kept_for_new_instances_and_replaced() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("new").join(NAME);
        assert_eq!(load_from(path.clone()).unwrap(), None);
        for map in [level_1(), NamedMap::default().map] {
            let map = NamedMap {
                name: "cellar".to_owned(),
                map,
            };
            keep_at(path.clone(), &map).unwrap();
            assert_eq!(load_from(path.clone()).unwrap(), Some(map));
        }
    }

    #[test]
    fn a_damaged_one_is_said_and_stays() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join(NAME);
        std::fs::write(&path, "{\"kick\": 999}").unwrap();
        let why = load_from(path.clone()).unwrap_err().to_string();
        assert!(
            why.contains("map.json") && why.contains("use 0 to 127"),
            "{why}"
        );
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "{\"kick\": 999}");
    }
}
