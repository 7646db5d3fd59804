//! Where things are in the plugin's window.

use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use fourlimb::bridge::Playhead;
use fourlimb::editor::controls::Values;
use fourlimb::editor::from_system::OnDisk;
use fourlimb::editor::panel::Panel;
use fourlimb::editor::snapshot::Snapshot;
use fourlimb::editor::theme;
use fourlimb::song::SongFile;
use std::path::Path;
use std::sync::Arc;

/// What the plugin's window shows, in the test's own hands. With a file dropped at a place, what is then asked.
pub(crate) fn shown(
    song: Option<&SongFile>,
    dropped: Option<(&Path, (i16, i16))>,
) -> Harness<'static, Panel> {
    let project = fourlimb::project::Project::default();
    if let Some(song) = song {
        project.open_song(song.clone(), None, Vec::new()).unwrap();
    }
    let mut harness = Harness::builder()
        .with_size(theme::WINDOW)
        .with_max_steps(160)
        .with_context_setup(theme::apply)
        .build_ui_state(
            move |ui, panel: &mut Panel| {
                let all = egui::UiBuilder::new().max_rect(ui.ctx().content_rect());
                let ui = &mut ui.new_child(all);
                let mut values = Values::default();
                values.settings.follow_chart = project.song().is_some();
                let snapshot = Snapshot::new(values, &Playhead::default()).with_project(&project);
                panel.show(ui, &snapshot, &mut Vec::new());
            },
            Panel::default(),
        );
    harness.run();
    if let Some((file, (x, y))) = dropped {
        let file = Arc::new(OnDisk(file.to_owned()));
        let input = harness.input_mut();
        let at = egui::pos2(f32::from(x), f32::from(y));
        input.events.push(egui::Event::PointerMoved(at));
        input.dropped_files.push(file);
        harness.run();
    }
    harness
}

/// The middle of something in the window, in pixels.
pub(crate) fn middle(of: egui::Rect) -> (i16, i16) {
    let at = of.center();
    #[expect(clippy::cast_possible_truncation)]
    let pixels = (at.x as i16, at.y as i16);
    pixels
}

/// Where something is in the plugin's window, by the name that those hear who can't see it, in pixels.
pub(super) fn place_of(
    label: &str,
    song: Option<&SongFile>,
    dropped: Option<(&Path, (i16, i16))>,
) -> (i16, i16) {
    let harness = shown(song, dropped);
    middle(harness.get_by_label_contains(label).rect())
}
