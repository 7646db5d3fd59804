//! File dialogs of the system, asked for on a thread of their own: one may stay open for minutes, and no job waits for it.
//! On Linux and Windows the host's window does not wait either. macOS shows its panels on the main thread alone, so there
//! rfd has the main thread show it: the host's windows wait until the user closes it, as they do for the host's own
//! panels.
//!
//! The thread is not waited for when the instance goes, since nobody can close a dialog but the user; what
//! is then chosen goes nowhere. Where a host unloads the plugin's library meanwhile, Linux and macOS keep it for as long
//! as the thread runs. Windows does not, so `loaded` keeps it there.

mod loaded;

use crate::project::last_folders::LastFolders;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::thread;
use std::time::{Duration, Instant};

/// Kinds of files: a name, and how their names end.
pub type Filter = (&'static str, &'static [&'static str]);

/// Song files.
pub const SONGS: Filter = ("Song", &["json"]);
/// MIDI files.
pub const MIDI: Filter = ("MIDI file", &["mid", "midi"]);
/// Charts for a drummer.
pub const SCORES: Filter = (
    "Chart for a drummer",
    &["pdf", "musicxml", "mxl", "svg", "txt"],
);
/// Files of a guitar.
pub const GUITARS: Filter = ("MIDI file or recording", &["mid", "midi", "wav", "flac"]);

/// Own beats.
pub const BEATS: Filter = ("Beat", &["json"]);
/// Files that an own beat is read from.
pub const BEAT_SOURCES: Filter = (
    "Beat, MIDI file or text chart",
    &["json", "mid", "midi", "txt"],
);

/// Note maps of ours.
pub const MAPS: Filter = ("Note map", &["json"]);
/// Files that a note map is read from.
pub const MAP_SOURCES: Filter = ("Note map", &["json", "midnam", "xml", "mid", "midi"]);

/// A dialog that ends sooner than this without a choice was seen by nobody. Judged: opening one and closing it takes longer.
const SEEN: Duration = Duration::from_millis(250);

/// What is asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ask {
    /// The dialog's title.
    pub title: String,
    /// The files that can be chosen.
    pub filter: Filter,
    /// The name that is offered for a file to be written; `None` for one to be read.
    pub name: Option<String>,
    /// The folder that is shown first; the system's choice where `None`.
    pub folder: Option<PathBuf>,
}

/// Shows a dialog and waits for its end. Any thread but the audio and the main thread.
pub type Choose = Arc<dyn Fn(&Ask) -> Option<PathBuf> + Send + Sync>;

/// The system's dialog. Whether an existing file is to be replaced, it asks by itself.
fn system(ask: &Ask) -> Option<PathBuf> {
    let (kind, endings) = ask.filter;
    let dialog = rfd::FileDialog::new()
        .set_title(&ask.title)
        .add_filter(kind, endings);
    let dialog = match &ask.folder {
        Some(folder) => dialog.set_directory(folder),
        None => dialog,
    };
    match &ask.name {
        Some(name) => dialog.set_file_name(name).save_file(),
        None => dialog.pick_file(),
    }
}

/// One dialog at a time, and what it is for. Main thread.
pub struct Dialogs<T> {
    choose: Choose,
    open: Option<(T, Receiver<Option<PathBuf>>)>,
    opened: Option<Instant>,
    /// What kind of file is asked for.
    kind: &'static str,
    /// The folder of each kind; read when the first dialog opens.
    folders: Option<LastFolders>,
    keeps_folders: bool,
    /// The last one ended before anybody could have seen it.
    failed: bool,
}

impl<T> Default for Dialogs<T> {
    fn default() -> Self {
        Self {
            keeps_folders: true,
            ..Self::new(Arc::new(system))
        }
    }
}

impl<T> Dialogs<T> {
    /// Dialogs that are shown in this way.
    pub fn new(choose: Choose) -> Self {
        Self {
            choose,
            open: None,
            opened: None,
            kind: "",
            folders: None,
            keeps_folders: false,
            failed: false,
        }
    }

    /// Whether one is open.
    pub fn is_open(&self) -> bool {
        self.open.is_some()
    }

    /// Whether no dialog can open here, as far as the last one tells: it ended before anybody could have closed it.
    pub fn cannot_open(&self) -> bool {
        self.failed
    }

    /// Opens one, unless one is open.
    pub fn open(&mut self, purpose: T, mut ask: Ask) {
        if self.is_open() {
            return;
        }
        self.kind = ask.filter.0;
        let keeps = self.keeps_folders;
        let folders = self.folders.get_or_insert_with(|| {
            if keeps {
                LastFolders::load()
            } else {
                LastFolders::default()
            }
        });
        ask.folder = folders.get(self.kind).map(ToOwned::to_owned);
        let (answer, answered) = channel();
        let choose = self.choose.clone();
        if !loaded::keep() {
            // Better no dialog than a host that ends with it: paths can be typed.
            self.failed = true;
            return;
        }
        let thread = thread::Builder::new().name("fourlimb dialog".to_owned());
        let shown = thread.spawn(move || {
            // Nobody listens any more where the instance is gone.
            drop(answer.send(choose(&ask)));
        });
        if shown.is_ok() {
            self.open = Some((purpose, answered));
            self.opened = Some(Instant::now());
        }
    }

    /// What was chosen, once: `None` for the path where nothing was, or no dialog could be shown.
    pub fn answer(&mut self) -> Option<(T, Option<PathBuf>)> {
        let (_, answered) = self.open.as_ref()?;
        let path = match answered.try_recv() {
            Ok(path) => path,
            Err(TryRecvError::Disconnected) => None,
            Err(TryRecvError::Empty) => return None,
        };
        let (purpose, _) = self.open.take()?;
        let quick = self.opened.is_some_and(|at| at.elapsed() < SEEN);
        self.failed = path.is_none() && quick;
        if let (Some(path), Some(folders)) = (&path, &mut self.folders) {
            folders.chosen(self.kind, path);
        }
        Some((purpose, path))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Mutex;

    /// It is asked on a thread of its own, one at a time, and the end of the asker waits for nothing.
    #[test]
    fn a_dialog_is_shown_beside_and_answered_once() {
        let (tell, told) = channel::<Option<PathBuf>>();
        let told = Mutex::new(told);
        let choose: Choose = Arc::new(move |ask| {
            assert_eq!(ask.title, "first");
            told.lock().unwrap().recv().unwrap()
        });
        let ask = |title: &str| Ask {
            title: title.to_owned(),
            filter: SONGS,
            name: None,
            folder: None,
        };
        let mut dialogs = Dialogs::new(choose);
        dialogs.open(1, ask("first"));
        dialogs.open(2, ask("second"));
        assert!(dialogs.is_open() && dialogs.answer().is_none());
        tell.send(Some(PathBuf::from("a.json"))).unwrap();
        let answer = std::iter::from_fn(|| {
            thread::yield_now();
            Some(dialogs.answer())
        });
        let answer = answer.flatten().next().unwrap();
        assert_eq!(answer, (1, Some(PathBuf::from("a.json"))));
        assert!(!dialogs.is_open() && dialogs.answer().is_none());
        dialogs.open(3, ask("first"));
        drop(dialogs);
        tell.send(None).unwrap();
    }
}
