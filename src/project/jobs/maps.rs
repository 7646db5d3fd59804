//! The jobs of note maps.

use super::Outcome;
use crate::files::{self, Existing, FileError};
use crate::kit::map_file::NamedMap;
use crate::midi::map_source::{self, ReadMap};
use crate::project::default_map;
use std::path::Path;

/// Reads a map from a file; a map without a name gets that of its file. The message names the file.
pub(super) fn load(path: &Path) -> Result<ReadMap, String> {
    let bytes = files::read_small(path, "map").map_err(|error| error.to_string())?;
    let of_file = |why: &str| format!("{}: {why}", path.display());
    let mut read = map_source::read(&bytes, None).map_err(|why| of_file(&why.to_string()))?;
    let stem = path.file_stem().unwrap_or_default();
    read.map = read.map.or_named(&stem.to_string_lossy());
    Ok(read)
}

/// Writes a map.
pub(super) fn save(path: &Path, map: &NamedMap, existing: Existing) -> Outcome {
    match files::write(path, map.to_text().as_bytes(), existing) {
        Err(FileError::Exists(path)) => Outcome::MapExists(path),
        Err(error) => Outcome::MapWritten(Err(error.to_string())),
        Ok(()) => Outcome::MapWritten(Ok(format!("map written to {}", path.display()))),
    }
}

/// Has new instances start with a map.
pub(super) fn keep(map: &NamedMap) -> Outcome {
    let kept = default_map::keep(map);
    Outcome::MapWritten(match kept {
        Ok(path) => Ok(format!(
            "new instances start with this map: {}",
            path.display()
        )),
        Err(error) => Err(error.to_string()),
    })
}

#[cfg(test)]
mod tests {
    use super::super::Job;
    use super::*;
    use crate::project::Project;
    use std::sync::Arc;

    fn end(job: &Job) -> Outcome {
        job.run(&Project::default(), |_| true)
    }

    #[test]
    fn a_map_goes_out_and_comes_back_and_no_file_is_lost() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("kit.json");
        let map = Arc::new(NamedMap {
            name: "cellar".to_owned(),
            ..NamedMap::default()
        });
        let save = |existing| Job::SaveMap {
            path: path.clone(),
            map: map.clone(),
            existing,
        };
        assert!(matches!(
            end(&save(Existing::Keep)),
            Outcome::MapWritten(Ok(_))
        ));
        assert_eq!(end(&save(Existing::Keep)), Outcome::MapExists(path.clone()));
        let Outcome::MapRead(Ok(read)) = end(&Job::LoadMap(path)) else {
            panic!("it is not read");
        };
        assert_eq!(read.map, *map);
    }

    #[test]
    fn a_map_without_a_name_has_that_of_its_file_and_a_damaged_one_says_why() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("cellar.json");
        std::fs::write(&path, r#"{"kick": 24}"#).unwrap();
        let Outcome::MapRead(Ok(read)) = end(&Job::LoadMap(path.clone())) else {
            panic!("it is not read");
        };
        assert_eq!(read.map.name, "cellar");
        std::fs::write(&path, r#"{"kick": 240}"#).unwrap();
        let Outcome::MapRead(Err(why)) = end(&Job::LoadMap(path)) else {
            panic!("240 is no key");
        };
        assert!(
            why.contains("cellar.json") && why.contains("use 0 to 127"),
            "{why}"
        );
    }
}
