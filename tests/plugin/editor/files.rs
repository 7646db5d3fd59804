//! The drawer of files, with dialogs and jobs behind it.

use super::chart::{Host, open, page, press, says, sections};
use super::{Harness, Role};
use egui_kittest::kittest::Queryable as _;
use fourlimb::editor::text;
use fourlimb::editor::text::chart as words;
use fourlimb::song::SongFile;
use std::sync::Arc;

#[test]
fn a_song_goes_to_a_file_and_comes_back() {
    let folder = tempfile::tempdir().unwrap();
    let (json, midi) = (
        folder.path().join("song.json"),
        folder.path().join("song.mid"),
    );
    let mut harness = page();
    press(&mut harness, words::DEMO);
    harness.state_mut().panel.types_paths = true;
    open(&mut harness);
    let demo = SongFile::parse(SongFile::DEMO).unwrap();
    assert_eq!(sections(&harness), demo.sections);
    assert_eq!(harness.state().values.settings.bar_settings.take, 7);
    type_path(&mut harness, json.to_str().unwrap());
    press(&mut harness, words::SAVE.0);
    assert!(says(&harness, "14 sections, written to"));
    press(&mut harness, words::CLEAR);
    press(&mut harness, words::LOAD.0);
    assert_eq!(sections(&harness), demo.sections);
    assert!(says(&harness, "Cinder Mill: 14 sections"));

    type_path(&mut harness, midi.to_str().unwrap());
    press(&mut harness, words::EXPORT.0);
    let first = std::fs::read(&midi).unwrap();
    // A file that is there is replaced only by the same wish once more.
    press(&mut harness, words::EXPORT.0);
    assert!(says(&harness, "Press again"));
    press(&mut harness, words::SAVE.0);
    assert!(says(&harness, "Press again"));
    assert_eq!(std::fs::read(&midi).unwrap(), first);
    press(&mut harness, words::SAVE.0);
    assert_ne!(std::fs::read(&midi).unwrap(), first);
}

/// A file that was written stays; a song that was read does not.
#[test]
fn what_undo_takes_back_is_no_longer_said() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("song.json");
    let mut harness = page();
    press(&mut harness, words::DEMO);
    harness.state_mut().panel.types_paths = true;
    open(&mut harness);
    type_path(&mut harness, path.to_str().unwrap());
    press(&mut harness, words::SAVE.0);
    press(&mut harness, text::UNDO);
    assert!(says(&harness, "14 sections, written to"));
    press(&mut harness, text::REDO);
    press(&mut harness, words::LOAD.0);
    assert!(says(&harness, "Cinder Mill: 14 sections"));
    press(&mut harness, text::UNDO);
    assert!(!says(&harness, "Cinder Mill: 14 sections"));
}

fn type_path(harness: &mut Harness<'_, Host>, path: &str) {
    let field = |harness: &mut Harness<'_, Host>, text: Option<&str>| {
        let field = harness.get_by_role_and_label(Role::TextInput, words::PATH);
        match text {
            Some(text) => field.type_text(text),
            None => field.focus(),
        }
        harness.run();
    };
    field(harness, None);
    harness.key_press_modifiers(egui::Modifiers::COMMAND, egui::Key::A);
    harness.run();
    field(harness, Some(path));
}

/// A dialog is shown beside; where none can open, a path is typed.
#[test]
fn a_file_is_chosen_in_a_dialog() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("chosen.json");
    let mut harness = page();
    press(&mut harness, words::DEMO);
    open(&mut harness);
    let answered = |harness: &mut Harness<'_, Host>| {
        for _ in 0..10_000 {
            harness.step();
            if !harness.state().dialogs.is_open() {
                break;
            }
            std::thread::yield_now();
        }
        harness.run();
    };
    press(&mut harness, words::SAVE.0);
    answered(&mut harness);
    // Nobody closes a dialog that fast: none could open, and a path can be typed.
    assert!(says(&harness, words::NO_DIALOG));
    harness.get_by_role_and_label(Role::TextInput, words::PATH);
    *harness.state().chosen.lock().unwrap() = Some(path.clone());
    press(&mut harness, words::SAVE.0);
    answered(&mut harness);
    assert!(says(&harness, "14 sections, written to") && path.exists());
    press(&mut harness, words::CLEAR);
    press(&mut harness, words::LOAD.0);
    answered(&mut harness);
    assert_eq!(sections(&harness).len(), 14);
}

