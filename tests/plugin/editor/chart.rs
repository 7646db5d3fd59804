//! Sections by their row and the drawer of files, with the project behind them.

use super::{Harness, Panel, Playhead, Role, SettingId, Snapshot, Values, text, theme};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use fourlimb::editor::carry_out::{Dialogs, carry_out};
use fourlimb::editor::drawers::Drawer;
use fourlimb::editor::gestures::{Gestures, Step};
use fourlimb::editor::section::Held;
use fourlimb::editor::text::chart as words;
use fourlimb::params::FourlimbParams;
use fourlimb::project::document::SavedDocument;
use fourlimb::project::{JobQueue, Project};
use fourlimb::settings::Start;
use fourlimb::song::file::{Level, Section};
use std::path::PathBuf;
use std::sync::{Arc, Mutex};

/// Stands in for the host: values that are asked for are there in the next frame, files at once.
pub(super) struct Host {
    pub(super) panel: Panel,
    pub(super) values: Values,
    gestures: Gestures,
    pub(super) dialogs: Dialogs,
    /// What the user chooses in a dialog.
    pub(super) chosen: Arc<Mutex<Option<PathBuf>>>,
    pub(super) params: FourlimbParams,
    jobs: JobQueue,
}

impl Host {
    fn set(&mut self, step: Step) {
        if let Step::Set(control, value) = step {
            self.values.set(control, value);
        }
    }
}

pub(super) fn page() -> Harness<'static, Host> {
    let chosen = Arc::new(Mutex::new(None));
    let choice = chosen.clone();
    let params = FourlimbParams::default();
    let host = Host {
        jobs: JobQueue::new(params.project.clone()),
        panel: Panel::default(),
        values: Values::default(),
        gestures: Gestures::default(),
        dialogs: Dialogs::new(Arc::new(move |_| choice.lock().unwrap().clone())),
        chosen,
        params,
    };
    let mut harness = Harness::builder()
        .with_size(theme::WINDOW)
        .with_step_dt(1.0 / 60.0)
        .with_max_steps(160)
        .with_context_setup(theme::apply)
        .build_ui_state(
            |ui, host: &mut Host| {
                let snapshot = Snapshot::new(host.values, &Playhead::default());
                let snapshot = snapshot.with_project(&host.params.project);
                let mut actions = Vec::new();
                host.panel.show(ui, &snapshot, &mut actions);
                let sets = actions.clone();
                let (panel, dialogs) = (&mut host.panel, &mut host.dialogs);
                let (params, jobs) = (&host.params, &host.jobs);
                let mut brought = carry_out(actions, &snapshot, panel, params, jobs, dialogs);
                // What a file gave is taken up in the frame after.
                while jobs.is_busy() {
                    std::thread::yield_now();
                }
                brought.extend(carry_out(vec![], &snapshot, panel, params, jobs, dialogs));
                for (control, value) in brought {
                    host.values.set(control, value);
                }
                let mut gestures = host.gestures;
                gestures.follow(&sets, false, |step| host.set(step));
                host.gestures = gestures;
            },
            host,
        );
    harness.run();
    harness
}

/// Opens the drawer of files.
pub(super) fn open(harness: &mut Harness<'_, Host>) {
    harness.state_mut().panel.drawer = Some(Drawer::Files);
    harness.run();
}

/// Chooses from a list.
pub(super) fn pick(harness: &mut Harness<'_, Host>, list: &str, choice: &str) {
    harness.get_by_role_and_label(Role::ComboBox, list).click();
    harness.run();
    harness.get_by_role_and_label(Role::Button, choice).click();
    harness.run();
}

/// A step of the changes.
pub(super) fn turn(harness: &mut Harness<'_, Host>, label: &str) {
    press(harness, label);
}

pub(super) fn press(harness: &mut Harness<'_, Host>, label: &str) {
    harness.get_by_role_and_label(Role::Button, label).click();
    harness.run();
}

pub(super) fn keeper(harness: &Harness<'_, Host>) -> Arc<Project> {
    harness.state().params.project.clone()
}

