//! The editor by its accessible names: no window, no renderer, no host. The test stands in for
//! the host: what the views ask for is what the next frame shows.

mod chart;
mod fills;
mod lanes;
mod looks;
mod pictures;
mod played;
mod sound;
mod strip;

use egui::accesskit::Role;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use egui_kittest::{Harness, Node};
use fourlimb::editor::controls::{Control, Intent, Values};
use fourlimb::editor::gestures::{Gestures, Step};
use fourlimb::editor::panel::Panel;
use fourlimb::editor::picture::Picture;
use fourlimb::editor::snapshot::Snapshot;
use fourlimb::editor::{text, theme, words};
use fourlimb::groove::vocabulary::{self, VOCABULARY};
use fourlimb::groove::{Call, Hit, Limb, Part, Phrase, compose};
use fourlimb::kit::Piece;
use fourlimb::plugin::bridge::Playhead;
use fourlimb::plugin::params::FourlimbParams;
use fourlimb::time::{Bar, Meter};
use nice_plug::prelude::Param;

#[derive(Default)]
struct Host {
    panel: Panel,
    values: Values,
    playhead: Playhead,
    gestures: Gestures,
    heard: Vec<Step>,
}

fn editor_at(values: Values, playhead: Playhead) -> Harness<'static, Host> {
    let host = Host {
        values,
        playhead,
        ..Host::default()
    };
    let mut harness = Harness::builder()
        .with_size(theme::WINDOW)
        .with_step_dt(1.0 / 60.0)
        .with_max_steps(60)
        .with_context_setup(theme::apply)
        .build_ui_state(
            |ui, host: &mut Host| {
                let snapshot = Snapshot::new(host.values, &host.playhead);
                let mut intents = Vec::new();
                host.panel.show(ui, &snapshot, &mut intents);
                let held = ui.input(|input| input.pointer.any_down());
                let (values, heard) = (&mut host.values, &mut host.heard);
                host.gestures.follow(&intents, held, |step| {
                    if let Step::Set(control, value) = step {
                        values.set(control, value);
                    }
                    heard.push(step);
                });
            },
            host,
        );
    harness.run();
    harness
}

fn editor() -> Harness<'static, Host> {
    editor_at(Values::default(), Playhead::default())
}

fn slider<'t>(harness: &'t Harness<'_, Host>, control: Control) -> Node<'t> {
    harness.get_by_role_and_label(Role::Slider, text::name(control))
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
    for i in 0..values.settings.plan.phrase.bars() {
        let bar = Bar {
            start: first.start + i * first.meter.bar_len(),
            ..first
        };
        compose(bar, bpm, &values.settings.plan, &mut part);
        let number = bar.index() + 1;
        let in_words = |hit: Hit| words::in_bar(number, &words::stroke_of_limb(bar, &hit));
        strokes.extend(part.hits(&values.settings.moment).map(in_words));
    }
    strokes.sort();
    strokes
}

#[test]
fn a_style_is_chosen_in_one_gesture() {
    let mut harness = editor();
    entry(&harness, "half-time").unwrap().click();
    harness.run();
    let style = Control::Style;
    assert_eq!(
        harness.state().heard,
        [Step::Begin(style), Step::Set(style, 1.0), Step::End(style)]
    );
    assert_eq!(harness.state().values.settings.plan.style, 1);
}

#[test]
fn the_list_of_styles_shows_real_beats_alone() {
    let harness = editor();
    for beat in &VOCABULARY {
        assert!(entry(&harness, beat.name).is_some(), "{}", beat.name);
    }
    let entries = harness.query_all_by_role(Role::ListBoxOption).count();
    assert_eq!(entries, VOCABULARY.len());
}

#[test]
fn searching_leaves_the_styles_that_have_the_words() {
    let mut harness = editor();
    let search = |harness: &Harness<'_, Host>, act: &dyn Fn(egui_kittest::Node<'_>)| {
        let name = text::name(Control::Style);
        act(harness.get_by_role_and_label(Role::TextInput, name));
    };
    search(&harness, &|field| field.click());
    harness.run();
    search(&harness, &|field| field.type_text("breakdown"));
    harness.run();
    assert!(entry(&harness, "slow breakdown").is_some());
    assert!(entry(&harness, "skank").is_none());
}

