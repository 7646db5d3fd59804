//! The riff: what the kick follows, what is captured, and what has been.

use super::controls::{Control, Intent};
use super::snapshot::Snapshot;
use super::{text, theme, widgets};
use crate::time::{TICKS_PER_QUARTER, Ticks};
use egui::{Button, RichText, Ui};

/// What the user wants done with the riff.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RiffAct {
    /// Forget it.
    Clear,
    /// Take the last change back.
    Undo,
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
    /// Whether there is a change to take back.
    pub can_undo: bool,
    /// Whether it goes on after its end.
    pub repeats: bool,
}

/// Shows the strip and returns what is to be done with the riff.
pub fn show(ui: &mut Ui, snapshot: &Snapshot, intents: &mut Vec<Intent>) -> Option<RiffAct> {
    let (values, facts) = (&snapshot.values, snapshot.riff);
    let mut act = None;
    ui.columns_const(|[source, listen, sensitivity, grid]| {
        widgets::row(source, Control::KickSource, values, intents);
        widgets::row(listen, Control::Listen, values, intents);
        widgets::level(sensitivity, Control::Sensitivity, values, intents);
        widgets::list(grid, Control::RiffGrid, values, intents);
    });
    ui.horizontal(|ui| {
        ui.label(RichText::new(text::riff(facts.attacks, facts.known)).color(theme::TEXT_QUIET));
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
        let (name, hint) = (text::CLEAR_RIFF, text::CLEAR_RIFF_HINT);
        button(ui, (name, hint), facts.known, RiffAct::Clear);
        let (name, hint) = (text::UNDO_RIFF, text::UNDO_RIFF_HINT);
        button(ui, (name, hint), facts.can_undo, RiffAct::Undo);
        let mut repeats = facts.repeats;
        let repeat = ui.add_enabled(facts.known, egui::Checkbox::new(&mut repeats, text::REPEAT));
        if repeat.on_hover_text(text::REPEAT_HINT).changed() {
            act = Some(RiffAct::Repeat(repeats));
        }
    });
    act
}
