//! The note map in the plugin, as a host hears it.

use super::{QUARTER, host, roll, rolling, set, standing};
use fourlimb::kit::hi_hat::{Controller, HiHat};
use fourlimb::kit::map_file::NamedMap;
use fourlimb::kit::note_map::{Length, Notes, PieceNotes, Turns};
use fourlimb::kit::{Note, NoteMap, Piece, Response, Struck, general_midi, hi_hat};
use hosting::host::{Expressed, Host, Sent};
use hosting::state::{part, set_part};
use serde_json::json;
use std::collections::BTreeMap;

fn note(channel: u8, key: u8) -> Note {
    Note { channel, key }
}

/// A sampler that somebody learned: alternates by hand, keys far from General MIDI's, two channels, gaps.
fn learned() -> NoteMap {
    let mut map = NoteMap::silent();
    let keys = [
        (Piece::Kick, 24),
        (Piece::HiHatClosed, 60),
        (Piece::HiHatOpen, 62),
        (Piece::HiHatFoot, 63),
        (Piece::Ride, 70),
        (Piece::CrashRight, 77),
        (Piece::RackHigh, 50),
        (Piece::FloorHigh, 45),
        (Piece::Sticks, 1),
    ];
    for (piece, key) in keys {
        *map.get_mut(piece) = PieceNotes::of(note(0, key));
    }
    *map.get_mut(Piece::Snare) = PieceNotes {
        notes: Notes::from_iter([note(0, 26), note(0, 27), note(3, 28)]),
        turns: Turns::ByHand,
        response: Response {
            floor: 20,
            ceiling: 120,
            bend: 40,
        },
        length: Length::UntilNext,
        ..PieceNotes::default()
    };
    map
}

/// General MIDI with one key and the foot controller for the hi-hat.
fn by_controller() -> NoteMap {
    let mut map = general_midi::level_2();
    for piece in [Piece::HiHatLoose, Piece::HiHatOpen] {
        *map.get_mut(piece) = PieceNotes::of(note(9, 42));
    }
    map.hi_hat = HiHat::Controller(Controller {
        lead_ms: 10,
        ..Controller::foot(9)
    });
    map
}

fn maps() -> [NoteMap; 4] {
    [
        general_midi::level_1(),
        general_midi::level_2(),
        learned(),
        by_controller(),
    ]
}

fn named(map: &NoteMap) -> NamedMap {
    NamedMap {
        name: "test".to_owned(),
        map: map.clone(),
    }
}

fn give(host: &mut Host, map: &NoteMap) {
    set_part(host, "map", &named(map)).unwrap();
}

/// The notes that sound after more of them; panics where one is struck twice or released unstruck.
fn follow(sounding: &mut BTreeMap<(u8, u8), u8>, sent: &[Sent]) {
    for event in sent {
        let key = (event.channel, event.key);
        match event.velocity {
            Some(velocity) => assert_eq!(sounding.insert(key, velocity), None, "{key:?} twice"),
            None => assert!(sounding.remove(&key).is_some(), "{key:?} released unstruck"),
        }
    }
}

/// A song of one bar that is this stroke alone.
fn one_stroke(piece: Piece, velocity: u8) -> serde_json::Value {
    json!({"fourlimb_song": 1, "title": "T", "sections": [
        {"name": "A", "bars": 1, "locked": [[960, piece.name(), velocity]]},
        {"name": "B", "bars": 1, "play": "rest"},
    ]})
}

/// Every piece at five velocities through four maps: its note, as hard as the map makes it, and its end.
#[test]
fn every_piece_is_sent_as_the_map_says() {
    let mut host = host();
    set(&mut host, "Play the chart", "on");
    for map in maps() {
        give(&mut host, &map);
        for piece in Piece::ALL {
            for velocity in [1, 32, 64, 100, 127] {
                set_part(&mut host, "song", &one_stroke(piece, velocity)).unwrap();
                let sent = roll(&mut host, 0, QUARTER * 6, 512);
                host.block(&standing(0), &[], 64).unwrap();
                let ons: Vec<_> = sent.iter().filter(|(_, s)| s.velocity.is_some()).collect();
                let struck = Struck {
                    piece,
                    velocity,
                    // The limb that has the piece: the other hand has the snare.
                    lead: !matches!(piece, Piece::Snare | Piece::SideStick | Piece::HiHatFoot),
                    turn: 0,
                    alternate: None,
                    opening: hi_hat::usual_opening(piece).unwrap_or(0),
                };
                let Some(expected) = map.send(&struck) else {
                    assert!(ons.is_empty(), "{piece:?}: {ons:?}");
                    continue;
                };
                let [(at, on)] = ons[..] else {
                    panic!("{piece:?} {velocity}: {ons:?}");
                };
                assert!(at.abs_diff(QUARTER) <= 1, "{piece:?} at {at}");
                assert_eq!(
                    (note(on.channel, on.key), on.velocity),
                    (expected.note, Some(expected.velocity)),
                    "{piece:?}"
                );
            }
        }
    }
}

