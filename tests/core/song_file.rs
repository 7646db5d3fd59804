//! The song file: errors that name the field and the remedy, ramps and lanes, and one engine for
//! the export and the stage.

use crate::support::Blocks as _;
use crate::support::{Event, RATES};
use fourlimb::engine::LivePlayer;
use fourlimb::engine::offline;
use fourlimb::kit::NoteMap;
use fourlimb::midi::{NoteEvent, RegionNote};
use fourlimb::settings::SettingId;
use fourlimb::song::{Change, SongFile, Timeline};
use fourlimb::time::{TICKS_PER_QUARTER, Ticks};
use fourlimb::transport::HostTime;

fn load(json: &str) -> Result<Timeline, String> {
    let song = SongFile::parse(json).map_err(|e| e.to_string())?;
    Timeline::automated(&song).map_err(|e| e.to_string())
}

fn with_section(fields: &str) -> String {
    format!(
        r#"{{"fourlimb_song": 1, "title": "T", "sections": [
            {{"name": "A", "bars": 4}}, {{"name": "B", "bars": 4, {fields}}}]}}"#
    )
}

fn with_lane(lane: &str) -> String {
    format!(
        r#"{{"fourlimb_song": 1, "title": "T", "sections": [{{"name": "A", "bars": 4}}],
            "automation": {{{lane}}}}}"#
    )
}