#[test]
fn a_free_slot_says_what_it_plays() {
    let mut values = Values::default();
    values.set(Control::Style, 40.0);
    let harness = editor_at(values, Playhead::default());
    let about = text::free_slot(40, vocabulary::beat(40).name);
    assert!(harness.query_by_label(&about).is_some());
}

#[test]
fn a_drag_is_one_gesture_that_ends_where_the_pointer_does() {
    let mut harness = editor();
    let rect = slider(&harness, Control::Density).rect();
    let along = |part: f32| rect.left_center() + egui::vec2(rect.width() * part, 0.0);
    harness.hover_at(along(0.2));
    harness.drag_at(along(0.2));
    for part in [0.4, 0.6, 0.75] {
        harness.hover_at(along(part));
    }
    harness.run();
    let heard = &harness.state().heard;
    assert_eq!(heard.first(), Some(&Step::Begin(Control::Density)));
    assert!(!heard.contains(&Step::End(Control::Density)));
    harness.drop_at(along(0.75));
    harness.run();
    let heard = &harness.state().heard;
    let count = |step| heard.iter().filter(|&&s| s == step).count();
    assert_eq!(count(Step::Begin(Control::Density)), 1);
    assert_eq!(count(Step::End(Control::Density)), 1);
    assert_eq!(heard.last(), Some(&Step::End(Control::Density)));
    let density = harness.state().values.settings.moment.density;
    assert!((density - 0.75).abs() < 0.01, "{density}");
}

#[test]
fn a_click_that_fits_between_two_frames_sets_a_level() {
    let mut harness = editor();
    let at = slider(&harness, Control::Accent).rect().center();
    let button = |pressed| egui::Event::PointerButton {
        pos: at,
        button: egui::PointerButton::Primary,
        pressed,
        modifiers: egui::Modifiers::NONE,
    };
    harness.state_mut().values.set(Control::Accent, 0.1);
    let events = [egui::Event::PointerMoved(at), button(true), button(false)];
    harness.input_mut().events.extend(events);
    harness.step();
    harness.run();
    let accent = harness.state().values.get(Control::Accent);
    assert!((accent - 0.5).abs() < 0.01, "{accent}");
}

#[test]
fn a_double_click_on_a_level_goes_back_to_its_default() {
    let mut harness = editor();
    harness.state_mut().values.set(Control::Intensity, 0.9);
    harness.run();
    slider(&harness, Control::Intensity).click();
    slider(&harness, Control::Intensity).click();
    harness.run();
    let values = harness.state().values;
    let default = Control::Intensity.default_value();
    assert_eq!(values.get(Control::Intensity), default);
}

#[test]
fn a_double_click_on_any_name_goes_back_to_the_default() {
    // Switches are buttons, and the preview's level has its name in the tooltip alone.
    let nameless = [
        Control::Bypass,
        Control::FillNow,
        Control::Preview,
        Control::PreviewLevel,
        Control::FollowChart,
    ];
    let changes = Control::ALL.into_iter();
    for control in changes.filter(|control| !nameless.contains(control)) {
        let mut harness = editor();
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
                .find(|node| node.value().as_deref() == Some(text::name(control)));
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
        harness.get_by_label(text::name(Control::Bypass)).click();
        harness.run();
        assert_eq!(harness.state().values.bypass, on);
    }
}

#[test]
fn a_row_chooses() {
    let mut harness = editor();
    harness.get_by_label("Phrase: 8 bars").click();
    harness.run();
    assert_eq!(harness.state().values.settings.plan.phrase, Phrase::Eight);
}

#[test]
fn the_hand_cymbal_is_chosen_from_its_list() {
    let mut harness = editor();
    let name = text::name(Control::Hand);
    harness.get_by_role_and_label(Role::ComboBox, name).click();
    harness.run();
    harness.get_by_label("china").click();
    harness.run();
    assert_eq!(harness.state().values.text(Control::Hand), "china");
}

