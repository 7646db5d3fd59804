//! Golden songs: what is played where the chart is followed, and where the panel is automated through a
//! song. A line is as in [`super::goldens`], with `grace` and `rings` behind it where the hit is one and
//! does. They are written as those are, and changed for the same reasons.

use crate::golden::{all, compare};
use crate::goldens::line;
use crate::support::BEATS;
use fourlimb::engine::offline;
use fourlimb::groove::vocabulary::VOCABULARY;
use fourlimb::riff::{Attack, Riff};
use fourlimb::settings::{
    FillShape, Hand, HandRate, Phrase, Player, SectionFill, Settings, Start, SwitchAt,
};
use fourlimb::song::{SongFile, Timeline};
use fourlimb::time::{Meter, Ticks};
use std::fmt::Write as _;

const CHART: &str = "core/goldens-chart";
const AUTOMATED: &str = "core/goldens-automated";

/// What is played, in the order in which it is played.
fn played(timeline: &Timeline) -> String {
    let mut lines = String::new();
    for hit in offline::play(timeline) {
        let grace = if hit.grace { " grace" } else { "" };
        let rings = if hit.ring == fourlimb::kit::Ring::On {
            " rings"
        } else {
            ""
        };
        let _ = writeln!(lines, "{}{grace}{rings}", line(timeline, &hit));
    }
    lines
}

fn song(json: &str) -> SongFile {
    SongFile::parse(json).unwrap()
}

/// Goes round in a row of things.
fn turn<T: Copy>(row: &[T], i: usize) -> T {
    row[i % row.len()]
}

/// Three sections of a beat in a chart. What they say besides goes round with the slot, in rows of lengths
/// that let most pairs meet; the second has another meter, tempo and take, every second song has its third
/// frozen.
fn sections(slot: usize) -> SongFile {
    let style = VOCABULARY[slot].name();
    let start = |i: usize| turn(Start::ALL, slot + i).name();
    let fill = |i: usize| turn(SectionFill::ALL, slot * 2 + slot / 5 + i).name();
    let shape = turn(FillShape::ALL, slot / 2).name();
    let bpm = turn(&[120, 97, 150, 180, 208, 240, 66], slot);
    let meter = turn(&["7/8", "6/8", "5/4", "3/4", "12/8", "2/4"], slot);
    let (hand, rate) = (turn(Hand::ALL, slot), turn(HandRate::ALL, slot));
    let phrase = turn(&[4, 2, 8], slot);
    let frozen = if slot % 2 == 1 {
        r#", "frozen": 9"#
    } else {
        ""
    };
    song(&format!(
        r#"{{"fourlimb_song": 1, "title": "{style}", "take": {take}, "phrase_bars": {phrase},
        "start_bar": 2, "sections": [
        {{"name": "A", "bars": 4, "meter": "4/4", "bpm": {bpm}, "style": "{style}", "start": "{a}",
          "fill": "{fa}", "fill_shape": "{shape}", "fill_chance": 1.0, "density": 0.8, "accent": 0.7,
          "intensity": {{"from": 0.3, "to": 0.9}}}},
        {{"name": "B", "bars": 5, "meter": "{meter}", "bpm": {faster}, "start": "{b}", "fill": "{fb}",
          "take": 17, "hand": "{hand}", "hand_rate": "{rate}", "intensity": 0.5,
          "density": {{"from": 0.2, "to": 1.0}}}},
        {{"name": "C", "bars": 3, "meter": "4/4", "start": "{c}", "fill": "{fc}", "hand": "auto",
          "hand_rate": "auto", "intensity": 0.85, "accent": {{"from": 0.9, "to": 0.1}}{frozen}}}]}}"#,
        take = slot + 1,
        faster = bpm * 5 / 4,
        a = start(0),
        b = start(2),
        c = start(3),
        fa = fill(0),
        fb = fill(1),
        fc = fill(2),
        hand = hand.name(),
        rate = rate.name(),
    ))
}

/// The panel goes round too: who plays, how straight, and the levels that move the chart's.
fn panel(slot: usize, settings: &mut Settings) {
    settings.bar_settings.player = turn(Player::ALL, slot / 3);
    settings.bar_settings.swing = turn(&[0.5, 0.5, 2.0 / 3.0], slot / 2);
    settings.bar_settings.feel = turn(&[0.5, 0.0, 1.0, 0.5], slot);
    settings.stroke_settings.intensity = turn(&[0.5, 0.5, 0.6, 0.5, 0.35], slot);
    settings.stroke_settings.density = turn(&[0.5, 0.5, 0.5, 0.3], slot);
    settings.stroke_settings.accent = turn(&[0.5, 0.5, 0.5, 0.5, 0.5, 0.75], slot);
}

