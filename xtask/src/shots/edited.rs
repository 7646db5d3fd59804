//! Pictures of strokes that are edited by hand.

use super::Stage;
use egui::{Event, Key, Modifiers, PointerButton, pos2};
use fourlimb::groove::{Edit, EditAction, EditTarget};
use fourlimb::kit::Piece;
use fourlimb::settings::SettingId;
use fourlimb::song::edits::EditRow;
use fourlimb::time::Ticks;

const SNARE: EditTarget = EditTarget::Piece(Piece::Snare);
const BAR: Ticks = super::BAR;

fn change(at: Ticks, target: EditTarget, does: fn(&mut Edit)) -> EditRow {
    let mut edit = Edit::new(at, target, EditAction::Change);
    does(&mut edit);
    EditRow(edit)
}

fn add(at: Ticks, piece: Piece) -> EditRow {
    EditRow(Edit::add(at, EditTarget::Piece(piece)))
}

/// A bit of everything: louder, moved, left out, added.
fn rows() -> Vec<EditRow> {
    vec![
        change(960, SNARE, |edit| edit.louder = -40),
        EditRow(Edit::leave_out(2880, SNARE)),
        change(BAR + 960, SNARE, |edit| edit.to = Some(BAR + 1200)),
        add(BAR + 2400, Piece::CrashLeft),
        add(2 * BAR + 2880, Piece::FloorLow),
        EditRow(Edit::leave_out(2 * BAR, EditTarget::Piece(Piece::Kick))),
        change(3 * BAR + 2880, SNARE, |edit| {
            edit.onto = Some(EditTarget::Piece(Piece::RackHigh));
        }),
    ]
}

fn beside(stage: &Stage, rows: Vec<EditRow>) {
    // Where no chart is followed any edits make sense.
    let _ = stage.project.change_edits(None, rows, None);
}

/// A frame around strokes, some of them edited.
pub(super) fn framed(stage: &mut Stage) {
    beside(stage, rows());
    let (from, to) = (pos2(130.0, 590.0), pos2(620.0, 690.0));
    stage.events = vec![
        Event::PointerMoved(from),
        Event::PointerButton {
            pos: from,
            button: PointerButton::Primary,
            pressed: true,
            modifiers: Modifiers::NONE,
        },
        Event::PointerMoved(from.lerp(to, 0.5)),
        Event::PointerMoved(to),
    ];
}

/// The frame in which keys add a stroke.
pub(super) fn placed(stage: &mut Stage) {
    beside(stage, rows());
    stage.presses.push("bar 2, other hand: snare on 4,");
    for key in [Key::Enter, Key::ArrowRight, Key::ArrowDown] {
        stage.events.push(Event::Key {
            key,
            physical_key: None,
            pressed: true,
            repeat: false,
            modifiers: Modifiers::NONE,
        });
    }
}

/// More than two hands can play.
pub(super) fn third_hand(stage: &mut Stage) {
    let pieces = [Piece::CrashRight, Piece::FloorLow, Piece::China];
    beside(stage, pieces.map(|piece| add(BAR + 960, piece)).to_vec());
}

/// Edits of strokes that are not there.
pub(super) fn asleep(stage: &mut Stage) {
    let mut rows = rows();
    rows.push(change(240, SNARE, |edit| edit.louder = 12));
    rows.push(EditRow(Edit::leave_out(
        BAR + 720,
        EditTarget::Piece(Piece::RideBell),
    )));
    beside(stage, rows);
    stage.presses.push("Asleep: 2");
}

/// Sections with edits, one of them chosen.
pub(super) fn section(stage: &mut Stage) {
    stage.demo();
    for place in [1, 3, 5, 6] {
        let _ = stage.project.change_edits(Some(place), rows(), None);
    }
    stage.panel.strip.chosen = [3].into();
    stage.values.set(SettingId::Take, 3.0);
    stage.presses.push("left out by hand");
}
