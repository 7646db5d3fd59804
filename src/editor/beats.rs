//! The beat that is chosen, what it is good for, and the list of all, which opens to be searched.

use super::{text, theme, widgets};
use crate::editor::action::Action;
use crate::editor::controls::Values;
use crate::editor::snapshot::Snapshot;
use crate::engine::fit::Fit;
use crate::groove::Beat;
use crate::groove::vocabulary::{self, VOCABULARY};
use crate::riff::Riff;
use crate::settings::{SettingId, Settings, Style};
use crate::time::Bar;
use egui::{
    Align, Button, Key, Popup, PopupCloseBehavior, Response, RichText, Role, ScrollArea, TextEdit,
    Ui, WidgetInfo, vec2,
};
use std::sync::Arc;

/// What the view remembers between frames.
#[derive(Debug, Default)]
pub struct Beats {
    search: String,
    /// The list was opened in this frame or the last: the search gets the keys, and the chosen beat comes into sight.
    opened: bool,
    is_open: bool,
    /// The slot that was set when the list opened, while another one is tried on.
    before: Option<u8>,
    /// The one that is tried on comes into sight.
    shows_tried: bool,
    fits: Fits,
}

/// How the beats suit the guitar where the lanes look, while the list is open.
#[derive(Debug, Default)]
struct Fits {
    /// What they were counted on.
    of: Option<(Arc<Riff>, Vec<Bar>, Settings, f64)>,
    /// One for each beat; empty where no riff is known there.
    all: Vec<Fit>,
}

/// Most bars that are counted: two phrases of eight. A riff repeats by then.
const MOST_BARS: usize = 16;

impl Fits {
    /// Counts anew where what they depend on has changed. `look` is the bar at which the lanes look, from 0.
    fn count(&mut self, snapshot: &Snapshot, look: i64) {
        let bar = snapshot.bar(look);
        let (bars, settings) = stretch(snapshot, bar);
        let known = self.of.as_ref().is_some_and(|(riff, old, with, bpm)| {
            Arc::ptr_eq(riff, &snapshot.attacks)
                && (old, with, *bpm) == (&bars, &settings, snapshot.bpm)
        });
        if known {
            return;
        }
        let fit =
            |style: &Style| Fit::of(*style, &bars, snapshot.bpm, &settings, &snapshot.attacks);
        self.all = Style::ALL.into_iter().map_while(fit).collect();
        self.of = Some((snapshot.attacks.clone(), bars, settings, snapshot.bpm));
    }

    /// How a beat suits, by its place.
    fn get(&self, place: usize) -> Option<&Fit> {
        self.all.get(place)
    }
}

/// The bars that a beat is tried on: those of the section, else four from this bar on; and the settings there.
fn stretch(snapshot: &Snapshot, bar: Bar) -> (Vec<Bar>, Settings) {
    let panel = snapshot.values.settings;
    let of_section = || {
        let timeline = &snapshot.followed()?.timeline;
        let place = timeline.section_at(bar.start)?;
        let (first, last) = timeline.bars_of_section(place)?;
        let bars = timeline.bars().get(first as usize - 1..last as usize)?;
        let settings = timeline.chart().settings(bar.start, &panel);
        Some((bars.iter().take(MOST_BARS).copied().collect(), settings))
    };
    of_section().unwrap_or_else(|| {
        let nth = |i: i64| Bar {
            start: bar.start + i * bar.meter.bar_len(),
            ..bar
        };
        ((0..4).map(nth).collect(), panel)
    })
}

impl Beats {
    /// Counts how the beats suit the guitar where the lanes look, at a bar from 0, if the list is open.
    pub fn listen(&mut self, snapshot: &Snapshot, look: i64) {
        if self.is_open {
            self.fits.count(snapshot, look);
        }
    }

    /// Shows the beat; a click opens the list.
    pub fn show(&mut self, ui: &mut Ui, values: &Values, actions: &mut Vec<Action>) {
        if !theme::is_compact(ui) {
            widgets::head(ui, SettingId::Style, values, actions);
        }
        let slot = values.settings.bar_settings.style;
        // It shows whose beat is heard, also where automation lands on a free slot.
        let beat = vocabulary::beat(slot);
        let (height, size) = if theme::is_compact(ui) {
            (theme::PRESS_HEIGHT, theme::TYPE_BODY)
        } else {
            (theme::BEAT_HEIGHT, theme::TYPE_BEAT)
        };
        let mut name = RichText::new(beat.name()).size(size).strong();
        if values.is_unheard(SettingId::Style) || values.is_left(SettingId::Style) {
            name = name.color(theme::of(ui).text_quiet);
        }
        let size = vec2(ui.available_width(), height);
        let button = Button::new(name).min_size(size).truncate().right_text("");
        let button = ui.add(button).on_hover_ui(|ui| {
            ui.label(SettingId::Style.hint());
            ui.label(about(slot, beat));
        });
        // It opens, as lists do.
        let at = button.rect.right_center() - vec2(14.0, 0.0);
        let corners = [vec2(-4.5, -3.0), vec2(4.5, -3.0), vec2(0.0, 4.5)].map(|corner| at + corner);
        let fill = theme::of(ui).text;
        let opens = egui::Shape::convex_polygon(corners.to_vec(), fill, egui::Stroke::NONE);
        ui.painter().add(opens);
        let label = text::beat(beat.name());
        button.widget_info(|| WidgetInfo::labeled(Role::ComboBox, true, label.clone()));
        self.stepped(ui, &button, values, actions);
        if !theme::is_compact(ui) {
            let about = RichText::new(about(slot, beat)).small();
            let about = egui::Label::new(about.color(theme::of(ui).text_quiet));
            // Its words are not spread over the column.
            ui.with_layout(egui::Layout::top_down(Align::LEFT), |ui| {
                ui.add(about.wrap())
            });
        }
        let popup = Popup::menu(&button)
            .close_behavior(PopupCloseBehavior::CloseOnClickOutside)
            .width(theme::LIST_WIDTH);
        let escaped = self.is_open && ui.input(|input| input.key_pressed(Key::Escape));
        let shown = popup.show(|ui| self.list(ui, slot, actions));
        let is_open = shown.is_some() && !escaped;
        if self.is_open && !is_open {
            // What was tried on goes again, unless it was kept.
            if let Some(before) = self
                .before
                .take()
                .filter(|before| escaped && *before != slot)
            {
                actions.push(Action::Set(SettingId::Style, f32::from(before)));
            }
        }
        self.opened = is_open && !self.is_open;
        self.is_open = is_open;
        if self.opened {
            self.search.clear();
            ui.ctx().request_repaint();
        }
    }