/// The song of a beat, as it is played.
fn of_beat(slot: u8) -> Timeline {
    let slot = slot.into();
    let mut timeline = Timeline::new(&sections(slot)).unwrap();
    panel(slot, timeline.start_mut());
    timeline
}

#[test]
fn every_beat_plays_its_chart() {
    let check = |slot: u8| {
        let name = VOCABULARY[usize::from(slot)].name();
        compare(CHART, name, &played(&of_beat(slot)))
    };
    all((0..BEATS).map(check));
}

/// The songs, with their names.
pub fn songs() -> impl Iterator<Item = (String, Timeline)> {
    let of_beats = (0..BEATS).map(|slot| {
        let name = VOCABULARY[usize::from(slot)].name();
        (name.to_owned(), of_beat(slot))
    });
    let demo = Timeline::new(&song(SongFile::DEMO)).unwrap();
    let locked = Timeline::new(&song(include_str!("../support/locked.json"))).unwrap();
    let riffs = RIFFS.map(|riff| (riff_name(riff), of_riff(riff)));
    let others = [
        ("the demo song".to_owned(), demo),
        ("locked".to_owned(), locked),
    ];
    of_beats.chain(riffs).chain(others)
}

/// The fill that is called in it, its lanes and its ramps are followed, too.
#[test]
fn the_demo_song_plays_its_chart() {
    let timeline = Timeline::new(&song(SongFile::DEMO)).unwrap();
    all([compare(CHART, "the demo song", &played(&timeline))]);
}

/// A guitar that gallops through two bars, and goes round; a little beside the grid, as people are.
fn riff(bars: i64) -> Riff {
    let figure = [
        0, 480, 720, 960, 1440, 1680, 1920, 2160, 2240, 2560, 2880, 3200, 3520, 3840, 4800, 5160,
        5280, 6240, 6360, 6480, 6600, 6720, 7200, 7440,
    ];
    let attacks = figure.iter().enumerate().map(|(i, &tick)| Attack {
        tick: tick + turn(&[4, -7, 11, 0, -3, 9, -12], i),
        strength: turn(&[1.0, 0.5, 0.65, 0.85], i),
    });
    let mut riff = Riff::new(attacks, -240, 2 * 3840);
    riff.set_repeat((bars > 2).then_some((0, 2 * 3840)));
    riff
}

/// A song whose feet follow the riff, or not, or both, section by section.
fn with_riff(grid: &str, source: &str) -> SongFile {
    let mut song = song(&format!(
        r#"{{"fourlimb_song": 1, "title": "riff", "kick_source": "{source}", "riff_grid": "{grid}",
        "sections": [
        {{"name": "A", "bars": 4, "bpm": 140, "style": "rock", "intensity": 0.7, "density": 0.6,
          "fill": "short"}},
        {{"name": "B", "bars": 4, "bpm": 175, "style": "double-kick", "kick_source": "both",
          "start": "crash", "fill_chance": 1.0, "fill": "long"}},
        {{"name": "C", "bars": 3, "meter": "7/8", "style": "breakdown", "kick_source": "riff"}},
        {{"name": "D", "bars": 2, "meter": "4/4", "style": "gallop", "kick_source": "beat",
          "fill": "break"}},
        {{"name": "E", "bars": 3, "bpm": 230, "style": "skank"}}]}}"#
    ));
    song.riff = Some(riff(16).save());
    song
}

/// A grid of the riff, what the feet follow, and who plays.
type OfRiff = (&'static str, &'static str, Player);

const RIFFS: [OfRiff; 5] = [
    ("sixteenths", "riff", Player::Everyday),
    ("sixteenths and triplets", "both", Player::Extreme),
    ("thirty-seconds", "riff", Player::Machine),
    ("triplets", "beat", Player::Skilled),
    ("off", "both", Player::Skilled),
];

fn riff_name((grid, source, _): OfRiff) -> String {
    format!("riff {source} {grid}")
}

fn of_riff((grid, source, player): OfRiff) -> Timeline {
    let mut timeline = Timeline::new(&with_riff(grid, source)).unwrap();
    timeline.start_mut().bar_settings.player = player;
    timeline
}

#[test]
fn feet_follow_the_riff_as_the_chart_says() {
    all(RIFFS.map(|riff| compare(CHART, &riff_name(riff), &played(&of_riff(riff)))));
}

