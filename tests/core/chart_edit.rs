//! What people do to the sections of a song: spelling them out changes nothing, and a frozen one stays as it is.

use crate::support::decisions;
use fourlimb::engine::offline;
use fourlimb::groove::Hit;
use fourlimb::settings::{Hand, Play, SectionFill, Start, Style, StyleSlot};
use fourlimb::song::file::{Level, Section};
use fourlimb::song::{SongFile, Timeline};
use proptest::prelude::*;
use proptest::sample::select;

fn played(song: &SongFile) -> Vec<Hit> {
    offline::play(&Timeline::new(song).unwrap())
}

/// The hits of a section, by its place, in ticks from its first bar.
fn of_section(song: &SongFile, place: usize) -> Vec<Hit> {
    let timeline = Timeline::new(song).unwrap();
    let starts: Vec<_> = timeline.markers().map(|(at, _)| at).collect();
    let (from, to) = (
        starts[place],
        starts.get(place + 1).copied().unwrap_or(timeline.end()),
    );
    let inside = |hit: &Hit| (from..to).contains(&hit.grid);
    let there = offline::play(&timeline).into_iter().filter(inside);
    there
        .map(|hit| Hit {
            tick: hit.tick - from,
            grid: hit.grid - from,
            ..hit
        })
        .collect()
}

prop_compose! {
    /// Sections that leave much out.
    fn sparse()(
        bars in 1..5_u32,
        meter in proptest::option::of(select(vec!["4/4", "7/8", "3/4", "host"])),
        bpm in proptest::option::of(100.0..200.0_f64),
        style in proptest::option::of(select(vec![Style::Rock, Style::Gallop, Style::DoubleKick, Style::HalfTime])),
        hand in proptest::option::of(select(vec![Hand::Auto, Hand::Ride, Hand::China])),
        play in proptest::option::of(select(vec![Play::Beat, Play::Beat, Play::Rest])),
        intensity in proptest::option::of((0.0..1.0_f32, 0.0..1.0_f32)),
        chance in proptest::option::of(0.0..1.0_f32),
    ) -> Section {
        Section {
            name: "S".to_owned(),
            bars,
            meter: meter.map(|meter| meter.to_owned().try_into().unwrap()),
            bpm,
            style: style.map(StyleSlot::from),
            hand,
            play,
            intensity: intensity.map(|(from, to)| Level::Ramp { from, to }),
            fill_chance: chance.map(Level::Steady),
            ..Section::default()
        }
    }
}

fn of(sections: Vec<Section>) -> SongFile {
    SongFile {
        sections,
        ..SongFile::of("T", Section::default())
    }
}

proptest! {
    #[test]
    fn a_song_spelled_out_is_played_the_same(sections in proptest::collection::vec(sparse(), 1..6)) {
        let song = of(sections);
        let whole = song.spelled_out();
        prop_assert_eq!(played(&whole), played(&song));
        prop_assert_eq!(whole.spelled_out(), whole.clone());
        // Whatever goes before it, a section that says everything stays what it is.
        let last = whole.sections.len() - 1;
        let alone = of(vec![whole.sections[last].clone()]);
        let settings = |song: &SongFile, place| {
            let timeline = Timeline::new(song).unwrap();
            let (start, _) = timeline.markers().nth(place).unwrap();
            timeline.chart().settings(start, &timeline.start_settings())
        };
        prop_assert_eq!(settings(&alone, 0), settings(&whole, last));
    }
}

/// A verse that has its beat from the section before it is frozen: then that one changes, goes, and others
/// come, and one takes its place.
#[test]
fn a_frozen_section_outlives_its_neighbours() {
    let named = |name: &str, style: Option<&str>| Section {
        name: name.to_owned(),
        bars: 8,
        style: style.and_then(Style::from_name).map(StyleSlot::from),
        intensity: Some(Level::Steady(0.6)),
        density: Some(Level::Steady(0.7)),
        fill_chance: Some(Level::Steady(1.0)),
        start: Some(Start::Crash),
        fill: Some(SectionFill::None),
        ..Section::default()
    };
    let song = of(vec![
        named("Intro", Some("rock")),
        named("Verse", None),
        named("Chorus", None),
    ]);
    let frozen = song.frozen(1, 77);
    let was = of_section(&frozen, 1);
    assert!(was.len() > 100);
    assert_eq!(frozen.sections[1].frozen, Some(2));

    let mut changed = frozen.clone();
    changed.sections[0] = named("Intro", Some("gallop"));
    changed.sections.insert(1, named("New", Some("half-time")));
    assert_eq!(of_section(&changed, 2), was);
    changed.sections.remove(0);
    changed.sections.remove(0);
    assert_eq!(of_section(&changed, 0), was);
    // Another take of the song is another player's evening, who plays the same strokes.
    changed.take = 5;
    assert_eq!(decisions(&of_section(&changed, 0)), decisions(&was));
    assert_ne!(of_section(&changed, 0), was);

    // A section in the place that it had has chances of its own, and can be frozen in its turn.
    let mut twin = frozen.sections[1].clone();
    twin.frozen = None;
    changed.sections.push(twin);
    assert_ne!(of_section(&changed, 1), was);
    changed.sections.swap(0, 1);
    let both = changed.frozen(0, 77);
    assert_ne!(both.sections[0].frozen, both.sections[1].frozen);
    let mut moved = both.clone();
    moved.sections.insert(0, named("New", Some("rock")));
    assert_eq!(of_section(&moved, 1), of_section(&both, 0));
}
