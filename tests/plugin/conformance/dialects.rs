//! A host of CLAP may read MIDI and not CLAP's own notes: it says so before it plays.
//!
//! The framework as it is published does not ask (`docs/upstream.md`); the bundles are built with a repaired one.

use super::{clap_host, clap_host_that_reads};
use hosting::host::{Expressed, Host, NoteDialect, NoteDialects, Sent, Transport};
use hosting::state::set_part;
use serde_json::{Value, json};

/// Samples in a block, and blocks of a take: four bars at 150 BPM.
const FRAMES: u32 = 512;
const BLOCKS: u32 = 600;
const RATE: f64 = 48_000.0;

#[test]
#[ignore = "asked of a bundle: the framework as it is published sends CLAP's notes to every host"]
fn a_host_that_reads_midi_alone_is_sent_the_same_notes_as_midi() {
    let (clap, midi) = (NoteDialects::CLAP, NoteDialects::MIDI);
    let plain = take(&mut clap_host());
    assert!(plain.notes.len() > 60, "{plain:?}");
    let is_pressure = |what: &Expressed| matches!(what, Expressed::Pressure(..));
    let pressed = plain.beside.iter().filter(|(_, what)| is_pressure(what));
    assert!(
        (1..plain.beside.len()).contains(&pressed.count()),
        "{plain:?}"
    );
    for (reads, prefers) in [
        (clap | midi, NoteDialect::Clap),
        (midi, NoteDialect::Midi),
        (midi | NoteDialects::MIDI_MPE, NoteDialect::Midi),
    ] {
        let mut host = clap_host_that_reads(reads);
        for is_input in [true, false] {
            let preferred = host.preferred_dialect(is_input);
            assert_eq!(preferred, Some(prefers), "{reads:?}");
        }
        assert_eq!(take(&mut host), plain, "{reads:?}");
    }
}

/// What the plugin sent, each with its sample of the song.
#[derive(Debug, PartialEq)]
struct Take {
    notes: Vec<(u32, Sent)>,
    beside: Vec<(u32, Expressed)>,
}

/// Plays a song with notes, a hi-hat by controller and cymbals that are grabbed.
fn take(host: &mut Host) -> Take {
    set_part(host, "map", &map()).unwrap();
    set_part(host, "song", &song()).unwrap();
    host.activate(RATE, FRAMES).unwrap();
    host.set("Play the chart", "on", FRAMES).unwrap();
    let (mut notes, mut beside) = (Vec::new(), Vec::new());
    for block in 0..BLOCKS {
        let at = block * FRAMES;
        let pos = f64::from(at) / RATE * 150.0 / 60.0;
        let transport = Transport {
            playing: true,
            pos_quarters: Some(pos),
            bpm: Some(150.0),
            bar_quarters: (pos / 4.0).floor() * 4.0,
            ..Transport::AT_REST
        };
        let sent = host.block(&transport, &[], FRAMES).unwrap();
        notes.extend(sent.into_iter().map(|note| (at + note.sample, note)));
        let expressed = host.expressed().iter();
        beside.extend(expressed.map(|(sample, _, what)| (at + sample, *what)));
    }
    Take { notes, beside }
}

fn map() -> Value {
    json!({"fourlimb_map": 1, "name": "By pressure", "channel": 10, "pieces": {
            "kick": {"notes": [36]}, "snare": {"notes": [38]},
            "hi-hat closed": {"notes": [42]}, "hi-hat loose": {"notes": [42]}, "hi-hat open": {"notes": [42]},
            "crash left": {"notes": [49], "choke": "aftertouch"},
            "crash right": {"notes": [57], "choke": "aftertouch"}},
        "hi_hat": {"controller": 4, "channel": 10, "closed": 127, "open": 0}})
}

fn song() -> Value {
    json!({"fourlimb_song": 1, "title": "Stops", "sections": [
            {"name": "Beat", "bars": 2, "meter": "4/4", "style": "rock", "hand": "hi-hat loose"},
            {"name": "Stops", "bars": 2, "style": "rock", "hits": [[0, "short"], [960, "short"], [2400, "short"]]}]})
}
