//! The beat that is chosen, what it is good for, and the list of all, which opens to be searched, with the songwriter's own
//! beats at its end.

mod fits;

use super::lanes::Lanes;
use super::snapshot::Snapshot;
use super::{own_beats, text, theme, widgets};
use crate::editor::action::Action;
use crate::editor::controls::Values;
use crate::groove::Beat;
use crate::groove::own::{OwnBeats, SLOTS};
use crate::groove::vocabulary::VOCABULARY;
use crate::settings::SettingId;
use egui::{
    Align, Button, Key, Popup, PopupCloseBehavior, Response, RichText, Role, ScrollArea, TextEdit,
    Ui, WidgetInfo, vec2,
};
use fits::Fits;
use std::sync::Arc;

/// What the view remembers between frames.
#[derive(Debug, Default)]
#[expect(clippy::struct_excessive_bools, reason = "each is of another moment")]
pub struct Beats {
    search: String,
    /// The list was opened in this frame or the last: the search gets the keys, and the chosen beat comes into sight.
    opened: bool,
    is_open: bool,
    /// It is to open with the next frame.
    opens: bool,
    /// The slot that was set when the list opened, while another one is tried on.
    before: Option<u8>,
    /// The one that is tried on comes into sight.
    shows_tried: bool,
    fits: Fits,
    /// The songwriter's own beats.
    own: Arc<OwnBeats>,
    /// What came of keeping the phrase on show.
    said: Option<Result<String, String>>,
}

/// A beat of the list.
struct Entry {
    /// Its slot of the beat parameter.
    slot: u8,
    name: String,
    about: &'static str,
}

impl Entry {
    fn has(&self, words: &str) -> bool {
        matches(words, &self.name) || matches(words, self.about)
    }
}

impl Beats {
    /// Looks at the songwriter's own beats and, if the list is open, at how all suit the guitar where the lanes look, at a
    /// bar from 0.
    pub fn listen(&mut self, snapshot: &Snapshot, look: i64) {
        self.own = snapshot.own_beats.clone();
        if self.is_open {
            self.fits.count(snapshot, look);
        }
    }

    /// Opens the list with the next frame.
    pub fn open(&mut self) {
        self.opens = true;
    }

    /// What came of keeping the phrase on show, once.
    pub fn said(&mut self) -> Option<Result<String, String>> {
        self.said.take()
    }

    /// Every beat: the vocabulary, then the songwriter's own.
    fn all(&self) -> Vec<Entry> {
        let of_vocabulary = VOCABULARY.iter().map(|beat| Entry {
            slot: beat.style.slot(),
            name: beat.name().to_owned(),
            about: beat.about(),
        });
        let own = (1..=SLOTS).filter_map(|number| {
            let slot = own_beats::slot(number);
            let plan = self.own.plan(slot)?;
            Some(Entry {
                slot,
                name: text::own_beats::own(number, plan.name()),
                about: text::own_beats::ABOUT,
            })
        });
        of_vocabulary.chain(own).collect()
    }

    /// The slot of the beat that is heard: a free slot plays the last beat of the vocabulary.
    fn heard(&self, slot: u8) -> u8 {
        if self.own.plan(slot).is_some() {
            return slot;
        }
        let last = VOCABULARY.last().map_or(0, |beat| beat.style.slot());
        slot.min(last)
    }

    /// What a beat is good for.
    fn about(&self, slot: u8, beat: &Beat) -> String {
        if self.own.plan(slot).is_some() {
            text::own_beats::ABOUT.to_owned()
        } else if usize::from(slot) < VOCABULARY.len() {
            beat.about().to_owned()
        } else {
            text::free_slot(slot, beat.name())
        }
    }