    /// Arrow keys step through the beats while the button has the focus.
    fn stepped(&self, ui: &Ui, button: &Response, values: &Values, actions: &mut Vec<Action>) {
        if !button.has_focus() || self.is_open {
            return;
        }
        let filter = egui::EventFilter {
            vertical_arrows: true,
            ..egui::EventFilter::default()
        };
        ui.memory_mut(|memory| memory.set_focus_lock_filter(button.id, filter));
        let last = VOCABULARY.len() - 1;
        let slot = usize::from(values.settings.bar_settings.style).min(last);
        let pressed = |key| ui.input(|input| input.key_pressed(key));
        let to = if pressed(Key::ArrowDown) {
            (slot + 1).min(last)
        } else if pressed(Key::ArrowUp) {
            slot.saturating_sub(1)
        } else {
            slot
        };
        if to != slot {
            actions.push(Action::Set(SettingId::Style, to as f32));
        }
    }

    fn list(&mut self, ui: &mut Ui, slot: u8, actions: &mut Vec<Action>) {
        let search = TextEdit::singleline(&mut self.search)
            .hint_text(text::SEARCH)
            .desired_width(f32::INFINITY);
        let search = ui.add(search);
        search.widget_info(|| WidgetInfo::labeled(Role::TextInput, true, text::SEARCH));
        if self.opened {
            search.request_focus();
        }
        // Enter keeps what is tried on, else it takes the first that is found.
        let entered = search.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
        if entered && self.before.is_some() {
            self.before = None;
            ui.close();
            return;
        }
        self.try_on(ui, slot, actions);
        ScrollArea::vertical()
            .max_height(theme::LIST_HEIGHT)
            .auto_shrink([false, true])
            .show(ui, |ui| {
                let chosen = self.entries(ui, slot, entered);
                if let Some(place) = chosen {
                    self.before = None;
                    actions.push(Action::Set(SettingId::Style, place as f32));
                    ui.close();
                }
            });
    }

    /// Arrow keys try the beats on that have the words, while the section plays on.
    fn try_on(&mut self, ui: &Ui, slot: u8, actions: &mut Vec<Action>) {
        let pressed = |key| ui.input(|input| input.key_pressed(key));
        let (down, up) = (pressed(Key::ArrowDown), pressed(Key::ArrowUp));
        let playing = usize::from(slot).min(VOCABULARY.len() - 1);
        let words = self.search.to_lowercase();
        let found = |beat: &&Beat| matches(&words, beat.name()) || matches(&words, beat.about());
        let places = || (0..VOCABULARY.len()).filter(|place| found(&&VOCABULARY[*place]));
        let to = match (down, up) {
            (true, false) => places().find(|place| *place > playing),
            (false, true) => places().rev().find(|place| *place < playing),
            _ => None,
        };
        if let Some(to) = to {
            self.before.get_or_insert(slot);
            self.shows_tried = true;
            actions.push(Action::Set(SettingId::Style, to as f32));
        }
    }

    /// The beats that have the words; the place of the one that is chosen.
    fn entries(&mut self, ui: &mut Ui, slot: u8, mut entered: bool) -> Option<usize> {
        let shows_tried = std::mem::take(&mut self.shows_tried);
        ui.spacing_mut().item_spacing.y = 1.0;
        let playing = usize::from(slot).min(VOCABULARY.len() - 1);
        let words = self.search.to_lowercase();
        let (mut found, mut chosen) = (false, None);
        for (i, beat) in VOCABULARY.iter().enumerate() {
            if !matches(&words, beat.name()) && !matches(&words, beat.about()) {
                continue;
            }
            found = true;
            let is_chosen = i == playing;
            let width = ui.available_width();
            let fit = self.fits.get(i);
            let suits = fit.filter(|fit| fit.suits()).map(text::fit::reason);
            // The text at the right pushes the name to the left edge.
            let said = RichText::new(suits.clone().unwrap_or_default()).small();
            let button = Button::selectable(is_chosen, beat.name())
                .min_size(vec2(width, theme::PRESS_HEIGHT))
                .right_text(said);
            let entry = ui.add(button).on_hover_ui(|ui| {
                ui.label(beat.about());
                if let Some(fit) = fit {
                    ui.label(text::fit::with_guitar(fit));
                }
            });
            if entry.clicked() || std::mem::take(&mut entered) {
                chosen = Some(i);
            }
            let label = suits.map_or_else(
                || beat.name().to_owned(),
                |reason| text::fit::suiting(beat.name(), &reason),
            );
            entry.widget_info(|| {
                WidgetInfo::selected(Role::ListBoxOption, true, is_chosen, label.clone())
            });
            if is_chosen && (self.opened || shows_tried) {
                entry.scroll_to_me(Some(Align::Center));
            }
        }
        if !found {
            ui.label(RichText::new(text::NOTHING_FOUND).small().weak());
        }
        chosen
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
