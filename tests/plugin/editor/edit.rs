//! Strokes edited in the lanes: by accessible names and keys, and once with the pointer.

use super::chart::{Host, keeper, page, press, says};
use super::{Harness, Role, SettingId, text};
use egui::{Key, Modifiers, Vec2, vec2};
use egui_kittest::Node;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use fourlimb::editor::text::edit as words;
use fourlimb::groove::{EditAction, EditTarget};
use fourlimb::kit::Piece;
use fourlimb::song::edits::EditRow;

pub(super) const SNARE: EditTarget = EditTarget::Piece(Piece::Snare);

/// A page with a plain beat: no ghost notes, no fills, exactly on the grid.
pub(super) fn plain() -> Harness<'static, Host> {
    let mut harness = page();
    for (setting, value) in [
        (SettingId::Density, 0.0),
        (SettingId::FillChance, 0.0),
        (SettingId::Feel, 0.0),
    ] {
        harness.state_mut().values.set(setting, value);
    }
    harness.run();
    harness
}

/// The strokes on show with these words.
pub(super) fn strokes<'t>(harness: &'t Harness<'_, Host>, what: &'t str) -> Vec<Node<'t>> {
    let all = harness.query_all_by_role(Role::GraphicsSymbol);
    all.filter(|node| {
        let label = node.accesskit_node().label();
        label.is_some_and(|label| label.contains(what))
    })
    .collect()
}

/// The first stroke with these words, as it is called.
pub(super) fn called(harness: &Harness<'_, Host>, what: &str) -> String {
    let strokes = strokes(harness, what);
    let first = strokes.first().unwrap_or_else(|| panic!("no {what}"));
    first.accesskit_node().label().unwrap_or_default()
}

pub(super) fn velocity(called: &str) -> i32 {
    let (_, after) = called.split_once("velocity ").unwrap();
    let digits: String = after.chars().take_while(char::is_ascii_digit).collect();
    digits.parse().unwrap()
}

pub(super) fn select(harness: &mut Harness<'_, Host>, what: &str) {
    strokes(harness, what).first().unwrap().click_accesskit();
    harness.run();
}

pub(super) fn key(harness: &mut Harness<'_, Host>, key: Key) {
    keys(harness, Modifiers::NONE, key);
}

pub(super) fn keys(harness: &mut Harness<'_, Host>, modifiers: Modifiers, key: Key) {
    harness.key_press_modifiers(modifiers, key);
    harness.run();
}

pub(super) fn focus(harness: &mut Harness<'_, Host>) {
    harness.get_by_label(text::LANES).focus();
    harness.run();
}

/// The edits that hold where no chart is followed.
pub(super) fn edits(harness: &Harness<'_, Host>) -> Vec<EditRow> {
    keeper(harness).document().edits.to_vec()
}

/// Types a value into a field of the line above the lanes.
fn type_into(harness: &mut Harness<'_, Host>, field: &str, typed: &str) {
    harness
        .get_by_role_and_label(Role::SpinButton, field)
        .click();
    harness.run();
    harness.key_press_modifiers(Modifiers::COMMAND, Key::A);
    harness.run();
    harness.event(egui::Event::Text(typed.to_owned()));
    harness.run();
    harness.key_press(Key::Enter);
    harness.run();
}

/// Chooses from a list, also what lies further down in it.
pub(super) fn pick(harness: &mut Harness<'_, Host>, list: &str, choice: &str) {
    harness.get_by_role_and_label(Role::ComboBox, list).click();
    harness.run();
    harness
        .get_by_role_and_label(Role::Button, choice)
        .click_accesskit();
    harness.run();
}

