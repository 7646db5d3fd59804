//! The list of pieces, a row for each.

use super::hearing::Hearing;
use super::learning::{Learning, Target};
use super::parts::{GROUPS, Look, called, cell, channel_field, curve, key_field, new_channel};
use super::{details, hearing, keys};
use crate::editor::action::Action;
use crate::editor::beats::matches;
use crate::editor::text::sampler as words;
use crate::editor::theme;
use crate::editor::touch::Touch;
use crate::editor::widgets::combo;
use crate::kit::note_map::{Instead, PieceNotes};
use crate::kit::{Note, NoteMap, Piece};
use egui::{Button, RichText, Ui, vec2};

/// What the list is shown with, and what it remembers between frames.
pub(super) struct List<'a> {
    /// The piece whose settings are open.
    pub(super) chosen: &'a mut Option<Piece>,
    /// What the pieces shown must have in their names.
    pub(super) search: &'a str,
    pub(super) learning: &'a mut Learning,
    pub(super) hearing: &'a mut Hearing,
}

/// Shows the list. What is set in it changes the map.
pub(super) fn show(
    list: &mut List,
    ui: &mut Ui,
    (map, look): (&mut NoteMap, &Look),
    touch: &mut Touch,
    actions: &mut Vec<Action>,
) {
    ui.spacing_mut().item_spacing.y = theme::ROW_GAP;
    let search = list.search.to_lowercase();
    let found =
        |group: &str, piece: &Piece| matches(&search, piece.name()) || matches(&search, group);
    heads(ui);
    let mut any = false;
    for (group, pieces) in GROUPS {
        let mut name = group;
        for piece in pieces.iter().copied().filter(|piece| found(group, piece)) {
            any = true;
            ui.push_id(piece.name(), |ui| {
                ui.horizontal(|ui| row(list, ui, (name, piece), (map, look), touch, actions));
                if *list.chosen == Some(piece) {
                    let ears = (&mut *list.learning, &mut *list.hearing);
                    details::show(ears, ui, piece, (map, look), touch, actions);
                }
            });
            // The group is named once.
            name = "";
        }
    }
    if !any {
        ui.label(RichText::new(words::NOTHING_FOUND).color(theme::of(ui).text_quiet));
    }
}

fn heads(ui: &mut Ui) {
    let names = [
        "",
        words::PIECE,
        words::KEY,
        words::CHANNEL,
        words::VELOCITY,
        words::STATE,
        "",
        words::HEAR,
    ];
    let quiet = theme::of(ui).text_quiet;
    ui.horizontal(|ui| {
        for (name, width) in names.into_iter().zip(theme::PIECE_COLUMNS) {
            cell(ui, width, |ui| {
                ui.label(RichText::new(name).small().color(quiet));
            });
        }
        ui.label(RichText::new(words::MORE).small().color(quiet));
    });
}

fn row(
    list: &mut List,
    ui: &mut Ui,
    (group, piece): (&str, Piece),
    (map, look): (&mut NoteMap, &Look),
    touch: &mut Touch,
    actions: &mut Vec<Action>,
) {
    let [
        of_group,
        of_name,
        of_key,
        of_channel,
        of_curve,
        of_state,
        of_learn,
        of_hear,
    ] = theme::PIECE_COLUMNS;
    let of = |what: &str| words::of(piece.name(), what);
    cell(ui, of_group, |ui| {
        ui.label(RichText::new(group).color(theme::of(ui).text_quiet));
    });
    let is_chosen = *list.chosen == Some(piece);
    let mut opens = cell(ui, of_name, |ui| {
        let is_heard = list.hearing.now() == Some(piece);
        let name = RichText::new(piece.name());
        let name = if is_heard {
            name.strong().underline()
        } else {
            name
        };
        let button = Button::selectable(is_chosen, name).min_size(vec2(of_name, 0.0));
        // Pushes the name to the left edge.
        let button = ui.add(button.right_text(""));
        if is_heard {
            button.scroll_to_me(None);
        }
        called(&button, piece.name());
        button.on_hover_text(words::PIECE_HINT).clicked()
    });
    cell(ui, of_key, |ui| key(ui, piece, map, look, touch));
    cell(ui, of_channel, |ui| channel(ui, piece, map, touch));
    opens |= cell(ui, of_curve, |ui| {
        let response = map.get(piece).response;
        let curve = curve(ui, response, theme::CURVE);
        called(&curve, &of(&words::response(response)));
        curve.on_hover_text(words::CURVE_HINT).clicked()
    });
    cell(ui, of_state, |ui| state(ui, piece, map, touch));
    cell(ui, of_learn, |ui| {
        let target = Target::Key(piece);
        let is_learned = list.learning.piece() == Some(piece);
        let (name, hint) = words::LEARN;
        let button = ui.add(Button::new(name).selected(is_learned));
        called(&button, &of(name));
        if button.on_hover_text(hint).clicked() {
            list.hearing.stop();
            list.learning.turn(target);
        }
    });
    let sounds = map.sounding(piece).is_some();
    cell(ui, of_hear, |ui| {
        ui.spacing_mut().item_spacing.x = 2.0;
        ui.spacing_mut().button_padding.x = 5.0;
        for (name, velocity) in words::STRENGTHS.into_iter().zip(hearing::VELOCITIES) {
            let button = ui.add_enabled(sounds, Button::new(name));
            called(&button, &of(name));
            if button.on_hover_text(words::HEAR_HINT).clicked() {
                actions.push(list.hearing.strike(map, piece, velocity));
            }
        }
    });
    if map.is_sent(piece) {
        keys::warn(ui, &look.used, piece);
    }
    let also = words::also(map.get(piece), look.middle_c);
    if !also.is_empty() {
        ui.label(RichText::new(also).small().color(theme::of(ui).text_quiet));
    }
    if let Some(controller) = map.hi_hat.controller()
        && piece == Piece::HiHatClosed
    {
        let said = words::also_hi_hat(controller);
        ui.label(RichText::new(said).small().color(theme::of(ui).text_quiet));
    }
    if opens {
        *list.chosen = Some(piece).filter(|_| !is_chosen);
    }
}

