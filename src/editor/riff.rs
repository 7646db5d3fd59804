//! The riff: what the kick follows, what is captured, and what has been.

use super::controls::Intent;
use super::snapshot::Snapshot;
use super::{text, theme, widgets};
use crate::settings::SettingId;
use crate::time::{TICKS_PER_QUARTER, Ticks};
use egui::{Button, DragValue, Label, RichText, Ui};
use std::path::PathBuf;

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
    /// How often the user has changed it.
    pub changes: u32,
}

/// The file that a riff is read from, as it is typed.
#[derive(Debug)]
pub struct Form {
    path: String,
    /// The bar at which it begins, from 1.
    bar: i64,
    /// The track of a MIDI file, from 1; 0 is the only one with notes.
    track: usize,
    asked: bool,
    progress: Option<f32>,
    told: String,
}

impl Default for Form {
    fn default() -> Self {
        Self {
            path: String::new(),
            bar: 1,
            track: 0,
            asked: false,
            progress: None,
            told: String::new(),
        }
    }
}

impl Form {
    /// Path, bar and track, once, where the user wants a file read.
    pub fn take(&mut self) -> Option<(PathBuf, i64, Option<usize>)> {
        let track = Some(self.track).filter(|track| *track > 0);
        let asked = std::mem::take(&mut self.asked);
        asked.then(|| (widgets::typed_path(&self.path), self.bar, track))
    }

    /// Tells how the reading goes.
    pub fn tell(&mut self, progress: Option<f32>, outcome: Option<Result<usize, String>>) {
        self.progress = progress;
        self.told = outcome.map_or_else(String::new, text::loaded);
    }

    fn show(&mut self, ui: &mut Ui) {
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
                self.asked = true;
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

/// Shows the strip and returns what is to be done with the riff.
pub fn show(
    ui: &mut Ui,
    snapshot: &Snapshot,
    form: &mut Form,
    intents: &mut Vec<Intent>,
) -> Option<RiffAct> {
    let (values, facts) = (&snapshot.values, snapshot.riff);
    let mut act = None;
    widgets::row(ui, SettingId::KickSource, values, intents);
    widgets::row(ui, SettingId::Listen, values, intents);
    ui.columns_const(|[sensitivity, grid]| {
        widgets::level(sensitivity, SettingId::Sensitivity, values, intents);
        widgets::list(grid, SettingId::RiffGrid, values, intents);
    });
    ui.horizontal_wrapped(|ui| {
        ui.label(
            RichText::new(text::riff(facts.attacks, facts.known)).color(theme::of(ui).text_quiet),
        );
        let mut button = |ui: &mut Ui, (name, hint): (&str, &str), on: bool, does: RiffAct| {
            let button = ui.add_enabled(on, Button::new(name)).on_hover_text(hint);
            if button.clicked() {
                act = Some(does);
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
            act = Some(RiffAct::Repeat(repeats));
        }
    });
    form.show(ui);
    act
}
