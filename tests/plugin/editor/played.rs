//! The row that keeps what was played.

use super::{Drawer, editor};
use egui::accesskit::Role;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use fourlimb::editor::action::Action;
use fourlimb::editor::text;
use fourlimb::project::recording::Recording;
use std::path::PathBuf;

#[test]
fn it_asks_once_for_the_file_that_was_typed() {
    let mut harness = editor();
    harness.state_mut().panel.drawer = Some(Drawer::Files);
    harness.state_mut().panel.types_paths = true;
    harness.run();
    let keep = |harness: &egui_kittest::Harness<'_, super::Host>| {
        let button = harness.get_by_role_and_label(Role::Button, text::KEEP);
        button.click();
        button.accesskit_node().is_disabled()
    };
    assert!(!keep(&harness));
    harness.run_steps(2);
    // One that is still to be chosen, in a dialog.
    let asked = std::mem::take(&mut harness.state_mut().asked);
    assert_eq!(asked, [Action::KeepPlayed(PathBuf::new())]);
    let field = harness.get_all_by_role(Role::TextInput).last().unwrap();
    field.focus();
    harness.run_steps(2);
    let field = harness.get_all_by_role(Role::TextInput).last().unwrap();
    field.type_text(" \"/songs/my verse.mid\" ");
    harness.run_steps(2);
    assert!(!keep(&harness));
    harness.run_steps(2);
    let asked = std::mem::take(&mut harness.state_mut().asked);
    let path = PathBuf::from("/songs/my verse.mid");
    assert_eq!(asked, [Action::KeepPlayed(path)]);
    harness.state_mut().panel.played.tell(true, None);
    harness.run_steps(2);
    assert!(keep(&harness), "one at a time");
}

#[test]
fn it_says_what_came_of_it() {
    let saved = Recording {
        notes: 214,
        bars: (5, 12),
        lost: 0,
        path: PathBuf::from("/songs/verse.mid"),
    };
    let mut harness = editor();
    harness.state_mut().panel.drawer = Some(Drawer::Files);
    harness.state_mut().panel.types_paths = true;
    harness.run();
    for (outcome, said) in [
        (
            Ok(saved.clone()),
            "kept 214 notes, bars 5-12: /songs/verse.mid",
        ),
        (
            Ok(Recording { lost: 3, ..saved }),
            "kept 214 notes, bars 5-12 (3 came too fast and are missing: play it once more): /songs/verse.mid",
        ),
        (Err("no room".to_owned()), "Not kept: no room"),
    ] {
        harness.state_mut().panel.played.tell(false, Some(outcome));
        harness.run();
        assert!(harness.query_by_label(said).is_some(), "{said}");
    }
}
