//! What is dragged out of the window is written, and whoever drags it told.

use super::Outcome;
use crate::kit::NoteMap;
use crate::project::dragged::{DragError, Region, Written, clear as clear_folder, folder};
use std::fmt;
use std::path::Path;
use std::sync::Arc;
use std::time::SystemTime;

/// What is told where a file is; `None` where it could not be written.
type Tell = dyn Fn(Option<&Path>) + Send + Sync;

/// Told once where the file is. On the jobs' thread.
#[derive(Clone)]
pub struct Then(Arc<Tell>);

impl Then {
    /// This is told; it gets `None` where the file could not be written.
    pub fn new(tell: impl Fn(Option<&Path>) + Send + Sync + 'static) -> Self {
        Self(Arc::new(tell))
    }
}

impl fmt::Debug for Then {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Then")
    }
}

/// A part of a song that leaves the window.
#[derive(Debug, Clone)]
pub struct TakeOut {
    /// The part.
    pub region: Region,
    /// Who drags it; nobody where the file alone is wanted.
    pub then: Option<Then>,
}

impl TakeOut {
    /// Writes the file; says what is in it and where it is, or why it could not be written.
    pub(super) fn run(&self, map: &NoteMap) -> Result<String, String> {
        let written = self.write(map);
        if let Some(Then(then)) = &self.then {
            then(written.as_ref().ok().map(|written| &*written.path));
        }
        let written = written.map_err(|error| error.to_string())?;
        let (exported, path) = (&written.exported, written.path.display());
        Ok(format!("{exported}, written to {path}"))
    }

    fn write(&self, map: &NoteMap) -> Result<Written, DragError> {
        let folder = folder().ok_or(DragError::NoFolder)?;
        clear_folder(&folder, SystemTime::now());
        self.region.write(&folder, map)
    }
}

/// Clears what is old.
pub(super) fn clear() -> Outcome {
    if let Some(folder) = folder() {
        clear_folder(&folder, SystemTime::now());
    }
    Outcome::Done
}
