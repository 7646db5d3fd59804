//! The editor by its accessible names: no window, no renderer, no host. The test stands in for
//! the host: what the views ask for is what the next frame shows.

mod chart;
mod compare;
mod dragged;
mod edit;
mod edited;
mod files;
mod fills;
mod from_system;
mod hits;
mod lanes;
mod look;
mod own_beats;
mod pictures;
mod played;
mod sampler;
mod sound;
mod strip;
mod view_settings;

use egui::accesskit::Role;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use egui_kittest::{Harness, Node};
use fourlimb::bridge::Playhead;
use fourlimb::editor::action::Action;
use fourlimb::editor::controls::Values;
use fourlimb::editor::drawers::Drawer;
use fourlimb::editor::gestures::{Gestures, Step};
use fourlimb::editor::panel::Panel;
use fourlimb::editor::picture::Picture;
use fourlimb::editor::snapshot::Snapshot;
use fourlimb::editor::{description, text, theme};
use fourlimb::groove::vocabulary::{self, VOCABULARY};
use fourlimb::groove::{Call, Hit, Limb, Part, compose};
use fourlimb::kit::{NoteMap, Piece};
use fourlimb::params::{AnyParam, FourlimbParams};
use fourlimb::settings::Phrase;
use fourlimb::settings::{SettingId, Style};
use fourlimb::time::{Bar, Meter};
use nice_plug::prelude::Param;
use std::collections::BTreeSet;

#[derive(Default)]
struct Host {
    panel: Panel,
    values: Values,
    playhead: Playhead,
    gestures: Gestures,
    heard: Vec<Step>,
    /// Everything else that was asked for.
    asked: Vec<Action>,
}

#[expect(clippy::large_types_passed_by_value, reason = "a test reads better")]
fn editor_at(values: Values, playhead: Playhead) -> Harness<'static, Host> {
    let host = Host {
        values,
        playhead,
        ..Host::default()
    };
    let mut harness = Harness::builder()
        .with_size(theme::WINDOW)
        .with_step_dt(1.0 / 60.0)
        .with_max_steps(160)
        .with_context_setup(theme::apply)
        .build_ui_state(
            |ui, host: &mut Host| {
                let snapshot = Snapshot::new(host.values, &host.playhead);
                let mut actions = Vec::new();
                host.panel.show(ui, &snapshot, &mut actions);
                let held = ui.input(|input| input.pointer.any_down());
                let (values, heard) = (&mut host.values, &mut host.heard);
                host.gestures.follow(&actions, held, |step| {
                    if let Step::Set(control, value) = step {
                        values.set(control, value);
                    }
                    heard.push(step);
                });
                actions.retain(|action| !matches!(action, Action::Set(..)));
                host.asked.extend(actions);
            },
            host,
        );
    harness.run();
    harness
}

fn editor() -> Harness<'static, Host> {
    editor_at(Values::default(), Playhead::default())
}

fn slider<'t>(harness: &'t Harness<'_, Host>, control: SettingId) -> Node<'t> {
    harness.get_by_role_and_label(Role::Slider, control.name())
}

/// Opens the list of beats.
fn open_beats(harness: &mut Harness<'_, Host>) {
    let beat = harness.get_all_by_role(Role::ComboBox).find(|node| {
        let label = node.accesskit_node().label();
        label.is_some_and(|label| label.starts_with(&text::beat("")))
    });
    beat.expect("the button of the beat").click();
    harness.run();
}

/// The drawer that a control lies in.
fn drawer_of(control: SettingId) -> Option<Drawer> {
    match control {
        SettingId::KickSource
        | SettingId::Listen
        | SettingId::Sensitivity
        | SettingId::RiffGrid
        | SettingId::Catch => Some(Drawer::Guitar),
        SettingId::Phrase | SettingId::Crashes | SettingId::Play | SettingId::SwitchAt => {
            Some(Drawer::Phrasing)
        }
        SettingId::Player | SettingId::Feel | SettingId::Swing => Some(Drawer::Limbs),
        SettingId::Preview | SettingId::PreviewLevel | SettingId::PreviewRoom => {
            Some(Drawer::Sound)
        }
        _ => None,
    }
}