/// The first key of a piece.
fn key(ui: &mut Ui, piece: Piece, map: &mut NoteMap, look: &Look, touch: &mut Touch) {
    let channel = new_channel(map);
    let notes = &mut map.get_mut(piece).notes;
    let mut key = notes.first().map(|note| note.key);
    // With alternates it is the state that takes all of them away.
    let optional = notes.len() < 2;
    let name = words::of(piece.name(), words::KEY);
    let field = key_field(ui, &name, &mut key, (look.middle_c, optional));
    if field.changed() {
        match (key, notes.first_mut()) {
            (Some(key), Some(note)) => note.key = key,
            (Some(key), None) => notes.push(Note { channel, key }),
            (None, _) => notes.clear(),
        }
        touch.heed(&field);
    }
}

/// The channel of all keys of a piece.
fn channel(ui: &mut Ui, piece: Piece, map: &mut NoteMap, touch: &mut Touch) {
    let notes = map.get_mut(piece);
    let Some(first) = notes.notes.first() else {
        return;
    };
    let mut channel = first.channel;
    let name = words::of(piece.name(), words::CHANNEL);
    let field = channel_field(ui, &name, &mut channel);
    if field.changed() {
        let all = notes.notes.iter_mut().chain(&mut notes.also_read);
        all.for_each(|note| note.channel = channel);
        if let crate::kit::note_map::Choke::Key(note) = &mut notes.choke {
            note.channel = channel;
        }
        touch.heed(&field);
    }
    field.on_hover_text(words::CHANNEL_HINT);
}

/// Whether a piece is sent, and what plays it where it is not.
fn state(ui: &mut Ui, piece: Piece, map: &mut NoteMap, touch: &mut Touch) {
    let sent = map.is_sent(piece);
    // What would play it, were it not sent.
    let mut without = map.clone();
    let PieceNotes { notes, instead, .. } = without.get_mut(piece);
    notes.clear();
    *instead = Instead::Nearest;
    let nearest = words::nearest(without.sounding(piece));
    let others = Piece::ALL
        .into_iter()
        .filter(|other| without.is_sent(*other));
    let mut choices: Vec<(String, Option<Instead>)> = Vec::new();
    if sent {
        choices.push((words::SENT.to_owned(), None));
    }
    choices.push((nearest.clone(), Some(Instead::Nearest)));
    choices.push((words::NOTHING.to_owned(), Some(Instead::Nothing)));
    choices.extend(others.map(|other| (words::played_by(other), Some(Instead::Piece(other)))));
    let shown = match map.get(piece).instead {
        _ if sent => words::SENT.to_owned(),
        Instead::Nearest => nearest,
        Instead::Piece(other) if map.is_sent(other) => words::played_by(other),
        Instead::Piece(_) | Instead::Nothing => words::NOTHING.to_owned(),
    };
    let names: Vec<_> = choices.iter().map(|(name, _)| name.as_str()).collect();
    let width = ui.available_width();
    let (list, picked) = combo(ui, "state", shown, &names, Some(width));
    called(&list, &words::of(piece.name(), words::STATE));
    list.on_hover_text(words::STATE_HINT);
    if let Some((_, Some(instead))) = picked.map(|place| &choices[place]) {
        let notes = map.get_mut(piece);
        notes.notes.clear();
        notes.instead = *instead;
        touch.once();
    }
}
