//! What is taken hold of to leave the window, and what is dropped on it, by accessible names. What a drag does is in
//! `dragging.rs`.

use super::chart::{Host as Page, keeper, page, press, says, sections};
use super::{Harness, Role, editor};
use egui::{Event, Pos2, pos2};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use fourlimb::editor::action::{Action, Part};
use fourlimb::editor::carry_out;
use fourlimb::editor::from_system::OnDisk;
use fourlimb::editor::header;
use fourlimb::editor::text::{chart, taken_out as words};
use fourlimb::export::What;
use fourlimb::kit::NoteMap;
use fourlimb::project::dragged::Region;
use fourlimb::song::{SongFile, Timeline};
use std::path::Path;
use std::sync::Arc;

/// A click asks for the file, a drag for the drag, and that once.
#[test]
fn the_bars_on_show_are_taken_hold_of() {
    let mut harness = editor();
    let grip = harness.get_by_role_and_label(Role::Button, words::GRIPS[0]);
    let at = grip.rect().center();
    grip.click();
    harness.run();
    let part = Part::Shown(1, 4);
    let clicked = Action::TakeOut(part.clone(), false);
    assert_eq!(harness.state().asked, [clicked]);
    harness.state_mut().asked.clear();
    harness.hover_at(at);
    harness.run();
    harness.drag_at(at);
    harness.step();
    for far in 1..=9_u8 {
        harness.hover_at(at + egui::vec2(f32::from(far) * 300.0, 0.0));
        harness.step();
    }
    let dragged = Action::TakeOut(part, true);
    assert_eq!(harness.state().asked, [dragged]);
    harness.drop_at(at);
    harness.run();
    assert_eq!(harness.state().asked.len(), 1);
}

/// One for the song in its drawer, one for the chosen sections: these are parts of the song as it is played.
#[test]
fn sections_and_the_song_are_regions_of_it() {
    let mut harness = page();
    press(&mut harness, chart::DEMO);
    harness.state_mut().panel.strip.chosen = [2, 3].into();
    super::chart::open(&mut harness);
    for grip in &words::GRIPS {
        harness.get_by_role_and_label(Role::Button, grip);
    }
    let (params, values) = (&harness.state().params, harness.state().values);
    let snapshot = super::Snapshot::new(values, &super::Playhead::default());
    let snapshot = snapshot.with_project(&params.project);
    let region = |part: Part| {
        let region = carry_out::region(&part, params, &snapshot);
        region.unwrap().unwrap()
    };
    let song = region(Part::Song(What::Whole));
    assert_eq!(song.name(), "Cinder Mill.mid");
    assert_eq!(song.timeline.bars().len(), 77);
    let shown = region(Part::Shown(9, 4));
    assert_eq!(shown.what, What::Bars(9, 12));
    assert_eq!(shown.timeline, song.timeline);
}

/// Drops a file at a place.
fn drop_at(harness: &mut Harness<'_, Page>, at: Pos2, file: &Path) {
    let input = harness.input_mut();
    input.events.push(Event::PointerMoved(at));
    input.dropped_files.push(Arc::new(OnDisk(file.to_owned())));
    harness.run();
}

fn block(harness: &Harness<'_, Page>, name: &str) -> Pos2 {
    let start = format!("{name}, bars");
    let blocks = harness.get_all_by_role(Role::ListBoxOption);
    let mut found = blocks.filter(|node| {
        let label = node.accesskit_node().label();
        label.is_some_and(|label| label.starts_with(&start))
    });
    found
        .next()
        .expect("the section has a block")
        .rect()
        .center()
}

#[test]
fn a_song_that_is_dropped_is_opened() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("song.json");
    let demo = SongFile::parse(SongFile::DEMO).unwrap();
    std::fs::write(&file, demo.to_text()).unwrap();
    let mut harness = page();
    drop_at(&mut harness, pos2(600.0, 500.0), &file);
    assert_eq!(sections(&harness), demo.sections);
}

/// A MIDI file on a section: the user says which of two things it is; nothing happens before, and nothing if so wanted.
#[test]
fn a_midi_file_on_a_section_asks() {
    let folder = tempfile::tempdir().unwrap();
    let demo = SongFile::parse(SongFile::DEMO).unwrap();
    let region = Region {
        timeline: Box::new(Timeline::new(&demo).unwrap()),
        what: What::Section("Riff".to_owned()),
    };
    let file = region.write(folder.path(), &NoteMap::default()).unwrap();
    let mut harness = page();
    press(&mut harness, chart::DEMO);
    let at = block(&harness, "Riff");
    let locked = |harness: &Harness<'_, Page>| sections(harness)[2].locked.is_some();
    let attacks = |harness: &Harness<'_, Page>| keeper(harness).document().riff.attacks().len();
    let known = attacks(&harness);
    drop_at(&mut harness, at, &file.path);
    assert!(says(&harness, words::WHAT) && !locked(&harness));
    press(&mut harness, words::NOTHING);
    assert!(!says(&harness, words::WHAT) && !locked(&harness));
    drop_at(&mut harness, at, &file.path);
    press(&mut harness, &words::lock("Riff"));
    assert!(locked(&harness) && !says(&harness, words::WHAT));
    assert_eq!(attacks(&harness), known);
    drop_at(&mut harness, at, &file.path);
    press(&mut harness, &words::guitar(9));
    assert_ne!(attacks(&harness), known);
}

/// On the sampler's page a MIDI file says which keys it uses; what is none of ours is said, and several at once.
#[test]
fn the_page_counts_and_what_is_unknown_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let demo = SongFile::parse(SongFile::DEMO).unwrap();
    let region = Region {
        timeline: Box::new(Timeline::new(&demo).unwrap()),
        what: What::Whole,
    };
    let file = region.write(folder.path(), &NoteMap::default()).unwrap();
    let mut harness = page();
    let middle = pos2(600.0, 500.0);
    drop_at(&mut harness, middle, Path::new("/tmp/picture.png"));
    assert!(says(&harness, "picture.png can't be used here"));
    let input = harness.input_mut();
    for name in ["a.mid", "b.mid"] {
        let dropped = Arc::new(OnDisk(name.into()));
        input.dropped_files.push(dropped);
    }
    harness.run();
    assert!(says(&harness, words::ONE));
    harness.state_mut().panel.page = header::Page::Sampler;
    harness.run();
    drop_at(&mut harness, middle, &file.path);
    assert!(!says(&harness, words::WHAT));
    let pieces = format!("of {} pieces", fourlimb::kit::Piece::COUNT);
    assert!(says(&harness, &pieces));
}

/// While it is over the window, it is said what it would become.
#[test]
fn a_file_over_a_place_says_what_it_would_become() {
    let mut harness = page();
    press(&mut harness, chart::DEMO);
    let at = block(&harness, "Riff");
    let input = harness.input_mut();
    input.events.push(Event::PointerMoved(at));
    input.hovered_files.push(egui::HoveredFile {
        path: Some("riff.mid".into()),
        mime: String::new(),
    });
    // It draws again and again while something is over it.
    harness.run_steps(3);
    assert!(says(&harness, &words::lock("Riff")) && says(&harness, &words::guitar(9)));
    harness.input_mut().hovered_files.clear();
    harness.run();
    assert!(!says(&harness, &words::lock("Riff")));
}