pub(super) fn sections(harness: &Harness<'_, Host>) -> Vec<Section> {
    let song = keeper(harness).song();
    song.map_or_else(Vec::new, |song| song.file.sections.clone())
}

pub(super) fn says(harness: &Harness<'_, Host>, what: &str) -> bool {
    harness.query_all_by_label_contains(what).next().is_some()
}

/// A new section says no more than its name and length: the panel plays in it.
#[test]
fn a_new_section_plays_what_the_panel_plays() {
    let mut harness = page();
    harness.state_mut().values.set(SettingId::Style, 3.0);
    harness.state_mut().values.set(SettingId::Intensity, 0.8);
    harness.run();
    press(&mut harness, words::NEW);
    let [section] = &sections(&harness)[..] else {
        panic!("one section")
    };
    assert_eq!(*section, Section::of_panel(&text::new_section(1), 8));
    let song = keeper(&harness).song().unwrap();
    let values = harness.state().values;
    assert!(values.settings.follow_chart);
    let in_force = song.timeline.chart().settings(0, &values.settings);
    assert_eq!(in_force.stroke_settings.intensity, 0.8);
    assert_eq!(in_force.bar_settings.style, 3);
}

#[test]
fn sections_are_added_copied_moved_and_removed() {
    let mut harness = page();
    press(&mut harness, words::NEW);
    harness.key_press(egui::Key::Enter);
    harness.run();
    let names = |harness: &Harness<'_, Host>| -> Vec<String> {
        let sections = sections(harness);
        sections.into_iter().map(|section| section.name).collect()
    };
    let first = text::new_section(1);
    let (first, more) = (first.as_str(), format!("{first} +"));
    let [add, copy, left, right, remove] = words::LIST.map(|(name, _)| name);
    for (button, after) in [
        (add, &[first, &more][..]),
        (copy, &[first, &more, &more]),
        (left, &[first, &more, &more]),
        (left, &[&more, first, &more]),
        (right, &[first, &more, &more]),
        (remove, &[first, &more]),
    ] {
        press(&mut harness, button);
        assert_eq!(names(&harness), after, "{button}");
    }
    turn(&mut harness, text::UNDO);
    assert_eq!(names(&harness).len(), 3);
    turn(&mut harness, text::REDO);
    open(&mut harness);
    press(&mut harness, words::CLEAR);
    assert!(sections(&harness).is_empty());
    press(&mut harness, text::UNDO);
    assert_eq!(names(&harness), [first, &more]);
}

#[test]
fn a_section_says_what_is_chosen_for_it() {
    let mut harness = page();
    press(&mut harness, words::NEW);
    harness.key_press(egui::Key::Enter);
    harness.run();
    let length = sections(&harness)[0].name.len();
    let name = harness.get_by_role_and_label(Role::TextInput, words::NAME.0);
    name.focus();
    harness.run();
    harness
        .get_by_role_and_label(Role::TextInput, words::NAME.0)
        .type_text("s");
    harness.run();
    assert_eq!(sections(&harness)[0].name.len(), length + 1);
    pick(&mut harness, words::START.0, "china");
    assert_eq!(sections(&harness)[0].start, Some(Start::China));
    // A count-in has no bar to be played in: it is refused in words, and nothing changes.
    pick(&mut harness, words::START.0, "count-in");
    assert_eq!(sections(&harness)[0].start, Some(Start::China));
    assert!(says(&harness, "start a bar later"));
}

/// One control says how firmly a section is held.
#[test]
fn a_section_is_held_as_firmly_as_wanted() {
    let mut harness = page();
    press(&mut harness, words::NEW);
    harness.key_press(egui::Key::Enter);
    harness.state_mut().values.set(SettingId::Take, 41.0);
    harness.run();
    for (held, take, frozen) in [
        (Held::Take, Some(41), None),
        (Held::Now, Some(41), Some(1)),
        (Held::Free, None, None),
    ] {
        pick(&mut harness, words::HOLD.0, held.name());
        let section = &sections(&harness)[0];
        assert_eq!((section.take, section.frozen), (take, frozen), "{held:?}");
        assert_eq!(Held::of(section), held);
    }
}

