//! The head: who we are, where the song is, the preview, and bypass.

use super::controls::{Control, Intent};
use super::snapshot::Snapshot;
use super::{text, theme, widgets};
use egui::{Align, Button, Layout, RichText, Role, Ui, WidgetInfo};

/// Shows the head.
pub fn show(ui: &mut Ui, snapshot: &Snapshot, intents: &mut Vec<Intent>) {
    ui.horizontal(|ui| {
        ui.heading(RichText::new(text::NAME).strong());
        ui.add_space(theme::GAP_WIDE);
        let song = snapshot.at.map_or_else(
            || text::STOPPED.to_owned(),
            |(bar, _)| text::bar(bar.index() + 1),
        );
        for fact in [text::tempo(snapshot.bpm), snapshot.meter.to_string(), song] {
            ui.label(RichText::new(fact).color(theme::TEXT_QUIET));
            ui.add_space(theme::GAP);
        }
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            bypass(ui, snapshot.values.bypass, intents);
            ui.add_space(theme::GAP);
            let (control, width) = (Control::PreviewLevel, theme::NARROW_LEVEL);
            widgets::narrow_level(ui, control, &snapshot.values, width, intents);
            preview(ui, snapshot.values.preview, intents);
        });
    });
}

fn preview(ui: &mut Ui, on: bool, intents: &mut Vec<Intent>) {
    let control = Control::Preview;
    let button = ui
        .add(Button::new(text::name(control)).selected(on))
        .on_hover_text(text::hint(control));
    if button.clicked() {
        intents.push(Intent::Set(control, f32::from(u8::from(!on))));
    }
    button.widget_info(|| WidgetInfo::selected(Role::CheckBox, true, on, text::name(control)));
}

fn bypass(ui: &mut Ui, on: bool, intents: &mut Vec<Intent>) {
    let control = Control::Bypass;
    let mut button = Button::new(text::name(control)).selected(on);
    if on {
        button = button.fill(theme::BYPASSED);
    }
    let button = ui.add(button).on_hover_text(text::hint(control));
    if button.clicked() {
        intents.push(Intent::Set(control, f32::from(u8::from(!on))));
    }
    button.widget_info(|| WidgetInfo::selected(Role::CheckBox, true, on, text::name(control)));
}
