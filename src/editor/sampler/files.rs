//! The row that loads, saves and keeps note maps.

use crate::editor::action::Action;
use crate::editor::text::chart::BUSY;
use crate::editor::text::sampler as words;
use crate::editor::{theme, widgets};
use egui::{Button, RichText, Role, TextEdit, Ui, WidgetInfo};
use std::path::{Path, PathBuf};

/// What the row remembers between frames.
#[derive(Debug, Default)]
pub struct MapFiles {
    path: String,
    busy: bool,
    told: String,
    /// What was last asked to be written.
    asked: Option<PathBuf>,
    /// What is there already, and is replaced where the same is asked once more.
    in_the_way: Option<PathBuf>,
}

impl MapFiles {
    /// Tells whether a job is under way.
    pub fn set_busy(&mut self, busy: bool) {
        self.busy = busy;
    }

    /// Tells how a job ended.
    pub fn tell(&mut self, said: String) {
        self.told = said;
    }

    /// Tells that a file of that name is there.
    pub fn tell_exists(&mut self, path: &Path) {
        self.told = words::exists(path);
        self.in_the_way = self.asked.take();
    }

    /// Shows the row.
    pub(super) fn show(&mut self, ui: &mut Ui, actions: &mut Vec<Action>) {
        let path = TextEdit::singleline(&mut self.path).hint_text(words::PATH);
        let field = ui.add(path.desired_width(theme::MAP_PATH_WIDTH));
        field.widget_info(|| WidgetInfo::labeled(Role::TextInput, true, words::PATH));
        let path = widgets::typed_path(&self.path);
        let button = |ui: &mut Ui, (name, hint): (&str, &str)| {
            let button = ui.add_enabled(!self.busy, Button::new(name));
            button.on_hover_text(hint).clicked()
        };
        if button(ui, words::LOAD) {
            actions.push(Action::LoadMap(path.clone()));
        }
        if button(ui, words::SAVE) {
            let asked = Some(path.clone());
            let replace = self.in_the_way.take() == asked;
            self.asked = asked;
            actions.push(Action::SaveMap(path, replace));
        }
        if button(ui, words::KEEP) {
            actions.push(Action::KeepMap);
        }
    }

    /// Shows how the last job ended.
    pub(super) fn show_told(&self, ui: &mut Ui) {
        if self.busy {
            ui.ctx().request_repaint();
        }
        let said = if self.busy { BUSY } else { &self.told };
        if !said.is_empty() {
            ui.label(RichText::new(said).color(theme::of(ui).fill_text));
        }
    }
}