/// The same controls turn the panel, a section, or several.
#[test]
fn controls_turn_what_is_chosen() {
    let mut harness = page();
    press(&mut harness, words::NEW);
    harness.key_press(egui::Key::Enter);
    harness.run();
    let [add, ..] = words::LIST.map(|(name, _)| name);
    press(&mut harness, add);
    let intensity = SettingId::Intensity;
    let turn_to = |harness: &mut Harness<'_, Host>, part: f32| {
        let bar = harness.get_by_role_and_label(Role::Slider, intensity.name());
        let at = bar.rect().left_center() + egui::vec2(bar.rect().width() * part, 0.0);
        harness.hover_at(at);
        harness.drag_at(at);
        harness.drop_at(at);
        harness.run();
    };
    let said = |harness: &Harness<'_, Host>| -> Vec<Option<Level>> {
        sections(harness)
            .iter()
            .map(|section| section.intensity)
            .collect()
    };
    let panel = harness.state().values.get(intensity);
    let chip = text::left_to_panel(intensity.name());
    let near = |level: Option<Level>, wanted: f32| match level {
        Some(Level::Steady(value)) => (value - wanted).abs() < 0.01,
        _ => false,
    };
    // The second one is chosen; it was left to the panel.
    turn_to(&mut harness, 0.25);
    assert!(said(&harness)[0].is_none() && near(said(&harness)[1], 0.25));
    assert_eq!(harness.state().values.get(intensity), panel);
    // Both together.
    harness.state_mut().panel.strip.chosen = [0, 1].into();
    harness.run();
    turn_to(&mut harness, 0.75);
    assert!(said(&harness).into_iter().all(|level| near(level, 0.75)));
    // Left to the panel again, both.
    harness.get_by_role_and_label(Role::CheckBox, &chip).click();
    harness.run();
    assert_eq!(said(&harness), [None, None]);
    let left = sections(&harness);
    assert!(
        left.iter()
            .all(|section| section.as_panel.contains(&intensity))
    );
    // None is chosen: the host's parameter.
    press(&mut harness, text::TO_PANEL.0);
    assert!(harness.query_by_label(&chip).is_none());
    turn_to(&mut harness, 0.5);
    assert_eq!(said(&harness), [None, None]);
    assert!((harness.state().values.get(intensity) - 0.5).abs() < 0.01);
    // A change of sections is taken back in one step.
    press(&mut harness, text::UNDO);
    assert!(said(&harness).into_iter().all(|level| near(level, 0.75)));
}

/// A level of a section ends where it is typed to end.
#[test]
fn a_level_of_a_section_ramps() {
    let mut harness = page();
    press(&mut harness, words::NEW);
    harness.key_press(egui::Key::Enter);
    harness.run();
    let end = text::end_of(SettingId::Density.name());
    harness
        .get_by_role_and_label(Role::SpinButton, &end)
        .click();
    harness.run();
    harness.key_press_modifiers(egui::Modifiers::COMMAND, egui::Key::A);
    harness.run();
    harness.event(egui::Event::Text("90".to_owned()));
    harness.run();
    harness.key_press(egui::Key::Enter);
    harness.run();
    let density = sections(&harness)[0].density;
    assert!(
        matches!(density, Some(Level::Ramp { to, .. } | Level::Steady(to)) if (to - 0.9).abs() < 1e-6),
        "{density:?}"
    );
}

