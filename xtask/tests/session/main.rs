//! Songs through the hosted plugin, as `cargo xtask session` plays them, are what the engine plays offline; the
//! framework's allocation check is on.

#![allow(missing_docs, clippy::unwrap_used)]

mod export;
mod heard;
mod soak;

use clack_host::prelude::PluginEntry;
use fourlimb::engine::offline;
use fourlimb::kit::NoteMap;
use fourlimb::plugin::audio::preview::{SharedKit, rendered_kit};
use fourlimb::song::{SongFile, Timeline};
use hosting::host::Host;
use std::sync::{Arc, OnceLock};
use xtask::session::{compare, play};
use xtask::session_guitar;

/// Kept for as long as the tests run: unoptimised, the preview's kit takes seconds to render.
static KIT: OnceLock<Arc<SharedKit>> = OnceLock::new();

/// The plugin that is linked into this test, in a host.
fn host() -> Host {
    KIT.get_or_init(|| rendered_kit(48_000.0));
    Host::new(&entry()).unwrap()
}

#[expect(unsafe_code, reason = "the entry is a C structure")]
fn entry() -> PluginEntry {
    // SAFETY: the entry is the framework's own, valid for the life of the program.
    unsafe { PluginEntry::load_from_raw(&fourlimb::entry::clap_entry, c"") }.unwrap()
}

fn check(sample_rate: f64, block_size: u32) {
    let song = Timeline::automated(&SongFile::parse(SongFile::DEMO).unwrap()).unwrap();
    let mut host = host();
    let recorded = play(&mut host, &song, sample_rate, block_size).unwrap();
    let expected = offline::render(&song, &NoteMap::default());
    compare(&recorded, &expected).unwrap();
}

#[test]
fn demo_song_in_usual_blocks() {
    check(48_000.0, 512);
}

#[test]
fn demo_song_in_odd_blocks_at_another_rate() {
    check(44_100.0, 97);
}

#[test]
fn demo_song_in_huge_blocks() {
    check(96_000.0, 8192);
}

#[test]
fn the_demo_song_has_what_it_should_show() {
    let file = SongFile::parse(SongFile::DEMO).unwrap();
    let song = Timeline::automated(&file).unwrap();
    assert!(song.bars().len() >= 48);
    assert!(song.markers().count() >= 6);
    assert!(song.tempo().changes().count() >= 2);
    assert!(song.bars().iter().any(|bar| bar.meter.to_string() != "4/4"));
    let lanes: Vec<_> = file.automation.keys().map(|lane| lane.row().id).collect();
    for lane in [
        "style",
        "intensity",
        "hand",
        "density",
        "accent",
        "fill_chance",
    ] {
        assert!(lanes.contains(&lane), "no lane of {lane}");
    }
}

#[test]
fn a_wrong_recording_is_told_apart() {
    let song = Timeline::automated(&SongFile::parse(SongFile::DEMO).unwrap()).unwrap();
    let expected = offline::render(&song, &NoteMap::default());
    let mut wrong = expected.clone();
    wrong.notes[7].velocity ^= 1;
    let error = compare(&wrong, &expected).unwrap_err().to_string();
    assert!(
        error.contains("missing") && error.contains("surplus"),
        "{error}"
    );
}

/// The demo's guitar goes into the side-chain; in the recorded region the kicks of the breakdown are on
/// it, and the plugin plays what the engine plays from the captured riff.
#[test]
fn the_kick_follows_the_demo_songs_guitar() {
    let mut song = Timeline::automated(&SongFile::parse(SongFile::DEMO).unwrap()).unwrap();
    let mut host = host();
    let heard = session_guitar::capture(&mut host, &mut song, 48_000.0, 512);
    let line = heard
        .unwrap()
        .expect("the demo has a beat that follows the riff");
    println!("{line}");
    let numbers: Vec<usize> = line
        .split(|c: char| !c.is_ascii_digit())
        .filter_map(|word| word.parse().ok())
        .collect();
    let [struck, heard, right] = numbers[..] else {
        panic!("{line}")
    };
    assert!(struck > 20);
    // F = 2 x right / (struck + heard).
    assert!(2 * right * 100 >= 98 * (struck + heard), "{line}");
    let recorded = play(&mut host, &song, 48_000.0, 512).unwrap();
    let expected = offline::render(&song, &NoteMap::default());
    compare(&recorded, &expected).unwrap();
    let without = Timeline::automated(&SongFile::parse(SongFile::DEMO).unwrap()).unwrap();
    assert_ne!(expected, offline::render(&without, &NoteMap::default()));
}
