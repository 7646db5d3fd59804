//! What to do first, in a fresh instance: three steps that go as they are done.

use super::header::Page;
use super::snapshot::Snapshot;
use super::text::first_steps as words;
use super::theme;
use crate::project::view::ViewSettings;
use crate::settings::SettingId;
use egui::{Button, RichText, Ui};

/// Takes note of what was done.
pub fn follow(look: &mut ViewSettings, snapshot: &Snapshot, page: Page) {
    let style = snapshot.values.get(SettingId::Style);
    let done = [
        snapshot.at.is_some(),
        style != SettingId::Style.default_value() || snapshot.song.is_some(),
        page == Page::Sampler || !snapshot.values.settings.preview,
    ];
    for (step, done) in look.steps.iter_mut().zip(done) {
        *step |= done;
    }
}

/// Shows the steps that are left; the last one opens the page of the sampler.
pub fn show(ui: &mut Ui, look: &mut ViewSettings, page: &mut Page, snapshot: &Snapshot) {
    if look.steps.iter().all(|done| *done) || !snapshot.riff_is_new() {
        return;
    }
    let quiet = theme::of(ui).text_quiet;
    ui.label(RichText::new(words::FIRST).color(quiet));
    for (i, (name, hint)) in words::STEPS.into_iter().enumerate() {
        if look.steps[i] {
            continue;
        }
        if i == 2 {
            if ui.add(Button::new(name)).on_hover_text(hint).clicked() {
                *page = Page::Sampler;
            }
        } else {
            ui.label(name).on_hover_text(hint);
        }
    }
    let (name, hint) = words::HIDE;
    if ui.button(name).on_hover_text(hint).clicked() {
        look.steps = [true; 3];
    }
}
