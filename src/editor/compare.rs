//! Two states side by side: the one that is played, and another one that is remembered.

use super::action::Action;
use super::snapshot::Snapshot;
use super::{text, theme};
use crate::project::Song;
use crate::settings::{SettingId, Settings};
use egui::{Button, RichText, Role, Ui, WidgetInfo};
use std::sync::Arc;

/// What is not of the music, and stays while states are exchanged.
const STAYS: [SettingId; 8] = [
    SettingId::Bypass,
    SettingId::FillNow,
    SettingId::Preview,
    SettingId::PreviewLevel,
    SettingId::PreviewRoom,
    SettingId::Listen,
    SettingId::Sensitivity,
    SettingId::Revision,
];

/// A state: the host's parameters, and the song.
#[derive(Debug, Clone)]
struct State {
    panel: Settings,
    song: Option<Arc<Song>>,
}

impl State {
    fn of(snapshot: &Snapshot) -> Self {
        Self {
            panel: snapshot.values.settings,
            song: snapshot.song.clone(),
        }
    }
}

/// What is compared.
#[derive(Debug, Default)]
pub struct Compare {
    other: Option<State>,
    /// What is played is the one that was remembered, and the other one came later.
    is_swapped: bool,
    /// The difference is marked in the lanes.
    marks: bool,
}

impl Compare {
    /// Remembers how things are.
    pub fn remember(&mut self, snapshot: &Snapshot) {
        self.other = Some(State::of(snapshot));
        self.is_swapped = false;
        self.marks = true;
    }

    /// Exchanges what is played and what is remembered: what is to be asked for.
    pub fn swap(&mut self, snapshot: &Snapshot) -> Vec<Action> {
        let now = State::of(snapshot);
        let Some(other) = self.other.replace(now) else {
            return Vec::new();
        };
        self.is_swapped = !self.is_swapped;
        let panel = &snapshot.values.settings;
        let moved = SettingId::ALL.iter().copied().filter(|setting| {
            !STAYS.contains(setting) && panel.get(*setting) != other.panel.get(*setting)
        });
        let mut actions: Vec<Action> = moved
            .map(|setting| Action::Set(setting, other.panel.get(setting)))
            .collect();
        match (&snapshot.song, other.song) {
            (Some(here), Some(there)) if Arc::ptr_eq(here, &there) => {}
            (None, None) => {}
            (_, Some(there)) => {
                actions.push(Action::ChangeSong(Box::new(there.file.clone()), None));
            }
            (Some(_), None) => actions.push(Action::ClearSong),
        }
        actions
    }

    /// What the other state shows, where it is to be marked.
    pub fn other(&self, snapshot: &Snapshot) -> Option<Snapshot> {
        let other = self.other.as_ref().filter(|_| self.marks)?;
        let mut shown = snapshot.clone();
        for &setting in SettingId::ALL {
            if !STAYS.contains(&setting) {
                shown.values.set(setting, other.panel.get(setting));
            }
        }
        shown.song.clone_from(&other.song);
        Some(shown)
    }

    /// Whether two states are compared.
    pub fn is_on(&self) -> bool {
        self.other.is_some()
    }

    /// Which of two widths is in force, without and with two states to compare, for letters as large as those of `ui`.
    pub(super) fn width(&self, ui: &Ui, (without, with): (f32, f32)) -> f32 {
        let width = if self.is_on() { with } else { without };
        width * theme::letters(ui)
    }

    /// Whether the difference is marked.
    pub fn marks(&self) -> bool {
        self.marks && self.other.is_some()
    }

    /// Shows the buttons, from right to left; where the line is `short`, without their name.
    pub(super) fn show(&mut self, ui: &mut Ui, short: bool, actions: &mut Vec<Action>) {
        if self.other.is_none() {
            let button = ui.button(text::compare::REMEMBER.0);
            if button.on_hover_text(text::compare::REMEMBER.1).clicked() {
                actions.push(Action::Remember);
            }
            return;
        }
        let forget = ui.button(text::compare::FORGET.0);
        if forget.on_hover_text(text::compare::FORGET.1).clicked() {
            self.other = None;
        }
        let (name, hint) = text::compare::MARK;
        ui.checkbox(&mut self.marks, name).on_hover_text(hint);
        for (is_swapped, (name, hint)) in
            [(true, text::compare::OTHER), (false, text::compare::THIS)]
        {
            let here = self.is_swapped == is_swapped;
            let button = ui.add(Button::new(name).selected(here)).on_hover_text(hint);
            button.widget_info(|| WidgetInfo::selected(Role::RadioButton, true, here, name));
            if button.clicked() && !here {
                actions.push(Action::Swap);
            }
        }
        if !short {
            ui.label(RichText::new(text::compare::NAME).color(theme::of(ui).text_quiet));
        }
    }
}
