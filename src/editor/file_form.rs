//! What a row of files remembers between frames, and what is the same in each.

use super::text::chart::BUSY;
use super::widgets;
use egui::{Button, Color32, Response, RichText, Role, TextEdit, Ui, WidgetInfo};
use std::path::PathBuf;

/// The path that is typed, and how the last job on it ended. `A` is what can be asked to be written.
#[derive(Debug)]
pub struct FileForm<A> {
    path: String,
    busy: bool,
    told: String,
    /// What is told is a change of the project, so that undo makes it untrue.
    told_change: bool,
    /// What was last asked to be written.
    asked: Option<A>,
    /// What is there already, and is replaced where the same is asked once more.
    in_the_way: Option<A>,
}

impl<A> Default for FileForm<A> {
    fn default() -> Self {
        Self {
            path: String::new(),
            busy: false,
            told: String::new(),
            told_change: false,
            asked: None,
            in_the_way: None,
        }
    }
}

impl<A: PartialEq> FileForm<A> {
    /// Tells whether a job is under way.
    pub fn set_busy(&mut self, busy: bool) {
        self.busy = busy;
    }

    /// Tells how a job ended.
    pub fn tell(&mut self, said: String) {
        self.told = said;
        self.told_change = false;
    }

    /// Tells what a job changed in the project.
    pub fn tell_change(&mut self, said: String) {
        self.tell(said);
        self.told_change = true;
    }

    /// Forgets what a job changed: undo or redo went past it.
    pub fn forget_changes(&mut self) {
        if std::mem::take(&mut self.told_change) {
            self.told.clear();
        }
    }

    /// Tells that what was asked to be written is there.
    pub fn tell_exists(&mut self, said: String) {
        self.tell(said);
        self.in_the_way = self.asked.take();
    }

    /// Shows the field of the path where no dialog can open, and returns the path; an empty one is still to be chosen.
    pub fn path(&mut self, ui: &mut Ui, name: &str, width: f32) -> PathBuf {
        if !widgets::types_paths(ui) {
            return PathBuf::new();
        }
        let path = TextEdit::singleline(&mut self.path).hint_text(name);
        let field = ui.add(path.desired_width(width));
        field.widget_info(|| WidgetInfo::labeled(Role::TextInput, true, name));
        widgets::typed_path(&self.path)
    }

    /// The path that was typed; empty where a dialog chooses it.
    pub fn typed(&self) -> PathBuf {
        widgets::typed_path(&self.path)
    }

    /// Shows a button, which waits for the job that is under way.
    pub fn button(&self, ui: &mut Ui, on: bool, (name, hint): (&str, &str)) -> Response {
        let button = ui.add_enabled(on && !self.busy, Button::new(name));
        button.on_hover_text(hint)
    }

    /// Whether a file that is there is to be replaced: where it was asked for twice.
    pub fn replaces(&mut self, asked: A) -> bool {
        let asked = Some(asked);
        let twice = self.in_the_way.take() == asked;
        self.asked = asked;
        twice
    }

    /// Shows how the last job ended.
    pub fn show_told(&self, ui: &mut Ui, colour: Color32) {
        if self.busy {
            ui.ctx().request_repaint();
        }
        let said = if self.busy { BUSY } else { &self.told };
        if !said.is_empty() {
            ui.label(RichText::new(said).color(colour));
        }
    }
}
