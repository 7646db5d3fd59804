//! The sampler's page: what is sent for each piece, learned, heard, loaded and saved.
//!
//! - `rows`: the list of pieces; `details`, `hi_hat`: what is seldom set
//! - `keys`: the keyboard, and keys in use twice
//! - `learning`: keys from notes that come in; `hearing`: the pieces as they sound
//! - [`files`]: the row of files; `proposed`: what a file says

mod details;
pub mod files;
mod hearing;
mod hi_hat;
mod keys;
mod learning;
mod proposed;
mod rows;

use super::action::Action;
use super::chart::section::{Touch, combo};
use super::snapshot::Snapshot;
use super::text::sampler as words;
use super::theme;
use crate::kit::general_midi::{PERCUSSION_CHANNEL, level_1, level_2};
use crate::kit::map_file::{LONGEST_NAME, NamedMap};
use crate::kit::proposal::Proposal;
use crate::kit::{MiddleC, Note, NoteMap, Piece, Response};
use egui::{
    DragValue, Panel as Side, Response as Widget, RichText, Role, ScrollArea, Sense, Stroke,
    TextEdit, Ui, Vec2, WidgetInfo, pos2,
};
use files::MapFiles;
use hearing::Hearing;
use learning::{Learning, Target};
use proposed::Proposed;
use rows::Look;

/// The pieces as they are listed: the feet first, then what the hands play, by height.
const GROUPS: [(&str, &[Piece]); 5] = [
    (words::FEET, &[Piece::Kick, Piece::HiHatFoot]),
    (
        words::DRUMS,
        &[
            Piece::FloorLow,
            Piece::FloorHigh,
            Piece::RackLow,
            Piece::RackHigh,
            Piece::Snare,
            Piece::SideStick,
        ],
    ),
    (
        words::HI_HAT,
        &[Piece::HiHatClosed, Piece::HiHatLoose, Piece::HiHatOpen],
    ),
    (
        words::CYMBALS,
        &[
            Piece::Ride,
            Piece::RideBell,
            Piece::CrashLeft,
            Piece::CrashRight,
            Piece::China,
            Piece::Splash,
        ],
    ),
    (words::STICKS, &[Piece::Sticks]),
];

/// The note of middle C, where nothing else is known.
const MIDDLE: Note = Note {
    channel: PERCUSSION_CHANNEL,
    key: 60,
};

/// The pieces in the order of the list, which is that of learning and hearing all.
fn listed() -> impl Iterator<Item = Piece> {
    GROUPS
        .into_iter()
        .flat_map(|(_, pieces)| pieces.iter().copied())
}

/// What the page remembers between frames.
#[derive(Debug, Default)]
pub struct SamplerPage {
    /// Whether the page is open.
    pub open: bool,
    /// The row of files.
    pub files: MapFiles,
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
        ui.horizontal_wrapped(|ui| {
            self.map(ui, &mut edited, &mut touch);
            octave(ui, middle_c);
            self.all(ui, now);
            self.search(ui);
        });
        ui.horizontal_wrapped(|ui| self.files.show(ui, actions));
        self.files.show_told(ui);
        if let Some(piece) = self.learning.show(ui, now) {
            actions.push(self.hearing.strike(&edited.map, piece, hearing::MIDDLE));
        }
        self.hearing.follow(ui, &edited.map, now, actions);
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
                rows::show(self, ui, of_map, &mut touch, actions);
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

/// Gives a widget its accessible name.
fn called(widget: &Widget, name: &str) {
    let name = name.to_owned();
    let builder = |node: &mut egui::accesskit::Node| node.set_label(name);
    widget.ctx.accesskit_node_builder(widget.id, builder);
}

/// The channel of a key that is new: the map's first.
fn new_channel(map: &NoteMap) -> u8 {
    let first = map.played().next();
    first.map_or(PERCUSSION_CHANNEL, |(_, note)| note.channel)
}

/// A field for a key, by number or name; where it is `optional`, also for none. It has changed the key where the
/// response says so.
fn key_field(
    ui: &mut Ui,
    name: &str,
    key: &mut Option<u8>,
    (middle_c, optional): (MiddleC, bool),
) -> Widget {
    const NONE: f64 = -1.0;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let whole = |value: f64| (value >= 0.0).then(|| value.round() as u8);
    let mut value = key.map_or(NONE, f64::from);
    let least = if optional { NONE } else { 0.0 };
    let parse = move |text: &str| {
        let text = text.trim();
        if text == words::NONE || text == words::NO_KEY {
            return Some(NONE);
        }
        // As it is shown, number and name: the number counts.
        let number = text.split_whitespace().next().unwrap_or_default();
        middle_c
            .parse(text)
            .or(middle_c.parse(number))
            .map(f64::from)
    };
    let field = DragValue::new(&mut value)
        .range(least..=127.0)
        .speed(0.15)
        .max_decimals(0)
        .update_while_editing(false)
        .custom_formatter(move |value, _| words::key(whole(value), middle_c))
        .custom_parser(parse);
    let field = ui.add_sized([theme::KEY_WIDTH, theme::PRESS_HEIGHT], field);
    if field.changed() {
        *key = whole(value);
    }
    called(&field, name);
    field.on_hover_text(words::KEY_HINT)
}

/// A field for a channel, 0..=15, counted from 1.
fn channel_field(ui: &mut Ui, name: &str, channel: &mut u8) -> Widget {
    let mut shown = *channel + 1;
    let field = DragValue::new(&mut shown).range(1..=16).speed(0.05);
    let field = ui.add(field);
    *channel = shown - 1;
    called(&field, name);
    field
}

/// A field for a number from a least to a most.
fn number_field(ui: &mut Ui, name: &str, value: &mut i16, (least, most): (i16, i16)) -> Widget {
    let field = DragValue::new(value).range(least..=most).speed(0.3);
    let field = ui.add(field);
    called(&field, name);
    field
}

/// Draws a velocity response: played to the right, sent upward.
fn curve(ui: &mut Ui, response: Response, size: Vec2) -> Widget {
    let (rect, widget) = ui.allocate_exact_size(size, Sense::click());
    let (palette, painter) = (theme::of(ui), ui.painter());
    painter.rect_filled(rect, theme::CORNER, palette.sunk);
    let inner = rect.shrink(2.0);
    let points = (1..=127).step_by(6).map(|played| {
        let part = |velocity: u8| f32::from(velocity - 1) / 126.0;
        let x = inner.left() + inner.width() * part(played);
        pos2(
            x,
            inner.bottom() - inner.height() * part(response.sent(played)),
        )
    });
    let colour = if widget.hovered() {
        palette.text
    } else {
        palette.text_quiet
    };
    painter.line(points.collect(), Stroke::new(1.5, colour));
    widget.widget_info(|| WidgetInfo::labeled(Role::Button, true, words::response(response)));
    widget
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_piece_is_listed_once() {
        let mut pieces: Vec<_> = listed().collect();
        assert_eq!(pieces.len(), Piece::COUNT);
        pieces.sort();
        assert_eq!(pieces, Piece::ALL);
    }
}