#[test]
fn feet_follow_the_riff_where_the_panel_is_automated() {
    let timeline = Timeline::automated(&with_riff("sixteenths", "riff")).unwrap();
    all([compare(AUTOMATED, "riff", &played(&timeline))]);
}

#[test]
fn locked_sections_stand_among_the_drummers() {
    let timeline = Timeline::new(&song(include_str!("../support/locked.json"))).unwrap();
    all([compare(CHART, "locked", &played(&timeline))]);
}

/// Sections host meters, one of its own between, and a count-in in the bar before the song.
#[test]
fn sections_go_by_the_hosts_meters() {
    let song = song(
        r#"{"fourlimb_song": 1, "title": "host", "start_bar": 2, "sections": [
        {"name": "A", "bars": 4, "meter": "host", "bpm": 130, "style": "rock", "start": "count-in",
         "fill_chance": 1.0, "fill": "short"},
        {"name": "B", "bars": 4, "style": "double-kick", "start": "china", "intensity": 0.9},
        {"name": "C", "bars": 2, "meter": "5/4", "style": "tom groove", "fill": "long"},
        {"name": "D", "bars": 5, "meter": "host", "style": "skank", "start": "crash", "density": 0.9}]}"#,
    );
    let meter = |at: Ticks, n, d| (at, Meter::new(n, d).unwrap());
    let meters = [
        meter(0, 4, 4),
        meter(4 * 3840, 7, 8),
        meter(4 * 3840 + 3 * 3360, 3, 4),
        meter(4 * 3840 + 3 * 3360 + 6 * 2880, 6, 8),
    ];
    all(
        [("host meters", &meters[..]), ("host none", &[])].map(|(name, meters)| {
            let timeline = Timeline::in_host(&song, meters).unwrap();
            compare(CHART, name, &played(&timeline))
        }),
    );
}

/// Everything that the panel can be automated to do: fills called, in mid-bar and over a bar line, a count-in,
/// an ending, rests, and changes of style and hand in mid-bar, taken up at the bar or at the count.
#[test]
fn a_song_plays_where_the_panel_is_automated() {
    let song = song(
        r#"{"fourlimb_song": 1, "title": "automated", "take": 5, "sections": [
        {"name": "In", "bars": 1, "bpm": 160, "style": "rock", "play": "count-in", "fill_chance": 0.0},
        {"name": "A", "bars": 6, "play": "beat", "intensity": {"from": 0.4, "to": 0.8}, "density": 0.7},
        {"name": "B", "bars": 4, "meter": "7/8", "style": "double-kick", "fill_shape": "long",
         "fill_chance": 1.0},
        {"name": "Rest", "bars": 2, "meter": "4/4", "play": "rest"},
        {"name": "In again", "bars": 1, "bpm": 200, "play": "short count-in"},
        {"name": "C", "bars": 7, "play": "beat", "style": "breakdown", "fill_shape": "short"},
        {"name": "End", "bars": 2, "play": "ending", "intensity": 0.9}],
        "automation": {
        "fill_now": [{"bar": 3, "count": 3, "value": "on"}, {"bar": 4, "value": "off"},
          {"bar": 5, "count": 2, "value": "on"}, {"bar": 5, "count": 4, "value": "off"},
          {"bar": 9, "count": 2, "value": "on"}, {"bar": 10, "value": "off"},
          {"bar": 16, "value": "on"}, {"bar": 18, "count": 2, "value": "off"}],
        "style": [{"bar": 4, "count": 3, "value": "blast"}, {"bar": 6, "count": 2, "value": "half-time"},
          {"bar": 8, "value": "double-kick"}, {"bar": 15, "value": "breakdown"},
          {"bar": 19, "count": 3, "value": "D-beat"}, {"bar": 20, "count": 4, "value": "gallop"}],
        "hand_rate": [{"bar": 2, "value": "eighths"}, {"bar": 6, "count": 4, "value": "quarters"},
          {"bar": 15, "value": "auto"}],
        "hand": [{"bar": 2, "value": "auto"}, {"bar": 3, "count": 2, "value": "china"},
          {"bar": 7, "value": "auto"}, {"bar": 20, "count": 2, "value": "floor tom"}]}}"#,
    );
    let check = |switch: &SwitchAt| {
        let mut timeline = Timeline::automated(&song).unwrap();
        timeline.start_mut().switch_at = *switch;
        timeline.start_mut().bar_settings.phrase = Phrase::Two;
        let name = format!("switch at the {}", switch.name());
        compare(AUTOMATED, &name, &played(&timeline))
    };
    all(SwitchAt::ALL.iter().map(check));
}
