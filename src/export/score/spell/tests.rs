//! Rhythms as a textbook spells them.

use super::*;

/// The events in short: 4 a quarter, 8 an eighth, with `.` for a dot, `r` for a rest, `3:` before a tuplet, `/` after.
fn written(meter: &str, onsets: &[Ticks]) -> String {
    let meter: Meter = meter.parse().unwrap();
    let events = spell(meter, onsets, false);
    let mut at = 0;
    let mut words = Vec::new();
    for event in &events {
        assert_eq!(event.at, at, "{events:?}");
        at += event.length;
        let mut word = String::new();
        if let Some(tuplet) = event.tuplet.filter(|tuplet| tuplet.begins) {
            word += &tuplet.actual.to_string();
            word += ":";
        }
        word += &event
            .value
            .map_or_else(|| "bar".to_owned(), |v| (1 << v.halvings).to_string());
        word += if event.value.is_some_and(|v| v.dotted) {
            "."
        } else {
            ""
        };
        word += if event.note.is_none() { "r" } else { "" };
        word += if event.tuplet.is_some_and(|t| t.ends) {
            "/"
        } else {
            ""
        };
        words.push(word);
    }
    assert_eq!(at, meter.bar_len());
    let notes: Vec<_> = events
        .iter()
        .filter_map(|e| e.note.map(|n| (n, e.at)))
        .collect();
    let expected: Vec<_> = onsets.iter().copied().enumerate().collect();
    assert_eq!(notes, expected);
    words.join(" ")
}

#[test]
fn rhythms_of_four_four() {
    for (onsets, expected) in [
        (&[][..], "barr"),
        (&[0, 960, 1920, 2880], "4 4 4 4"),
        (
            &[0, 480, 960, 1440, 1920, 2400, 2880, 3360],
            "8 8 8 8 8 8 8 8",
        ),
        (&[0, 1920], "4 4r 4 4r"),
        (&[960, 2880], "4r 4 4r 4"),
        (&[0], "4 4r 2r"),
        (&[2880], "2r 4r 4"),
        (&[480], "8r 8 4r 2r"),
        (
            &[0, 720, 960, 1200, 1920, 2160, 2640],
            "8. 16 16 8. 16 8 16 4r",
        ),
        (&[240, 720, 1680], "16r 8 16 8r 16r 16 2r"),
        (&[0, 320, 640], "3:8 8 8/ 4r 2r"),
        (&[0, 640, 960, 1600], "3:4 8/ 3:4 8/ 2r"),
        (&[640], "3:4r 8/ 4r 2r"),
        (&[0, 160, 320, 480, 640, 800], "6:16 16 16 16 16 16/ 4r 2r"),
        (&[0, 480, 640, 800], "8 3:16 16 16/ 4r 2r"),
        (&[0, 120, 240, 360, 480], "32 32 32 32 8 4r 2r"),
    ] {
        assert_eq!(written("4/4", onsets), expected, "{onsets:?}");
    }
}

#[test]
fn rhythms_of_other_meters() {
    for (meter, onsets, expected) in [
        ("6/8", &[0, 480, 960, 1440][..], "8 8 8 4."),
        ("6/8", &[0, 960, 1440, 1920], "4 8 8 4"),
        ("6/8", &[960], "4r 8 4.r"),
        ("6/8", &[0, 360, 720, 1080], "4:8 8 8 8/ 4.r"),
        ("6/8", &[0, 240, 480], "16 16 4 4.r"),
        ("12/8", &[0], "4. 4.r 2.r"),
        ("7/8", &[0, 480, 960, 1920, 2400, 2880], "8 8 4 8 8 8"),
        ("7/8", &[2880], "4r 4r 4r 8"),
        ("5/16", &[0, 240, 480, 720, 960], "16 16 16 16 16"),
        ("3/4", &[1920], "4r 4r 4"),
        ("2/2", &[0, 1920], "2 2"),
        ("2/2", &[0, 960, 1920, 2560, 3200], "4 4 3:4 4 4/"),
    ] {
        assert_eq!(written(meter, onsets), expected, "{meter} {onsets:?}");
    }
}

#[test]
fn what_rings_lasts_to_the_end_of_the_bar() {
    let value = |onsets: &[Ticks]| {
        let events = spell(Meter::FOUR_FOUR, onsets, true);
        let last = *events.last().unwrap();
        (last.length, events.len())
    };
    assert_eq!(value(&[0]), (3840, 1));
    assert_eq!(value(&[1920]), (1920, 3));
    assert_eq!(value(&[0, 960]), (2880, 2));
}