    /// Shows the beat; a click opens the list.
    pub fn show(
        &mut self,
        ui: &mut Ui,
        values: &Values,
        context: (&Snapshot, &Lanes),
        actions: &mut Vec<Action>,
    ) {
        if !theme::is_compact(ui) {
            widgets::head(ui, SettingId::Style, values, actions);
        }
        let slot = values.settings.bar_settings.style;
        let own = self.own.clone();
        // It shows whose beat is heard, also where automation lands on a free slot.
        let beat = own.beat(slot);
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
            ui.label(self.about(slot, &beat));
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
            let about = RichText::new(self.about(slot, &beat)).small();
            let about = egui::Label::new(about.color(theme::of(ui).text_quiet));
            // Its words are not spread over the column.
            ui.with_layout(egui::Layout::top_down(Align::LEFT), |ui| {
                ui.add(about.wrap())
            });
        }
        if std::mem::take(&mut self.opens) {
            Popup::open_id(ui.ctx(), Popup::default_response_id(&button));
        }
        let popup = Popup::menu(&button)
            .close_behavior(PopupCloseBehavior::CloseOnClickOutside)
            .width(theme::LIST_WIDTH);
        let escaped = self.is_open && ui.input(|input| input.key_pressed(Key::Escape));
        let shown = popup.show(|ui| self.list(ui, slot, context, actions));
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
        if let Some(to) = self.stepped_to(ui, values.settings.bar_settings.style, "") {
            actions.push(Action::Set(SettingId::Style, f32::from(to)));
        }
    }

    /// The slot that arrow keys step to from one, among the beats that have the words.
    fn stepped_to(&self, ui: &Ui, slot: u8, words: &str) -> Option<u8> {
        let pressed = |key| ui.input(|input| input.key_pressed(key));
        let heard = self.heard(slot);
        let all = self.all();
        let mut found = all
            .iter()
            .filter(|beat| beat.has(words))
            .map(|beat| beat.slot);
        match (pressed(Key::ArrowDown), pressed(Key::ArrowUp)) {
            (true, false) => found.find(|slot| *slot > heard),
            (false, true) => found.rfind(|slot| *slot < heard),
            _ => None,
        }
    }

    fn list(
        &mut self,
        ui: &mut Ui,
        slot: u8,
        (snapshot, lanes): (&Snapshot, &Lanes),
        actions: &mut Vec<Action>,
    ) {
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
                if let Some(slot) = chosen {
                    self.before = None;
                    actions.push(Action::Set(SettingId::Style, f32::from(slot)));
                    ui.close();
                }
            });
        ui.separator();
        let told = own_beats::show(ui, snapshot, lanes, slot, actions);
        if told.is_some() {
            self.said = told;
            ui.close();
        }
    }

    /// Arrow keys try the beats on that have the words, while the section plays on.
    fn try_on(&mut self, ui: &Ui, slot: u8, actions: &mut Vec<Action>) {
        let words = self.search.to_lowercase();
        if let Some(to) = self.stepped_to(ui, slot, &words) {
            self.before.get_or_insert(slot);
            self.shows_tried = true;
            actions.push(Action::Set(SettingId::Style, f32::from(to)));
        }
    }

    /// The beats that have the words; the slot of the one that is chosen.
    fn entries(&mut self, ui: &mut Ui, slot: u8, mut entered: bool) -> Option<u8> {
        let shows_tried = std::mem::take(&mut self.shows_tried);
        ui.spacing_mut().item_spacing.y = 1.0;
        let heard = self.heard(slot);
        let words = self.search.to_lowercase();
        let (mut found, mut chosen) = (false, None);
        for beat in self.all().into_iter().filter(|beat| beat.has(&words)) {
            found = true;
            let is_chosen = beat.slot == heard;
            let width = ui.available_width();
            let fit = self.fits.get(usize::from(beat.slot));
            let suits = fit.filter(|fit| fit.suits()).map(text::fit::reason);
            // The text at the right pushes the name to the left edge.
            let said = RichText::new(suits.clone().unwrap_or_default()).small();
            let button = Button::selectable(is_chosen, &beat.name)
                .min_size(vec2(width, theme::PRESS_HEIGHT))
                .right_text(said);
            let entry = ui.add(button).on_hover_ui(|ui| {
                ui.label(beat.about);
                if let Some(fit) = fit {
                    ui.label(text::fit::with_guitar(fit));
                }
            });
            if entry.clicked() || std::mem::take(&mut entered) {
                chosen = Some(beat.slot);
            }
            let label = suits.map_or_else(
                || beat.name.clone(),
                |reason| text::fit::suiting(&beat.name, &reason),
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
