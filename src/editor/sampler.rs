//! The sampler's page: what is sent for each piece, learned, heard, loaded and saved.
//!
//! - `rows`: the list of pieces; `details`, `hi_hat`: what is seldom set
//! - `keys`: the keyboard, and keys in use twice
//! - `learning`: keys from notes that come in; `hearing`: the pieces as they sound
//! - `files`: the row of files; `proposed`: what a file says

mod details;
mod files;
mod hearing;
mod hi_hat;
mod keys;
mod learning;
mod parts;
mod proposed;
mod rows;

use super::action::Action;
use super::file_form::FileForm;
use super::snapshot::Snapshot;
use super::text::sampler as words;
use super::theme;
use super::touch::Touch;
use super::widgets::combo;
use crate::kit::general_midi::{level_1, level_2};
use crate::kit::map_file::{LONGEST_NAME, NamedMap};
use crate::kit::proposal::Proposal;
use crate::kit::{MiddleC, Note, NoteMap, Piece};
use egui::{Panel as Side, RichText, Role, ScrollArea, TextEdit, Ui, WidgetInfo};
use hearing::Hearing;
use learning::{Learning, Target};
use parts::{Look, MIDDLE};
use proposed::Proposed;
use rows::List;
use std::path::PathBuf;

/// What the page remembers between frames.
#[derive(Debug, Default)]
pub struct SamplerPage {
    /// The row of files.
    pub files: FileForm<PathBuf>,
    /// The piece whose settings are open.
    pub chosen: Option<Piece>,
    search: String,
    learning: Learning,
    hearing: Hearing,
    proposed: Option<Proposed>,
    /// The channel whose keys are shown; the map's first where `None`.
    channel: Option<u8>,
}

impl SamplerPage {
    /// Whether notes that come in are learned.
    pub fn is_learning(&self) -> bool {
        self.learning.is_on()
    }

    /// Learns all pieces, the first of the list first.
    pub fn learn_all(&mut self) {
        self.stop();
        self.learning.turn(Target::All(0));
    }

    /// Takes a note up that came in; the map with it, where that changes it.
    pub fn learn(&mut self, note: Note, map: &NamedMap) -> Option<NamedMap> {
        self.learning.learn(note, map)
    }

    /// Shows what speaks for a map that was read, where something does.
    pub fn propose(&mut self, proposal: Option<Proposal>, others: Vec<String>) {
        self.proposed = proposal.map(|proposal| Proposed { proposal, others });
    }

    /// Ends what goes on by itself.
    pub fn stop(&mut self) {
        self.learning.stop();
        self.hearing.stop();
    }

    /// The page is closed.
    pub fn rest(&mut self, actions: &mut Vec<Action>) {
        self.stop();
        self.learning.tell(actions);
    }

    /// Shows the page. How keys are named is changed in `middle_c`. Main thread.
    pub fn show(
        &mut self,
        ui: &mut Ui,
        snapshot: &Snapshot,
        middle_c: &mut MiddleC,
        actions: &mut Vec<Action>,
    ) {
        let now = ui.input(|input| input.time);
        let mut edited = NamedMap::clone(&snapshot.map);
        let mut touch = Touch::default();
        Side::bottom("sampler keys")
            .frame(egui::Frame::NONE)
            .resizable(false)
            .show_separator_line(false)
            .show(ui, |ui| {
                ui.add_space(theme::GAP);
                keys::show(ui, &edited.map, &mut self.channel, *middle_c);
            });
        self.hearing.follow(ui, &edited.map, now, actions);
        ui.horizontal_wrapped(|ui| {
            self.map(ui, &mut edited, &mut touch);
            octave(ui, middle_c);
            self.all(ui, now);
            self.search(ui);
        });
        ui.horizontal_wrapped(|ui| files::show(&mut self.files, ui, actions));
        self.files.show_told(ui, theme::of(ui).fill_text);
        if let Some(piece) = self.learning.show(ui, now) {
            actions.push(self.hearing.strike(&edited.map, piece, hearing::MIDDLE));
        }
        let seen = (&edited.map, *middle_c);
        let (proposed, hearing) = (&self.proposed, &mut self.hearing);
        if proposed
            .as_ref()
            .is_some_and(|proposed| proposed.show(ui, seen, hearing, actions))
        {
            self.proposed = None;
        }
        let look = Look {
            middle_c: *middle_c,
            used: keys::in_use(&edited.map),
        };
        ScrollArea::both()
            .id_salt("pieces")
            .auto_shrink([false, false])
            .show(ui, |ui| {
                let of_map = (&mut edited.map, &look);
                let mut list = List {
                    chosen: &mut self.chosen,
                    search: &self.search,
                    learning: &mut self.learning,
                    hearing: &mut self.hearing,
                };
                rows::show(&mut list, ui, of_map, &mut touch, actions);
            });
        self.learning.tell(actions);
        let gesture = match touch {
            Touch::None => return,
            Touch::Once => None,
            Touch::Gesture(gesture) => Some(gesture),
        };
        actions.push(Action::ChangeMap(Box::new(edited), gesture));
    }

