//! Note-offs, whatever happens; and hosts that say little.

use super::{QUARTER, Transport, host, ons, roll, rolling, set, standing};
use hosting::host::Sent;
use std::collections::BTreeSet;

/// The keys that sound after some notes; panics where a key is struck twice or released unstruck.
fn sounding(notes: impl IntoIterator<Item = Sent>) -> BTreeSet<u8> {
    let mut keys = BTreeSet::new();
    for note in notes {
        assert_eq!(
            note.channel, 9,
            "General MIDI percussion is channel 10, 9 from 0"
        );
        if note.velocity.is_some() {
            assert!(keys.insert(note.key), "key {} struck twice", note.key);
        } else {
            assert!(keys.remove(&note.key), "key {} released unstruck", note.key);
        }
    }
    keys
}

/// Plays the first 64 samples of a bar, so that its 1 sounds, does something, and expects that
/// every note is released.
fn check_released(what: &str, act: impl FnOnce(&mut super::Host) -> Vec<Sent>) {
    let mut host = host();
    set(&mut host, "Looseness", "0");
    let mut notes = host.block(&rolling(0), &[], 64).unwrap();
    assert!(
        !sounding(notes.clone()).is_empty(),
        "{what}: nothing sounds"
    );
    notes.extend(act(&mut host));
    assert_eq!(sounding(notes), BTreeSet::new(), "{what}");
}

#[test]
fn every_note_is_released() {
    check_released("stop", |host| {
        let sent = host.block(&standing(64), &[], 64).unwrap();
        assert!(
            sent.iter().all(|note| note.sample == 0),
            "at once: {sent:?}"
        );
        sent
    });
    check_released("bypass", |host| {
        let param = host.param("Bypass").unwrap().id;
        let change = super::Automation {
            sample: 0,
            param,
            value: 1.0,
        };
        host.block(&rolling(64), &[change], 64).unwrap()
    });
    check_released("seek", |host| {
        host.block(&rolling(QUARTER / 2 * 3), &[], 64).unwrap()
    });
    check_released("reset", |host| {
        host.reset();
        host.block(&rolling(QUARTER * 40 + 100), &[], 64).unwrap()
    });
    check_released("deactivation", |host| {
        host.deactivate();
        host.activate(44_100.0, 512).unwrap();
        host.block(&standing(0), &[], 64).unwrap()
    });
    check_released("state load", |host| {
        let state = host.save().unwrap();
        host.load(&state).unwrap();
        host.block(&standing(64), &[], 64).unwrap()
    });
    check_released("time", |host| {
        let notes = roll(host, 64, QUARTER / 2, 64);
        notes.into_iter().map(|(_, note)| note).collect()
    });
}

#[test]
fn bypass_is_silent_and_keeps_time() {
    let mut host = host();
    set(&mut host, "Bypass", "Bypassed");
    assert_eq!(roll(&mut host, 0, QUARTER * 8, 512), []);
    set(&mut host, "Bypass", "Not Bypassed");
    let mut fresh = super::host();
    let resumed = ons(&roll(&mut host, QUARTER * 8, QUARTER * 12, 512));
    assert_eq!(
        resumed,
        ons(&roll(&mut fresh, QUARTER * 8, QUARTER * 12, 512))
    );
    assert!(!resumed.is_empty());
}

#[test]
fn hosts_that_say_little_still_get_drums() {
    let mut told = host();
    let expected = ons(&roll(&mut told, 0, QUARTER * 8, 512));
    let full = rolling(0);
    let silent: [(&str, Transport); 3] = [
        (
            "no position",
            Transport {
                pos_quarters: None,
                bar_quarters: 0.0,
                ..full
            },
        ),
        (
            "no tempo, meter or position",
            Transport {
                pos_quarters: None,
                bpm: None,
                meter: None,
                ..full
            },
        ),
        (
            "a bar start that is nonsense",
            Transport {
                bar_quarters: 1e6,
                ..full
            },
        ),
    ];
    for (what, transport) in silent {
        let mut host = host();
        let mut notes = Vec::new();
        for at in (0..QUARTER * 8).step_by(512) {
            let frames = 512.min(QUARTER * 8 - at);
            let pos = transport
                .pos_quarters
                .map(|_| f64::from(at) / f64::from(QUARTER));
            let said = Transport {
                pos_quarters: pos,
                ..transport
            };
            let sent = host.block(&said, &[], frames).unwrap();
            notes.extend(sent.into_iter().map(|note| (at + note.sample, note)));
        }
        assert_eq!(ons(&notes), expected, "{what}");
    }
}

#[test]
fn a_standing_transport_plays_nothing() {
    let mut host = host();
    for _ in 0..100 {
        assert_eq!(host.block(&standing(0), &[], 512).unwrap(), []);
    }
}
