//! Golden regions: what every beat plays, one line a stroke, and charts of every beat in odd meters.
//!
//! A change of them changes every song that was made before: it is made on purpose, with
//! `UPDATE_GOLDENS=1 cargo test --no-default-features --test core goldens`, and read as a drummer
//! reads it.

use crate::support::*;
use fourlimb::engine::offline;
use fourlimb::export::text_chart;
use fourlimb::groove::vocabulary::VOCABULARY;
use fourlimb::groove::{Beat, Hit};
use fourlimb::settings::{BarSettings, Settings, StrokeSettings};
use fourlimb::song::{SongFile, Timeline};
use fourlimb::time::Meter;
use std::fmt::Write as _;
use std::path::Path;

/// Lines of difference that are printed.
const SHOWN: usize = 8;

/// Compares a text with its golden file, or writes the file where `UPDATE_GOLDENS` is set. Returns
/// the first lines that differ.
fn compare(folder: &str, name: &str, found: &str) -> Result<(), String> {
    let file = format!("{}.txt", name.replace([' ', '/'], "-"));
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/core")
        .join(folder)
        .join(&file);
    if std::env::var_os("UPDATE_GOLDENS").is_some() {
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, found).unwrap();
        return Ok(());
    }
    let golden = std::fs::read_to_string(&path)
        .map_err(|error| format!("{folder}/{file}: {error}: see the head of goldens.rs"))?;
    if golden == found {
        return Ok(());
    }
    let mut shown = format!("{folder}/{file}:\n");
    let (mut a, mut b) = (golden.lines(), found.lines());
    let (mut line, mut differing) = (0, 0);
    loop {
        let pair = (a.next(), b.next());
        line += 1;
        match pair {
            (None, None) => break,
            (was, is) if was != is => {
                differing += 1;
                if differing <= SHOWN {
                    let (was, is) = (was.unwrap_or("(end)"), is.unwrap_or("(end)"));
                    let _ = writeln!(shown, "  line {line}\n    was {was}\n    is  {is}");
                }
            }
            _ => {}
        }
    }
    let _ = writeln!(shown, "  {differing} lines differ");
    Err(shown)
}

fn all(results: impl Iterator<Item = Result<(), String>>) {
    let wrong: Vec<_> = results.filter_map(Result::err).collect();
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

/// What a song plays. A line is bar, place on the grid, limb, piece, velocity, and how many ticks beside the
/// grid it sounds.
fn lines(timeline: &Timeline) -> String {
    let mut lines = String::new();
    for hit in offline::play(timeline) {
        let i = timeline
            .bars()
            .iter()
            .rposition(|bar| bar.start <= hit.grid);
        let i = i.expect("hits lie in the song");
        let offset = match hit.tick - hit.grid {
            0 => String::new(),
            offset => format!(" {offset:+}"),
        };
        let _ = writeln!(
            lines,
            "{} {} {:<10} {:<14} {}{offset}",
            i + 1,
            spoken(timeline.bars()[i], hit.grid),
            hit.limb.name(),
            hit.piece.name(),
            hit.velocity
        );
    }
    lines
}

/// Two phrases of a beat at 150 BPM, everything else as the plugin starts with.
fn golden(beat: &Beat) -> String {
    let json = format!(
        r#"{{"fourlimb_song": 1, "title": "golden", "sections":
            [{{"name": "A", "bars": 8, "bpm": 150, "style": "{}"}}]}}"#,
        beat.name()
    );
    lines(&Timeline::automated(&SongFile::parse(&json).unwrap()).unwrap())
}

/// A beat in the sections of a chart: an own take, a ramp, a frozen section in 7/8 at another tempo that a
/// break leads to, and a section that another beat counts in.
fn followed(beat: &Beat) -> String {
    let json = format!(
        r#"{{"fourlimb_song": 1, "title": "golden", "take": 5, "sections": [
            {{"name": "A", "bars": 4, "bpm": 150, "style": "{beat}", "start": "crash", "take": 9,
              "intensity": {{"from": 0.3, "to": 0.9}}, "density": 0.8, "accent": 0.7, "fill": "break"}},
            {{"name": "B", "bars": 2, "bpm": 170, "meter": "7/8", "start": "china", "frozen": 7,
              "hand_rate": "eighths", "fill": "long"}},
            {{"name": "C", "bars": 2, "meter": "4/4", "style": "rock", "fill": "none", "fill_chance": 1.0}},
            {{"name": "D", "bars": 2, "style": "{beat}", "start": "count-in", "hand": "crash", "fill": "short"}},
            {{"name": "E", "bars": 1, "start": "nothing"}}]}}"#,
        beat = beat.name()
    );
    lines(&Timeline::new(&SongFile::parse(&json).unwrap()).unwrap())
}

