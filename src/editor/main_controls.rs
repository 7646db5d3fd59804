//! The front panel: everything that is set but the style.

use super::controls::{Intent, Values};
use super::{text, theme, widgets};
use crate::settings::{SettingId, TAKES, whole};
use egui::{Align, DragValue, Layout, Ui};
use rand::RngExt as _;

/// Shows the front panel.
pub fn show(ui: &mut Ui, values: &Values, intents: &mut Vec<Intent>) {
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
            widgets::level(left, control, values, intents);
            left.add_space(theme::GAP);
        }
        fills(left, values, intents);
        widgets::list(right, SettingId::Hand, values, intents);
        right.add_space(theme::GAP);
        widgets::row(right, SettingId::HandRate, values, intents);
        right.add_space(theme::GAP);
        right.columns_const(|[left, right]| {
            widgets::row(left, SettingId::Phrase, values, intents);
            widgets::row(right, SettingId::SwitchAt, values, intents);
        });
        right.add_space(theme::GAP);
        take(right, values, intents);
        right.add_space(theme::GAP);
        widgets::row(right, SettingId::Play, values, intents);
    });
}

/// What fills are like, and the button that calls one while it is held.
fn fills(ui: &mut Ui, values: &Values, intents: &mut Vec<Intent>) {
    ui.horizontal(|ui| {
        ui.vertical(|ui| widgets::row(ui, SettingId::FillShape, values, intents));
        ui.with_layout(Layout::right_to_left(Align::Max), |ui| {
            widgets::held(ui, SettingId::FillNow, values, intents);
        });
    });
}

fn take(ui: &mut Ui, values: &Values, intents: &mut Vec<Intent>) {
    let control = SettingId::Take;
    let (first, last) = TAKES;
    let old = whole(values.get(control));
    let label = widgets::name(ui, control, intents);
    ui.horizontal(|ui| {
        let mut take = old;
        let number = ui
            .add(DragValue::new(&mut take).range(first..=last).speed(0.2))
            .labelled_by(label.id)
            .on_hover_text(control.hint());
        if number.changed() && take != old {
            intents.push(Intent::Set(control, f32::from(take)));
        }
        let next = ui
            .button(text::NEXT_TAKE)
            .on_hover_text(text::NEXT_TAKE_HINT);
        if next.clicked() {
            // Any but the one that is there.
            let drawn = rand::rng().random_range(first..last);
            let take = drawn + u16::from(drawn >= old);
            intents.push(Intent::Set(control, f32::from(take)));
        }
    });
}