#[test]
fn a_stroke_is_selected_louder_moved_and_left_out() {
    let mut harness = plain();
    let snare = "bar 1, other hand: snare on 2,";
    let before = called(&harness, snare);
    select(&mut harness, snare);
    // It says what it is.
    let line = format!(
        "Bar 1: snare on 2, velocity {}, other hand",
        velocity(&before)
    );
    assert!(says(&harness, &line), "{line}");
    key(&mut harness, Key::ArrowDown);
    keys(&mut harness, Modifiers::SHIFT, Key::ArrowDown);
    let softer = called(&harness, snare);
    assert_eq!(velocity(&softer), velocity(&before) - 5);
    assert_eq!(softer, words::by_hand(softer.trim_end_matches(", by hand")));
    let [EditRow(edit)] = edits(&harness)[..] else {
        panic!("one edit");
    };
    assert_eq!((edit.at, edit.target, edit.louder), (960, SNARE, -5));
    key(&mut harness, Key::ArrowRight);
    assert!(strokes(&harness, snare).is_empty());
    called(&harness, "bar 1, other hand: snare on 2 e,");
    keys(&mut harness, Modifiers::ALT, Key::ArrowRight);
    assert_eq!(edits(&harness)[0].0.to, Some(1210));
    key(&mut harness, Key::Delete);
    let [EditRow(edit)] = edits(&harness)[..] else {
        panic!("one edit");
    };
    assert_eq!(edit.action, EditAction::LeaveOut);
    let out = "left out by hand: other hand: snare on 2,";
    called(&harness, out);
    // Each was a change of its own.
    for _ in 0..5 {
        press(&mut harness, text::UNDO);
    }
    assert_eq!(edits(&harness), []);
    assert_eq!(called(&harness, snare), before);
    press(&mut harness, text::REDO);
    assert_eq!(edits(&harness).len(), 1);
}

/// What is left out can be selected, and is played again.
#[test]
fn what_is_left_out_comes_back() {
    let mut harness = plain();
    let snare = "bar 2, other hand: snare on 4,";
    select(&mut harness, snare);
    press(&mut harness, words::LEAVE_OUT.0);
    assert_eq!(edits(&harness).len(), 1);
    // It stays selected, as what it is now.
    assert!(says(&harness, words::whose(false, true)));
    press(&mut harness, words::PUT_BACK.0);
    assert_eq!(edits(&harness), []);
    called(&harness, snare);
}

#[test]
fn keys_select_stroke_by_stroke() {
    let mut harness = plain();
    focus(&mut harness);
    let selected = |harness: &Harness<'_, Host>| {
        let all = harness.query_all_by_role(Role::GraphicsSymbol);
        let on = all
            .filter(|node| node.accesskit_node().toggled() == Some(egui::accesskit::Toggled::True));
        on.count()
    };
    // With none selected arrows page.
    key(&mut harness, Key::ArrowRight);
    assert!(says(&harness, "bars 5-8"));
    key(&mut harness, Key::ArrowLeft);
    assert!(says(&harness, "bars 1-4"));
    key(&mut harness, Key::Period);
    assert_eq!(selected(&harness), 1);
    keys(&mut harness, Modifiers::SHIFT, Key::Period);
    keys(&mut harness, Modifiers::SHIFT, Key::Period);
    assert_eq!(selected(&harness), 3);
    key(&mut harness, Key::Comma);
    assert_eq!(selected(&harness), 1);
    let all = strokes(&harness, "bar").len();
    keys(&mut harness, Modifiers::COMMAND, Key::A);
    assert_eq!(selected(&harness), all);
    key(&mut harness, Key::ArrowDown);
    assert_eq!(edits(&harness).len(), all);
    press(&mut harness, text::UNDO);
    assert_eq!(edits(&harness), [], "one change");
    focus(&mut harness);
    key(&mut harness, Key::Escape);
    assert_eq!(selected(&harness), 0);
    assert!(harness.get_by_label(text::LANES).is_focused());
}

/// Shift and the pointer's button, as assistive programs press it, add to the selection.
#[test]
fn shift_adds_to_the_selection() {
    let mut harness = plain();
    let snares = [
        "bar 1, other hand: snare on 2,",
        "bar 1, other hand: snare on 4,",
    ];
    for snare in snares {
        let stroke = strokes(&harness, snare)[0].rect().center_bottom() - vec2(0.0, 6.0);
        harness.hover_at(stroke);
        harness.event_modifiers(
            egui::Event::PointerButton {
                pos: stroke,
                button: egui::PointerButton::Primary,
                pressed: true,
                modifiers: Modifiers::SHIFT,
            },
            Modifiers::SHIFT,
        );
        harness.event_modifiers(
            egui::Event::PointerButton {
                pos: stroke,
                button: egui::PointerButton::Primary,
                pressed: false,
                modifiers: Modifiers::SHIFT,
            },
            Modifiers::SHIFT,
        );
        harness.run();
    }
    assert!(says(&harness, "2 strokes: snare; the drummer's"));
}