    /// The map's name, and the built-in ones.
    fn map(&mut self, ui: &mut Ui, edited: &mut NamedMap, touch: &mut Touch) {
        let (name, hint) = words::NAME;
        let label = ui.label(name);
        let field = TextEdit::singleline(&mut edited.name)
            .char_limit(LONGEST_NAME)
            .desired_width(theme::MAP_NAME_WIDTH);
        let field = ui.add(field).labelled_by(label.id);
        touch.heed(&field.on_hover_text(hint));
        let built_in: [fn() -> NoteMap; 2] = [level_1, level_2];
        for ((name, hint), map) in words::BUILT_IN.into_iter().zip(built_in) {
            if ui.button(name).on_hover_text(hint).clicked() {
                *edited = NamedMap {
                    name: name.to_owned(),
                    map: map(),
                };
                self.proposed = None;
                touch.once();
            }
        }
        ui.add_space(theme::GAP_WIDE);
    }

    /// What is done with all pieces.
    fn all(&mut self, ui: &mut Ui, now: f64) {
        let is_on = self.hearing.is_on();
        let (name, hint) = words::HEAR_ALL;
        let name = if is_on { words::HEAR_NO_MORE } else { name };
        if ui.button(name).on_hover_text(hint).clicked() {
            self.stop();
            if !is_on {
                self.hearing.begin(now);
            }
        }
        let learns = matches!(self.learning.target(), Some(Target::All(_)));
        let (name, hint) = words::LEARN_ALL;
        let button = ui.add(egui::Button::new(name).selected(learns));
        if button.on_hover_text(hint).clicked() {
            if learns {
                self.stop();
            } else {
                self.learn_all();
            }
        }
        if let Some(piece) = self.hearing.now() {
            ui.label(RichText::new(words::heard(piece)).color(theme::of(ui).fill_text));
        }
        ui.add_space(theme::GAP_WIDE);
    }

    fn search(&mut self, ui: &mut Ui) {
        let field = TextEdit::singleline(&mut self.search)
            .hint_text(words::SEARCH)
            .desired_width(theme::SEARCH_WIDTH);
        let field = ui.add(field);
        field.widget_info(|| WidgetInfo::labeled(Role::TextInput, true, words::SEARCH));
    }
}

/// How keys are named.
fn octave(ui: &mut Ui, middle_c: &mut MiddleC) {
    let (name, hint) = words::MIDDLE_C;
    let label = ui.label(name).on_hover_text(hint);
    let names = MiddleC::ALL.map(|middle| middle.name(MIDDLE.key));
    let names = names.each_ref().map(String::as_str);
    let shown = middle_c.name(MIDDLE.key);
    let (list, picked) = combo(ui, "octave", shown, &names, Some(theme::UNIT_WIDTH));
    list.labelled_by(label.id).on_hover_text(hint);
    if let Some(place) = picked {
        *middle_c = MiddleC::ALL[place];
    }
    ui.add_space(theme::GAP_WIDE);
}
