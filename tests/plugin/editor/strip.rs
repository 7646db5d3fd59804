//! The song strip, by hand: each thing that is done with a section, and undone.

use super::chart::{Host, page, press, sections, turn};
use super::{Harness, Role, text};
use egui::{Key, Modifiers, Pos2, vec2};
use egui_kittest::kittest::Queryable as _;
use fourlimb::editor::text::chart as words;
use fourlimb::settings::SettingId;
use fourlimb::song::file::Level;

/// Three sections of 8 bars, the first one chosen.
fn strip() -> Harness<'static, Host> {
    let mut harness = page();
    press(&mut harness, words::NEW);
    harness.key_press(Key::Enter);
    harness.run();
    let [add, ..] = words::LIST.map(|(name, _)| name);
    press(&mut harness, add);
    press(&mut harness, add);
    for name in ["A", "B", "C"] {
        let place = ["A", "B", "C"]
            .iter()
            .position(|other| *other == name)
            .unwrap();
        let keeper = harness.state().params.project.clone();
        let mut file = keeper.song().unwrap().file.clone();
        name.clone_into(&mut file.sections[place].name);
        keeper.change_song(file, None).unwrap();
    }
    harness.run();
    harness
}

fn names(harness: &Harness<'_, Host>) -> String {
    sections(harness)
        .iter()
        .map(|section| section.name.clone())
        .collect()
}

/// The middle of a block, by the name of its section.
fn block(harness: &Harness<'_, Host>, name: &str) -> Pos2 {
    let start = format!("{name}, bars");
    let blocks = harness.query_all_by_role(Role::ListBoxOption);
    let found = blocks
        .into_iter()
        .find(|node| {
            use egui_kittest::kittest::NodeT as _;
            node.accesskit_node()
                .label()
                .is_some_and(|label| label.starts_with(&start))
        })
        .expect("the section has a block");
    found.rect().center()
}

/// Drags from a place to another, in steps, as a hand does.
fn drag(harness: &mut Harness<'_, Host>, from: Pos2, to: Pos2) {
    harness.hover_at(from);
    harness.run();
    harness.drag_at(from);
    harness.step();
    for i in 1..=8 {
        harness.hover_at(from + (to - from) * (i as f32 / 8.0));
        harness.step();
    }
    harness.drop_at(to);
    harness.run();
}

#[test]
fn a_section_is_lengthened_by_its_edge_in_one_change() {
    let mut harness = strip();
    let edge = harness.get_by_label(&text::length_of("A")).rect().center();
    let width = block(&harness, "B").x - block(&harness, "A").x;
    drag(&mut harness, edge, edge + vec2(width / 2.0, 0.0));
    assert_eq!(sections(&harness)[0].bars, 12);
    turn(&mut harness, text::UNDO);
    assert_eq!(sections(&harness)[0].bars, 8);
    let edge = harness.get_by_label(&text::length_of("A")).rect().center();
    drag(&mut harness, edge, edge - vec2(2000.0, 0.0));
    assert_eq!(sections(&harness)[0].bars, 1);
}

#[test]
fn a_section_is_carried_elsewhere() {
    let mut harness = strip();
    let (a, c) = (block(&harness, "A"), block(&harness, "C"));
    drag(&mut harness, a, c + vec2(60.0, 0.0));
    assert_eq!(names(&harness), "BCA");
    turn(&mut harness, text::UNDO);
    assert_eq!(names(&harness), "ABC");
    turn(&mut harness, text::REDO);
    let (a, b) = (block(&harness, "A"), block(&harness, "B"));
    drag(&mut harness, a, b - vec2(60.0, 0.0));
    assert_eq!(names(&harness), "ABC");
}

#[test]
fn the_ramp_is_dragged_by_its_ends() {
    let mut harness = strip();
    let keeper = harness.state().params.project.clone();
    let mut file = keeper.song().unwrap().file.clone();
    file.sections[1].set(SettingId::Intensity, Level::Steady(0.5));
    keeper.change_song(file, None).unwrap();
    harness.run();
    let first = sections(&harness)[1].intensity;
    let Some(Level::Steady(steady)) = first else {
        panic!("{first:?}")
    };
    let end = harness
        .get_by_label(&text::ramp_of("B", true))
        .rect()
        .center();
    drag(&mut harness, end, end - vec2(0.0, 10.0));
    let Some(Level::Ramp { from, to }) = sections(&harness)[1].intensity else {
        panic!("no ramp")
    };
    assert!(from == steady && to > steady + 0.1, "{from} {to}");
    turn(&mut harness, text::UNDO);
    assert_eq!(sections(&harness)[1].intensity, first);
}

