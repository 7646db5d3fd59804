//! `cargo xtask shots`: the editor in its states, as pictures, drawn without a window. The same pictures are
//! compared with those in `tests/shots`.

use anyhow::{Context, Result};
use egui::{UiBuilder, Vec2, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use fourlimb::bridge::Playhead;
use fourlimb::editor::controls::Values;
use fourlimb::editor::drawers::Drawer;
use fourlimb::editor::header::Page;
use fourlimb::editor::panel::Panel;
use fourlimb::editor::snapshot::Snapshot;
use fourlimb::editor::theme;
use fourlimb::groove::Stab;
use fourlimb::groove::vocabulary::VOCABULARY;
use fourlimb::kit::hi_hat::{Controller, HiHat};
use fourlimb::kit::map_file::NamedMap;
use fourlimb::kit::note_map::PieceNotes;
use fourlimb::kit::proposal::{Line, Proposal, Sureness, Unplaced};
use fourlimb::kit::{Note, NoteMap, Piece};
use fourlimb::project::Project;
use fourlimb::project::view::ViewSettings;
use fourlimb::riff::{Attack, Riff};
use fourlimb::settings::SettingId;
use fourlimb::song::SongFile;
use fourlimb::song::file::Section;
use fourlimb::song::hits::HitRow;
use fourlimb::time::{Bar, Meter, Ticks};
use std::fs;
use std::path::Path;

mod edited;

/// What a picture shows.
struct Stage {
    panel: Panel,
    project: Project,
    values: Values,
    playhead: Playhead,
    look: ViewSettings,
    size: Vec2,
    /// How much larger letters are, as words of another language are longer.
    type_scale: f32,
    /// What is pressed before it is drawn: strokes and buttons, by words of their names.
    presses: Vec<&'static str>,
    /// What the pointer and keys do after that.
    events: Vec<egui::Event>,
}

/// A picture: its name, and how its stage is set.
type Picture = (&'static str, fn(&mut Stage));

/// Every picture.
const PICTURES: [Picture; 44] = [
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
        stage.panel.strip.chosen = [4].into();
    }),
    ("section-guitar", |stage| {
        riff(stage);
        stage.demo();
        stage.panel.strip.chosen = [5].into();
        stage.panel.drawer = Some(Drawer::Guitar);
    }),
    ("sections", |stage| {
        stage.demo();
        stage.panel.strip.chosen = [3, 4, 6].into();
        stage.panel.drawer = Some(Drawer::Files);
    }),
    ("names-and-lengths", |stage| {
        stage.drawn();
        stage.play(9, 0.4);
    }),
    ("song-of-one", |stage| stage.song(1)),
    ("song-of-hundred-and-twenty", |stage| stage.song(120)),
    ("drawer-limbs", |stage| {
        stage.panel.drawer = Some(Drawer::Limbs);
    }),
    ("drawer-sound", |stage| {
        stage.panel.drawer = Some(Drawer::Sound);
        stage.look.light = true;
    }),
    ("drawer-phrasing", |stage| {
        stage.panel.drawer = Some(Drawer::Phrasing);
    }),
    ("small", |stage| {
        stage.demo();
        stage.size = vec2(900.0, 600.0);
        stage.play(23, 0.3);
    }),
    ("small-section", |stage| {
        stage.demo();
        stage.size = vec2(900.0, 600.0);
        stage.panel.strip.chosen = [5].into();
        stage.panel.drawer = Some(Drawer::Files);
    }),
    ("compare", |stage| stage.compare(3)),
    ("small-compare", |stage| {
        stage.compare(11);
        stage.size = vec2(900.0, 600.0);
        stage.panel.drawer = Some(Drawer::Phrasing);
    }),
    ("sixteen-bars", |stage| {
        stage.demo();
        stage.panel.show_bars(Some(16));
        stage.play(26, 0.7);
    }),
    ("longer-words", |stage| {
        stage.demo();
        stage.panel.strip.chosen = [5].into();
        stage.panel.drawer = Some(Drawer::Phrasing);
        stage.type_scale = 1.25;
    }),
    ("help", |stage| stage.panel.page = Page::Help),
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
    ("edit-selected", |stage| {
        stage
            .presses
            .push("bar 1, other hand: snare on 2, velocity");
    }),
    ("edit-frame", edited::framed),
    ("edit-place", edited::placed),
    ("edit-third-hand", edited::third_hand),
    ("edit-asleep", edited::asleep),
    ("edit-section", |stage| {
        edited::section(stage);
        stage.look.light = true;
    }),
    ("edit-small", |stage| {
        edited::third_hand(stage);
        stage.size = vec2(900.0, 600.0);
        stage.panel.drawer = Some(Drawer::Limbs);
    }),
    ("hits", hits),
    ("hits-suggested", |stage| {
        hits(stage);
        *stage.panel.suggests_hits() = true;
        stage.panel.drawer = Some(Drawer::Guitar);
        stage.look.light = true;
    }),
    ("beats-suiting", |stage| {
        riff(stage);
        stage.values.set(SettingId::Style, 0.0);
        stage.panel.open_beats();
    }),
    ("sampler", |stage| stage.panel.page = Page::Sampler),
    ("sampler-piece", sampler_piece),
    ("sampler-learning", |stage| {
        stage.panel.page = Page::Sampler;
        stage.panel.sampler.learn_all();
    }),
    ("sampler-proposal", proposal),
    ("sampler-conflict", |stage| {
        conflict(stage);
        stage.look.light = true;
    }),
    ("sampler-small", |stage| {
        sampler_piece(stage);
        stage.size = vec2(900.0, 600.0);
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

    /// The demo with another state of the section at this place, from 0, to compare it with.
    fn compare(&mut self, section: usize) {
        self.demo();
        self.panel.strip.chosen = [section].into();
        let document = self.project.document();
        let playhead = Playhead::default();
        let snapshot = Snapshot::new(self.values, &playhead).with_document(&document);
        self.panel.compare.remember(&snapshot);
        self.values.set(SettingId::Density, 0.8);
        self.values.set(SettingId::Take, 3.0);
    }

    fn demo(&mut self) {
        if let Ok(song) = SongFile::parse(SongFile::DEMO) {
            self.follow(song);
        }
    }

    /// A song of names and lengths alone, as it is drawn on the strip.
    fn drawn(&mut self) {
        let sections = [
            ("Guitar alone, far away", 4),
            ("Verse", 8),
            ("Chorus", 8),
            ("Slow part", 6),
        ];
        let sections = sections.map(|(name, bars)| Section::of_panel(name, bars));
        let mut song = SongFile::of("Slag Heap", Section::default());
        song.sections = sections.to_vec();
        let _ = self.project.change_song(song, None);
        self.values.set(SettingId::FollowChart, 1.0);
        self.values.set(SettingId::Intensity, 0.7);
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

/// A section with hits of the band, over the riff.
fn hits(stage: &mut Stage) {
    riff(stage);
    let mut section = Section::of("Stops", 4, &Values::default().settings);
    let marks = [
        (0, true),
        (1440, false),
        (2880, false),
        (BAR + 1440, true),
        (3 * BAR + 2400, false),
    ];
    section.hits = marks.map(|(at, held)| HitRow(Stab { at, held })).to_vec();
    stage.follow(SongFile::of("Slag Heap", section));
}

/// A note of the percussion channel.
fn note(key: u8) -> Note {
    Note { channel: 9, key }
}

/// A map of a sampler of its own kind, with what is seldom set.
fn sampler_piece(stage: &mut Stage) {
    stage.panel.page = Page::Sampler;
    stage.panel.sampler.chosen = Some(Piece::HiHatClosed);
    let mut map = NoteMap::default();
    let snare = map.get_mut(Piece::Snare);
    snare.notes.push(note(40));
    snare.also_read.clear();
    snare.response.floor = 24;
    snare.response.bend = 45;
    map.get_mut(Piece::China).notes.clear();
    map.get_mut(Piece::FloorLow).notes.clear();
    map.hi_hat = HiHat::Controller(Controller::foot(9));
    let name = "Cellar kit".to_owned();
    stage.project.change_map(NamedMap { name, map }, None);
}

/// Two pieces on one key.
fn conflict(stage: &mut Stage) {
    stage.panel.page = Page::Sampler;
    let mut map = NoteMap::default();
    *map.get_mut(Piece::SideStick) = PieceNotes::of(note(38));
    *map.get_mut(Piece::Splash) = PieceNotes::of(note(49));
    let name = "Cellar kit".to_owned();
    stage.project.change_map(NamedMap { name, map }, None);
}

/// What a file says of a sampler.
fn proposal(stage: &mut Stage) {
    stage.panel.page = Page::Sampler;
    let line = |piece, key, sureness, reason: &str| Line {
        piece,
        note: note(key),
        sureness,
        reason: reason.to_owned(),
    };
    let proposal = Proposal {
        lines: vec![
            line(Piece::Kick, 24, Sureness::Sure, "named \"Bass Drum\""),
            line(Piece::Snare, 26, Sureness::Sure, "named \"Snare\""),
            line(Piece::Ride, 50, Sureness::Likely, "named \"Cymbal 20\""),
            line(Piece::China, 55, Sureness::Guess, "named \"Trash\""),
        ],
        unplaced: vec![Unplaced {
            note: note(70),
            reason: "named \"Cowbell\"".to_owned(),
        }],
    };
    let map = proposal.to_map();
    let name = "Cellar kit".to_owned();
    stage.project.change_map(NamedMap { name, map }, None);
    let others = vec!["Brushes".to_owned()];
    stage.panel.sampler.propose(Some(proposal), others);
}

/// The picture of a stage.
fn harness(set: fn(&mut Stage)) -> Harness<'static, Stage> {
    let mut stage = Stage {
        panel: Panel::default(),
        project: Project::default(),
        values: Values::default(),
        playhead: Playhead::default(),
        look: ViewSettings::default(),
        size: theme::WINDOW,
        type_scale: 1.0,
        presses: Vec::new(),
        events: Vec::new(),
    };
    set(&mut stage);
    let zoom = f32::from(stage.look.zoom) / 100.0;
    let mut harness = Harness::builder()
        .with_size(stage.size)
        .with_pixels_per_point(zoom)
        .with_max_steps(160)
        .with_context_setup(theme::apply)
        .wgpu()
        .build_ui_state(
            |ui, stage: &mut Stage| {
                theme::choose(ui.ctx(), stage.look.light);
                if stage.type_scale != 1.0 {
                    for font in ui.style_mut().text_styles.values_mut() {
                        font.size = theme::TYPE_BODY * stage.type_scale;
                    }
                }
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
    let presses = std::mem::take(&mut harness.state_mut().presses);
    for name in presses {
        if let Some(node) = harness.query_all_by_label_contains(name).next() {
            node.click_accesskit();
        }
        harness.run_steps(4);
    }
    let events = std::mem::take(&mut harness.state_mut().events);
    for event in events {
        harness.event(event);
        harness.run_steps(2);
    }
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

    /// The pictures are those in `tests/shots`; `UPDATE_SNAPSHOTS=1` writes every one anew that differs at all. Drivers
    /// differ in how they draw edges, so some pixels may differ where they are compared.
    #[test]
    fn the_editor_looks_as_it_did() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../tests/shots");
        let updates = std::env::var_os("UPDATE_SNAPSHOTS").is_some();
        let options = SnapshotOptions::new()
            .output_path(folder)
            .max_failed_pixels(if updates { 0 } else { 2_000 });
        let mut results = SnapshotResults::new();
        for (name, set) in PICTURES {
            let mut harness = harness(set);
            harness.snapshot_options(name, &options);
            results.extend(harness.take_snapshot_results());
        }
        results.unwrap();
    }
}
