//! Whatever comes from outside: the bodies of the fuzz targets over every seed, and over seeds that are cut
//! short, flipped and doubled in every place.

#[path = "../../fuzz/src/lib.rs"]
pub mod targets;

use std::fs;
use std::panic::catch_unwind;
use std::path::{Path, PathBuf};

/// Seeds up to this size are damaged in every place, in bytes; larger ones in as many places.
const SMALL: usize = 400;

fn seeds(target: &str) -> Vec<(PathBuf, Vec<u8>)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("fuzz/seeds")
        .join(target);
    let mut seeds: Vec<_> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .map(|path| (path.clone(), fs::read(path).unwrap()))
        .collect();
    seeds.sort();
    assert!(seeds.len() >= 4, "{target} has few seeds");
    seeds
}

/// What a byte may have become.
const FLIPS: [fn(u8) -> u8; 3] = [|byte| byte ^ 0x01, |byte| byte ^ 0x80, |_| 0xFF];

fn damaged(seed: &[u8]) -> Vec<Vec<u8>> {
    let step = seed.len().div_ceil(SMALL).max(1);
    let places = || (0..seed.len()).step_by(step);
    let cut = places().map(|at| seed[..at].to_vec());
    let flipped = places().flat_map(|at| {
        FLIPS.map(|flip| {
            let mut bytes = seed.to_vec();
            bytes[at] = flip(bytes[at]);
            bytes
        })
    });
    let gone = places().map(|at| [&seed[..at], &seed[at + 1..]].concat());
    cut.chain(flipped).chain(gone).collect()
}

fn stands(target: &str) {
    let body = targets::TARGETS
        .iter()
        .find(|(name, _)| *name == target)
        .unwrap()
        .1;
    for (path, seed) in seeds(target) {
        let mut all = damaged(&seed);
        all.push(seed);
        for bytes in all {
            let shown = bytes.clone();
            if catch_unwind(move || body(&bytes)).is_err() {
                panic!(
                    "{} as {:?}",
                    path.display(),
                    shown.escape_ascii().to_string()
                );
            }
        }
    }
}

#[test]
fn song_files_stand_damage() {
    stands("song");
}

#[test]
fn edited_regions_stand_damage() {
    stands("hand_edit");
}

#[test]
fn midi_riffs_stand_damage() {
    stands("riff_midi");
}

#[test]
fn recordings_stand_damage() {
    stands("riff_sound");
}

#[test]
fn name_documents_stand_damage() {
    stands("midnam");
}

#[test]
fn note_maps_are_read_or_refused() {
    stands("note_map");
}

#[test]
fn own_beats_stand_damage() {
    stands("own_beat");
}

#[test]
fn any_transport_is_played_to() {
    stands("transport");
}

#[test]
fn any_automation_is_played() {
    stands("automation");
}

#[test]
fn any_guitar_is_heard() {
    stands("note_input");
}

#[cfg(feature = "plugin")]
#[test]
fn saved_projects_stand_damage() {
    stands("state");
}
