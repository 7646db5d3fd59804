//! Dragging where the crate `drag` does it: once the file is there, on the main thread, and not within a frame: Windows
//! shows frames while something is dragged.

use super::{DragOut, MainTask};
use crate::editor::from_system::Told;
use crate::editor::text::taken_out as words;
use crate::project::jobs::taken_out::Then;
use drag::{DragItem, Image, Options, start_drag};
use nice_plug_egui::baseview::WindowContext;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

/// What is seen under the pointer.
const PICTURE: &[u8] = include_bytes!("dragged.png");

impl DragOut {
    /// What is to be told where the file is, which then begins the drag.
    pub(super) fn then(&self, window: &WindowContext) -> Then {
        let window = window.platform_handle();
        let (on_main, trouble, tell) = (
            self.on_main.clone(),
            self.trouble.clone(),
            self.from_system.clone(),
        );
        Then::new(move |path| {
            let Some(path) = path.map(Path::to_owned) else {
                return;
            };
            let Some(on_main) = &on_main else {
                trouble.tell(words::cannot(words::ALONE));
                return tell.tell(Told::LetGo);
            };
            let (window, trouble, tell) = (window.clone(), trouble.clone(), tell.clone());
            on_main(MainTask::new(move || {
                let item = DragItem::Files(vec![path]);
                let picture = Image::Raw(PICTURE.to_vec());
                let ended = tell.clone();
                let begin = move || {
                    let ended = move |_, _| ended.tell(Told::LetGo);
                    start_drag(&window, item, picture, ended, Options::default())
                };
                // It panics where the system refuses, and the host would go down with it.
                let why = match catch_unwind(AssertUnwindSafe(begin)) {
                    Ok(Ok(())) => return,
                    Ok(Err(error)) => error.to_string(),
                    Err(_) => words::REFUSED.to_owned(),
                };
                trouble.tell(words::cannot(&why));
                tell.tell(Told::LetGo);
            }));
        })
    }
}
