//! Taking a song back gives the panel back.

use fourlimb::bridge::Playhead;
use fourlimb::editor::action::Action;
use fourlimb::editor::carry_out::{Dialogs, carry_out};
use fourlimb::editor::controls::Values;
use fourlimb::editor::panel::Panel;
use fourlimb::editor::snapshot::Snapshot;
use fourlimb::params::FourlimbParams;
use fourlimb::project::JobQueue;
use fourlimb::settings::SettingId;
use fourlimb::song::SongFile;

/// A panel that is not the default, a song over it, and back.
#[test]
fn a_song_taken_back_leaves_the_panel_as_it_was() {
    let params = FourlimbParams::default();
    let jobs = JobQueue::new(params.project.clone());
    let (mut panel, mut dialogs) = (Panel::default(), Dialogs::default());
    let mut values = Values::default();
    for (setting, value) in [
        (SettingId::Style, 3.0),
        (SettingId::Intensity, 0.85),
        (SettingId::Density, 0.15),
        (SettingId::Take, 77.0),
        (SettingId::FollowChart, 0.0),
    ] {
        values.set(setting, value);
    }
    let before = values.settings;
    let mut act = |action, values: &mut Values| {
        let snapshot = Snapshot::new(*values, &Playhead::default()).with_project(&params.project);
        let brought = carry_out(
            vec![action],
            &snapshot,
            &mut panel,
            &params,
            &jobs,
            &mut dialogs,
        );
        for (setting, value) in brought {
            values.set(setting, value);
        }
    };
    let song: SongFile = SongFile::parse(SongFile::DEMO).unwrap();
    act(Action::OpenSong(Box::new(song)), &mut values);
    let with_song = values.settings;
    assert!(with_song.follow_chart && params.project.song().is_some());
    assert_ne!(with_song.stroke_settings, before.stroke_settings);
    act(Action::Undo, &mut values);
    assert_eq!(values.settings, before);
    assert!(params.project.song().is_none());
    act(Action::Redo, &mut values);
    assert_eq!(values.settings, with_song);
    act(Action::Undo, &mut values);
    assert_eq!(values.settings, before);
}
