//! The note maps of General MIDI percussion, Level 1 and Level 2, on channel 10.
//!
//! Sources: MMA, *General MIDI System Level 1* (RP-003, 1991), percussion key map; MMA, *General MIDI 2* (RP-024, 1999),
//! standard set. The numbers were read in the tables of independent open libraries that agree on all 47 keys of Level
//! 1 (see `tests/core/general_midi.rs`) and in several code tables for the sticks of Level 2; the standards' own texts
//! were not seen.

use super::note_map::{NoteMap, PieceNotes};
use super::{Note, Piece};

/// The General MIDI percussion channel, counted from 0 as in the MIDI bytes: "channel 10".
pub const PERCUSSION_CHANNEL: u8 = 9;

/// A key of the percussion channel.
fn note(key: u8) -> Note {
    Note {
        channel: PERCUSSION_CHANNEL,
        key,
    }
}

/// The keys of Level 1 that are pieces of a kit: the one that is played, and those that are read as the piece. Its six
/// toms are four pieces: 41 and 43 the floor toms, 45 and 47 the large rack tom, 48 and 50 the small one. The two ride
/// keys are one cymbal. There is one key for any hi-hat that is not quite shut, so the loose one is the open one's.
const LEVEL_1: [(Piece, u8, &[u8]); 16] = [
    (Piece::Kick, 36, &[35]),      // Bass Drum 1; Acoustic Bass Drum
    (Piece::Snare, 38, &[40]),     // Acoustic Snare; Electric Snare
    (Piece::SideStick, 37, &[]),   // Side Stick
    (Piece::HiHatClosed, 42, &[]), // Closed Hi-Hat
    (Piece::HiHatOpen, 46, &[]),   // Open Hi-Hat
    (Piece::HiHatFoot, 44, &[]),   // Pedal Hi-Hat
    (Piece::Ride, 51, &[59]),      // Ride Cymbal 1; Ride Cymbal 2
    (Piece::RideBell, 53, &[]),    // Ride Bell
    (Piece::CrashLeft, 49, &[]),   // Crash Cymbal 1
    (Piece::CrashRight, 57, &[]),  // Crash Cymbal 2
    (Piece::China, 52, &[]),       // Chinese Cymbal
    (Piece::Splash, 55, &[]),      // Splash Cymbal
    (Piece::RackHigh, 50, &[48]),  // High Tom; Hi-Mid Tom
    (Piece::RackLow, 47, &[45]),   // Low-Mid Tom; Low Tom
    (Piece::FloorHigh, 43, &[]),   // High Floor Tom
    (Piece::FloorLow, 41, &[]),    // Low Floor Tom
];

/// The sticks of Level 2.
const STICKS: u8 = 31;

/// General MIDI Level 1. It has no key for sticks: the side stick counts in.
pub fn level_1() -> NoteMap {
    let mut map = NoteMap::silent();
    for (piece, key, also) in LEVEL_1 {
        *map.get_mut(piece) = PieceNotes {
            also_read: also.iter().map(|key| note(*key)).collect(),
            ..PieceNotes::of(note(key))
        };
    }
    map
}

/// General MIDI Level 2: as Level 1, with sticks.
pub fn level_2() -> NoteMap {
    let mut map = level_1();
    *map.get_mut(Piece::Sticks) = PieceNotes::of(note(STICKS));
    map
}
