//! An export is what the hosted plugin plays live: the demo song and random ones, as they are, with
//! another take, and on the exact grid.

use fourlimb::export::{Options, export};
use fourlimb::groove::vocabulary::VOCABULARY;
use fourlimb::kit::{Note, NoteMap};
use fourlimb::midi::{Region, RegionNote};
use fourlimb::settings::{SectionFill, Start};
use fourlimb::song::{SongFile, Timeline};
use proptest::prelude::*;
use proptest::sample::select;
use xtask::host::Host;
use xtask::state;

fn exported(song: &Timeline, list: &[(&str, &str)]) -> Region {
    let mut options = Options::default();
    for (name, text) in list {
        options.set(name, text).unwrap();
    }
    let told = export(song, &options, &NoteMap::GENERAL_MIDI).unwrap();
    let smf = midly::Smf::parse(&told.bytes).unwrap();
    let mut region = Region::default();
    let mut tick = 0;
    for event in &smf.tracks[1] {
        tick += i64::from(event.delta.as_int());
        if let midly::TrackEventKind::Midi {
            channel,
            message: midly::MidiMessage::NoteOn { key, vel },
        } = event.kind
        {
            region.notes.push(RegionNote {
                tick,
                length: 1,
                note: Note {
                    channel: channel.into(),
                    key: key.into(),
                },
                velocity: vel.into(),
            });
        }
    }
    region
}

/// The first difference: the same keys as hard, each within a tick. A host's tempo changes at a whole
/// sample, a song's at a tick between two of them: the notes after it may be recorded a tick off.
fn apart(recorded: &Region, exported: &Region) -> Result<(), String> {
    let sorted = |region: &Region| {
        let see = |n: &RegionNote| (n.note.key, n.note.channel, n.tick, n.velocity);
        let mut notes: Vec<_> = region.notes.iter().map(see).collect();
        notes.sort_unstable();
        notes
    };
    let (recorded, exported) = (sorted(recorded), sorted(exported));
    if recorded.len() != exported.len() || exported.is_empty() {
        return Err(format!("{} for {}", recorded.len(), exported.len()));
    }
    let near = |a: &(u8, u8, i64, u8), b: &(u8, u8, i64, u8)| {
        (a.0, a.1, a.3) == (b.0, b.1, b.3) && (a.2 - b.2).abs() <= 1
    };
    let mut pairs = recorded.iter().zip(&exported);
    pairs
        .find(|(a, b)| !near(a, b))
        .map_or(Ok(()), |pair| Err(format!("{pair:?}")))
}

fn live(host: &mut Host, song: &Timeline) -> Region {
    xtask::session::play(host, song, 48_000.0, 512).unwrap()
}

/// A host whose plugin has the song in its state, and the song to be followed as a chart.
fn charted(json: &str) -> (Host, Timeline) {
    let mut host = super::host();
    let song = SongFile::parse(json).unwrap();
    state::set_part(&mut host, "song", &song).unwrap();
    (host, Timeline::new(&song).unwrap())
}

#[test]
fn the_demo_songs_export_is_what_is_recorded() {
    let song = Timeline::automated(&SongFile::parse(SongFile::DEMO).unwrap()).unwrap();
    let mut host = super::host();
    xtask::session::compare(&live(&mut host, &song), &exported(&song, &[])).unwrap();
    host.activate(48_000.0, 512).unwrap();
    host.set("Feel", "0%", 512).unwrap();
    let exact = exported(&song, &[("feel", "0")]);
    xtask::session::compare(&live(&mut host, &song), &exact).unwrap();
    assert!(xtask::session::compare(&exact, &exported(&song, &[])).is_err());
}

/// The plugin follows the chart in its state; with the panel's levels elsewhere it plays otherwise.
#[test]
fn the_demo_songs_chart_is_played_as_it_is_exported() {
    let (mut host, mut song) = charted(SongFile::DEMO);
    let followed = live(&mut host, &song);
    xtask::session::compare(&followed, &exported(&song, &[])).unwrap();
    song.start_mut().stroke_settings.intensity = 0.35;
    let softer = live(&mut host, &song);
    xtask::session::compare(&softer, &exported(&song, &[])).unwrap();
    assert!(xtask::session::compare(&softer, &followed).is_err());
}

prop_compose! {
    fn a_section()(
        bars in 1..=3_u32,
        meter in select(vec!["4/4", "4/4", "7/8", "5/8", "3/4", "6/8", "5/4", "12/8"]),
        bpm in prop_oneof![40.0..400.0_f64, Just(400.0)],
        style in 0..VOCABULARY.len(),
        chance in select(vec![0.0, 1.0]),
        from in 0.0..=1.0_f32,
        to in 0.0..=1.0_f32,
        density in 0.0..=1.0_f32,
        start in select(Start::NAMES),
        fill in select(SectionFill::NAMES),
        take in 1..=999_u32,
    ) -> String {
        let style = VOCABULARY[style].name();
        format!(
            r#"{{"name": "S", "bars": {bars}, "meter": "{meter}", "bpm": {bpm},
                "style": "{style}", "fill_chance": {chance}, "density": {density},
                "intensity": {{"from": {from}, "to": {to}}}, "start": "{start}", "fill": "{fill}",
                "take": {take}}}"#
        )
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 8,
        // A song takes seconds to play in an unoptimised host.
        max_shrink_iters: 8,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    /// The host has the song's own take, and the export is asked for it.
    #[test]
    fn random_songs_exports_are_what_is_recorded(
        sections in proptest::collection::vec(a_section(), 1..5),
        take in 1..=999_u32,
    ) {
        let json = |take: u32| format!(
            r#"{{"fourlimb_song": 1, "title": "R", "start_bar": 2, "take": {take}, "sections": [{}]}}"#,
            sections.join(",")
        );
        let song = |take| Timeline::automated(&SongFile::parse(&json(take)).unwrap()).unwrap();
        let recorded = live(&mut super::host(), &song(take));
        let exported = exported(&song(1), &[("take", &take.to_string())]);
        prop_assert_eq!(apart(&recorded, &exported), Ok(()));
    }

    /// The same by the chart in the plugin's state.
    #[test]
    fn random_charts_are_played_as_they_are_exported(
        sections in proptest::collection::vec(a_section(), 1..5),
    ) {
        let json = format!(
            r#"{{"fourlimb_song": 1, "title": "R", "start_bar": 2, "sections": [{}]}}"#,
            sections.join(",")
        );
        let (mut host, song) = charted(&json);
        let recorded = live(&mut host, &song);
        prop_assert_eq!(apart(&recorded, &exported(&song, &[])), Ok(()));
    }
}
