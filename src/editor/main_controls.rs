//! What is touched all the time: beat, levels, the riding hand, take and fills.

use super::beats::Beats;
use super::{text, theme, widgets};
use crate::editor::action::Action;
use crate::editor::controls::Values;
use crate::settings::{SettingId, TAKES, whole};
use egui::{DragValue, Ui};
use rand::RngExt as _;

/// Shows the controls, in four columns.
pub fn show(ui: &mut Ui, beats: &mut Beats, values: &Values, actions: &mut Vec<Action>) {
    ui.spacing_mut().item_spacing.x = theme::GAP_WIDE;
    ui.columns_const(|[beat, levels, hand, fills]| {
        for ui in [&mut *beat, levels, hand, fills] {
            ui.spacing_mut().item_spacing.x = theme::GAP;
        }
        beats.show(beat, values, actions);
        for control in [SettingId::Intensity, SettingId::Density, SettingId::Accent] {
            widgets::level(levels, control, values, actions);
        }
        widgets::list(hand, SettingId::Hand, values, actions);
        widgets::list(hand, SettingId::HandRate, values, actions);
        take(hand, values, actions);
        widgets::level(fills, SettingId::FillChance, values, actions);
        widgets::list(fills, SettingId::FillShape, values, actions);
        fills.add_space(theme::TYPE_BODY + theme::GAP);
        let width = fills.available_width();
        widgets::held(fills, SettingId::FillNow, width, values, actions);
    });
}

fn take(ui: &mut Ui, values: &Values, actions: &mut Vec<Action>) {
    let control = SettingId::Take;
    let (first, last) = TAKES;
    let old = whole(values.get(control));
    let label = widgets::head(ui, control, values, actions);
    ui.horizontal(|ui| {
        let mut take = old;
        let number = ui
            .add(DragValue::new(&mut take).range(first..=last).speed(0.2))
            .labelled_by(label.id)
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
    });
}
