//! The head: who we are, what the host says, undo, help, and how it is looked at.

use super::snapshot::Snapshot;
use super::text::{edit, sampler};
use super::{text, theme, widgets};
use crate::editor::action::Action;
use crate::project::view::{ViewSettings, ZOOMS};
use crate::settings::SettingId;
use crate::time::{Bar, Ticks};
use egui::{Align, Button, ComboBox, Layout, RichText, Ui};

/// What fills the window below the head.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Page {
    /// The song, the controls and the lanes.
    #[default]
    Song,
    /// What the sampler is sent.
    Sampler,
    /// Marks and keys.
    Help,
}

/// Shows the head; `played` has how many strokes on show are left out as too fast, and how many are beyond two hands and two
/// feet at the songwriter's word. What is wanted of the view is changed in it, and which page is open.
pub fn show(
    ui: &mut Ui,
    snapshot: &Snapshot,
    played: (usize, usize),
    (look, page): (&mut ViewSettings, &mut Page),
    actions: &mut Vec<Action>,
) {
    ui.horizontal(|ui| {
        let mut tools = |ui: &mut Ui| {
            zoom_and_theme(ui, look);
            ui.add_space(theme::GAP);
            turns(ui, snapshot, actions);
            ui.add_space(theme::GAP);
            pages(ui, page);
            ui.add_space(theme::GAP);
            widgets::switch(ui, SettingId::Bypass, &snapshot.values, actions);
        };
        ui.heading(RichText::new(text::NAME).strong());
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            tools(ui);
            ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                ui.add_space(theme::GAP_WIDE);
                facts(ui, snapshot, played);
            });
        });
    });
}

fn pages(ui: &mut Ui, page: &mut Page) {
    // From right to left.
    for (other, (name, hint)) in [
        (Page::Help, (text::HELP, text::HELP_HINT)),
        (Page::Sampler, (sampler::PAGE, sampler::PAGE_HINT)),
    ] {
        let is_open = *page == other;
        let button = ui.add(Button::new(name).selected(is_open));
        if button.on_hover_text(hint).clicked() {
            *page = if is_open { Page::Song } else { other };
        }
    }
}

/// What the host and the player say.
fn facts(ui: &mut Ui, snapshot: &Snapshot, (thinned, beyond): (usize, usize)) {
    let song = snapshot.at.map_or_else(
        || text::STOPPED.to_owned(),
        |(bar, tick)| place(snapshot, bar, tick),
    );
    for fact in [text::tempo(snapshot.bpm), snapshot.meter.to_string(), song] {
        ui.label(RichText::new(fact).color(theme::of(ui).text_quiet));
        ui.add_space(theme::GAP);
    }
    if let Some(newer) = snapshot.newer_drummer {
        let said = ui.label(RichText::new(text::NEWER).color(theme::of(ui).fill_text));
        said.on_hover_text(text::newer_hint(newer));
    }
    if beyond > 0 {
        let said = RichText::new(edit::beyond_count(beyond)).color(theme::of(ui).fill_text);
        let said = ui.add(egui::Label::new(said).truncate());
        said.on_hover_text(edit::BEYOND_HINT);
    }
    if thinned > 0 {
        let said = RichText::new(text::thinned(thinned)).color(theme::of(ui).fill_text);
        let said = ui.add(egui::Label::new(said).truncate());
        said.on_hover_text(text::THINNED_HINT);
    }
    notes(ui, snapshot);
}

/// What is to be known of the notes that are sent: why a map can't be read, and what is played by other pieces.
fn notes(ui: &mut Ui, snapshot: &Snapshot) {
    let problems = [
        (sampler::MAP_UNREAD, &snapshot.map_problem),
        (sampler::START_UNREAD, &snapshot.start_problem),
    ];
    for (said, problem) in problems {
        if let Some(problem) = problem {
            let said = ui.label(RichText::new(said).color(theme::of(ui).fill_text));
            said.on_hover_text(sampler::unread(problem));
        }
    }
    let folded: Vec<_> = snapshot.map.map.folded().collect();
    if let Some(said) = sampler::folded(&folded) {
        let said = RichText::new(said).color(theme::of(ui).text_quiet);
        let said = ui.add(egui::Label::new(said).truncate());
        said.on_hover_text(sampler::folded_whole(&folded));
    }
}

fn turns(ui: &mut Ui, snapshot: &Snapshot, actions: &mut Vec<Action>) {
    // From right to left.
    for (name, hint, can, does) in [
        (text::REDO, text::REDO_HINT, snapshot.can.redo, Action::Redo),
        (text::UNDO, text::UNDO_HINT, snapshot.can.undo, Action::Undo),
    ] {
        let button = ui.add_enabled(can, Button::new(name));
        if button.on_hover_text(hint).clicked() {
            actions.push(does);
        }
    }
}

fn zoom_and_theme(ui: &mut Ui, look: &mut ViewSettings) {
    let theme = ui.button(text::theme(look.light));
    if theme.on_hover_text(text::THEME_HINT).clicked() {
        look.light = !look.light;
    }
    let list = ComboBox::from_id_salt("zoom")
        .selected_text(text::zoom(look.zoom))
        .width(theme::ZOOM_WIDTH)
        .height(320.0)
        .show_ui(ui, |ui| {
            for zoom in ZOOMS {
                ui.selectable_value(&mut look.zoom, zoom, text::zoom(zoom));
            }
        });
    let label = ui.label(RichText::new(text::ZOOM).color(theme::of(ui).text_quiet));
    list.response
        .labelled_by(label.id)
        .on_hover_text(text::ZOOM_HINT);
}

/// The bar that is played, and its section where the chart is followed.
fn place(snapshot: &Snapshot, bar: Bar, tick: Ticks) -> String {
    let Some(song) = snapshot.followed() else {
        return text::bar(bar.index() + 1);
    };
    let timeline = &song.timeline;
    let number = timeline.bars().partition_point(|b| b.start <= tick);
    let section = timeline.section_at(tick);
    let name = section.and_then(|i| timeline.markers().nth(i));
    match name {
        Some((_, name)) => text::chart::place(number, name),
        None => text::bar(bar.index() + 1),
    }
}
