//! A part of the song is dragged out of the window as a MIDI file. Each system has its own way: on Linux the protocol of X11
//! ([`super::xdnd`]), elsewhere the crate `drag`, which asks for the main thread.

use super::from_system::FromSystem;
use super::threads::Threads;
use crate::project::dragged::Region;
use crate::project::jobs::taken_out::TakeOut;
use crate::project::{Job, JobQueue};
use nice_plug_egui::baseview::WindowContext;
use std::fmt;
use std::sync::{Arc, Mutex, PoisonError};

#[cfg(target_os = "linux")]
#[path = "drag_out/x11.rs"]
mod system;
#[cfg(not(target_os = "linux"))]
#[path = "drag_out/others.rs"]
mod system;

#[cfg(target_os = "linux")]
pub use system::window_of;

/// Something that is to be done on the main thread.
pub struct MainTask(Box<dyn FnOnce() + Send>);

impl MainTask {
    /// This.
    pub fn new(task: impl FnOnce() + Send + 'static) -> Self {
        Self(Box::new(task))
    }

    /// Does it. Main thread.
    pub fn run(self) {
        (self.0)();
    }
}

impl fmt::Debug for MainTask {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("MainTask")
    }
}

/// Has something done on the main thread, later where it is not called there.
pub type OnMain = Arc<dyn Fn(MainTask) + Send + Sync>;

/// Drags parts of the song out of a window. Main thread.
pub struct DragOut {
    /// The threads of the window.
    pub threads: Arc<Threads>,
    /// What the system tells of the window.
    pub from_system: FromSystem,
    #[cfg_attr(
        target_os = "linux",
        expect(dead_code, reason = "X11 needs no main thread")
    )]
    on_main: Option<OnMain>,
    /// Why the last drag could not be.
    trouble: Trouble,
}

/// Why a drag could not be, once.
#[derive(Debug, Clone, Default)]
struct Trouble(Arc<Mutex<Option<String>>>);

impl Trouble {
    fn tell(&self, why: String) {
        *self.0.lock().unwrap_or_else(PoisonError::into_inner) = Some(why);
    }

    fn take(&self) -> Option<String> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).take()
    }
}

impl DragOut {
    /// Drags with these means; without a main thread, nothing can be dragged but under X11.
    pub fn new(threads: Arc<Threads>, from_system: FromSystem, on_main: Option<OnMain>) -> Self {
        Self {
            threads,
            from_system,
            on_main,
            trouble: Trouble::default(),
        }
    }

    /// Begins to drag a region out of a window: the button is held. The file is written meanwhile, by the jobs.
    pub fn begin(&self, window: &WindowContext, region: Region, jobs: &JobQueue) {
        let then = Some(self.then(window));
        jobs.send(Job::TakeOut(TakeOut { region, then }));
    }

    /// Watches a window that opens for what is dropped on it. Where the framework does not hand it on and nobody else can,
    /// nothing is.
    pub fn watch(&self, window: &WindowContext) {
        #[cfg(target_os = "linux")]
        self.watch_x11(window);
        let _ = window;
    }

    /// Why the last drag could not be; the file was written all the same.
    pub fn trouble(&self) -> Option<String> {
        self.trouble.take()
    }
}
