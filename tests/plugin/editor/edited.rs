//! Where edits are kept: in sections, beside the chart, asleep; and where there can be none.

use super::chart::{Host, keeper, page, press, says, sections};
use super::edit::{called, edits, key, plain, select};
use super::{Harness, Role, SettingId, text};
use egui::Key;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use fourlimb::editor::text::chart as chart_words;
use fourlimb::editor::text::edit as words;
use fourlimb::groove::{Edit, EditTarget};
use fourlimb::kit::Piece;
use fourlimb::song::edits::EditRow;

/// An edit whose stroke is not there sleeps, is listed, wakes, and can be forgotten.
#[test]
fn an_edit_without_its_stroke_sleeps() {
    let mut harness = plain();
    let style = harness.state().values.get(SettingId::Style);
    select(&mut harness, "bar 1, other hand: snare on 2,");
    key(&mut harness, Key::ArrowDown);
    let listed = words::asleep(1);
    assert!(harness.query_by_label(&listed).is_none());
    // Half-time has its snare elsewhere.
    harness.state_mut().values.set(SettingId::Style, 1.0);
    harness.run();
    press(&mut harness, &listed);
    let says_it = "Bar 1: snare on 2: 4 softer";
    assert!(says(&harness, says_it));
    harness.key_press(Key::Escape);
    harness.state_mut().values.set(SettingId::Style, style);
    harness.run();
    assert!(harness.query_by_label(&listed).is_none(), "awake");
    assert_eq!(edits(&harness).len(), 1);
    harness.state_mut().values.set(SettingId::Style, 1.0);
    harness.run();
    press(&mut harness, &listed);
    press(&mut harness, &format!("{}: {says_it}", words::FORGET));
    assert_eq!(edits(&harness), []);
}

/// Where a chart is followed, edits are the section's, and its block says so.
#[test]
fn a_section_has_edits_of_its_own() {
    let mut harness = page();
    press(&mut harness, chart_words::NEW);
    harness.key_press(Key::Enter);
    harness.run();
    let [add, ..] = chart_words::LIST.map(|(name, _)| name);
    press(&mut harness, add);
    harness.state_mut().values.set(SettingId::FillChance, 0.0);
    harness.run();
    // The second section, from bar 9 on, is chosen.
    select(&mut harness, "bar 10, other hand: snare on 2,");
    key(&mut harness, Key::Delete);
    let of_sections = sections(&harness);
    assert_eq!(of_sections[0].edits, []);
    let [EditRow(edit)] = of_sections[1].edits[..] else {
        panic!("one edit");
    };
    assert_eq!(edit.at, 3840 + 960, "from the section's start");
    assert_eq!(edits(&harness), []);
    let block = harness.query_all_by_role(Role::ListBoxOption).nth(1);
    let block = block.unwrap().accesskit_node().label().unwrap();
    assert!(block.ends_with(&words::edits(1)), "{block}");
    press(&mut harness, text::UNDO);
    assert_eq!(sections(&harness)[1].edits, []);
    // A move stays in its section.
    select(&mut harness, "bar 9, lead foot: kick on 1,");
    key(&mut harness, Key::ArrowLeft);
    assert_eq!(sections(&harness)[1].edits, []);
}

/// A section that plays a region as it is says why single strokes can't be edited.
#[test]
fn a_locked_section_refuses_politely() {
    let mut harness = page();
    press(&mut harness, chart_words::NEW);
    harness.key_press(Key::Enter);
    harness.run();
    let project = keeper(&harness);
    let mut file = project.song().unwrap().file.clone();
    let locked = serde_json::json!([[0, "kick", 110], [960, "snare", 100]]);
    file.sections[0].locked = serde_json::from_value(locked).unwrap();
    project.change_song(file.clone(), None).unwrap();
    harness.run();
    for press in [Key::Delete, Key::ArrowUp, Key::ArrowRight] {
        select(&mut harness, "snare on 2,");
        key(&mut harness, press);
        let why = words::locked(&file.sections[0].name);
        assert!(says(&harness, &why), "{press:?}");
    }
    assert_eq!(sections(&harness)[0], file.sections[0]);
}

/// Edits sleep anywhere in the song, also where the lanes do not look, and beyond the end of their section.
#[test]
fn all_that_sleeps_is_listed() {
    let mut harness = plain();
    let rows = [240, 19 * 3840 + 240].map(|at| EditRow(Edit::leave_out(at, EditTarget::Hand)));
    let project = keeper(&harness);
    project.change_edits(None, rows.to_vec(), None).unwrap();
    harness.run();
    press(&mut harness, &words::asleep(2));
    for bar in [1, 20] {
        let says_it = format!("Bar {bar}: hand cymbal on 1 e: left out");
        assert!(says(&harness, &says_it), "{says_it}");
    }
    harness.key_press(Key::Escape);
    harness.run();
    // With a chart it is the sections' edits, and those alone.
    press(&mut harness, chart_words::NEW);
    harness.key_press(Key::Enter);
    harness.run();
    assert!(harness.query_by_label(&words::asleep(2)).is_none());
    let snare = EditTarget::Piece(Piece::Snare);
    let rows = [240, 9 * 3840].map(|at| EditRow(Edit::leave_out(at, snare)));
    project.change_edits(Some(0), rows.to_vec(), None).unwrap();
    harness.run();
    press(&mut harness, &words::asleep(2));
    let name = sections(&harness)[0].name.clone();
    assert!(says(&harness, &words::beyond_end(&rows[1].0, &name)));
    press(
        &mut harness,
        &format!(
            "{}: {}",
            words::FORGET,
            words::beyond_end(&rows[1].0, &name)
        ),
    );
    assert_eq!(sections(&harness)[0].edits, rows[..1]);
    assert_eq!(edits(&harness).len(), 2, "those beside the chart stay");
}

/// What is edited is heard in the next round of its bar: the picture is what is played.
#[test]
fn a_bar_is_edited_while_it_plays() {
    let mut harness: Harness<'_, Host> = plain();
    select(&mut harness, "bar 1, lead foot: kick on 1,");
    key(&mut harness, Key::Delete);
    let project = keeper(&harness);
    let mut ends = project.take_audio().unwrap();
    let mut chart = fourlimb::song::Chart::default();
    ends.charts.receive(&mut chart);
    let beside = chart.beside();
    assert_eq!(beside.edits.len(), 1);
    assert_eq!(beside.edits[0].target, EditTarget::Piece(Piece::Kick));
    called(&harness, "left out by hand: lead foot: kick on 1,");
    press(&mut harness, text::UNDO);
    ends.charts.receive(&mut chart);
    assert!(chart.beside().edits.is_empty());
}
