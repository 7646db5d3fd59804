//! Zoom and theme by pointer and keys, and undo of riff and song together.

use super::{Harness, Panel, Playhead, Role, Snapshot, Values, text, theme};
use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use fourlimb::editor::action::Action;
use fourlimb::editor::action::RiffAct;
use fourlimb::editor::view_settings;
use fourlimb::params::FourlimbParams;
use fourlimb::riff::{Attack, Riff};
use fourlimb::song::SongFile;
use fourlimb::song::file::Section;

#[derive(Default)]
struct Host {
    panel: Panel,
    params: FourlimbParams,
    restore: bool,
}

fn window() -> Harness<'static, Host> {
    let mut harness = Harness::builder()
        .with_size(theme::WINDOW)
        .with_max_steps(160)
        .with_context_setup(|ctx| {
            theme::apply(ctx);
            view_settings::open(ctx);
        })
        .build_ui_state(
            |ui, host: &mut Host| {
                let project = host.params.project.clone();
                let mut snapshot = Snapshot::new(Values::default(), &Playhead::default());
                snapshot.can = project.can();
                let view = project.document().view;
                host.panel.look = view_settings::follow(ui, view, &mut host.restore);
                let mut actions = Vec::new();
                host.panel.show(ui, &snapshot, &mut actions);
                if let Some(view) = view_settings::keep(ui, view, host.panel.look) {
                    project.set_view(view);
                }
                actions.extend(view_settings::turn(ui));
                for action in actions {
                    match action {
                        Action::Undo => {
                            drop(project.undo(&fourlimb::settings::Settings::default()));
                        }
                        Action::Redo => {
                            drop(project.redo(&fourlimb::settings::Settings::default()));
                        }
                        _ => {}
                    }
                }
            },
            Host::default(),
        );
    harness.run();
    harness
}

fn press(harness: &mut Harness<'_, Host>, modifiers: Modifiers, key: Key) {
    harness.key_press_modifiers(modifiers, key);
    harness.run();
}

#[test]
fn zoom_goes_in_steps_by_keys_and_by_its_list() {
    let mut harness = window();
    let zoom = |harness: &Harness<'_, Host>| harness.state().params.project.document().view.zoom;
    for (key, percent) in [
        (Key::Plus, 110),
        (Key::Plus, 125),
        (Key::Minus, 110),
        (Key::Num0, 100),
        (Key::Minus, 90),
        (Key::Minus, 75),
        (Key::Minus, 75),
    ] {
        press(&mut harness, Modifiers::COMMAND, key);
        assert_eq!(zoom(&harness), percent, "{key:?}");
    }
    let drawn = harness.ctx.zoom_factor();
    assert!((drawn - 0.75).abs() < 1e-6);
    harness
        .get_by_role_and_label(Role::ComboBox, text::ZOOM)
        .click();
    harness.run();
    harness.get_by_label(&text::zoom(150)).click();
    harness.run();
    assert_eq!(zoom(&harness), 150);
}

#[test]
fn the_theme_changes_and_is_kept() {
    let mut harness = window();
    for light in [true, false] {
        harness.get_by_label(text::theme(!light)).click();
        harness.run();
        assert_eq!(harness.state().params.project.document().view.light, light);
        assert_eq!(harness.ctx.theme() == egui::Theme::Light, light);
    }
}

#[test]
fn a_cleared_riff_and_a_new_song_are_undone_in_their_order() {
    let mut harness = window();
    let attack = Attack {
        tick: 0,
        strength: 1.0,
    };
    {
        let params = &harness.state().params;
        let project = &params.project;
        project.change_riff(|riff| *riff = Riff::new([attack], 0, 3840));
        let section = Section::of("Verse", 4, &params.settings());
        project
            .change_song(SongFile::of("T", section), None)
            .unwrap();
        project.change_riff(|riff| RiffAct::Clear.apply(riff, 3840));
    }
    harness.run();
    let state = |harness: &Harness<'_, Host>| {
        let document = harness.state().params.project.document();
        (
            document.riff.attacks().len(),
            document.song.song().is_some(),
        )
    };
    assert_eq!(state(&harness), (0, true));
    harness.get_by_label(text::UNDO).click();
    harness.run();
    assert_eq!(state(&harness), (1, true));
    press(&mut harness, Modifiers::COMMAND, Key::Z);
    assert_eq!(state(&harness), (1, false));
    press(&mut harness, Modifiers::COMMAND, Key::Z);
    assert_eq!(state(&harness), (0, false));
    for after in [(1, false), (1, true)] {
        press(&mut harness, Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
        assert_eq!(state(&harness), after);
    }
    press(&mut harness, Modifiers::COMMAND, Key::Y);
    assert_eq!(state(&harness), (0, true));
    assert!(!harness.state().params.project.can().redo);
}

/// A value can be typed, and turned with the wheel.
#[test]
fn a_level_is_typed_and_turned() {
    let mut harness = super::editor();
    let control = super::SettingId::Density;
    let name = control.name();
    harness
        .get_by_role_and_label(Role::SpinButton, name)
        .click();
    harness.run();
    harness.key_press_modifiers(Modifiers::COMMAND, Key::A);
    harness.run();
    harness.event(egui::Event::Text("73%".to_owned()));
    harness.run();
    harness.key_press(Key::Enter);
    harness.run();
    assert!((harness.state().values.get(control) - 0.73).abs() < 1e-6);
    let bar = harness.get_by_role_and_label(Role::Slider, name).rect();
    harness.hover_at(bar.center());
    harness.run();
    harness.event(egui::Event::MouseWheel {
        unit: egui::MouseWheelUnit::Line,
        delta: egui::vec2(0.0, -2.0),
        phase: egui::TouchPhase::Move,
        source: egui::MouseWheelSource::Unknown,
        modifiers: Modifiers::NONE,
    });
    harness.run();
    assert!((harness.state().values.get(control) - 0.68).abs() < 1e-6);
}