#[test]
fn another_take_is_the_next_and_the_last_is_followed_by_the_first() {
    let mut harness = editor();
    harness.state_mut().values.set(Control::Take, 998.0);
    harness.run();
    for take in [999, 1] {
        harness.get_by_label(text::NEXT_TAKE).click();
        harness.run();
        assert_eq!(harness.state().values.settings.plan.take, take);
    }
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
        bypass: params.bypass.value(),
        preview: params.preview.value(),
        preview_level: params.preview_level.value(),
        listen: params.listen(),
        sensitivity: params.sensitivity.value(),
        follows: false,
    };
    let loud = &params.preview_level;
    let host: [(&str, String); 24] = [
        (params.style.name(), params.style.to_string()),
        (params.intensity.name(), params.intensity.to_string()),
        (params.hand.name(), params.hand.to_string()),
        (params.density.name(), params.density.to_string()),
        (params.accent.name(), params.accent.to_string()),
        (params.fill_chance.name(), params.fill_chance.to_string()),
        (params.hand_rate.name(), params.hand_rate.to_string()),
        (params.phrase.name(), params.phrase.to_string()),
        (params.take.name(), params.take.to_string()),
        (params.switch_at.name(), params.switch_at.to_string()),
        (params.bypass.name(), params.bypass.to_string()),
        (params.feel.name(), params.feel.to_string()),
        (params.swing.name(), params.swing.to_string()),
        (params.player.name(), params.player.to_string()),
        (params.fill_now.name(), params.fill_now.to_string()),
        (params.fill_shape.name(), params.fill_shape.to_string()),
        (params.play.name(), params.play.to_string()),
        (params.preview.name(), params.preview.to_string()),
        (loud.name(), loud.to_string()),
        (params.kick_source.name(), params.kick_source.to_string()),
        (params.listen.name(), params.listen.to_string()),
        ("Sensitivity", params.sensitivity.to_string()),
        (params.riff_grid.name(), params.riff_grid.to_string()),
        (params.follow_chart.name(), params.follow_chart.to_string()),
    ];
    for (control, (name, shown)) in Control::ALL.into_iter().zip(host) {
        assert_eq!(text::name(control), name);
        assert_eq!(values.text(control), shown, "{name}");
    }
    assert_eq!(values, Values::default(), "the defaults are the same");
}

#[test]
fn every_value_survives_being_set_and_read() {
    for control in Control::ALL {
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
    let set = |control| [Intent::Set(control, 0.5)];
    gestures.follow(&set(Control::Accent), true, |step| heard.push(step));
    gestures.follow(&set(Control::Density), true, |step| heard.push(step));
    gestures.follow(&[], false, |step| heard.push(step));
    let pairs = [Control::Accent, Control::Density];
    let wanted = pairs.map(|c| [Step::Begin(c), Step::Set(c, 0.5), Step::End(c)]);
    assert_eq!(heard, wanted.concat());
}

#[test]
fn places_are_named_as_they_are_counted() {
    let table = [
        ("4/4", 0, "1"),
        ("4/4", 960 + 240, "2 e"),
        ("4/4", 960 + 480, "2 and"),
        ("4/4", 720, "1 a"),
        ("4/4", 320, "1 trip"),
        ("4/4", 2880 + 640, "4 let"),
        ("4/4", 120, "1.12"),
        ("6/8", 1440 + 480, "2 trip"),
        ("7/8", 4 * 480, "3"),
        ("7/8", 5 * 480, "3 trip"),
    ];
    for (meter, at, wanted) in table {
        let meter = meter.parse().unwrap();
        let start = 7 * 3840;
        assert_eq!(words::place(Bar { start, meter }, start + at), wanted);
    }
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
        grace: false,
        rings: false,
    };
    let hits = [
        hit(0, Piece::CrashRight),
        hit(960, Piece::Ride),
        hit(1440, Piece::Ride),
    ];
    assert_eq!(
        words::lane(bar, Limb::LeadHand, &hits),
        "lead hand: crash right on 1; ride on 2, 2 and"
    );
    assert_eq!(words::lane(bar, Limb::LeadFoot, &hits), "lead foot: rests");
}
