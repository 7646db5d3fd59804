//! The list of styles, which is searched and scrolled, and what the chosen one is good for.

use super::{text, theme, widgets};
use crate::editor::action::Action;
use crate::editor::controls::Values;
use crate::groove::Beat;
use crate::groove::vocabulary::{self, VOCABULARY};
use crate::settings::SettingId;
use egui::{Align, Button, RichText, Role, ScrollArea, TextEdit, Ui, WidgetInfo, vec2};

/// What the view remembers between frames.
#[derive(Debug, Default)]
pub struct Styles {
    search: String,
    /// The slot that the list was last scrolled to.
    scrolled_to: Option<u8>,
}

impl Styles {
    /// Shows the list.
    pub fn show(&mut self, ui: &mut Ui, values: &Values, actions: &mut Vec<Action>) {
        let label = widgets::name(ui, SettingId::Style, actions);
        let slot = values.settings.bar_settings.style;
        ui.add(
            TextEdit::singleline(&mut self.search)
                .hint_text(text::SEARCH)
                .desired_width(f32::INFINITY),
        )
        .labelled_by(label.id);
        // The list shows whose beat is heard, also where automation lands on a free slot.
        let beat = vocabulary::beat(slot);
        let about = about(slot, beat);
        let about_height = theme::TYPE_SMALL * 4.2;
        let height = (ui.available_height() - about_height).max(theme::PRESS_HEIGHT * 3.0);
        ScrollArea::vertical()
            .max_height(height)
            .auto_shrink([false, false])
            .show(ui, |ui| self.entries(ui, slot, actions));
        ui.label(RichText::new(about).small().color(theme::of(ui).text_quiet));
    }

    fn entries(&mut self, ui: &mut Ui, slot: u8, actions: &mut Vec<Action>) {
        ui.spacing_mut().item_spacing.y = 1.0;
        let playing = usize::from(slot).min(VOCABULARY.len() - 1);
        let words = self.search.to_lowercase();
        let mut found = false;
        for (i, beat) in VOCABULARY.iter().enumerate() {
            if !matches(&words, beat.name()) && !matches(&words, beat.about()) {
                continue;
            }
            found = true;
            let chosen = i == playing;
            let width = ui.available_width();
            let button = Button::selectable(chosen, beat.name())
                .min_size(vec2(width, 0.0))
                // Pushes the name to the left edge.
                .right_text("");
            let entry = ui.add(button).on_hover_text(beat.about());
            if entry.clicked() {
                actions.push(Action::Set(SettingId::Style, i as f32));
                // It is in sight already; the list should not move under the pointer.
                self.scrolled_to = u8::try_from(i).ok();
            }
            entry.widget_info(|| {
                WidgetInfo::selected(Role::ListBoxOption, true, chosen, beat.name())
            });
            if chosen && self.scrolled_to != Some(slot) {
                entry.scroll_to_me(Some(Align::Center));
                self.scrolled_to = Some(slot);
            }
        }
        if !found {
            ui.label(RichText::new(text::NOTHING_FOUND).small().weak());
        }
    }
}

/// Whether every word that was typed stands somewhere in a text.
pub(super) fn matches(words: &str, text: &str) -> bool {
    let text = text.to_lowercase();
    words.split_whitespace().all(|word| text.contains(word))
}

fn about(slot: u8, beat: &Beat) -> String {
    if usize::from(slot) < VOCABULARY.len() {
        beat.about().to_owned()
    } else {
        text::free_slot(slot, beat.name())
    }
}
