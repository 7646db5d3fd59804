//! An export is what the hosted plugin plays live: the demo song and random ones, as they are, with
//! another take, and on the exact grid.

use fourlimb::export::{Options, export};
use fourlimb::kit::{Note, NoteMap};
use fourlimb::midi::{Region, RegionNote};
use fourlimb::settings::{SectionFill, SettingId, Start, Style};
use fourlimb::song::{SongFile, Timeline};
use hosting::host::Host;
use hosting::songs::{self, Ranges};
use hosting::state;
use proptest::prelude::*;
use serde_json::{Value, json};
use xtask::session::{compare, play};

fn exported(song: &Timeline, list: &[(&str, &str)]) -> Region {
    let mut options = Options::default();
    for (name, text) in list {
        options.set(name, text).unwrap();
    }
    let told = export(song, &options, &NoteMap::default()).unwrap();
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
    play(host, song, 48_000.0, 512).unwrap()
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
    compare(&live(&mut host, &song), &exported(&song, &[])).unwrap();
    host.activate(48_000.0, 512).unwrap();
    host.set("Looseness", "0%", 512).unwrap();
    let exact = exported(&song, &[("feel", "0")]);
    compare(&live(&mut host, &song), &exact).unwrap();
    assert!(compare(&exact, &exported(&song, &[])).is_err());
}

/// The plugin follows the chart in its state; with the panel's levels elsewhere it plays otherwise.
#[test]
fn the_demo_songs_chart_is_played_as_it_is_exported() {
    let (mut host, mut song) = charted(SongFile::DEMO);
    let followed = live(&mut host, &song);
    compare(&followed, &exported(&song, &[])).unwrap();
    song.start_mut().stroke_settings.intensity = 0.35;
    let softer = live(&mut host, &song);
    compare(&softer, &exported(&song, &[])).unwrap();
    assert!(compare(&softer, &followed).is_err());
}

/// A few random sections: everything that a section may state but `left_out`, in usual meters.
fn sections(left_out: &'static [SettingId]) -> impl Strategy<Value = Vec<Value>> {
    let stated = SettingId::shown().filter(|setting| {
        let is_named_by_slot = *setting == SettingId::Style;
        setting.is_of_section() && !is_named_by_slot && !left_out.contains(setting)
    });
    let stated = stated.map(|setting| (setting.row().id, setting.kind().texts()));
    let meters: &[_] = &["4/4", "4/4", "7/8", "5/8", "3/4", "6/8", "5/4", "12/8"];
    let others = [
        ("style", Style::NAMES),
        ("meter", meters),
        ("start", Start::NAMES),
        ("fill", SectionFill::NAMES),
    ];
    let ranges = Ranges {
        fields: stated.chain(others).collect(),
        bars: 1..=3,
        bpm: 40.0..=400.0,
    };
    let seeds = proptest::collection::vec(any::<u64>().no_shrink(), 1..5);
    let section = move |seed| songs::section(seed, &ranges);
    seeds.prop_map(move |seeds| seeds.into_iter().map(&section).collect())
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 8,
        // A song takes seconds to play in an unoptimised host.
        max_shrink_iters: 8,
        ..ProptestConfig::default()
    })]

    /// The host has the song's own take, and the export is asked for it. *Play* is left out: after a change of
    /// tempo the clock may be a sample ahead, and then automation that begins a rest comes after the stroke on the
    /// very bar line.
    #[test]
    fn random_songs_exports_are_what_is_recorded(sections in sections(&[SettingId::Play]), take in 1..=999_u32) {
        let song = |take: u32| {
            let json = songs::song(&json!({ "start_bar": 2, "take": take }), sections.clone());
            Timeline::automated(&SongFile::parse(&json).unwrap()).unwrap()
        };
        let exported = exported(&song(1), &[("take", &take.to_string())]);
        // The drummer may rest all along.
        prop_assume!(!exported.notes.is_empty());
        let recorded = live(&mut super::host(), &song(take));
        prop_assert_eq!(apart(&recorded, &exported), Ok(()));
    }

    /// The same by the chart in the plugin's state.
    #[test]
    fn random_charts_are_played_as_they_are_exported(sections in sections(&[])) {
        let json = songs::song(&json!({ "start_bar": 2 }), sections);
        let (mut host, song) = charted(&json);
        let exported = exported(&song, &[]);
        prop_assume!(!exported.notes.is_empty());
        let recorded = live(&mut host, &song);
        prop_assert_eq!(apart(&recorded, &exported), Ok(()));
    }
}
