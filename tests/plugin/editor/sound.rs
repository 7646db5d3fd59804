//! The controls of the preview.

use super::{editor_for, slider};
use egui::accesskit::Role;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use fourlimb::settings::SettingId;

#[test]
fn the_preview_is_off_in_one_click() {
    let mut harness = editor_for(SettingId::Preview);
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