#[test]
fn a_stroke_is_added_with_keys() {
    let mut harness = plain();
    focus(&mut harness);
    key(&mut harness, Key::Enter);
    for press in [
        Key::ArrowRight,
        Key::ArrowRight,
        Key::ArrowRight,
        Key::ArrowDown,
    ] {
        key(&mut harness, press);
    }
    key(&mut harness, Key::Enter);
    let added = edits(&harness);
    let [EditRow(edit)] = added[..] else {
        panic!("{added:?}");
    };
    assert_eq!((edit.at, edit.target), (720, SNARE), "the lane's own piece");
    assert_eq!(edit.action, EditAction::Add);
    called(&harness, "snare on 1 a,");
    // Another piece, by the list.
    key(&mut harness, Key::Escape);
    key(&mut harness, Key::Escape);
    pick(&mut harness, words::ADDS.0, Piece::China.name());
    focus(&mut harness);
    key(&mut harness, Key::Insert);
    key(&mut harness, Key::Insert);
    called(&harness, "china on 1,");
    // A stroke that was added and is left out is gone.
    key(&mut harness, Key::Delete);
    assert_eq!(edits(&harness), added);
}

#[test]
fn values_are_chosen_and_typed() {
    let mut harness = plain();
    select(&mut harness, "bar 1, other hand: snare on 2,");
    type_into(&mut harness, words::VELOCITY.0, "77");
    called(&harness, "snare on 2, velocity 77, by hand");
    type_into(&mut harness, words::PLACE.0, "3 and");
    called(&harness, "snare on 3 and, velocity 77");
    pick(&mut harness, words::PIECE.0, Piece::SideStick.name());
    called(&harness, "side stick on 3 and, velocity 77");
    let [EditRow(edit)] = edits(&harness)[..] else {
        panic!("one edit");
    };
    assert_eq!((edit.at, edit.target, edit.to), (960, SNARE, Some(2400)));
    assert_eq!(edit.exact.velocity, Some(77));
    // Each was one change, however many letters were typed.
    for _ in 0..3 {
        press(&mut harness, text::UNDO);
    }
    assert_eq!(edits(&harness), []);
    for _ in 0..3 {
        press(&mut harness, text::REDO);
    }
    // Another take changes nothing of it.
    harness.state_mut().values.set(SettingId::Take, 7.0);
    harness.run();
    called(&harness, "side stick on 3 and, velocity 77");
}

#[test]
fn edits_are_cleared_of_a_selection_a_bar_and_all() {
    let mut harness = plain();
    assert!(harness.query_by_label(words::CLEAR.0).is_none());
    for snare in [
        "bar 1, other hand: snare on 2,",
        "bar 2, other hand: snare on 2,",
    ] {
        for place in ["2", "4"] {
            let snare = snare.replace("on 2", &format!("on {place}"));
            select(&mut harness, &snare);
            key(&mut harness, Key::ArrowDown);
        }
    }
    assert_eq!(edits(&harness).len(), 4);
    let clear = |harness: &mut Harness<'_, Host>, of: &str| {
        press(harness, words::CLEAR.0);
        press(harness, of);
    };
    clear(&mut harness, words::CLEAR_SELECTED);
    assert_eq!(edits(&harness).len(), 3);
    clear(&mut harness, &words::clear_bar(1));
    let left = edits(&harness);
    assert_eq!(left.len(), 1);
    assert_eq!(left[0].0.at, 3840 + 960);
    clear(&mut harness, &words::clear_section(None, 1));
    assert_eq!(edits(&harness), []);
    press(&mut harness, text::UNDO);
    assert_eq!(edits(&harness), left);
}