/// The editor with the drawer open that a control lies in.
fn editor_for(control: SettingId) -> Harness<'static, Host> {
    let mut harness = editor();
    harness.state_mut().panel.drawer = drawer_of(control);
    harness.run();
    harness
}

fn entry<'t>(harness: &'t Harness<'_, Host>, style: &'t str) -> Option<Node<'t>> {
    harness.query_by_role_and_label(Role::ListBoxOption, style)
}

fn strokes(harness: &Harness<'_, Host>) -> Vec<String> {
    harness
        .query_all_by_role(Role::GraphicsSymbol)
        .map(|node| node.accesskit_node().label().unwrap_or_default())
        .collect()
}

/// The strokes of the phrase that begins with a bar, in words.
fn expected(values: &Values, first: Bar, bpm: f64) -> Vec<String> {
    let mut part = Part::new();
    let mut strokes = Vec::new();
    for i in 0..values.settings.bar_settings.phrase.bars() {
        let bar = Bar {
            start: first.start + i * first.meter.bar_len(),
            ..first
        };
        compose(bar, bpm, &values.settings.bar_settings, &mut part);
        let number = bar.index() + 1;
        let in_words =
            |hit: Hit| description::in_bar(number, &description::stroke_of_limb(bar, &hit));
        strokes.extend(part.hits(&values.settings.stroke_settings).map(in_words));
    }
    strokes.sort();
    strokes
}

#[test]
fn a_beat_is_chosen_in_one_gesture() {
    let mut harness = editor();
    open_beats(&mut harness);
    harness.state_mut().heard.clear();
    entry(&harness, "half-time").unwrap().click();
    harness.run();
    let style = SettingId::Style;
    assert_eq!(
        harness.state().heard,
        [Step::Begin(style), Step::Set(style, 1.0), Step::End(style)]
    );
    assert_eq!(harness.state().values.settings.bar_settings.style, 1);
}

#[test]
fn the_list_of_beats_shows_real_beats_alone() {
    let mut harness = editor();
    assert!(entry(&harness, "half-time").is_none(), "the list is closed");
    open_beats(&mut harness);
    for beat in &VOCABULARY {
        assert!(entry(&harness, beat.name()).is_some(), "{}", beat.name());
    }
    let entries = harness.query_all_by_role(Role::ListBoxOption).count();
    assert_eq!(entries, VOCABULARY.len());
}

#[test]
fn searching_leaves_the_beats_that_have_the_words() {
    let mut harness = editor();
    open_beats(&mut harness);
    // The search has the keys.
    harness.event(egui::Event::Text("breakdown".to_owned()));
    harness.run();
    assert!(entry(&harness, "slow breakdown").is_some());
    assert!(entry(&harness, "skank").is_none());
}

#[test]
fn a_free_slot_says_what_it_plays() {
    let mut values = Values::default();
    values.set(SettingId::Style, 40.0);
    let harness = editor_at(values, Playhead::default());
    let about = text::free_slot(40, vocabulary::beat(40).name());
    assert!(harness.query_by_label(&about).is_some());
}

