//! The controls of the preview.

use super::{editor, slider};
use egui::accesskit::Role;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use fourlimb::settings::SettingId;

#[test]
fn the_preview_is_off_in_one_click() {
    let mut harness = editor();
    assert!(
        harness.state().values.settings.preview,
        "a fresh install is heard"
    );
    for on in [false, true] {
        let name = SettingId::Preview.name();
        harness.get_by_role_and_label(Role::CheckBox, name).click();
        harness.run();
        assert_eq!(harness.state().values.settings.preview, on);
    }
    let level = slider(&harness, SettingId::PreviewLevel);
    assert_eq!(level.accesskit_node().numeric_value(), Some(-12.0));
}

/// The room's slider is told from the level's by a word of its own, between both.
#[test]
fn the_room_has_its_own_word() {
    let harness = editor();
    let [level, room] = [SettingId::PreviewLevel, SettingId::PreviewRoom]
        .map(|control| slider(&harness, control).rect());
    let word = harness.get_by_role_and_label(Role::Label, "Room").rect();
    assert!(
        level.right() < word.left() && word.right() < room.left(),
        "{level} {word} {room}"
    );
    let swing = slider(&harness, SettingId::Swing).rect();
    assert!(swing.right() < level.left(), "{swing} {level}");
}
