//! The keyboard: which keys of a channel are in use, and which of them twice.

use super::parts::{called, channel_field, new_channel};
use crate::editor::text::sampler as words;
use crate::editor::widgets::caption;
use crate::editor::{marks, theme};
use crate::kit::{MiddleC, Note, NoteMap, Piece};
use egui::{Align2, Color32, Rect, RichText, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};
use std::collections::BTreeMap;

/// The keys of MIDI.
const KEYS: u8 = 128;

/// The notes in use, each with its pieces in the order of the kit.
pub(super) fn in_use(map: &NoteMap) -> BTreeMap<Note, Vec<Piece>> {
    let mut used: BTreeMap<Note, Vec<Piece>> = BTreeMap::new();
    for (piece, note) in map.played() {
        let pieces = used.entry(note).or_default();
        if !pieces.contains(&piece) {
            pieces.push(piece);
        }
    }
    used
}

/// The pieces that share a key with one.
pub(super) fn sharing(used: &BTreeMap<Note, Vec<Piece>>, piece: Piece) -> Vec<Piece> {
    let shared = used.values().filter(|pieces| pieces.contains(&piece));
    let mut others: Vec<_> = shared
        .flatten()
        .copied()
        .filter(|other| *other != piece)
        .collect();
    others.sort();
    others.dedup();
    others
}

/// Shows the keyboard of a channel, the one that was chosen or the map's first.
pub(super) fn show(ui: &mut Ui, map: &NoteMap, chosen: &mut Option<u8>, middle_c: MiddleC) {
    let used = in_use(map);
    let mut channel = chosen.unwrap_or_else(|| new_channel(map));
    ui.horizontal_wrapped(|ui| {
        let (name, hint) = words::KEYS_ON;
        ui.label(RichText::new(name).color(theme::of(ui).text_quiet))
            .on_hover_text(hint);
        if channel_field(ui, name, &mut channel).changed() {
            *chosen = Some(channel);
        }
        ui.add_space(theme::GAP_WIDE);
        let mut conflicts = used
            .iter()
            .filter(|(_, pieces)| pieces.len() > 1)
            .peekable();
        if conflicts.peek().is_none() {
            ui.label(RichText::new(words::NO_CONFLICT).color(theme::of(ui).text_quiet));
        }
        for (note, pieces) in conflicts {
            let said = words::conflict(*note, pieces, middle_c);
            ui.label(RichText::new(said).color(theme::of(ui).fill_text));
        }
    });
    let on_channel = used.iter().filter(|(note, _)| note.channel == channel);
    let on_channel: Vec<_> = on_channel
        .map(|(note, pieces)| (note.key, pieces.as_slice()))
        .collect();
    keyboard(ui, &on_channel, middle_c);
}

fn keyboard(ui: &mut Ui, used: &[(u8, &[Piece])], middle_c: MiddleC) {
    let height = theme::KEYS_HEAD + theme::KEYS_HEIGHT;
    let (area, _) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::hover());
    let (palette, painter) = (theme::of(ui), ui.painter().clone());
    let keys = area.with_min_y(area.top() + theme::KEYS_HEAD);
    let width = keys.width() / f32::from(KEYS);
    let left = |key: u8| keys.left() + f32::from(key) * width;
    painter.rect_filled(keys, 0.0, palette.sunk);
    for key in 0..KEYS {
        if is_black(key) {
            let size = vec2(width, keys.height() * 0.55);
            let black = Rect::from_min_size(pos2(left(key), keys.top()), size);
            painter.rect_filled(black, 0.0, palette.button);
        }
        // Between B and C, and between E and F, no black key parts the white ones.
        if key % 12 == 0 || key % 12 == 5 {
            let line = Stroke::new(1.0, palette.count_line);
            painter.vline(left(key), keys.y_range(), line);
        }
    }
    for &(key, pieces) in used {
        let rect = Rect::from_min_size(pos2(left(key), keys.top()), vec2(width, keys.height()));
        let twice = pieces.len() > 1;
        mark(ui, rect, pieces, twice);
        let id = ui.scope_id().with(("key", key));
        let response = ui.interact(rect, id, Sense::hover());
        let said = words::used(key, pieces, middle_c);
        response.widget_info(|| WidgetInfo::labeled(Role::Image, true, said.clone()));
        response.on_hover_text(said);
    }
    // Over the keys in use.
    for key in (0..KEYS).step_by(12) {
        let at = pos2(left(key) + 2.0, keys.bottom() - 1.0);
        let is_used = used.iter().any(|(used, _)| *used == key);
        let colour = if is_used {
            palette.text
        } else {
            palette.text_quiet
        };
        caption(ui, at, Align2::LEFT_BOTTOM, &middle_c.name(key), colour);
    }
}

/// Marks a key in use; one of several pieces is taller, framed, and has a mark of its own above.
fn mark(ui: &Ui, key: Rect, pieces: &[Piece], twice: bool) {
    let (palette, painter) = (theme::of(ui), ui.painter());
    painter.rect_filled(key, 0.0, palette.chosen);
    let half = (key.width() * 0.5).min(theme::MARK * 0.9);
    let at = pos2(key.center().x, key.top() + half * 2.0);
    if let Some(piece) = pieces.first() {
        let colour: Color32 = marks::colour(palette, *piece);
        marks::paint(painter, *piece, (at, half), colour, palette.sunk);
    }
    if twice {
        let frame = key.with_min_y(key.top() - 2.0);
        let line = Stroke::new(2.0, palette.fill_text);
        painter.rect_stroke(frame, 0.0, line, egui::StrokeKind::Outside);
        let above = pos2(key.center().x, key.top() - 3.0);
        caption(ui, above, Align2::CENTER_BOTTOM, "!", palette.fill_text);
    }
}

fn is_black(key: u8) -> bool {
    matches!(key % 12, 1 | 3 | 6 | 8 | 10)
}

/// Shows that a piece shares its key; whether it does.
pub(super) fn warn(ui: &mut Ui, used: &BTreeMap<Note, Vec<Piece>>, piece: Piece) -> bool {
    let others = sharing(used, piece);
    if others.is_empty() {
        return false;
    }
    let said = words::shares(&others);
    let label = ui.label(RichText::new(&said).color(theme::of(ui).fill_text));
    called(&label, &words::of(piece.name(), &said));
    true
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_on_one_key_are_found() {
        let mut map = NoteMap::default();
        let snare = map.get(Piece::Snare).notes.clone();
        map.get_mut(Piece::SideStick).notes = snare;
        let used = in_use(&map);
        assert_eq!(sharing(&used, Piece::Snare), [Piece::SideStick]);
        assert_eq!(sharing(&used, Piece::SideStick), [Piece::Snare]);
        assert_eq!(sharing(&used, Piece::Kick), []);
        assert_eq!(used.values().filter(|pieces| pieces.len() > 1).count(), 1);
    }
}
