//! What the system tells of the window that the framework does not hand on: files that are dragged over it, and the end of
//! a drag out of it. It goes into egui's own input, so that the views see what they would see of any other framework.

use egui::{DroppedFile, Event, HoveredFile, Modifiers, PointerButton, Pos2, RawInput, pos2};
use nice_plug_egui::RepaintNotifier;
use std::collections::VecDeque;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

/// What is told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Told {
    /// Files are dragged over the window, at a place in its pixels.
    Over((i16, i16), Vec<PathBuf>),
    /// They are no longer.
    Left,
    /// They were dropped there.
    Dropped((i16, i16), Vec<PathBuf>),
    /// The button was let go at the end of a drag out of the window, which the system kept to itself.
    LetGo,
}

/// What was told and not yet taken up. Any thread but the audio thread.
#[derive(Clone)]
pub struct FromSystem {
    told: Arc<Mutex<VecDeque<Told>>>,
    repaint: RepaintNotifier,
}

impl FromSystem {
    /// A queue of a window that is asked for a frame when something is told.
    pub fn new(repaint: RepaintNotifier) -> Self {
        Self {
            told: Arc::default(),
            repaint,
        }
    }

    /// Tells something.
    pub fn tell(&self, told: Told) {
        let mut queue = self.told.lock().unwrap_or_else(PoisonError::into_inner);
        // Of moves the last one counts.
        if matches!(
            (queue.back(), &told),
            (Some(Told::Over(..)), Told::Over(..))
        ) {
            queue.pop_back();
        }
        queue.push_back(told);
        drop(queue);
        self.repaint.request_repaint();
    }

    /// Asks for a frame alone.
    pub fn wake(&self) {
        self.repaint.request_repaint();
    }

    fn take(&self) -> Option<Told> {
        let mut queue = self.told.lock().unwrap_or_else(PoisonError::into_inner);
        queue.pop_front()
    }
}

/// Puts what was told into egui's input, one a frame: a file that is dropped was seen over its place before.
pub struct Input {
    from: FromSystem,
    /// What is over the window.
    over: Vec<PathBuf>,
    /// Where the pointer was last.
    at: Pos2,
}

impl Input {
    /// What was told to `from`.
    pub fn new(from: FromSystem) -> Self {
        Self {
            from,
            over: Vec::new(),
            at: Pos2::ZERO,
        }
    }
}

impl egui::Plugin for Input {
    fn debug_name(&self) -> &'static str {
        "from the system"
    }

    fn input_hook(&mut self, ctx: &egui::Context, input: &mut RawInput) {
        let points = |(x, y): (i16, i16)| pos2(f32::from(x), f32::from(y)) / ctx.pixels_per_point();
        for event in &input.events {
            if let Event::PointerMoved(at) = event {
                self.at = *at;
            }
        }
        if let Some(told) = self.from.take() {
            ctx.request_repaint();
            match told {
                Told::Over(at, files) => {
                    input.events.push(Event::PointerMoved(points(at)));
                    self.over = files;
                }
                Told::Left => {
                    input.events.push(Event::PointerGone);
                    self.over.clear();
                }
                Told::Dropped(at, files) => {
                    input.events.push(Event::PointerMoved(points(at)));
                    self.over.clear();
                    let files = files.into_iter();
                    input
                        .dropped_files
                        .extend(files.map(|file| Arc::new(OnDisk(file)) as _));
                }
                Told::LetGo => input.events.push(Event::PointerButton {
                    pos: self.at,
                    button: PointerButton::Primary,
                    pressed: false,
                    modifiers: Modifiers::NONE,
                }),
            }
        }
        let over = self.over.iter().map(|file| HoveredFile {
            path: Some(file.clone()),
            mime: String::new(),
        });
        input.hovered_files.extend(over);
    }
}

/// A file that was dropped.
#[derive(Debug)]
pub struct OnDisk(pub PathBuf);

impl DroppedFile for OnDisk {
    fn path(&self) -> &Path {
        &self.0
    }

    fn bytes(&self) -> Result<Vec<u8>, String> {
        std::fs::read(&self.0).map_err(|error| error.to_string())
    }
}
