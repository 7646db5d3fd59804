//! The settings of a piece that are seldom needed, below its row.

use super::hearing::Hearing;
use super::hi_hat;
use super::learning::{Learning, Target};
use super::parts::{Look, MIDDLE, called, curve, key_field, number_field, remove, setting};
use crate::choice::Choice;
use crate::editor::action::Action;
use crate::editor::text::sampler as words;
use crate::editor::theme;
use crate::editor::touch::Touch;
use crate::editor::widgets::combo;
use crate::kit::note_map::{Choke, Length, Notes, PieceNotes, Turns};
use crate::kit::{MiddleC, Note, NoteMap, Piece};
use egui::{Button, Frame, Margin, Ui};

/// Shows them.
pub(super) fn show(
    (learning, hearing): (&mut Learning, &mut Hearing),
    ui: &mut Ui,
    piece: Piece,
    (map, look): (&mut NoteMap, &Look),
    touch: &mut Touch,
    actions: &mut Vec<Action>,
) {
    let frame = Frame::NONE
        .fill(theme::of(ui).raised)
        .inner_margin(Margin::same(theme::MARGIN / 2));
    ui.horizontal(|ui| {
        ui.add_space(theme::PIECE_COLUMNS[0]);
        frame.show(ui, |ui| {
            ui.vertical(|ui| {
                ui.spacing_mut().item_spacing.y = theme::GAP;
                let notes = map.get_mut(piece);
                if !notes.notes.is_empty() {
                    alternates(
                        (learning, hearing),
                        ui,
                        piece,
                        (notes, look.middle_c),
                        touch,
                    );
                }
                ui.horizontal(|ui| also_read(ui, piece, (notes, look.middle_c), touch));
                ui.horizontal(|ui| response(ui, piece, notes, touch));
                ui.horizontal(|ui| {
                    length(ui, piece, notes, touch);
                    ui.add_space(theme::GAP_WIDE);
                    choke(ui, piece, (notes, look.middle_c), touch);
                });
                if hi_hat::is_of(piece) {
                    ui.separator();
                    hi_hat::show(hearing, ui, (map, look), touch, actions);
                }
            });
        });
    });
}

fn alternates(
    (learning, hearing): (&mut Learning, &mut Hearing),
    ui: &mut Ui,
    piece: Piece,
    (notes, middle_c): (&mut PieceNotes, MiddleC),
    touch: &mut Touch,
) {
    ui.horizontal(|ui| {
        setting(ui, words::ALTERNATES);
        let name = words::of(piece.name(), words::ALTERNATES.0);
        several(ui, &name, (&mut notes.notes, 1), middle_c, touch);
        let target = Target::Alternate(piece);
        let is_learned = learning.target() == Some(target);
        let (learn, hint) = words::LEARN_ALTERNATE;
        let button = ui.add_enabled(
            !notes.notes.is_full(),
            Button::new(learn).selected(is_learned),
        );
        called(&button, &words::of(piece.name(), learn));
        if button.on_hover_text(hint).clicked() {
            hearing.stop();
            learning.turn(target);
        }
        if notes.notes.len() > 1 {
            let shown = Turns::name(notes.turns);
            let (list, picked) = combo(ui, "turns", shown, Turns::NAMES, Some(theme::KEY_WIDTH));
            called(&list, &words::of(piece.name(), words::TURNS));
            list.on_hover_text(words::ALTERNATES.1);
            if let Some(place) = picked {
                notes.turns = Choice::at(place);
                touch.once();
            }
        }
    });
}

fn also_read(
    ui: &mut Ui,
    piece: Piece,
    (notes, middle_c): (&mut PieceNotes, MiddleC),
    touch: &mut Touch,
) {
    setting(ui, words::ALSO_READ);
    let name = words::of(piece.name(), words::ALSO_READ.0);
    let near = notes.notes.first().copied();
    if let Some(near) = near.filter(|_| notes.also_read.is_empty()) {
        if add(ui, &name, (&mut notes.also_read, Some(near))) {
            touch.once();
        }
    } else {
        several(ui, &name, (&mut notes.also_read, 0), middle_c, touch);
    }
}

