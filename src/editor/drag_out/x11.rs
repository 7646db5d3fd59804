//! Dragging under X11: a thread follows the pointer from the moment on at which the drag begins, and the jobs tell it where
//! the file is.

use super::DragOut;
use crate::editor::text::taken_out as words;
use crate::editor::xdnd::source::{File, drag};
use crate::editor::xdnd::target::watch;
use crate::project::jobs::taken_out::Then;
use nice_plug_egui::baseview::WindowContext;
use raw_window_handle::{HasWindowHandle, RawWindowHandle};
use std::path::Path;
use std::sync::Arc;

/// The number of a window on the X server; `None` where it is none of an X server.
pub fn window_of(window: &WindowContext) -> Option<u32> {
    match window.window_handle().ok()?.as_raw() {
        RawWindowHandle::Xlib(handle) => u32::try_from(handle.window).ok(),
        RawWindowHandle::Xcb(handle) => Some(handle.window.get()),
        _ => None,
    }
}

impl DragOut {
    /// Watches a window on the X server, as long as it is there.
    pub(super) fn watch_x11(&self, window: &WindowContext) {
        let Some(window) = window_of(window) else {
            return;
        };
        let queue = self.from_system.clone();
        self.threads.run(move |stop| {
            // Without it nothing can be dropped, and the buttons do the same.
            let _ = watch(window, &queue, stop);
        });
    }

    /// Begins to follow the pointer; what is to be told where the file is.
    pub(super) fn then(&self, window: &WindowContext) -> Then {
        let file = Arc::new(File::new());
        let own = window_of(window).unwrap_or_default();
        let (dragged, trouble) = (file.clone(), self.trouble.clone());
        let tell = self.from_system.clone();
        self.threads.run(move |stop| {
            if let Err(error) = drag(own, &dragged, stop) {
                trouble.tell(words::cannot(&error.to_string()));
            }
            // The next frame says how it went.
            tell.wake();
        });
        Then::new(move |path| {
            // It is told once.
            let _ = file.set(path.map(Path::to_owned));
        })
    }
}
