//! The line above the lanes: what is played, which bars are on show, what they are compared with.

use super::window::{COUNTS, Window};
use crate::editor::action::{Action, Part};
use crate::editor::compare::Compare;
use crate::editor::picture::Picture;
use crate::editor::snapshot::Snapshot;
use crate::editor::taken_out;
use crate::editor::{text, theme};
use crate::settings::Play;
use egui::{
    Align, Button, Label, Layout, Rect, RichText, Role, TextStyle, TextWrapMode, Ui, UiBuilder,
    WidgetInfo, WidgetText,
};

/// Shows what is played, and the bars.
pub(super) fn show(
    ui: &mut Ui,
    first: Option<&Picture>,
    window: &mut Window,
    (snapshot, compare): (&Snapshot, &Compare),
    actions: &mut Vec<Action>,
) {
    let quiet = theme::of(ui).text_quiet;
    let is_narrow = ui.available_width() < compare.width(ui, theme::HEADING_LEAST);
    let played = first.map(|picture| picture.played().settings().bar_settings);
    let plays = played.map(|bar_settings| match bar_settings.play {
        Play::Beat => snapshot.own_beats.beat(bar_settings.style).name(),
        other => Play::name(other),
    });
    let plays = WidgetText::from(RichText::new(plays.unwrap_or_default()).strong());
    let (wide, tight) = theme::PLAYS_WIDTH;
    let extends = Some(TextWrapMode::Extend);
    let measured = plays
        .clone()
        .into_galley(ui, extends, f32::INFINITY, TextStyle::Body);
    let name = measured.size().x.min(wide);
    let is_tight = ui.available_width() < compare.width(ui, theme::HEADING_TIGHT) + name;
    ui.scope(|ui| {
        ui.set_max_width(if is_tight { tight } else { wide });
        ui.add(Label::new(plays).truncate());
    });
    let riding = first.and_then(|picture| picture.played().riding());
    if let Some(piece) = riding.filter(|_| !is_narrow) {
        ui.label(RichText::new(text::riding(piece)).color(quiet));
    }
    ui.add_space(theme::GAP);
    let shown = window.shown();
    let part = Part::shown(&shown);
    let grip = if is_narrow {
        taken_out::small_grip
    } else {
        taken_out::grip
    };
    grip(ui, text::taken_out::GRIPS[0], part, actions);
    if snapshot.at.is_some() {
        return;
    }
    ui.add_space(theme::GAP);
    let bar = |bar: usize| i64::try_from(bar).unwrap_or(1);
    let said = text::bars(bar(shown.start + 1), bar(shown.end));
    if !is_tight {
        ui.label(RichText::new(said).color(quiet));
    }
    let can = window.can_page(snapshot);
    for ((words, can), forward) in [text::PREVIOUS, text::NEXT]
        .into_iter()
        .zip(can)
        .zip([false, true])
    {
        let name = match (is_narrow, forward) {
            (false, _) => words.0,
            (true, false) => "<",
            (true, true) => ">",
        };
        let button = ui.add_enabled(can, Button::new(name));
        button.widget_info(|| WidgetInfo::labeled(Role::Button, can, words.0));
        if button.on_hover_text(words.1).clicked() {
            window.page(snapshot, forward);
        }
    }
}

/// Shows how many bars are shown, and what is compared, at the right of the line, which has room from a point on; returns where it begins, in points.
pub(super) fn tools(
    ui: &mut Ui,
    (line, from): (Rect, f32),
    window: &mut Window,
    compare: &mut Compare,
    actions: &mut Vec<Action>,
) -> f32 {
    let mut area = line;
    area.set_right(ui.max_rect().right());
    area.set_left(from);
    let room = compare.width(ui, theme::TOOLS_LEAST);
    let is_short = compare.is_on() && area.width() < compare.width(ui, theme::TOOLS_SHORT);
    let layout = Layout::right_to_left(Align::Center);
    let ui = &mut ui.new_child(UiBuilder::new().max_rect(area).layout(layout));
    ui.spacing_mut().item_spacing.x = 2.0;
    let counts = COUNTS.into_iter().map(Some);
    let counts: Vec<_> = counts.chain([None]).collect();
    let name = |count: Option<usize>| match count {
        None => text::PHRASE.to_owned(),
        Some(count) => count.to_string(),
    };
    if area.width() < room {
        let names: Vec<String> = counts.iter().map(|count| text::shows(*count)).collect();
        let (shown, width) = if is_short {
            (name(window.count), theme::PICK_SHORT)
        } else {
            (text::shows(window.count), theme::PICK_WIDTH)
        };
        let list = egui::ComboBox::from_id_salt("bars on show")
            .selected_text(shown)
            .width(width);
        let list = list.show_ui(ui, |ui| {
            for (count, name) in counts.iter().zip(&names) {
                if ui.selectable_label(window.count == *count, name).clicked() {
                    window.set(*count);
                }
            }
        });
        list.response.on_hover_text(text::ZOOM_LANES);
    } else {
        for count in counts.into_iter().rev() {
            let is_chosen = window.count == count;
            let button = ui.add(Button::new(name(count)).selected(is_chosen));
            let label = text::shows(count);
            button.widget_info(|| {
                WidgetInfo::selected(Role::RadioButton, true, is_chosen, label.clone())
            });
            if button.on_hover_text(text::ZOOM_LANES).clicked() {
                window.set(count);
            }
        }
        ui.label(RichText::new(text::BARS).color(theme::of(ui).text_quiet));
    }
    ui.add_space(theme::GAP_WIDE);
    ui.spacing_mut().item_spacing.x = theme::GAP;
    compare.show(ui, is_short, actions);
    ui.min_rect().left()
}
