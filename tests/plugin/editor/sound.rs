//! The controls of the preview.

use super::{editor, slider};
use egui::accesskit::Role;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use fourlimb::editor::controls::Control;
use fourlimb::editor::text;

#[test]
fn the_preview_is_off_in_one_click() {
    let mut harness = editor();
    assert!(harness.state().values.preview, "a fresh install is heard");
    for on in [false, true] {
        let name = text::name(Control::Preview);
        harness.get_by_role_and_label(Role::CheckBox, name).click();
        harness.run();
        assert_eq!(harness.state().values.preview, on);
    }
    let level = slider(&harness, Control::PreviewLevel);
    assert_eq!(level.accesskit_node().numeric_value(), Some(-12.0));
}