/// A third hand is named with what the two do, is played all the same and counted, and one press helps.
#[test]
fn a_third_hand_is_named_with_what_helps() {
    let mut harness = plain();
    for piece in [Piece::CrashRight, Piece::FloorLow, Piece::China] {
        focus(&mut harness);
        key(&mut harness, Key::Escape);
        key(&mut harness, Key::Escape);
        pick(&mut harness, words::ADDS.0, piece.name());
        focus(&mut harness);
        key(&mut harness, Key::Enter);
        for _ in 0..4 {
            key(&mut harness, Key::ArrowRight);
        }
        key(&mut harness, Key::Enter);
    }
    assert_eq!(edits(&harness).len(), 3);
    for piece in [Piece::CrashRight, Piece::FloorLow, Piece::China] {
        called(&harness, &format!("{} on 2,", piece.name()));
    }
    assert!(says(&harness, &words::beyond_count(1)), "the header");
    assert_eq!(strokes(&harness, &words::beyond_two("")).len(), 1);
    let reason = format!("on 2 asks for {}", words::THIRD_HAND);
    focus(&mut harness);
    key(&mut harness, Key::Escape);
    key(&mut harness, Key::Escape);
    press(&mut harness, &words::beyond_short(1));
    assert!(says(&harness, &reason));
    let remedy = words::move_to("2 e");
    press(&mut harness, &remedy);
    assert!(!says(&harness, &words::beyond_count(1)));
    assert!(!says(&harness, &reason));
    assert_eq!(strokes(&harness, &words::beyond_two("")).len(), 0);
    assert_eq!(edits(&harness).len(), 3);
    press(&mut harness, text::UNDO);
    assert!(says(&harness, &words::beyond_count(1)));
}

/// The pointer: up and down, sideways, a frame around strokes, and a stroke where there was none; each one change.
#[test]
fn strokes_are_dragged() {
    let mut harness = plain();
    let drag = |harness: &mut Harness<'_, Host>, from: egui::Pos2, ways: &[Vec2]| {
        harness.hover_at(from);
        harness.run();
        harness.drag_at(from);
        harness.run();
        for way in ways {
            harness.hover_at(from + *way);
            harness.run();
        }
        let to = from + ways.last().copied().unwrap_or_default();
        harness.drop_at(to);
        harness.run();
    };
    let snare = "bar 1, other hand: snare on 2,";
    let before = called(&harness, snare);
    let stroke = strokes(&harness, snare)[0].rect();
    let at = stroke.center_bottom() - vec2(0.0, 6.0);
    drag(
        &mut harness,
        at,
        &[vec2(0.0, 8.0), vec2(0.0, 14.0), vec2(1.0, 20.0)],
    );
    let softer = called(&harness, snare);
    assert!(velocity(&softer) < velocity(&before) - 10, "{softer}");
    press(&mut harness, text::UNDO);
    assert_eq!(called(&harness, snare), before, "one change");
    // As far as from 2 to 2 and.
    let four = strokes(&harness, "bar 1, other hand: snare on 4,")[0].rect();
    let eighth = (four.center().x - stroke.center().x) / 4.0;
    let ways = [0.3, 0.6, 1.0].map(|part| vec2(eighth * part, 1.0));
    drag(&mut harness, at, &ways);
    called(&harness, "bar 1, other hand: snare on 2 and,");
    press(&mut harness, text::UNDO);
    assert_eq!(called(&harness, snare), before);
    // There and back again is no change.
    drag(&mut harness, at, &[ways[1], ways[2], vec2(0.0, 1.0)]);
    assert_eq!(edits(&harness), []);
    // A frame around both snares of the bar.
    let corner = stroke.left_top() - vec2(12.0, 8.0);
    let across = four.right_bottom() - corner + vec2(8.0, -10.0);
    drag(&mut harness, corner, &[across * 0.5, across]);
    assert!(says(&harness, "2 strokes: snare"));
    // A stroke between them.
    let at = egui::pos2(stroke.center().x + eighth, stroke.center().y);
    for _ in 0..2 {
        harness.drag_at(at);
        harness.drop_at(at);
    }
    harness.run();
    called(&harness, "snare on 2 and,");
    assert_eq!(edits(&harness).len(), 1);
}
