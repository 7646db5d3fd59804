//! What is touched all the time: beat, levels, the riding hand, take and fills.

use super::beats::Beats;
use super::{text, theme, widgets};
use crate::editor::action::Action;
use crate::editor::controls::Values;
use crate::editor::lanes::Lanes;
use crate::editor::snapshot::Snapshot;
use crate::settings::{SettingId, TAKES, whole};
use egui::{DragValue, Id, Ui};
use rand::RngExt as _;

/// Shows the controls: in four columns, in a low window in three with a line each.
pub fn show(
    ui: &mut Ui,
    beats: &mut Beats,
    values: &Values,
    context: (&Snapshot, &Lanes),
    actions: &mut Vec<Action>,
) {
    ui.spacing_mut().item_spacing.x = theme::GAP_WIDE;
    if theme::is_compact(ui) {
        ui.columns_const(|columns: &mut [Ui; 3]| compact(columns, beats, values, context, actions));
    } else {
        ui.columns_const(|columns: &mut [Ui; 4]| tall(columns, beats, values, context, actions));
    }
}

fn tall(
    [beat, levels, hand, fills]: &mut [Ui; 4],
    beats: &mut Beats,
    values: &Values,
    context: (&Snapshot, &Lanes),
    actions: &mut Vec<Action>,
) {
    for ui in [&mut *beat, levels, hand, fills] {
        ui.spacing_mut().item_spacing.x = theme::GAP;
    }
    beats.show(beat, values, context, actions);
    for control in [SettingId::Intensity, SettingId::Density, SettingId::Accent] {
        widgets::level(levels, control, values, actions);
    }
    widgets::list(hand, SettingId::Hand, values, actions);
    widgets::list(hand, SettingId::HandRate, values, actions);
    let label = widgets::head(hand, SettingId::Take, values, actions).id;
    hand.horizontal(|ui| take(ui, label, values, actions));
    widgets::level(fills, SettingId::FillChance, values, actions);
    widgets::list(fills, SettingId::FillShape, values, actions);
    // As high as a control's name.
    fills.horizontal(|ui| ui.label(""));
    let width = fills.available_width();
    widgets::held(fills, SettingId::FillNow, width, values, actions);
}

fn compact(
    [beat, levels, hand]: &mut [Ui; 3],
    beats: &mut Beats,
    values: &Values,
    context: (&Snapshot, &Lanes),
    actions: &mut Vec<Action>,
) {
    for ui in [&mut *beat, levels, hand] {
        ui.spacing_mut().item_spacing.x = theme::GAP;
    }
    widgets::line(beat, SettingId::Style, values, actions, |ui, _, actions| {
        beats.show(ui, values, context, actions);
    });
    widgets::line(
        beat,
        SettingId::Take,
        values,
        actions,
        |ui, label, actions| {
            ui.spacing_mut().interact_size.x = theme::NUMBER_LEAST;
            take(ui, label, values, actions);
        },
    );
    widgets::list_line(beat, SettingId::FillShape, values, actions);
    let width = beat.available_width();
    widgets::held(beat, SettingId::FillNow, width, values, actions);
    for control in [
        SettingId::Intensity,
        SettingId::Density,
        SettingId::Accent,
        SettingId::FillChance,
    ] {
        widgets::level_line(levels, control, values, actions);
    }
    widgets::list_line(hand, SettingId::Hand, values, actions);
    widgets::list_line(hand, SettingId::HandRate, values, actions);
}

fn take(ui: &mut Ui, label: Id, values: &Values, actions: &mut Vec<Action>) {
    let control = SettingId::Take;
    let (first, last) = TAKES;
    let old = whole(values.get(control));
    let mut take = old;
    let number = ui
        .add(DragValue::new(&mut take).range(first..=last).speed(0.2))
        .labelled_by(label)
        .on_hover_text(control.hint());
    if number.changed() && take != old {
        actions.push(Action::Set(control, f32::from(take)));
    }
    let next = ui
        .button(text::NEXT_TAKE)
        .on_hover_text(text::NEXT_TAKE_HINT);
    if next.clicked() {
        // Any but the one that is there.
        let drawn = rand::rng().random_range(first..last);
        let take = drawn + u16::from(drawn >= old);
        // The take that was there can be gone back to.
        actions.push(Action::Remember);
        actions.push(Action::Set(control, f32::from(take)));
    }
}