/// The project's own promise, no source: whoever reads the message knows where to look and what to
/// write instead.
#[test]
fn errors_name_the_field_and_the_remedy() {
    let head = |fields: &str| {
        format!(
            r#"{{"fourlimb_song": 1, "title": "T", {fields} "sections": [{{"name": "A", "bars": 1}}]}}"#
        )
    };
    let table: [(String, &[&str]); 28] = [
        (
            with_section(r#""style": "polka""#),
            &["sections[1].style", "polka", "rock", "D-beat"],
        ),
        (
            with_section(r#""hand": "gong""#),
            &["sections[1].hand", "gong", "china"],
        ),
        (
            with_section(r#""hand_rate": "fast""#),
            &["sections[1].hand_rate", "fast", "eighths"],
        ),
        (
            with_section(r#""intensity": 1.5"#),
            &["sections[1].intensity", "1.5", "0 to 1"],
        ),
        (
            with_section(r#""density": -0.1"#),
            &["sections[1].density", "-0.1", "0 to 1"],
        ),
        (
            with_section(r#""accent": {"from": 0, "to": 7}"#),
            &["sections[1].accent", "7", "0 to 1"],
        ),
        (
            with_section(r#""fill_chance": 2"#),
            &["sections[1].fill_chance", "0 to 1"],
        ),
        (
            with_section(r#""fill_chance": "often""#),
            &["sections[1].fill_chance", "0 to 1"],
        ),
        (
            with_section(r#""meter": "4/5""#),
            &["sections[1].meter", "4/5", "2, 4, 8, 16"],
        ),
        (
            with_section(r#""meter": "four""#),
            &["sections[1].meter", "four", "4/4"],
        ),
        (with_section(r#""bpm": 0"#), &["sections[1].bpm", "BPM"]),
        (
            with_section(r#""bpm": 3"#),
            &["sections[1].bpm", "4", "BPM"],
        ),
        (
            with_section(r#""bpm": 100000"#),
            &["sections[1].bpm", "1000"],
        ),
        (
            with_section(r#""swing": 0.5"#),
            &["sections[1]", "swing", "style"],
        ),
        (
            with_section("\"intensity\": {\"from\": 0, \"to\": 1, \"curve\": 2}"),
            &["sections[1].intensity", "from", "to"],
        ),
        (head(r#""take": 0,"#), &["take", "1 to 999"]),
        (head(r#""phrase_bars": 3,"#), &["phrase_bars", "2, 4 or 8"]),
        (head(r#""tempo": 3,"#), &["tempo", "title"]),
        (
            with_lane(r#""intensity": [{"bar": 9, "value": 1}]"#),
            &["automation.intensity[0].bar", "1 to 4"],
        ),
        (
            with_lane(r#""intensity": [{"bar": 1, "count": 5, "value": 1}]"#),
            &["automation.intensity[0].count", "1 to 4"],
        ),
        (
            with_lane(r#""intensity": [{"bar": 1, "value": "loud"}]"#),
            &["automation.intensity[0].value", "number from 0 to 1"],
        ),
        (
            with_lane(r#""style": [{"bar": 1, "value": 3}]"#),
            &["automation.style[0].value", "name"],
        ),
        (
            with_lane(r#""density": [{"bar": 2, "value": 0}, {"bar": 1, "value": 1}]"#),
            &["automation.density[1]", "forward"],
        ),
        (
            with_lane(r#""reverb": []"#),
            &["automation", "reverb", "density"],
        ),
        (
            r#"{"fourlimb_song": 99, "title": "T", "sections": [], "later": 1}"#.into(),
            &["fourlimb_song", "99", "newer"],
        ),
        (
            r#"{"fourlimb_song": 1, "drummer": 99, "title": "T", "sections": [], "later": 1}"#
                .into(),
            &["drummer", "99", "newer Fourlimb"],
        ),
        (
            r#"{"title": "T", "sections": []}"#.into(),
            &["fourlimb_song", "missing"],
        ),
        (
            r#"{"fourlimb_song": 1, "title": "T", "sections": []}"#.into(),
            &["sections", "at least one"],
        ),
    ];
    for (json, words) in &table {
        let error = load(json).expect_err(json);
        for word in *words {
            assert!(
                error.contains(word),
                "{json}\ngives: {error}\nwithout: {word}"
            );
        }
    }
}

#[test]
fn what_is_no_song_at_all_says_so() {
    for text in [
        "",
        "MThd\0\0\0\x06",
        "[1, 2]",
        "{\"fourlimb_song\": 1,",
        "null",
        "\"song\"",
    ] {
        let error = load(text).expect_err(text);
        assert!(
            error.starts_with("song file") || error.contains("fourlimb_song"),
            "{text}: {error}"
        );
        assert!(error.contains("JSON"), "{text}: {error}");
    }
    let error = load(&format!("{}, 1]", with_section("\"bpm\": 99"))).unwrap_err();
    assert!(error.contains("something follows the song"), "{error}");
    // Some editors write a byte order mark.
    assert_eq!(
        load(&format!("\u{feff}{}", with_section("\"bpm\": 99"))).err(),
        None
    );
    // A line and a column to look at.
    let error = load("{\"fourlimb_song\": 1,\n \"title\": }").unwrap_err();
    assert!(error.contains("line 2"), "{error}");
}

fn levels(timeline: &Timeline, of: fn(&Change) -> Option<f32>) -> Vec<(Ticks, f32)> {
    timeline
        .changes()
        .iter()
        .filter_map(|change| of(change).map(|level| (change.at, level)))
        .collect()
}

fn intensity(change: &Change) -> Option<f32> {
    (change.setting == SettingId::Intensity).then_some(change.value?)
}

#[test]
fn a_ramp_glides_from_end_to_end_of_its_section() {
    let timeline = load(&with_section(r#""intensity": {"from": 0.2, "to": 1.0}"#)).unwrap();
    let bar: Ticks = 3840;
    let mut ramp = levels(&timeline, intensity);
    ramp.retain(|(at, _)| *at >= 4 * bar);
    assert_eq!(ramp[0], (4 * bar, 0.2));
    assert!(ramp.windows(2).all(|w| w[0].0 < w[1].0 && w[0].1 < w[1].1));
    // It ends where it says, for the sections that go on from there.
    assert_eq!(ramp[ramp.len() - 1], (8 * bar, 1.0));
    let middle = ramp.iter().find(|(at, _)| *at == 6 * bar).unwrap().1;
    assert!((middle - 0.6).abs() < 1e-6, "{middle}");
}

#[test]
fn a_lane_replaces_the_sections_from_its_first_point_on() {
    let json = r#"{"fourlimb_song": 1, "title": "T", "sections": [
            {"name": "A", "bars": 2, "intensity": 0.1}, {"name": "B", "bars": 4, "intensity": 0.9}],
        "automation": {"intensity": [
            {"bar": 2, "value": 0.4, "hold": true},
            {"bar": 3, "count": 3, "value": 0.5},
            {"bar": 4, "value": 0.7}]}}"#;
    let levels = levels(&load(json).unwrap(), intensity);
    let bar: Ticks = 3840;
    assert_eq!(levels[0], (0, 0.1));
    assert_eq!(levels[1], (bar, 0.4));
    // Held until the next point, then gliding, then as it ends; the section's 0.9 is gone.
    assert_eq!(levels[2], (2 * bar + 1920, 0.5));
    assert_eq!(levels[levels.len() - 1], (3 * bar, 0.7));
    assert!(levels[2..].is_sorted_by(|a, b| a.0 < b.0 && a.1 <= b.1));
    assert!(levels.iter().all(|l| l.1 < 0.8));
}

#[test]
fn a_song_file_survives_a_round_trip() {
    let song = SongFile::parse(STAGE).unwrap();
    let written = serde_json::to_string_pretty(&song).unwrap();
    assert_eq!(SongFile::parse(&written).unwrap(), song);
}

/// Meters, tempi, styles, ramps and lanes at once.
const STAGE: &str = r#"{"fourlimb_song": 1, "title": "Stage", "take": 7, "phrase_bars": 4, "sections": [
    {"name": "Intro", "bars": 4, "bpm": 142.5, "style": "tom groove", "fill_chance": 1.0},
    {"name": "Verse", "bars": 3, "meter": "7/8", "style": "syncopated groove", "density": {"from": 0, "to": 1}},
    {"name": "Run", "bars": 6, "meter": "4/4", "bpm": 201, "style": "double-kick skank",
     "intensity": {"from": 0.1, "to": 1}},
    {"name": "Break", "bars": 4, "meter": "6/8", "bpm": 88, "style": "breakdown", "hand": "china"},
    {"name": "End", "bars": 4, "meter": "5/4", "hand": "auto", "style": "gallop", "hand_rate": "quarters"}],
    "automation": {"accent": [{"bar": 2, "count": 2, "value": 0.1}, {"bar": 12, "value": 1}],
                   "fill_chance": [{"bar": 5, "value": 0.3, "hold": true}, {"bar": 9, "value": 0.9}]}}"#;

/// Plays a song on the stage: a host that begins a block at every change of a setting, a tempo or a
/// meter, and cuts the rest as it likes. Gives the note-ons, in samples.
fn perform(timeline: &Timeline, rate: f64, size: i64, round: fn(f64) -> f64) -> Vec<Event> {
    let sample = |tick: Ticks| round(timeline.tempo().seconds(tick as f64) * rate) as i64;
    let mut player = LivePlayer::new(rate);
    let mut settings = timeline.start_settings();
    let mut cuts: Vec<i64> = timeline.changes().iter().map(|c| sample(c.at)).collect();
    cuts.extend(timeline.bars().iter().map(|bar| sample(bar.start)));
    // The song's end is the next bar's 1, and a hair early is on time.
    let end = sample(timeline.end()) - 1;
    cuts.push(end);
    cuts.sort_unstable();
    let mut changes = timeline.changes().iter().peekable();
    let mut events = Vec::new();
    let mut at = 0;
    while at < end {
        while let Some(change) = changes.next_if(|c| sample(c.at) <= at) {
            change.apply(&mut settings);
        }
        let cut = cuts[cuts.partition_point(|&cut| cut <= at)];
        let frames = size.min(cut - at);
        let here = timeline.tempo().ticks(at as f64 / rate);
        let bars = timeline.bars();
        let bar = bars[bars.partition_point(|b| sample(b.start) <= at) - 1];
        let time = HostTime {
            playing: true,
            bpm: Some(timeline.tempo().bpm_at(bar.start)),
            pos_quarters: Some(here / TICKS_PER_QUARTER as f64),
            pos_samples: Some(at),
            meter: Some((bar.meter.numerator().into(), bar.meter.denominator().into())),
            bar_quarters: Some(bar.start as f64 / TICKS_PER_QUARTER as f64),
            loop_quarters: None,
        };
        let mut block: Vec<NoteEvent> = Vec::new();
        player.block(&time, &settings, frames as u32, false, &mut block);
        events.extend(
            block
                .iter()
                .filter(|e| e.velocity.is_some())
                .map(|e| Event {
                    at: at + i64::from(e.sample),
                    key: e.note.key,
                    velocity: e.velocity,
                }),
        );
        at += frames;
    }
    events
}

/// The export is the live recording (rule 1 of the design): the same notes, to a tick and the sample
/// that it sounds on.
#[test]
fn an_export_is_what_was_played_live() {
    let timeline = load(STAGE).unwrap();
    let region = offline::render(&timeline, &NoteMap::default());
    assert!(region.notes.len() > 300, "{}", region.notes.len());
    // Hosts round the place of a change down, to the nearest sample or up. The clock runs a
    // thousandth of a sample early, so that what is rounded up from less is late.
    let rounds: [fn(f64) -> f64; 3] = [f64::floor, f64::round, |x| (x - 0.002).ceil()];
    let sizes = [64, 333, 1, 512, 8192, 4096, 2048];
    for (i, (rate, size)) in RATES.into_iter().zip(sizes).enumerate() {
        let mut live: Vec<(Ticks, u8, u8)> = Vec::new();
        for event in perform(&timeline, rate, size, rounds[i % 3]) {
            let tick = timeline.tempo().ticks(event.at as f64 / rate).floor() as Ticks;
            let note = (tick, event.key, event.velocity.unwrap());
            // Of two strokes on one key at once an export keeps the last.
            match live.iter_mut().rev().find(|n| n.1 == event.key) {
                Some(last) if last.0 == tick => *last = note,
                _ => live.push(note),
            }
        }
        live.sort_by_key(|n| (n.1, n.0));
        let mut export: Vec<&RegionNote> = region.notes.iter().collect();
        export.sort_by_key(|n| (n.note.key, n.tick));
        for (live, export) in live.iter().zip(&export) {
            assert_eq!(
                (live.1, live.2),
                (export.note.key, export.velocity),
                "{rate} Hz: {live:?} {export:?}"
            );
            assert!(
                (live.0 - export.tick).abs() <= 1,
                "{rate} Hz: {live:?} {export:?}"
            );
        }
        assert_eq!(live.len(), export.len(), "{rate} Hz, blocks of {size}");
    }
}