/// A click chooses a section for the controls, another one the panel.
#[test]
fn a_section_is_chosen_and_renamed() {
    let mut harness = strip();
    let chosen = |harness: &Harness<'_, Host>| harness.state().panel.strip.chosen.clone();
    let at = block(&harness, "B");
    click(&mut harness, at, Modifiers::NONE);
    assert_eq!(chosen(&harness), [1].into());
    harness.run_steps(60);
    click(&mut harness, at, Modifiers::NONE);
    assert!(chosen(&harness).is_empty());
    // The block has the focus: enter is a click.
    harness.key_press(Key::Enter);
    harness.run();
    assert_eq!(chosen(&harness), [1].into());
    harness.key_press(Key::Escape);
    harness.run();
    assert!(chosen(&harness).is_empty());
    let at = block(&harness, "B");
    click(&mut harness, at, Modifiers::NONE);
    harness.key_press(Key::F2);
    harness.run();
    harness.key_press_modifiers(Modifiers::COMMAND, Key::A);
    harness.run();
    harness.event(egui::Event::Text("Bridge".to_owned()));
    harness.run();
    harness.key_press(Key::Enter);
    harness.run();
    assert_eq!(sections(&harness)[1].name, "Bridge");
}

fn click(harness: &mut Harness<'_, Host>, at: Pos2, modifiers: Modifiers) {
    harness.hover_at(at);
    let button = |pressed| egui::Event::PointerButton {
        pos: at,
        button: egui::PointerButton::Primary,
        pressed,
        modifiers,
    };
    for pressed in [true, false] {
        harness.event_modifiers(button(pressed), modifiers);
        harness.step();
    }
    harness.run();
}

/// With the key of commands a section is added to those that are chosen, with shift all up to it.
#[test]
fn several_sections_are_chosen() {
    let mut harness = strip();
    let chosen = |harness: &Harness<'_, Host>| harness.state().panel.strip.chosen.clone();
    let places = ["A", "B", "C"].map(|name| block(&harness, name));
    click(&mut harness, places[0], Modifiers::NONE);
    click(&mut harness, places[2], Modifiers::COMMAND);
    assert_eq!(chosen(&harness), [0, 2].into());
    click(&mut harness, places[0], Modifiers::COMMAND);
    assert_eq!(chosen(&harness), [2].into());
    click(&mut harness, places[1], Modifiers::NONE);
    click(&mut harness, places[2], Modifiers::SHIFT);
    assert_eq!(chosen(&harness), [1, 2].into());
}

/// Sections are drawn: the first one anywhere, others behind the last.
#[test]
fn sections_are_drawn_on_free_bars() {
    let mut harness = page();
    let area = harness.get_by_label(text::STRIP).rect();
    let bar = area.width() / 32.0;
    let at = |number: f32| Pos2::new(area.left() + (number - 0.5) * bar, area.center().y);
    drag(&mut harness, at(3.0), at(8.0));
    harness.key_press(Key::Enter);
    harness.run();
    let song = harness.state().params.project.song().unwrap();
    assert_eq!((song.file.start_bar, song.file.sections[0].bars), (3, 6));
    assert_eq!(song.timeline.bars().len(), 8);
    // Twelve bars are on the strip now, of which four are free.
    let bar = area.width() / 12.0;
    let at = |number: f32| Pos2::new(area.left() + (number - 0.5) * bar, area.center().y);
    drag(&mut harness, at(9.0), at(11.0));
    let song = harness.state().params.project.song().unwrap();
    assert_eq!(song.file.sections[1].bars, 3);
    assert_eq!(harness.state().panel.strip.chosen, [1].into());
}

#[test]
fn keys_copy_move_and_remove_the_section_that_has_the_focus() {
    let mut harness = strip();
    let at = block(&harness, "A");
    harness.hover_at(at);
    harness.drag_at(at);
    harness.drop_at(at);
    harness.run();
    for (modifiers, key, after) in [
        (Modifiers::ALT, Key::ArrowRight, "BAC"),
        (Modifiers::COMMAND, Key::D, "BAAC"),
        (Modifiers::NONE, Key::Delete, "BAC"),
    ] {
        harness.key_press_modifiers(modifiers, key);
        harness.run();
        assert_eq!(names(&harness), after, "{key:?}");
    }
}

/// However long the song, all of it is on the strip.
#[test]
fn a_song_of_any_length_is_seen_whole() {
    let mut harness = strip();
    let keeper = harness.state().params.project.clone();
    for count in [1, 40, 120] {
        let mut file = keeper.song().unwrap().file.clone();
        let more = file.sections[0].clone();
        file.sections.resize(count, more);
        keeper.change_song(file, None).unwrap();
        harness.run();
        let area = harness.get_by_label(text::STRIP).rect();
        let blocks: Vec<_> = harness
            .query_all_by_role(Role::ListBoxOption)
            .map(|node| node.rect())
            .collect();
        assert_eq!(blocks.len(), count);
        assert!(
            blocks
                .iter()
                .all(|block| area.contains_rect(*block) && block.width() > 1.0)
        );
    }
}