#[test]
fn a_drag_is_one_gesture_that_ends_where_the_pointer_does() {
    let mut harness = editor();
    let rect = slider(&harness, SettingId::Density).rect();
    let along = |part: f32| rect.left_center() + egui::vec2(rect.width() * part, 0.0);
    harness.hover_at(along(0.2));
    harness.drag_at(along(0.2));
    for part in [0.4, 0.6, 0.75] {
        harness.hover_at(along(part));
    }
    harness.run();
    let heard = &harness.state().heard;
    assert_eq!(heard.first(), Some(&Step::Begin(SettingId::Density)));
    assert!(!heard.contains(&Step::End(SettingId::Density)));
    harness.drop_at(along(0.75));
    harness.run();
    let heard = &harness.state().heard;
    let count = |step| heard.iter().filter(|&&s| s == step).count();
    assert_eq!(count(Step::Begin(SettingId::Density)), 1);
    assert_eq!(count(Step::End(SettingId::Density)), 1);
    assert_eq!(heard.last(), Some(&Step::End(SettingId::Density)));
    let density = harness.state().values.settings.stroke_settings.density;
    assert!((density - 0.75).abs() < 0.01, "{density}");
}

#[test]
fn a_click_that_fits_between_two_frames_sets_a_level() {
    let mut harness = editor();
    let at = slider(&harness, SettingId::Accent).rect().center();
    let button = |pressed| egui::Event::PointerButton {
        pos: at,
        button: egui::PointerButton::Primary,
        pressed,
        modifiers: egui::Modifiers::NONE,
    };
    harness.state_mut().values.set(SettingId::Accent, 0.1);
    let events = [egui::Event::PointerMoved(at), button(true), button(false)];
    harness.input_mut().events.extend(events);
    harness.step();
    harness.run();
    let accent = harness.state().values.get(SettingId::Accent);
    assert!((accent - 0.5).abs() < 0.01, "{accent}");
}

#[test]
fn a_double_click_on_a_level_goes_back_to_its_default() {
    let mut harness = editor();
    harness.state_mut().values.set(SettingId::Intensity, 0.9);
    harness.run();
    slider(&harness, SettingId::Intensity).click();
    slider(&harness, SettingId::Intensity).click();
    harness.run();
    let values = harness.state().values;
    let default = SettingId::Intensity.default_value();
    assert_eq!(values.get(SettingId::Intensity), default);
}

#[test]
fn a_double_click_on_any_name_goes_back_to_the_default() {
    // Switches are buttons.
    let nameless = [
        SettingId::Bypass,
        SettingId::FillNow,
        SettingId::Preview,
        SettingId::FollowChart,
    ];
    let changes = SettingId::shown();
    for control in changes.filter(|control| !nameless.contains(control)) {
        let mut harness = editor_for(control);
        let other = if control.default_value() == 2.0 {
            1.0
        } else {
            2.0
        };
        harness.state_mut().values.set(control, other);
        harness.run();
        let name = |harness: &Harness<'_, Host>| {
            let rect = harness
                .get_all_by_role(Role::Label)
                .find(|node| node.value().as_deref() == Some(control.name()));
            rect.expect("every control has its name").rect().center()
        };
        for _ in 0..2 {
            let at = name(&harness);
            harness.hover_at(at);
            harness.drag_at(at);
            harness.drop_at(at);
        }
        harness.run();
        let (value, default) = (harness.state().values.get(control), control.default_value());
        assert_eq!(value, default, "{control:?}");
    }
}

#[test]
fn bypass_toggles() {
    let mut harness = editor();
    for on in [true, false] {
        harness.get_by_label(SettingId::Bypass.name()).click();
        harness.run();
        assert_eq!(harness.state().values.settings.bypass, on);
    }
}

#[test]
fn a_row_chooses() {
    let mut harness = editor_for(SettingId::Phrase);
    harness.get_by_label("Phrase: 8 bars").click();
    harness.run();
    assert_eq!(
        harness.state().values.settings.bar_settings.phrase,
        Phrase::Eight
    );
}

#[test]
fn the_hand_cymbal_is_chosen_from_its_list() {
    let mut harness = editor();
    let name = SettingId::Hand.name();
    harness.get_by_role_and_label(Role::ComboBox, name).click();
    harness.run();
    harness.get_by_label("china").click();
    harness.run();
    assert_eq!(harness.state().values.text(SettingId::Hand), "china");
}

