//! The note map against the percussion keys of General MIDI Level 1, channel 10.
//!
//! `gm1_percussion.json` holds all 47 keys. Source: MMA, *General MIDI System Level 1*, RP-003,
//! 1991 [memory: the standard's text was not seen]; the table as read in a general-purpose Python
//! MIDI library whose own source is midi.org's gm1sound page (pretty-midi, `constants.py`,
//! `DRUM_MAP`) [read], and found equal in further open libraries (midi-msg, MIDI.pm and others)
//! [measured].

use fourlimb::kit::{Note, NoteMap, Piece};
use std::collections::BTreeMap;

fn table() -> BTreeMap<u8, String> {
    serde_json::from_str(include_str!("gm1_percussion.json")).unwrap()
}

/// The words that a key's name must have to stand for a piece.
fn words(piece: Piece) -> &'static [&'static str] {
    match piece {
        Piece::Kick => &["Bass Drum"],
        Piece::Snare => &["Acoustic", "Snare"],
        Piece::SideStick => &["Side Stick"],
        Piece::HiHatClosed => &["Closed", "Hi", "Hat"],
        // General MIDI knows one hi-hat that is not closed.
        Piece::HiHatLoose | Piece::HiHatOpen => &["Open", "Hi", "Hat"],
        Piece::HiHatFoot => &["Pedal", "Hi", "Hat"],
        Piece::Ride => &["Ride Cymbal"],
        Piece::RideBell => &["Ride Bell"],
        Piece::CrashLeft => &["Crash Cymbal 1"],
        Piece::CrashRight => &["Crash Cymbal 2"],
        Piece::China => &["Chinese Cymbal"],
        Piece::Splash => &["Splash"],
        Piece::RackHigh => &["High Tom"],
        Piece::RackLow => &["Mid", "Tom"],
        Piece::FloorHigh => &["High", "Floor Tom"],
        Piece::FloorLow => &["Low", "Floor Tom"],
        Piece::Sticks => &["Sticks"],
    }
}

#[test]
fn the_fixture_is_the_whole_key_map() {
    let table = table();
    assert_eq!(
        table.keys().copied().collect::<Vec<_>>(),
        (35..=81).collect::<Vec<_>>()
    );
}

#[test]
fn every_piece_has_a_key_whose_name_is_its_own() {
    let mut table = table();
    // General MIDI Level 2 (MMA RP-024, 1999) adds 27 to 34; 31 "Sticks" [read: number and name in
    // several independent public code tables].
    table.insert(31, "Sticks".to_owned());
    for piece in Piece::ALL {
        let note = NoteMap::GENERAL_MIDI.note(piece);
        // Channel 10 of General MIDI, counted from 0.
        assert_eq!(note.channel, 9, "{}", piece.name());
        let name = &table[&note.key];
        for word in words(piece) {
            assert!(
                name.contains(word),
                "{} on {}: {name}",
                piece.name(),
                note.key
            );
        }
    }
}

/// Pitch order of the toms, low to high: 41, 43, 45, 47, 48, 50 [derived from the names].
#[test]
fn toms_rise_in_pitch_from_the_largest() {
    let order = [41, 43, 45, 47, 48, 50];
    let toms = [
        Piece::FloorLow,
        Piece::FloorHigh,
        Piece::RackLow,
        Piece::RackHigh,
    ];
    let places = toms.map(|tom| {
        let key = NoteMap::GENERAL_MIDI.note(tom).key;
        order.iter().position(|k| *k == key).expect("a tom's key")
    });
    assert!(places.windows(2).all(|w| w[0] < w[1]), "{places:?}");
}

#[test]
fn keys_lead_back_to_pieces() {
    let map = NoteMap::GENERAL_MIDI;
    for piece in Piece::ALL {
        let back = map.piece(map.note(piece)).unwrap();
        assert_eq!(map.note(back), map.note(piece));
        // Only the two hi-hats share.
        assert!(
            back == piece || piece == Piece::HiHatOpen,
            "{}",
            piece.name()
        );
    }
    assert_eq!(
        map.piece(Note {
            channel: 9,
            key: 56
        }),
        None
    );
    assert_eq!(
        map.piece(Note {
            channel: 0,
            key: 36
        }),
        None
    );
}
