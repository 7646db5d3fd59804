//! Keeping what was played: where to, and what came of it.

use crate::editor::action::Action;
use crate::editor::{text, theme, widgets};
use crate::project::recording::Recording;
use egui::{Button, RichText, Ui};

/// For so many frames after it was asked for, the outcome is waited for: two seconds at 60 a second.
const PATIENCE: u32 = 120;

/// The file that is written, as it is typed, and what came of the last one.
#[derive(Debug, Default)]
pub struct Form {
    path: String,
    /// Frames that the outcome is still waited for.
    waiting: u32,
    busy: bool,
    told: Option<Result<Recording, String>>,
}

impl Form {
    /// Tells how the writing goes.
    pub fn tell(&mut self, busy: bool, outcome: Option<Result<Recording, String>>) {
        self.busy = busy;
        if outcome.is_some() {
            self.told = outcome;
        }
    }

    /// Shows the row. Main thread.
    pub fn show(&mut self, ui: &mut Ui, actions: &mut Vec<Action>) {
        if widgets::types_paths(ui) {
            widgets::path_field(ui, &mut self.path, text::KEEP_FILE, text::KEEP_FILE_HINT);
        }
        ui.vertical(|ui| {
            let ready = !self.busy;
            let button = ui.add_enabled(ready, Button::new(text::KEEP));
            let button = button
                .on_hover_text(text::KEEP_HINT)
                .on_disabled_hover_text(text::KEEP_FILE_HINT);
            if button.clicked() {
                actions.push(Action::KeepPlayed(widgets::typed_path(&self.path)));
                self.waiting = PATIENCE;
            }
            if self.waiting > 0 {
                self.waiting -= 1;
                ui.ctx().request_repaint();
            }
            let told = self.told.as_ref().map(text::kept).unwrap_or_default();
            let told = egui::Label::new(RichText::new(told).color(theme::of(ui).text_quiet));
            ui.add(told.wrap());
        });
    }
}