/// Drawn among all but the one that is there.
#[test]
fn another_take_is_any_other() {
    let mut harness = editor();
    let mut drawn = BTreeSet::new();
    for click in 0..40 {
        let old = [1.0, 999.0, 500.0, 2.0][click % 4];
        harness.state_mut().values.set(SettingId::Take, old);
        harness.run();
        harness.get_by_label(text::NEXT_TAKE).click();
        harness.run();
        let take = harness.state().values.settings.bar_settings.take;
        assert!((1..=999).contains(&take) && take as f32 != old, "{take}");
        drawn.insert(take);
    }
    // Of 40 draws among 998, a dozen that are alike is out of the question.
    assert!(drawn.len() > 28, "{drawn:?}");
}

#[test]
fn the_editor_asks_for_no_frame_while_nothing_changes() {
    let mut harness = editor();
    harness.run_steps(10);
    let delay = harness.output().viewport_output.values().next().unwrap();
    assert_eq!(delay.repaint_delay, std::time::Duration::MAX);
}

#[test]
fn values_read_as_the_host_shows_them() {
    let params = FourlimbParams::default();
    let values = Values {
        settings: params.settings(),
        ..Values::default()
    };
    for setting in SettingId::shown() {
        let (name, shown) = match params.param(setting) {
            AnyParam::Float(param) => (param.name(), param.to_string()),
            AnyParam::Int(param) => (param.name(), param.to_string()),
            AnyParam::Bool(param) => (param.name(), param.to_string()),
        };
        assert_eq!(setting.name(), name);
        assert_eq!(values.text(setting), shown, "{name}");
    }
    assert_eq!(values, Values::default(), "the defaults are the same");
}

#[test]
fn every_value_survives_being_set_and_read() {
    for control in SettingId::shown() {
        for value in [0.0, 1.0] {
            let mut values = Values::default();
            values.set(control, value);
            assert_eq!(values.get(control), value, "{control:?}");
        }
    }
}

#[test]
fn a_gesture_left_open_is_ended_before_the_next() {
    let mut gestures = Gestures::default();
    let mut heard = Vec::new();
    let set = |control| [Action::Set(control, 0.5)];
    gestures.follow(&set(SettingId::Accent), true, |step| heard.push(step));
    gestures.follow(&set(SettingId::Density), true, |step| heard.push(step));
    gestures.follow(&[], false, |step| heard.push(step));
    let pairs = [SettingId::Accent, SettingId::Density];
    let wanted = pairs.map(|c| [Step::Begin(c), Step::Set(c, 0.5), Step::End(c)]);
    assert_eq!(heard, wanted.concat());
}

#[test]
fn a_lane_in_words_names_each_piece_once_in_a_row() {
    let bar = Bar {
        start: 0,
        meter: Meter::FOUR_FOUR,
    };
    let hit = |tick, piece| Hit {
        tick,
        grid: tick,
        limb: Limb::LeadHand,
        piece,
        velocity: 90,
        origin: fourlimb::groove::Origin::Beat,
        target: fourlimb::groove::EditTarget::Piece(piece),
        asked: false,
        grace: false,
        ghost: false,
        ring: fourlimb::kit::Ring::Free,
        opening: 0,
        turn: 0,
        alternate: None,
    };
    let hits = [
        hit(0, Piece::CrashRight),
        hit(960, Piece::Ride),
        hit(1440, Piece::Ride),
    ];
    let mut map = NoteMap::default();
    assert_eq!(
        description::lane(bar, Limb::LeadHand, &hits, &map),
        "lead hand: crash right on 1; ride on 2, 2 and"
    );
    assert_eq!(
        description::lane(bar, Limb::LeadFoot, &hits, &map),
        "lead foot: rests"
    );
    // What the sampler lacks is said.
    map.get_mut(Piece::Ride).notes.clear();
    assert_eq!(
        description::lane(bar, Limb::LeadHand, &hits, &map),
        "lead hand: crash right on 1; ride (plays ride bell) on 2, 2 and"
    );
}