/// The microseconds of the first quarter note in a MIDI file.
fn tempo(path: &std::path::Path) -> u32 {
    let bytes = std::fs::read(path).unwrap();
    let smf = midly::Smf::parse(&bytes).unwrap();
    let mut tempi = smf
        .tracks
        .iter()
        .flatten()
        .filter_map(|event| match event.kind {
            midly::TrackEventKind::Meta(midly::MetaMessage::Tempo(micros)) => Some(micros.as_int()),
            _ => None,
        });
    tempi.next().unwrap()
}

/// A file that is written has the host's tempo once it was seen, or the chart's if so wanted.
#[test]
fn an_export_has_the_tempo_that_is_wanted() {
    let folder = tempfile::tempdir().unwrap();
    let mut harness = page();
    press(&mut harness, words::NEW);
    harness.key_press(egui::Key::Enter);
    harness.state_mut().panel.types_paths = true;
    open(&mut harness);
    let export = |harness: &mut Harness<'_, Host>, name: &str| {
        let path = folder.path().join(name);
        type_path(harness, path.to_str().unwrap());
        press(harness, words::EXPORT.0);
        tempo(&path)
    };
    // A chart for a drummer has the same.
    let score = |harness: &mut Harness<'_, Host>| {
        let path = folder.path().join("score.txt");
        let _ = std::fs::remove_file(&path);
        type_path(harness, path.to_str().unwrap());
        press(harness, words::SCORE.0);
        let text = std::fs::read_to_string(path).unwrap();
        let (before, _) = text.split_once(" BPM").unwrap();
        let bpm = before.split_whitespace().last().unwrap();
        format!("{bpm} BPM")
    };
    assert_eq!(export(&mut harness, "before.mid"), 500_000);
    let mut seen = fourlimb::time::ObservedTempoMap::default();
    assert!(seen.pass(&fourlimb::time::observed::Stretch {
        from: 0,
        to: 4 * 3840,
        bpm: 150.0,
        bar: fourlimb::time::Bar {
            start: 0,
            meter: fourlimb::time::Meter::FOUR_FOUR,
        },
    }));
    let project = &harness.state().params.project;
    let mut document = project.document();
    document.observed = Arc::new(seen);
    project.load(document.saved());
    assert_eq!(export(&mut harness, "host.mid"), 400_000);
    assert_eq!(score(&mut harness), "150 BPM");
    let choice = harness.get_by_role_and_label(Role::CheckBox, words::CHART_TEMPO.0);
    choice.click();
    harness.run();
    assert_eq!(export(&mut harness, "chart.mid"), 500_000);
    assert_eq!(score(&mut harness), "120 BPM");
}

/// The song goes to a drummer's music stand from the window, too; a name without a known ending is refused in words.
#[test]
fn a_song_is_written_as_a_drummer_reads_it() {
    let folder = tempfile::tempdir().unwrap();
    let mut harness = page();
    press(&mut harness, words::DEMO);
    harness.state_mut().panel.types_paths = true;
    open(&mut harness);
    for (name, start) in [
        ("song.pdf", &b"%PDF-"[..]),
        ("song.musicxml", b"<?xml"),
        ("song.txt", b"Cinder Mill"),
    ] {
        let path = folder.path().join(name);
        type_path(&mut harness, path.to_str().unwrap());
        press(&mut harness, words::SCORE.0);
        assert!(says(&harness, "written to"), "{name}");
        let bytes = std::fs::read(&path).unwrap();
        assert!(bytes.starts_with(start), "{name}: {:?}", &bytes[..20]);
    }
    let path = folder.path().join("song.doc");
    type_path(&mut harness, path.to_str().unwrap());
    press(&mut harness, words::SCORE.0);
    assert!(says(&harness, ".musicxml") && !path.exists());
}
