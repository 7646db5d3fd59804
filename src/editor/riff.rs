//! The riff: what the kick follows, what is captured, and what has been.

use super::snapshot::Snapshot;
use super::{text, theme, widgets};
use crate::editor::action::Action;
use crate::riff::Riff;
use crate::settings::SettingId;
use crate::time::{TICKS_PER_QUARTER, Ticks};
use egui::{Button, DragValue, Label, RichText, Ui};

/// What the user wants done with the riff.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RiffAct {
    /// Forget it.
    Clear,
    /// Keep its strong strokes alone.
    Thin,
    /// Move it by so many ticks.
    Nudge(Ticks),
    /// Go on after its end, or not.
    Repeat(bool),
}

/// What is known of the riff.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct RiffFacts {
    /// Its attacks.
    pub attacks: usize,
    /// Whether it is known anywhere.
    pub known: bool,
    /// Whether it goes on after its end.
    pub repeats: bool,
}

impl RiffFacts {
    /// What is known of a riff.
    pub fn of(riff: &Riff) -> Self {
        Self {
            attacks: riff.attacks().len(),
            known: !riff.is_empty(),
            repeats: riff.repeat().is_some(),
        }
    }
}

/// Strokes weaker than this go where the strong ones alone are wanted. Judged.
const WEAK: f32 = 0.5;

impl RiffAct {
    /// Does it; `bar` is the length of a bar in ticks.
    pub fn apply(self, riff: &mut Riff, bar: Ticks) {
        match self {
            Self::Clear => riff.clear(),
            Self::Thin => riff.thin(WEAK),
            Self::Nudge(by) => riff.nudge(by),
            Self::Repeat(repeats) => {
                let bars = riff.whole_bars(bar).filter(|_| repeats);
                riff.set_repeat(bars);
            }
        }
    }
}

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

    fn show(&mut self, ui: &mut Ui, actions: &mut Vec<Action>) {
        widgets::path_field(ui, &mut self.path, text::FILE, text::FILE_HINT);
        ui.horizontal(|ui| {
            let bar = DragValue::new(&mut self.bar).range(1..=9999);
            ui.add(bar.prefix(text::AT_BAR))
                .on_hover_text(text::AT_BAR_HINT);
            let track = DragValue::new(&mut self.track).range(0..=999);
            ui.add(track.prefix(text::TRACK))
                .on_hover_text(text::TRACK_HINT);
            let ready = self.progress.is_none();
            if ui.add_enabled(ready, Button::new(text::LOAD)).clicked() {
                let track = Some(self.track).filter(|track| *track > 0);
                let path = widgets::typed_path(&self.path);
                actions.push(Action::LoadRiff(path, self.bar, track));
            }
            let said = self
                .progress
                .map_or_else(|| self.told.clone(), text::loading);
            if self.progress.is_some() {
                ui.ctx().request_repaint();
            }
            let said = RichText::new(said).color(theme::of(ui).text_quiet);
            ui.add(Label::new(said).truncate());
        });
    }
}

/// Shows the strip.
pub fn show(ui: &mut Ui, snapshot: &Snapshot, form: &mut Form, actions: &mut Vec<Action>) {
    let (values, facts) = (&snapshot.values, snapshot.riff);
    widgets::row(ui, SettingId::KickSource, values, actions);
    widgets::row(ui, SettingId::Listen, values, actions);
    ui.columns_const(|[sensitivity, grid]| {
        widgets::level(sensitivity, SettingId::Sensitivity, values, actions);
        widgets::list(grid, SettingId::RiffGrid, values, actions);
    });
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