/// Keys that can be changed, added and taken away, from a place on.
fn several(
    ui: &mut Ui,
    name: &str,
    (notes, from): (&mut Notes, usize),
    middle_c: MiddleC,
    touch: &mut Touch,
) {
    let mut gone = None;
    for place in from..notes.len() {
        let nth = words::nth(name, place + 1 - from);
        let mut key = Some(notes[place].key);
        let field = key_field(ui, &nth, &mut key, (middle_c, false));
        notes[place].key = key.unwrap_or(notes[place].key);
        touch.heed(&field);
        if remove(ui, &nth) {
            gone = Some(place);
            touch.once();
        }
    }
    if let Some(place) = gone {
        notes.remove(place);
    }
    let near = notes.last().copied();
    if add(ui, name, (notes, near)) {
        touch.once();
    }
}

/// The button that adds a key, the one above another.
fn add(ui: &mut Ui, name: &str, (notes, near): (&mut Notes, Option<Note>)) -> bool {
    let can = near.is_some() && !notes.is_full();
    let button = ui.add_enabled(can, Button::new(words::ADD));
    called(&button, &words::of(name, words::ADD));
    if let Some(Note { channel, key }) = near.filter(|_| can && button.clicked()) {
        let key = (key + 1).min(127);
        notes.push(Note { channel, key });
        return true;
    }
    false
}

fn response(ui: &mut Ui, piece: Piece, notes: &mut PieceNotes, touch: &mut Touch) {
    setting(ui, (words::VELOCITY, words::CURVE_HINT));
    let response = &mut notes.response;
    let [floor, ceiling, bend] = words::RESPONSE;
    let mut number = |ui: &mut Ui, (name, hint): (&str, &str), value: &mut i16, range| {
        ui.label(name).on_hover_text(hint);
        let name = words::of(piece.name(), name);
        touch.heed(&number_field(ui, &name, value, range));
    };
    let byte = |value: i16| u8::try_from(value).unwrap_or(127);
    let (mut least, mut most) = (i16::from(response.floor), i16::from(response.ceiling));
    let mut bent = i16::from(response.bend);
    number(ui, floor, &mut least, (1, most));
    number(ui, ceiling, &mut most, (least, 127));
    number(ui, bend, &mut bent, (-100, 100));
    response.floor = byte(least);
    response.ceiling = byte(most);
    response.bend = i8::try_from(bent).unwrap_or(0);
    let drawn = curve(ui, *response, theme::CURVE_LARGE);
    drawn.on_hover_text(words::response(*response));
}

fn length(ui: &mut Ui, piece: Piece, notes: &mut PieceNotes, touch: &mut Touch) {
    setting(ui, words::LENGTH);
    let shown = Length::name(notes.length);
    let (list, picked) = combo(ui, "length", shown, Length::NAMES, Some(theme::PICK_WIDTH));
    called(&list, &words::of(piece.name(), words::LENGTH.0));
    list.on_hover_text(words::LENGTH.1);
    if let Some(place) = picked {
        notes.length = Choice::at(place);
        touch.once();
    }
}

fn choke(
    ui: &mut Ui,
    piece: Piece,
    (notes, middle_c): (&mut PieceNotes, MiddleC),
    touch: &mut Touch,
) {
    ui.label(words::CHOKE.0).on_hover_text(words::CHOKE.1);
    let place = match notes.choke {
        Choke::NoteOff => 0,
        Choke::Key(_) => 1,
        Choke::Aftertouch => 2,
    };
    let shown = words::CHOKES[place];
    let (list, picked) = combo(ui, "choke", shown, &words::CHOKES, Some(theme::PICK_WIDTH));
    called(&list, &words::of(piece.name(), words::CHOKE.0));
    list.on_hover_text(words::CHOKE.1);
    if let Some(picked) = picked.filter(|picked| *picked != place) {
        let own = notes.notes.first().copied();
        notes.choke = match picked {
            0 => Choke::NoteOff,
            1 => Choke::Key(own.unwrap_or(MIDDLE)),
            _ => Choke::Aftertouch,
        };
        touch.once();
    }
    if let Choke::Key(note) = &mut notes.choke {
        let name = words::of(piece.name(), words::CHOKE_KEY);
        let mut key = Some(note.key);
        let field = key_field(ui, &name, &mut key, (middle_c, false));
        note.key = key.unwrap_or(note.key);
        touch.heed(&field);
    }
}
