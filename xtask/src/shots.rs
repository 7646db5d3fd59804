//! `cargo xtask shots`: the editor in its states, as pictures, drawn without a window. The same pictures are
//! compared with those in `tests/shots`.

use anyhow::{Context, Result};
use egui::UiBuilder;
use egui_kittest::Harness;
use fourlimb::bridge::Playhead;
use fourlimb::editor::controls::Values;
use fourlimb::editor::panel::Panel;
use fourlimb::editor::snapshot::Snapshot;
use fourlimb::editor::theme;
use fourlimb::groove::vocabulary::VOCABULARY;
use fourlimb::project::Project;
use fourlimb::project::view::ViewSettings;
use fourlimb::riff::{Attack, Riff};
use fourlimb::settings::SettingId;
use fourlimb::song::SongFile;
use fourlimb::song::file::Section;
use fourlimb::time::{Bar, Meter, Ticks};
use std::fs;
use std::path::Path;

/// What a picture shows.
struct Stage {
    panel: Panel,
    project: Project,
    values: Values,
    playhead: Playhead,
    look: ViewSettings,
}

/// A picture: its name, and how its stage is set.
type Picture = (&'static str, fn(&mut Stage));

/// Every picture.
const PICTURES: [Picture; 13] = [
    ("idle", |_| {}),
    ("playing", |stage| stage.play(5, 0.55)),
    ("fill", fill),
    ("thinned", thinned),
    ("riff", riff),
    ("song-of-eight", |stage| stage.song(8)),
    ("song-of-forty", |stage| stage.song(40)),
    ("demo-playing", |stage| {
        stage.demo();
        stage.play(23, 0.3);
    }),
    ("section", |stage| {
        stage.demo();
        stage.panel.strip.chosen = 4;
        stage.panel.strip.open = true;
    }),
    ("smallest", |stage| {
        stage.demo();
        stage.look.zoom = 75;
    }),
    ("largest", |stage| {
        stage.demo();
        stage.look.zoom = 200;
    }),
    ("light", |stage| stage.look.light = true),
    ("light-demo", |stage| {
        stage.demo();
        stage.look.light = true;
    }),
];

const BAR: Ticks = 3840;

impl Stage {
    /// Stands in a bar of 4/4, from 0, at a part of it.
    fn play(&mut self, bar: i64, part: f64) {
        #[expect(clippy::cast_possible_truncation)]
        let into = (part * BAR as f64) as Ticks;
        let here = Bar {
            start: bar * BAR,
            meter: Meter::FOUR_FOUR,
        };
        self.playhead.at = Some((here, here.start + into));
        self.playhead.bpm = 150.0;
        self.playhead.meter = Some((4, 4));
    }

    fn follow(&mut self, song: SongFile) {
        // Pictures are of songs that make sense.
        let _ = self.project.change_song(song, None);
        self.values.set(SettingId::FollowChart, 1.0);
        for level in [SettingId::Intensity, SettingId::Density, SettingId::Accent] {
            self.values.set(level, 0.5);
        }
    }

    fn demo(&mut self) {
        if let Ok(song) = SongFile::parse(SongFile::DEMO) {
            self.follow(song);
        }
    }

    /// A song of so many sections.
    fn song(&mut self, sections: usize) {
        let names = ["Intro", "Verse", "Lift", "Chorus", "Bridge", "Breakdown"];
        let mut song = SongFile::of("Slag Heap", Section::default());
        song.sections = (0..sections)
            .map(|i| {
                let mut values = self.values;
                values.set(SettingId::Style, (i * 5 % VOCABULARY.len()) as f32);
                values.set(SettingId::Intensity, [0.4, 0.55, 0.7, 0.9][i % 4]);
                let bars = [8, 4, 8, 2][i % 4];
                Section::of(names[i % names.len()], bars, &values.settings)
            })
            .collect();
        self.follow(song);
    }
}

/// A phrase that ends in a fill.
fn fill(stage: &mut Stage) {
    stage.values.set(SettingId::FillChance, 1.0);
    stage.values.set(SettingId::Style, 2.0);
    stage.values.set(SettingId::Intensity, 0.85);
    stage.play(3, 0.6);
}

/// More than this player can play.
fn thinned(stage: &mut Stage) {
    stage.values.set(SettingId::Player, 0.0);
    let style = VOCABULARY
        .iter()
        .position(|beat| beat.name() == "bomb blast");
    stage
        .values
        .set(SettingId::Style, style.unwrap_or(0) as f32);
    stage.play(1, 0.2);
    stage.playhead.bpm = 240.0;
}

/// A captured riff that the kick follows.
fn riff(stage: &mut Stage) {
    let attacks = (0..64).filter(|i| [0, 2, 3, 6, 8, 10, 11, 14].contains(&(i % 16)));
    let attacks = attacks.map(|i| Attack {
        tick: i * 240,
        strength: if i % 4 == 0 { 1.0 } else { 0.6 },
    });
    let riff = Riff::new(attacks, 0, 4 * BAR);
    stage.project.change_riff(|kept| *kept = riff);
    let style = VOCABULARY
        .iter()
        .position(|beat| beat.name() == "breakdown");
    stage
        .values
        .set(SettingId::Style, style.unwrap_or(0) as f32);
}

/// The picture of a stage.
fn harness(set: fn(&mut Stage)) -> Harness<'static, Stage> {
    let mut stage = Stage {
        panel: Panel::default(),
        project: Project::default(),
        values: Values::default(),
        playhead: Playhead::default(),
        look: ViewSettings::default(),
    };
    set(&mut stage);
    let zoom = f32::from(stage.look.zoom) / 100.0;
    let mut harness = Harness::builder()
        .with_size(theme::WINDOW)
        .with_pixels_per_point(zoom)
        .with_max_steps(60)
        .with_context_setup(theme::apply)
        .wgpu()
        .build_ui_state(
            |ui, stage: &mut Stage| {
                theme::choose(ui.ctx(), stage.look.light);
                // All of the picture, without the margin that a panel has.
                let rect = ui.ctx().content_rect();
                let ui = &mut ui.new_child(UiBuilder::new().max_rect(rect));
                ui.set_clip_rect(rect);
                let snapshot = Snapshot::new(stage.values, &stage.playhead)
                    .with_document(&stage.project.document());
                stage.panel.look = stage.look;
                stage.panel.show(ui, &snapshot, &mut Vec::new());
            },
            stage,
        );
    harness.run_steps(4);
    harness
}

/// Writes every picture into a folder.
///
/// # Errors
/// Where one can't be drawn or written.
pub fn run(out: &Path) -> Result<()> {
    fs::create_dir_all(out)
        .with_context(|| format!("could not make the folder {}", out.display()))?;
    for (name, set) in PICTURES {
        let picture = harness(set)
            .render()
            .map_err(|error| anyhow::anyhow!("could not draw {name}: {error}"))?;
        let path = out.join(format!("{name}.png"));
        picture.save(&path)?;
        println!("{}", path.display());
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use egui_kittest::{SnapshotOptions, SnapshotResults};

    /// The pictures are those in `tests/shots`; `UPDATE_SNAPSHOTS=1` writes them anew. Drivers differ in how
    /// they draw edges, so some pixels may differ.
    #[test]
    fn the_editor_looks_as_it_did() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../tests/shots");
        let options = SnapshotOptions::new()
            .output_path(folder)
            .max_failed_pixels(2_000);
        let mut results = SnapshotResults::new();
        for (name, set) in PICTURES {
            let mut harness = harness(set);
            harness.snapshot_options(name, &options);
            results.extend(harness.take_snapshot_results());
        }
        results.unwrap();
    }
}
