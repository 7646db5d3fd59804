//! The folder that each kind of file was last chosen in: a file in the user's configuration folder, so that a dialog opens
//! where the songwriter's files are. Of no interest to a project; what can't be read or written is forgotten.

use super::default_map;
use crate::files::{self, Existing};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// The file in the folder.
const NAME: &str = "folders.json";

/// The folder of each kind of file.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct LastFolders {
    folders: BTreeMap<String, PathBuf>,
    /// Where they are kept; `None` for nowhere.
    kept: Option<PathBuf>,
}

impl LastFolders {
    /// Those that are kept in the user's configuration folder. Main thread; a small file.
    pub fn load() -> Self {
        default_map::file(NAME).map_or_else(Self::default, Self::load_from)
    }

    fn load_from(path: PathBuf) -> Self {
        let folders = std::fs::read(&path).ok();
        let folders = folders.and_then(|json| serde_json::from_slice(&json).ok());
        Self {
            folders: folders.unwrap_or_default(),
            kept: Some(path),
        }
    }

    /// The folder in which a kind of file was last chosen, where it is still there.
    pub fn get(&self, kind: &str) -> Option<&Path> {
        let folder = self.folders.get(kind)?;
        folder.is_dir().then_some(folder)
    }

    /// Remembers the folder of a file that was chosen.
    pub fn chosen(&mut self, kind: &str, file: &Path) {
        let Some(folder) = file
            .parent()
            .filter(|folder| !folder.as_os_str().is_empty())
        else {
            return;
        };
        let was = self.folders.insert(kind.to_owned(), folder.to_owned());
        if was.as_deref() == Some(folder) {
            return;
        }
        if let (Some(path), Ok(json)) = (&self.kept, serde_json::to_vec_pretty(&self.folders)) {
            let made = path.parent().map(std::fs::create_dir_all);
            // A comfort: where it can't be written, the next window asks from the system's folder.
            if matches!(made, Some(Ok(()))) {
                let _ = files::write(path, &json, Existing::Replace);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_folder_of_each_kind_is_remembered_while_it_is_there() {
        let folder = tempfile::tempdir().unwrap();
        let songs = folder.path().join("songs");
        std::fs::create_dir(&songs).unwrap();
        let kept = folder.path().join("config").join(NAME);
        let mut folders = LastFolders::load_from(kept.clone());
        assert_eq!(folders.get("Song"), None);
        folders.chosen("Song", &songs.join("a.json"));
        folders.chosen("MIDI file", Path::new("a.mid"));
        let again = LastFolders::load_from(kept.clone());
        assert_eq!(again, folders);
        assert_eq!(again.get("Song"), Some(&*songs));
        assert_eq!(again.get("MIDI file"), None);
        std::fs::remove_dir(&songs).unwrap();
        assert_eq!(again.get("Song"), None);
        std::fs::write(&kept, "nonsense").unwrap();
        assert_eq!(LastFolders::load_from(kept).get("Song"), None);
    }
}