#[test]
fn every_beat_plays_what_it_played() {
    let check = |beat: &Beat| compare("goldens", beat.name(), &golden(beat));
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
        compare("charts", name, &charts.join("\n"))
    };
    all(["4/4", "3/4", "5/4", "6/8", "7/8"].into_iter().map(check));
}

#[test]
fn every_beat_follows_a_chart_as_it_did() {
    let check = |beat: &Beat| compare("goldens-chart", beat.name(), &followed(beat));
    all(VOCABULARY.iter().map(check));
}

/// Songs that show what one beat alone doesn't: the demo song both ways, the guitar's kicks, strokes edited by
/// hand, the host's meters, fills that are called.
#[test]
fn songs_are_played_as_they_were() {
    let song = |json: &str| SongFile::parse(json).unwrap();
    let demo = song(SongFile::DEMO);
    // Ticks since the attack before, and its strength, in turn.
    let attacks: Vec<_> = (0..40)
        .flat_map(|i| [if i == 0 { 0 } else { 360 }, 50 + i])
        .map(|number: i64| number.to_string())
        .collect();
    let guitar = |source: &str| {
        song(&format!(
            r#"{{"fourlimb_song": 1, "title": "guitar", "kick_source": "{source}",
                "riff": {{"schema": 1, "spans": [[0, 15360]], "attacks": [{}]}},
                "sections": [{{"name": "A", "bars": 4, "bpm": 160, "style": "breakdown"}},
                             {{"name": "B", "bars": 2, "style": "double-kick"}}]}}"#,
            attacks.join(", ")
        ))
    };
    let by_hand = song(
        r#"{"fourlimb_song": 1, "title": "by hand", "sections": [
            {"name": "A", "bars": 2, "bpm": 140, "style": "gallop", "fill": "short"},
            {"name": "B", "bars": 2, "locked": [[-30, "kick", 100], [960, "snare", 90], [4000, "china", 120, "rings"]]},
            {"name": "C", "bars": 2, "style": "half-time"}]}"#,
    );
    let host = song(
        r#"{"fourlimb_song": 1, "title": "host", "start_bar": 2, "sections": [
            {"name": "A", "bars": 3, "bpm": 132, "meter": "host", "style": "skank", "start": "count-in"},
            {"name": "B", "bars": 2, "style": "tom groove", "play": "ending"}]}"#,
    );
    let meters =
        [(0, "4/4"), (7680, "3/4"), (13440, "6/8")].map(|(at, m)| (at, m.parse().unwrap()));
    let called = song(
        r#"{"fourlimb_song": 1, "title": "called", "sections": [{"name": "A", "bars": 8, "bpm": 180, "style": "blast"}],
            "automation": {
              "fill_now": [{"bar": 2, "count": 3, "value": "on"}, {"bar": 3, "value": "off"},
                           {"bar": 5, "count": 2, "value": "on"}, {"bar": 5, "count": 4, "value": "off"}],
              "fill_shape": [{"bar": 4, "value": "long"}],
              "play": [{"bar": 1, "value": "count-in"}, {"bar": 2, "value": "beat"}, {"bar": 8, "value": "ending"}],
              "style": [{"bar": 6, "count": 3, "value": "two-step"}],
              "intensity": [{"bar": 1, "value": 0.2}, {"bar": 7, "value": 1.0}]}}"#,
    );
    let songs = [
        ("demo followed", Timeline::new(&demo)),
        ("demo automated", Timeline::automated(&demo)),
        ("riff", Timeline::new(&guitar("riff"))),
        ("riff and beat", Timeline::new(&guitar("both"))),
        ("edited by hand", Timeline::new(&by_hand)),
        ("meters of the host", Timeline::in_host(&host, &meters)),
        ("called fills", Timeline::automated(&called)),
    ];
    all(songs
        .into_iter()
        .map(|(name, song)| compare("goldens-songs", name, &lines(&song.unwrap()))));
}
