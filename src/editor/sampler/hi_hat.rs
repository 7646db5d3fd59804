//! How the sampler is told how far the hi-hat is open.

use super::hearing::{Hearing, MIDDLE};
use super::parts::{
    self, Look, called, channel_field, key_field, new_channel, number_field, remove, setting,
};
use crate::editor::action::Action;
use crate::editor::text::sampler as words;
use crate::editor::theme;
use crate::editor::touch::Touch;
use crate::editor::widgets::combo;
use crate::kit::hi_hat::{Controller, HiHat, MOST_LEAD_MS, piece_of};
use crate::kit::{Note, NoteMap, Piece};
use egui::{Button, Ui};

/// The opening of a key that is added, of 0..=127: between closed and loose, where samplers have most. Judged.
const NEW_OPENING: u8 = 32;

/// Whether a piece is of the hi-hat.
pub(super) fn is_of(piece: Piece) -> bool {
    matches!(
        piece,
        Piece::HiHatClosed | Piece::HiHatLoose | Piece::HiHatOpen | Piece::HiHatFoot
    )
}

/// Shows how it is told; what is set changes the map.
pub(super) fn show(
    hearing: &mut Hearing,
    ui: &mut Ui,
    (map, look): (&mut NoteMap, &Look),
    touch: &mut Touch,
    actions: &mut Vec<Action>,
) {
    ui.horizontal(|ui| {
        setting(ui, words::OPENING);
        let place = usize::from(map.hi_hat.controller().is_some());
        let shown = words::OPENINGS[place];
        let (list, picked) = combo(
            ui,
            "opens",
            shown,
            &words::OPENINGS,
            Some(theme::PICK_WIDTH),
        );
        called(&list, &of(words::OPENING.0));
        list.on_hover_text(words::OPENING.1);
        if let Some(picked) = picked.filter(|picked| *picked != place) {
            map.hi_hat = if picked == 0 {
                HiHat::default()
            } else {
                HiHat::Controller(Controller::foot(channel(map)))
            };
            touch.once();
        }
        if let HiHat::Controller(controller) = &mut map.hi_hat {
            by_controller(ui, controller, touch);
        }
    });
    if map.hi_hat.controller().is_none() {
        ui.horizontal_wrapped(|ui| {
            setting(ui, ("", ""));
            by_keys(hearing, ui, (map, look), touch, actions);
        });
    }
}

/// The name of what is of the whole hi-hat.
fn of(what: &str) -> String {
    words::of(words::WHOLE_HI_HAT, what)
}

/// The channel of the hi-hat.
fn channel(map: &NoteMap) -> u8 {
    let own = map.get(Piece::HiHatClosed).notes.first();
    own.map_or_else(|| new_channel(map), |note| note.channel)
}

fn by_controller(ui: &mut Ui, controller: &mut Controller, touch: &mut Touch) {
    let [number, channel, closed, open, lead] = words::CONTROLLER;
    let mut field = |ui: &mut Ui, (name, hint): (&str, &str), value: &mut u8, most: u8| {
        ui.label(name).on_hover_text(hint);
        let mut wide = i16::from(*value);
        let field = number_field(ui, &of(name), &mut wide, (0, i16::from(most)));
        *value = u8::try_from(wide).unwrap_or(*value);
        touch.heed(&field);
    };
    field(ui, number, &mut controller.number, 119);
    field(ui, closed, &mut controller.closed, 127);
    field(ui, open, &mut controller.open, 127);
    field(ui, lead, &mut controller.lead_ms, MOST_LEAD_MS);
    ui.label(words::MS.trim());
    ui.label(channel.0).on_hover_text(channel.1);
    touch.heed(&channel_field(ui, &of(channel.0), &mut controller.channel));
}

fn by_keys(
    hearing: &mut Hearing,
    ui: &mut Ui,
    (map, look): (&mut NoteMap, &Look),
    touch: &mut Touch,
    actions: &mut Vec<Action>,
) {
    let channel = channel(map);
    let near = [Piece::HiHatLoose, Piece::HiHatClosed].map(|piece| map.note(piece));
    let mut heard = None;
    let HiHat::Keys(between) = &mut map.hi_hat else {
        return;
    };
    let mut gone = None;
    let (name, hint) = words::OPEN_AT;
    for (place, (opening, note)) in between.iter_mut().enumerate() {
        let whose = words::nth(&of(name), place + 1);
        ui.label(name).on_hover_text(hint);
        let mut percent = percent(*opening);
        let field = number_field(ui, &whose, &mut percent, (0, 100));
        if field.changed() {
            *opening = opening_of(percent);
        }
        touch.heed(&field);
        ui.label("%");
        let mut key = Some(note.key);
        let of_key = words::of(&whose, words::KEY);
        let field = key_field(ui, &of_key, &mut key, (look.middle_c, false));
        note.key = key.unwrap_or(note.key);
        touch.heed(&field);
        let button = ui.button(words::HEAR).on_hover_text(words::HEAR_HINT);
        called(&button, &words::of(&whose, words::HEAR));
        if button.clicked() {
            heard = Some(*opening);
        }
        if remove(ui, &whose) {
            gone = Some(place);
        }
        ui.add_space(theme::GAP_WIDE);
    }
    if let Some(place) = gone {
        between.remove(place);
        touch.once();
    }
    let (name, hint) = words::ADD_OPENING;
    let button = ui.add_enabled(!between.is_full(), Button::new(name));
    if button.on_hover_text(hint).clicked() {
        let last = between.last().map(|(_, note)| *note);
        let near = last.or(near[0]).or(near[1]);
        let key = near.map_or(parts::MIDDLE.key, |note| (note.key + 1).min(127));
        between.push((NEW_OPENING, Note { channel, key }));
        touch.once();
    }
    if let Some(opening) = heard {
        actions.push(hearing.stroke(map, (piece_of(opening), opening), MIDDLE));
    }
}

/// An opening of 0..=127 in percent.
fn percent(opening: u8) -> i16 {
    (i16::from(opening) * 100 + 63) / 127
}

/// The opening of a percentage, 0..=127.
fn opening_of(percent: i16) -> u8 {
    u8::try_from((percent * 127 + 50) / 100)
        .unwrap_or(127)
        .min(127)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_percentage_that_was_set_is_shown_again() {
        for set in 0..=100 {
            assert_eq!(percent(opening_of(set)), set);
        }
        assert_eq!((opening_of(0), opening_of(100)), (0, 127));
    }
}
