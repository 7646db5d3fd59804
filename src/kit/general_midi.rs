//! The default note map: the percussion keys of General MIDI Level 1, and one of Level 2.
//!
//! Source: MMA, *General MIDI System Level 1* (RP-003, 1991), percussion key map on channel 10.
//! The numbers were read in the tables of independent open libraries that agree on all 47 keys
//! (see `tests/core/general_midi.rs`); the standard's own text was not seen. Level 1 has no key for
//! sticks; Level 2 (MMA RP-024, 1999) has 31 "Sticks", read in several independent code tables.

use super::Piece;

/// The General MIDI percussion channel, counted from 0 as in the MIDI bytes: "channel 10".
pub const PERCUSSION_CHANNEL: u8 = 9;

/// A MIDI channel (0..=15) and key (0..=127).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Note {
    /// 0..=15.
    pub channel: u8,
    /// 0..=127.
    pub key: u8,
}

/// The note of each piece.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoteMap {
    keys: [u8; Piece::COUNT],
    channel: u8,
}

impl NoteMap {
    /// General MIDI Level 1 on channel 10, with the sticks of Level 2.
    ///
    /// General MIDI has one key for any not-quite-closed hi-hat, so loose and open share 46
    /// "Open Hi-Hat". Toms run 50, 47, 43, 41 from the smallest to the largest.
    pub const GENERAL_MIDI: Self = {
        let mut keys = [0; Piece::COUNT];
        keys[Piece::Kick as usize] = 36; // Bass Drum 1
        keys[Piece::Snare as usize] = 38; // Acoustic Snare
        keys[Piece::SideStick as usize] = 37; // Side Stick
        keys[Piece::HiHatClosed as usize] = 42; // Closed Hi-Hat
        keys[Piece::HiHatLoose as usize] = 46; // Open Hi-Hat
        keys[Piece::HiHatOpen as usize] = 46; // Open Hi-Hat
        keys[Piece::HiHatFoot as usize] = 44; // Pedal Hi-Hat
        keys[Piece::Ride as usize] = 51; // Ride Cymbal 1
        keys[Piece::RideBell as usize] = 53; // Ride Bell
        keys[Piece::CrashLeft as usize] = 49; // Crash Cymbal 1
        keys[Piece::CrashRight as usize] = 57; // Crash Cymbal 2
        keys[Piece::China as usize] = 52; // Chinese Cymbal
        keys[Piece::Splash as usize] = 55; // Splash Cymbal
        keys[Piece::RackHigh as usize] = 50; // High Tom
        keys[Piece::RackLow as usize] = 47; // Low-Mid Tom
        keys[Piece::FloorHigh as usize] = 43; // High Floor Tom
        keys[Piece::FloorLow as usize] = 41; // Low Floor Tom
        keys[Piece::Sticks as usize] = 31; // Sticks (Level 2)
        Self {
            keys,
            channel: PERCUSSION_CHANNEL,
        }
    };

    /// The note of a piece.
    pub fn note(&self, piece: Piece) -> Note {
        Note {
            channel: self.channel,
            key: self.keys[piece as usize],
        }
    }

    /// The piece of a note; the first in [`Piece::ALL`] where pieces share a key.
    pub fn piece(&self, note: Note) -> Option<Piece> {
        Piece::ALL
            .into_iter()
            .find(|&piece| self.note(piece) == note)
    }
}

impl Default for NoteMap {
    fn default() -> Self {
        Self::GENERAL_MIDI
    }
}
