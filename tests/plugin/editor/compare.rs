//! Two states side by side, and what a change of a control does to the lanes.

use super::*;
use fourlimb::editor::compare::Compare;

fn press(harness: &mut Harness<'_, Host>, label: &str) {
    harness.get_by_label(label).click();
    harness.run();
}

/// There and back: what is remembered, what was changed, and nothing that is not of the music.
#[test]
fn two_states_are_exchanged_in_one_click() {
    let mut harness = editor();
    press(&mut harness, text::compare::REMEMBER.0);
    let first = harness.state().values.settings;
    for (setting, value) in [
        (SettingId::Density, 1.0),
        (SettingId::Style, 8.0),
        (SettingId::Preview, 0.0),
    ] {
        harness.state_mut().values.set(setting, value);
    }
    harness.run();
    let second = harness.state().values.settings;
    press(&mut harness, text::compare::OTHER.0);
    let mut there = harness.state().values.settings;
    assert!(!there.preview, "not of the music");
    there.preview = true;
    assert_eq!(there, first);
    press(&mut harness, text::compare::THIS.0);
    assert_eq!(harness.state().values.settings, second);
    press(&mut harness, text::compare::FORGET.0);
    assert!(harness.query_by_label(text::compare::OTHER.0).is_none());
}

/// The strokes of the other one are marked where the two differ, and only there.
#[test]
fn the_difference_is_marked() {
    let mut harness = editor();
    press(&mut harness, text::compare::REMEMBER.0);
    let others = |harness: &Harness<'_, Host>| {
        let strokes = strokes(harness).into_iter();
        strokes
            .filter(|stroke| stroke.starts_with("in the other one"))
            .count()
    };
    assert_eq!(others(&harness), 0);
    harness.state_mut().values.set(SettingId::Density, 0.0);
    harness.run();
    assert!(others(&harness) > 0);
    press(&mut harness, text::compare::MARK.0);
    assert_eq!(others(&harness), 0);
}

/// Another take keeps the first one within reach.
#[test]
fn another_take_can_be_taken_back() {
    let mut harness = editor();
    press(&mut harness, text::NEXT_TAKE);
    let take = |harness: &Harness<'_, Host>| harness.state().values.settings.bar_settings.take;
    let drawn = take(&harness);
    assert_ne!(drawn, 1);
    press(&mut harness, text::compare::OTHER.0);
    assert_eq!(take(&harness), 1);
    press(&mut harness, text::compare::THIS.0);
    assert_eq!(take(&harness), drawn);
}

#[test]
fn nothing_is_exchanged_where_nothing_is_remembered() {
    let snapshot = Snapshot::new(Values::default(), &Playhead::default());
    let mut compare = Compare::default();
    assert!(compare.swap(&snapshot).is_empty() && compare.other(&snapshot).is_none());
    compare.remember(&snapshot);
    assert!(compare.swap(&snapshot).is_empty(), "both are the same");
}

/// What a change brings and takes is seen for a moment, and against what was there before all of a drag.
#[test]
fn a_change_is_seen_for_a_moment() {
    let mut picture = Picture::default();
    let mut values = Values::default();
    let mut compose = |picture: &mut Picture, density: f32| {
        values.set(SettingId::Density, density);
        let snapshot = Snapshot::new(values, &Playhead::default());
        picture.compose(snapshot.bar(0), &snapshot);
    };
    let new = |picture: &Picture| {
        let hits = picture.played().hits().iter();
        hits.filter(|hit| picture.newness(hit) > 0.0).count()
    };
    compose(&mut picture, 0.0);
    let few = picture.played().hits().len();
    assert!(!picture.age(0.0), "the first is no change");
    compose(&mut picture, 0.6);
    compose(&mut picture, 1.0);
    assert!(picture.age(1.0));
    assert_eq!(new(&picture), picture.played().hits().len() - few);
    assert_eq!(picture.removed().count(), 0);
    assert!(!picture.age(9.0) && new(&picture) == 0, "it fades");
    compose(&mut picture, 0.0);
    assert!(picture.age(10.0) && picture.removed().count() > 0);
    assert_eq!(new(&picture), 0);
}

/// One to sixteen bars are on show.
#[test]
fn the_lanes_show_as_many_bars_as_wanted() {
    for count in [1, 2, 4, 8, 16] {
        let mut harness = editor();
        press(&mut harness, &text::shows(Some(count)));
        assert_eq!(harness.state().panel.lanes().pictures().len(), count);
        let shown = harness.state().panel.lanes().shown();
        assert_eq!(shown, 0..count);
        press(&mut harness, text::NEXT.0);
        assert_eq!(harness.state().panel.lanes().shown(), count..2 * count);
        press(&mut harness, text::PREVIOUS.0);
        assert_eq!(harness.state().panel.lanes().shown(), 0..count);
    }
}

/// Plus and minus choose how many; with Ctrl they are the window's zoom, also where a quick hand has let Ctrl go before the frame ends.
#[test]
fn keys_that_choose_how_many_bars_are_pressed_alone() {
    let mut harness = editor();
    press(&mut harness, &text::shows(Some(4)));
    harness.get_by_label(text::LANES).focus();
    harness.run();
    for (modifiers, key, count) in [
        (egui::Modifiers::COMMAND, egui::Key::Minus, 4),
        (egui::Modifiers::COMMAND, egui::Key::Equals, 4),
        (egui::Modifiers::NONE, egui::Key::Minus, 8),
        (egui::Modifiers::NONE, egui::Key::Equals, 4),
    ] {
        // The frame's own modifiers stay none.
        harness.event(egui::Event::Key {
            key,
            physical_key: None,
            pressed: true,
            repeat: false,
            modifiers,
        });
        harness.run();
        let shown = harness.state().panel.lanes().shown();
        assert_eq!(shown.len(), count, "{modifiers:?} {key:?}");
    }
}

/// While the song is played, the bars on show turn like pages.
#[test]
fn the_lanes_turn_pages_under_the_playhead() {
    let mut harness = editor();
    press(&mut harness, &text::shows(Some(8)));
    let mut pages = BTreeSet::new();
    for number in 0..24 {
        let bar = Bar {
            start: number * 3840,
            meter: Meter::FOUR_FOUR,
        };
        harness.state_mut().playhead.at = Some((bar, bar.start + 5));
        harness.run_steps(3);
        let shown = harness.state().panel.lanes().shown();
        assert!(
            shown.contains(&usize::try_from(number).unwrap()),
            "{number} {shown:?}"
        );
        pages.insert(shown.start);
    }
    assert_eq!(pages, [0, 8, 16].into());
}
