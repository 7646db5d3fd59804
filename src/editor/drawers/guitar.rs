//! The riff: what the kick follows, what is captured, and what has been.

use crate::editor::action::{Action, RiffAct};
use crate::editor::controls::Values;
use crate::editor::snapshot::Snapshot;
use crate::editor::{text, theme, widgets};
use crate::settings::SettingId;
use crate::time::TICKS_PER_QUARTER;
use egui::{Button, DragValue, Label, RichText, Ui};

/// The file that a riff is read from, as it is typed.
#[derive(Debug)]
pub struct Form {
    path: String,
    /// The bar at which it begins, from 1.
    bar: i64,
    /// The track of a MIDI file, from 1; 0 is the only one with notes.
    track: usize,
    progress: Option<f32>,
    told: String,
}

impl Default for Form {
    fn default() -> Self {
        Self {
            path: String::new(),
            bar: 1,
            track: 0,
            progress: None,
            told: String::new(),
        }
    }
}

impl Form {
    /// Tells how far the reading is, and how it ended.
    pub fn tell(&mut self, progress: Option<f32>, outcome: Option<Result<usize, String>>) {
        self.progress = progress;
        if let Some(outcome) = outcome {
            self.told = text::loaded(outcome);
        }
    }

    /// Forgets what was read: undo or redo went past it.
    pub fn forget_changes(&mut self) {
        self.told.clear();
    }

    fn show(&mut self, ui: &mut Ui, actions: &mut Vec<Action>) {
        if widgets::types_paths(ui) {
            widgets::path_field(ui, &mut self.path, text::FILE, text::FILE_HINT);
        }
        ui.horizontal_wrapped(|ui| {
            let ready = self.progress.is_none();
            let load = ui.add_enabled(ready, Button::new(text::LOAD));
            if load.on_hover_text(text::FILE_HINT).clicked() {
                let track = Some(self.track).filter(|track| *track > 0);
                let path = widgets::typed_path(&self.path);
                actions.push(Action::LoadRiff(path, self.bar, track));
            }
            let bar = DragValue::new(&mut self.bar).range(1..=9999);
            ui.add(bar.prefix(text::AT_BAR))
                .on_hover_text(text::AT_BAR_HINT);
            let track = DragValue::new(&mut self.track)
                .range(0..=999)
                .custom_formatter(|track, _| text::track(track))
                .custom_parser(text::parse_track);
            ui.add(track.prefix(text::TRACK))
                .on_hover_text(text::TRACK_HINT);
            let said = self
                .progress
                .map_or_else(|| self.told.clone(), text::loading);
            if self.progress.is_some() {
                ui.ctx().request_repaint();
                let (name, hint) = text::CANCEL;
                if ui.button(name).on_hover_text(hint).clicked() {
                    actions.push(Action::CancelRiff);
                }
            }
            let said = RichText::new(said).color(theme::of(ui).text_quiet);
            ui.add(Label::new(said).wrap());
        });
    }
}

/// Shows the drawer; `turned` are the values of what the controls turn, and `suggests` says whether hits are proposed.
pub fn show(
    ui: &mut Ui,
    snapshot: &Snapshot,
    turned: &Values,
    (form, suggests): (&mut Form, &mut bool),
    actions: &mut Vec<Action>,
) {
    let facts = snapshot.riff;
    widgets::row(ui, SettingId::KickSource, turned, actions);
    ui.add_space(theme::GAP);
    widgets::list(ui, SettingId::RiffGrid, turned, actions);
    ui.add_space(theme::GAP);
    widgets::level(ui, SettingId::Catch, turned, actions);
    ui.add_space(theme::GAP);
    let (name, hint) = text::hits::SUGGEST;
    ui.checkbox(suggests, name).on_hover_text(hint);
    ui.add_space(theme::GAP);
    widgets::row(ui, SettingId::Listen, turned, actions);
    ui.add_space(theme::GAP);
    widgets::level(ui, SettingId::Sensitivity, turned, actions);
    ui.add_space(theme::GAP);
    ui.horizontal_wrapped(|ui| {
        ui.label(
            RichText::new(text::riff(facts.attacks, facts.known)).color(theme::of(ui).text_quiet),
        );
        let mut button = |ui: &mut Ui, (name, hint): (&str, &str), on: bool, does: RiffAct| {
            let button = ui.add_enabled(on, Button::new(name)).on_hover_text(hint);
            if button.clicked() {
                actions.push(Action::Riff(does));
            }
        };
        let step = TICKS_PER_QUARTER / 16;
        for (words, by) in text::NUDGE.into_iter().zip([-step, step]) {
            button(ui, words, facts.known, RiffAct::Nudge(by));
        }
        let (name, hint) = (text::THIN_RIFF, text::THIN_RIFF_HINT);
        button(ui, (name, hint), facts.known, RiffAct::Thin);
        let (name, hint) = (text::CLEAR_RIFF, text::CLEAR_RIFF_HINT);
        button(ui, (name, hint), facts.known, RiffAct::Clear);
        let mut repeats = facts.repeats;
        let repeat = ui.add_enabled(facts.known, egui::Checkbox::new(&mut repeats, text::REPEAT));
        if repeat.on_hover_text(text::REPEAT_HINT).changed() {
            actions.push(Action::Riff(RiffAct::Repeat(repeats)));
        }
    });
    form.show(ui, actions);
}
