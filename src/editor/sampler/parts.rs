//! What the views of the page share.

use crate::editor::text::sampler as words;
use crate::editor::theme;
use crate::kit::general_midi::PERCUSSION_CHANNEL;
use crate::kit::{MiddleC, Note, NoteMap, Piece, Response};
use egui::{
    Align, DragValue, Layout, Response as Widget, Role, Sense, Stroke, Ui, Vec2, WidgetInfo, pos2,
    vec2,
};
use std::collections::BTreeMap;

/// The pieces as they are listed: the feet first, then what the hands play, by height.
pub(super) const GROUPS: [(&str, &[Piece]); 5] = [
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
pub(super) const MIDDLE: Note = Note {
    channel: PERCUSSION_CHANNEL,
    key: 60,
};

/// The pieces in the order of the list, which is that of learning and hearing all.
pub(super) fn listed() -> impl Iterator<Item = Piece> {
    GROUPS
        .into_iter()
        .flat_map(|(_, pieces)| pieces.iter().copied())
}

/// What all rows need to know.
pub(super) struct Look {
    /// How keys are named.
    pub(super) middle_c: MiddleC,
    /// The notes in use.
    pub(super) used: BTreeMap<Note, Vec<Piece>>,
}

/// A cell of a row.
pub(super) fn cell<R>(ui: &mut Ui, width: f32, content: impl FnOnce(&mut Ui) -> R) -> R {
    let layout = Layout::left_to_right(Align::Center);
    let size = vec2(width, theme::PRESS_HEIGHT);
    let cell = ui.allocate_ui_with_layout(size, layout, |ui| {
        ui.set_min_width(width);
        content(ui)
    });
    cell.inner
}

/// The words before a setting.
pub(super) fn setting(ui: &mut Ui, (name, hint): (&str, &str)) {
    cell(ui, theme::SETTING_WIDTH, |ui| {
        ui.label(name).on_hover_text(hint);
    });
}

/// The button that takes something away.
pub(super) fn remove(ui: &mut Ui, whose: &str) -> bool {
    let button = ui.button("x").on_hover_text(words::REMOVE);
    called(&button, &words::of(whose, words::REMOVE));
    button.clicked()
}

/// Gives a widget its accessible name.
pub(super) fn called(widget: &Widget, name: &str) {
    let name = name.to_owned();
    let builder = |node: &mut egui::accesskit::Node| node.set_label(name);
    widget.ctx.accesskit_node_builder(widget.id, builder);
}

/// The channel of a key that is new: the map's first.
pub(super) fn new_channel(map: &NoteMap) -> u8 {
    let first = map.played().next();
    first.map_or(PERCUSSION_CHANNEL, |(_, note)| note.channel)
}

/// A field for a key, by number or name; where it is `optional`, also for none. It has changed the key where the
/// response says so.
pub(super) fn key_field(
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
pub(super) fn channel_field(ui: &mut Ui, name: &str, channel: &mut u8) -> Widget {
    let mut shown = *channel + 1;
    let field = DragValue::new(&mut shown).range(1..=16).speed(0.05);
    let field = ui.add(field);
    *channel = shown - 1;
    called(&field, name);
    field
}

/// A field for a number from a least to a most.
pub(super) fn number_field(
    ui: &mut Ui,
    name: &str,
    value: &mut i16,
    (least, most): (i16, i16),
) -> Widget {
    let field = DragValue::new(value).range(least..=most).speed(0.3);
    let field = ui.add(field);
    called(&field, name);
    field
}

/// Draws a velocity response: played to the right, sent upward.
pub(super) fn curve(ui: &mut Ui, response: Response, size: Vec2) -> Widget {
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
