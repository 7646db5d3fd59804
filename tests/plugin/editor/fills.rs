//! Fills in the editor: the one that is called, and the button that calls it.

use super::*;
use fourlimb::settings::SettingId;

#[test]
fn a_called_fill_is_shown_where_it_is_played() {
    let bar = Bar {
        start: 3840,
        meter: Meter::FOUR_FOUR,
    };
    let playhead = Playhead {
        at: Some((bar, bar.start + 2000)),
        bpm: 120.0,
        meter: Some((4, 4)),
        call: Call {
            fill: Some((1920, 3840)),
            lands: false,
        },
    };
    let mut values = Values::default();
    values.set(SettingId::FillChance, 0.0);
    let harness = editor_at(values, playhead);
    assert_eq!(harness.query_all_by_label_contains("fill: ").count(), 1);
}

/// It is on for as long as the pointer holds it, and no longer; a key touches it.
#[test]
fn fill_now_is_held() {
    let mut harness = editor();
    let centre = harness.get_by_label("Fill now").rect().center();
    let pointer = |harness: &mut Harness<Host>, pressed| {
        harness.event(egui::Event::PointerMoved(centre));
        harness.event(egui::Event::PointerButton {
            pos: centre,
            button: egui::PointerButton::Primary,
            pressed,
            modifiers: egui::Modifiers::NONE,
        });
        harness.run();
    };
    pointer(&mut harness, true);
    assert!(harness.state().values.settings.fill_now);
    pointer(&mut harness, false);
    assert!(!harness.state().values.settings.fill_now);
    let control = SettingId::FillNow;
    let touched = [
        Step::Begin(control),
        Step::Set(control, 1.0),
        Step::Set(control, 0.0),
        Step::End(control),
    ];
    let values = |steps: &[Step]| -> Vec<Step> {
        let set = |step: &&Step| matches!(step, Step::Set(..));
        steps.iter().filter(set).copied().collect()
    };
    assert_eq!(values(&harness.state().heard), values(&touched));
    harness.state_mut().heard.clear();
    harness.get_by_label("Fill now").focus();
    harness.run();
    harness.key_press(egui::Key::Space);
    harness.run();
    assert_eq!(values(&harness.state().heard), values(&touched));
}

/// What the host holds is not let go of here.
#[test]
fn fill_now_leaves_automation_alone() {
    let mut values = Values::default();
    values.set(SettingId::FillNow, 1.0);
    let mut harness = editor_at(values, Playhead::default());
    harness.run();
    assert_eq!(harness.state().heard, []);
}

#[test]
fn a_fill_is_named_where_one_is() {
    let mut values = Values::default();
    values.set(SettingId::FillChance, 1.0);
    let harness = editor_at(values, Playhead::default());
    assert_eq!(harness.query_all_by_label_contains("fill: ").count(), 1);
}
