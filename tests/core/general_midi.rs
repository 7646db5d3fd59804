//! The note map against the percussion keys of General MIDI Level 1, channel 10.
//!
//! `gm1_percussion.json` holds all 47 keys. Source: MMA, *General MIDI System Level 1*, RP-003,
//! 1991 [memory: the standard's text was not seen]; the table as read in a general-purpose Python
//! MIDI library whose own source is midi.org's gm1sound page (pretty-midi, `constants.py`,
//! `DRUM_MAP`) [read], and found equal in further open libraries (midi-msg, MIDI.pm and others)
//! [measured].

use fourlimb::kit::general_midi::{level_1, level_2};
use fourlimb::kit::{Note, NoteMap, NoteReader, Piece};
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
        let note = NoteMap::default().note(piece).unwrap();
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
        let key = NoteMap::default().note(tom).unwrap().key;
        order.iter().position(|k| *k == key).expect("a tom's key")
    });
    assert!(places.windows(2).all(|w| w[0] < w[1]), "{places:?}");
}

#[test]
fn keys_lead_back_to_pieces() {
    for map in [level_1(), level_2()] {
        let reader = NoteReader::new(&map);
        let read = |note| reader.read(note, 64, None).map(|read| read.pieces.to_vec());
        for piece in Piece::ALL {
            let sounding = map.sounding(piece).unwrap();
            assert_eq!(read(map.note(piece).unwrap()), Some(vec![sounding]));
        }
        let note = |channel, key| Note { channel, key };
        // The cowbell is no piece of the kit; the bass drum is on no other channel.
        assert_eq!(read(note(9, 56)), None);
        assert_eq!(read(note(0, 36)), None);
        // The second bass drum and the six toms are.
        assert_eq!(read(note(9, 35)), Some(vec![Piece::Kick]));
        assert_eq!(read(note(9, 48)), Some(vec![Piece::RackHigh]));
    }
}

/// What a level lacks is played by what is nearest: the loose hi-hat by the open one, and in Level 1 the sticks by the
/// side stick.
#[test]
fn what_a_level_lacks_is_folded() {
    let folded = |map: &NoteMap| map.folded().collect::<Vec<_>>();
    let loose = (Piece::HiHatLoose, Some(Piece::HiHatOpen));
    assert_eq!(folded(&level_2()), [loose]);
    let sticks = (Piece::Sticks, Some(Piece::SideStick));
    assert_eq!(folded(&level_1()), [loose, sticks]);
}