/// With the keyboard alone: a song of four sections from nothing.
#[test]
fn four_sections_are_made_in_under_forty_key_presses() {
    let mut harness = page();
    let mut presses = 0;
    let mut key = |harness: &mut Harness<'_, Host>, key: egui::Key| {
        presses += 1;
        harness.key_press(key);
        harness.run();
    };
    let on_strip = |harness: &Harness<'_, Host>| {
        let strip = harness.get_by_label(text::STRIP);
        strip.accesskit_node().is_focused()
    };
    while !on_strip(&harness) {
        key(&mut harness, egui::Key::Tab);
    }
    key(&mut harness, egui::Key::Enter);
    for name in ["Intro", "Verse", "Chorus", "End"] {
        // The name is typed in place of the one that is offered.
        if name != "Intro" {
            key(&mut harness, egui::Key::Insert);
        }
        harness.event(egui::Event::Text(name.to_owned()));
        harness.run();
        key(&mut harness, egui::Key::Enter);
    }
    let names: Vec<String> = sections(&harness).into_iter().map(|s| s.name).collect();
    assert_eq!(names, ["Intro", "Verse", "Chorus", "End"]);
    let typed: usize = names.iter().map(String::len).sum();
    assert!(presses + typed < 40, "{presses} and {typed} letters");
}

/// While the chart is played, the panel's controls say which of them the section here does not go by.
#[test]
fn the_panel_says_what_is_the_sections_own() {
    let mut harness = page();
    press(&mut harness, words::DEMO);
    let own = |harness: &Harness<'_, Host>| {
        let said = text::unheard("");
        harness.query_all_by_label_contains(said.trim()).count()
    };
    assert!(own(&harness) >= 4);
    let mut levels = harness.query_all_by_role(Role::SpinButton);
    assert!(levels.any(|level| {
        level
            .value()
            .is_some_and(|value| value == words::moved(0.0))
    }));
    drop(levels);
    harness.state_mut().values.set(SettingId::FollowChart, 0.0);
    harness.run();
    assert_eq!(own(&harness), 0);
    assert!(says(&harness, text::CHART_IS_OFF));
}

#[test]
fn a_chart_that_cannot_be_read_is_said_to_be_there() {
    let mut harness = page();
    let newer = serde_json::json!({"fourlimb_song": 99});
    let saved = serde_json::json!({"schema": 2, "song": newer});
    keeper(&harness).load(SavedDocument(saved));
    harness.run();
    assert!(says(&harness, "version 99"));
    assert_eq!(keeper(&harness).document().saved().0["song"], newer);
}

#[test]
fn a_project_of_a_newer_drummer_says_so_until_another_comes() {
    let mut harness = page();
    let said = |harness: &Harness<'_, Host>| says(harness, fourlimb::editor::text::NEWER);
    assert!(!said(&harness));
    keeper(&harness).load(SavedDocument(
        serde_json::json!({"schema": 2, "drummer": 99}),
    ));
    harness.run();
    assert!(said(&harness));
    keeper(&harness).load(SavedDocument(serde_json::json!({"schema": 2})));
    harness.run();
    assert!(!said(&harness));
}

/// In the stand-alone program a section is played from its start, or round and round, in one click.
#[test]
fn a_section_is_played_and_looped_in_one_click() {
    use fourlimb::editor::strip::stretch;
    let mut harness = page();
    press(&mut harness, words::DEMO);
    harness.state_mut().panel.strip.chosen = [3].into();
    harness.run();
    assert!(
        harness.query_by_label(text::LOOP_SECTION.0).is_none(),
        "a host has its own transport"
    );
    harness.state_mut().panel.looped = Some(None);
    harness.run();
    let song = keeper(&harness).song().unwrap();
    let (start, bars) = stretch(&song, &[3].into()).unwrap();
    // Verse 1 of the demo song.
    assert_eq!((start, bars), (12 * 3840, (13, 20)));
    assert_eq!(stretch(&song, &[3, 5].into()).unwrap().1, (13, 32));
    assert_eq!(
        stretch(&song, &[13].into()).unwrap().1.1 as usize,
        song.timeline.bars().len()
    );
    assert!(stretch(&song, &[].into()).is_none());
    harness.get_by_label(text::PLAY_FROM.0);
    harness.get_by_role_and_label(Role::CheckBox, text::LOOP_SECTION.0);
}
