//! The front panel: everything that is set but the style.

use super::{text, theme, widgets};
use crate::editor::action::Action;
use crate::editor::controls::Values;
use crate::settings::{SettingId, TAKES, whole};
use egui::{Align, DragValue, Layout, Ui};
use rand::RngExt as _;

/// Shows the front panel.
pub fn show(ui: &mut Ui, values: &Values, actions: &mut Vec<Action>) {
    ui.spacing_mut().item_spacing.x = theme::GAP_WIDE * 1.5;
    ui.columns_const(|[left, right]| {
        for ui in [&mut *left, &mut *right] {
            ui.spacing_mut().item_spacing.x = theme::GAP;
        }
        for control in [
            SettingId::Intensity,
            SettingId::Density,
            SettingId::Accent,
            SettingId::FillChance,
        ] {
            widgets::level(left, control, values, actions);
            left.add_space(theme::GAP);
        }
        fills(left, values, actions);
        widgets::list(right, SettingId::Hand, values, actions);
        right.add_space(theme::GAP);
        widgets::row(right, SettingId::HandRate, values, actions);
        right.add_space(theme::GAP);
        right.columns_const(|[left, right]| {
            widgets::row(left, SettingId::Phrase, values, actions);
            widgets::row(right, SettingId::SwitchAt, values, actions);
        });
        right.add_space(theme::GAP);
        take(right, values, actions);
        right.add_space(theme::GAP);
        widgets::row(right, SettingId::Play, values, actions);
    });
}

/// What fills are like, the button that calls one while it is held, and where crashes stand without them.
fn fills(ui: &mut Ui, values: &Values, actions: &mut Vec<Action>) {
    ui.horizontal(|ui| {
        ui.vertical(|ui| widgets::row(ui, SettingId::FillShape, values, actions));
        ui.with_layout(Layout::right_to_left(Align::Max), |ui| {
            widgets::held(ui, SettingId::FillNow, values, actions);
        });
    });
    ui.add_space(theme::GAP);
    widgets::row(ui, SettingId::Crashes, values, actions);
}

fn take(ui: &mut Ui, values: &Values, actions: &mut Vec<Action>) {
    let control = SettingId::Take;
    let (first, last) = TAKES;
    let old = whole(values.get(control));
    let label = widgets::name(ui, control, actions);
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
            actions.push(Action::Set(control, f32::from(take)));
        }
    });
}
