//! The stand-alone's strip by its accessible names.

use egui::accesskit::Role;
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use fourlimb::bridge::standalone_transport::{DeviceChoice, Devices, StandaloneTransport, Wishes};
use fourlimb::editor::transport::{self, Ask};
use fourlimb::editor::{text, theme};

struct Strip {
    transport: StandaloneTransport,
    asked: Vec<Ask>,
}

fn strip(devices: Devices) -> Harness<'static, Strip> {
    let state = Strip {
        transport: StandaloneTransport::new(Wishes::default(), devices, Vec::new()),
        asked: Vec::new(),
    };
    let mut harness = Harness::builder()
        .with_size(egui::vec2(theme::WINDOW.x, 120.0))
        .with_context_setup(theme::apply)
        .build_ui_state(
            |ui, state: &mut Strip| {
                let mut asks = Vec::new();
                transport::show(
                    ui,
                    (state.transport.wishes(), None),
                    state.transport.devices(),
                    &mut asks,
                );
                for ask in asks {
                    match &ask {
                        Ask::Set(wishes) => state.transport.set(*wishes),
                        Ask::Rewind => state.transport.rewind(),
                        Ask::Choose(_) => {}
                    }
                    state.asked.push(ask);
                }
            },
            state,
        );
    harness.run();
    harness
}

#[test]
fn it_starts_and_stops_by_button_and_by_the_space_bar() {
    let mut harness = strip(Devices::default());
    assert!(
        !harness.state().transport.wishes().playing,
        "it stands to begin with"
    );
    harness.get_by_label(text::START).click();
    harness.run();
    assert!(harness.state().transport.wishes().playing);
    harness.get_by_label(text::STOP).click();
    harness.run();
    assert!(!harness.state().transport.wishes().playing);
    for playing in [true, false] {
        harness.key_press(egui::Key::Space);
        harness.run();
        assert_eq!(
            harness.state().transport.wishes().playing,
            playing,
            "once a press"
        );
    }
    harness.get_by_label(text::TO_START).click();
    harness.run();
    assert_eq!(harness.state().transport.rewinds(), 1);
}

#[test]
fn everything_on_it_has_a_name() {
    let mut harness = strip(Devices::default());
    for name in [
        text::TEMPO,
        text::COUNTS,
        text::UNIT,
        text::LOOP_FROM,
        text::LOOP_TO,
    ] {
        assert!(harness.query_by_label(name).is_some(), "{name}");
    }
    harness
        .get_by_role_and_label(Role::CheckBox, text::LOOP)
        .click();
    harness.run();
    assert!(harness.state().transport.wishes().looping);
    assert!(
        harness.query_by_label(text::FOLLOW_JACK).is_none(),
        "there is no JACK"
    );
}

#[test]
fn following_takes_the_rest_out_of_hand() {
    let mut harness = strip(Devices {
        can_follow: true,
        way: "JACK".to_owned(),
        ..Devices::default()
    });
    assert!(harness.query_by_label(&text::through("JACK")).is_some());
    harness
        .get_by_role_and_label(Role::CheckBox, text::FOLLOW_JACK)
        .click();
    harness.run();
    assert!(harness.state().transport.wishes().follow);
    harness.key_press(egui::Key::Space);
    harness.run();
    assert!(
        !harness.state().transport.wishes().playing,
        "JACK has the say"
    );
    assert!(
        harness
            .get_by_label(text::START)
            .accesskit_node()
            .is_disabled()
    );
}

#[test]
fn it_says_why_it_is_silent_and_offers_other_devices() {
    let mut harness = strip(Devices {
        trouble: Some("No sound: a test.".to_owned()),
        sounds: vec!["card".to_owned(), "headphones".to_owned()],
        ..Devices::default()
    });
    assert!(harness.query_by_label("No sound: a test.").is_some());
    let named = |name: &str| format!("{name}: {}", text::DEFAULT_SOUND);
    let list = harness.get_all_by_role(Role::ComboBox).find(|node| {
        node.value()
            .is_some_and(|shown| shown == named(text::SOUND))
    });
    list.expect("the list of devices").click();
    harness.run();
    harness.get_by_label("headphones").click();
    harness.run();
    let chosen = DeviceChoice {
        sound: Some("headphones".to_owned()),
        ..DeviceChoice::default()
    };
    assert_eq!(harness.state().asked, [Ask::Choose(chosen)]);
}