/// Whatever the map is at a moment, every note that began ends on its own key, and no stroke is lost.
#[test]
fn a_map_that_changes_while_it_plays_leaves_no_note_hanging() {
    let mut host = host();
    set(&mut host, "Density", "100%");
    set(&mut host, "Looseness", "0%");
    let maps = maps();
    let mut sounding = BTreeMap::new();
    let mut random = 0x9e37_79b9_u32;
    let mut at = 0;
    let mut strokes = 0;
    for _ in 0..1000 {
        random = random.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let map = &maps[(random >> 30) as usize];
        give(&mut host, map);
        let frames = 64 + (random >> 8) % 6000;
        let sent = host.block(&rolling(at), &[], frames).unwrap();
        strokes += sent.iter().filter(|s| s.velocity.is_some()).count();
        follow(&mut sounding, &sent);
        at += frames;
    }
    let sent = host.block(&standing(at), &[], 64).unwrap();
    follow(&mut sounding, &sent);
    assert!(sounding.is_empty(), "{sounding:?} hang");
    // No stroke is lost: the same time through one map has as many.
    let mut host = self::host();
    set(&mut host, "Density", "100%");
    set(&mut host, "Looseness", "0%");
    let all = roll(&mut host, 0, at, 512);
    let all = all.iter().filter(|(_, s)| s.velocity.is_some()).count();
    assert_eq!(strokes, all);
}

/// The controller comes before its note, only where it changes, and the hi-hat is shut at rest.
#[test]
fn the_controller_comes_before_its_note_and_no_more_often_than_needed() {
    let mut host = host();
    give(&mut host, &by_controller());
    set(&mut host, "Intensity", "70%");
    let mut value = None;
    let (mut moves, mut hats) = (0, 0);
    let mut values = std::collections::BTreeSet::new();
    let mut at = 0;
    while at < QUARTER * 32 {
        let sent = host.block(&rolling(at), &[], 480).unwrap();
        let expressed = host.expressed().to_vec();
        let mut expressed = expressed.iter().peekable();
        for (i, event) in sent.iter().enumerate() {
            while let Some((_, _, what)) = expressed.next_if(|(_, before, _)| *before <= i) {
                let Expressed::Control(9, 4, now) = *what else {
                    panic!("{what:?}");
                };
                assert_ne!(value.replace(now), Some(now), "sent twice");
                values.insert(now);
                moves += 1;
            }
            if event.key == 42 && event.velocity.is_some() {
                assert!(value.is_some(), "a stroke before its controller");
                hats += 1;
            }
        }
        for (_, _, what) in expressed {
            let Expressed::Control(9, 4, now) = *what else {
                panic!("{what:?}");
            };
            assert_ne!(value.replace(now), Some(now), "sent twice");
            values.insert(now);
            moves += 1;
        }
        at += 480;
    }
    assert!(
        hats > 30 && moves <= hats && values.len() > 5,
        "{moves} moves, {hats} strokes, {values:?}"
    );
    host.block(&standing(at), &[], 64).unwrap();
    let last = host.expressed().last().map(|(_, _, what)| *what);
    assert!(
        value == Some(127) || last == Some(Expressed::Control(9, 4, 127)),
        "{last:?}"
    );
}

/// General MIDI sends no controller.
#[test]
fn general_midi_sends_notes_alone() {
    let mut host = host();
    for at in (0..QUARTER * 16).step_by(480) {
        host.block(&rolling(at), &[], 480).unwrap();
        assert_eq!(host.expressed(), []);
    }
}

/// A project from before there were maps plays General MIDI; a map is saved and comes back.
#[test]
fn the_map_is_saved_with_the_project() {
    let mut host = host();
    let saved = part(&mut host, "map").unwrap();
    assert_eq!(NamedMap::read(&saved), Ok(NamedMap::default()));
    give(&mut host, &learned());
    let state = host.save().unwrap();
    let mut other = super::host();
    other.load(&state).unwrap();
    let back = NamedMap::read(&part(&mut other, "map").unwrap()).unwrap();
    assert_eq!(back, named(&learned()));
    let sent = roll(&mut other, 0, QUARTER * 8, 512);
    assert!(sent.iter().any(|(_, s)| (s.channel, s.key) == (0, 24)));
    set_part(&mut other, "map", &serde_json::Value::Null).unwrap();
    let mut json = hosting::state::json_of(&other.save().unwrap()).unwrap();
    let mut document = hosting::state::document_of(&json).unwrap();
    document.as_object_mut().unwrap().remove("map");
    hosting::state::set_document(&mut json, &document);
    other.load(&hosting::state::state_of(&json)).unwrap();
    other.block(&standing(0), &[], 64).unwrap();
    let sent = roll(&mut other, QUARTER * 64, QUARTER * 72, 512);
    assert!(sent.iter().all(|(_, s)| s.channel == 9), "General MIDI");
}
