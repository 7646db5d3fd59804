//! Golden regions: what every beat plays, one line a stroke, and charts of every beat in odd meters.
//!
//! A change of them changes every song that was made before: it is made on purpose, with
//! `UPDATE_GOLDENS=1 cargo test --no-default-features --test core goldens`, and read as a drummer
//! reads it.

use crate::golden::{all, compare};
use crate::support::*;
use fourlimb::engine::offline;
use fourlimb::export::text_chart;
use fourlimb::groove::vocabulary::VOCABULARY;
use fourlimb::groove::{Beat, Hit};
use fourlimb::settings::{BarSettings, Settings, StrokeSettings};
use fourlimb::song::{SongFile, Timeline};
use fourlimb::time::Meter;
use std::fmt::Write as _;

/// Where a hit stands and who plays it: bar, place on the grid, limb, piece, velocity, and how many ticks
/// beside the grid it sounds.
pub fn line(timeline: &Timeline, hit: &Hit) -> String {
    let bars = timeline.bars();
    let i = bars.iter().rposition(|bar| bar.start <= hit.grid);
    let i = i.expect("hits lie in the song");
    let offset = match hit.tick - hit.grid {
        0 => String::new(),
        offset => format!(" {offset:+}"),
    };
    format!(
        "{} {} {:<10} {:<14} {}{offset}",
        i + 1,
        spoken(bars[i], hit.grid),
        hit.limb.name(),
        hit.piece.name(),
        hit.velocity
    )
}

/// Two phrases of a beat at 150 BPM, everything else as the plugin starts with.
pub fn song(beat: &str) -> Timeline {
    let json = format!(
        r#"{{"fourlimb_song": 1, "title": "golden", "sections":
            [{{"name": "A", "bars": 8, "bpm": 150, "style": "{beat}"}}]}}"#
    );
    Timeline::automated(&SongFile::parse(&json).unwrap()).unwrap()
}

fn golden(beat: &Beat) -> String {
    let timeline = song(beat.name());
    let mut lines = String::new();
    for hit in offline::play(&timeline) {
        let _ = writeln!(lines, "{}", line(&timeline, &hit));
    }
    lines
}

#[test]
fn every_beat_plays_what_it_played() {
    let check = |beat: &Beat| compare("core/goldens", beat.name(), &golden(beat));
    all(VOCABULARY.iter().map(check));
}

/// A beat without extras or fills: both bars of its cycle where they differ, away from the crash
/// that opens a phrase.
fn chart(style: u8, meter: Meter, bpm: f64) -> String {
    let Settings {
        bar_settings,
        stroke_settings,
        ..
    } = Settings::default();
    let bar_settings = BarSettings {
        style,
        fill_chance: 0.0,
        ..bar_settings
    };
    let stroke_settings = StrokeSettings {
        intensity: 0.5,
        density: 0.0,
        ..stroke_settings
    };
    let mut lines = format!("{}\n", bar_settings.beat().name());
    let bars = [6, 5].map(|index| {
        let part = part(bar(index, meter), bpm, &bar_settings);
        // Charts show where, not how hard: velocities differ by touch from bar to bar.
        let plain = |hit| Hit {
            velocity: 90,
            ..hit
        };
        let hits: Vec<_> = part.hits(&stroke_settings).map(plain).collect();
        text_chart::bar(part.bar(), &hits)
    });
    lines += &bars[0];
    if bars[1] != bars[0] {
        lines += &bars[1];
    }
    lines
}

/// Every beat in a meter at a moderate tempo, as a drummer reads it. Common practice, no source.
#[test]
fn charts_in_odd_meters_are_what_they_were() {
    let check = |name: &str| {
        let meter = name.parse().unwrap();
        let charts: Vec<_> = (0..BEATS).map(|style| chart(style, meter, 120.0)).collect();
        compare("core/charts", name, &charts.join("\n"))
    };
    all(["4/4", "3/4", "5/4", "6/8", "7/8"].into_iter().map(check));
}
