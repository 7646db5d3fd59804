//! The chart in a host: sections that go by its meter, and a curve of the panel over what they say.

use super::{QUARTER, host, set};
use fourlimb::kit::{NoteMap, Piece};
use hosting::host::{Host, Transport};
use hosting::state::set_part;
use serde_json::json;

/// Rolls for so many quarters in 3/4 and returns the samples and velocities of a piece.
fn waltz(host: &mut Host, quarters: u32, piece: Piece) -> Vec<(u32, u8)> {
    let key = NoteMap::default().note(piece).unwrap().key;
    let mut struck = Vec::new();
    for sample in (0..quarters * QUARTER).step_by(500) {
        let pos = f64::from(sample) / f64::from(QUARTER);
        let transport = Transport {
            meter: Some((3, 4)),
            bar_quarters: (pos / 3.0).floor() * 3.0,
            ..super::rolling(sample)
        };
        for note in host.block(&transport, &[], 500).unwrap() {
            let velocity = note.velocity.filter(|_| note.key == key);
            struck.extend(velocity.map(|velocity| (sample + note.sample, velocity)));
        }
    }
    host.block(&Transport::AT_REST, &[], 64).unwrap();
    struck
}

/// Two bars of the host's meter, then the china: at the third bar of 3/4, once the host was seen to play in
/// it.
#[test]
fn a_section_goes_by_the_meter_that_was_seen() {
    let mut host = host();
    let song = json!({"fourlimb_song": 1, "title": "T", "sections": [
        {"name": "A", "bars": 2, "meter": "host", "style": "rock", "fill": "none"},
        {"name": "B", "bars": 2, "start": "china"},
    ]});
    set_part(&mut host, "song", &song).unwrap();
    set(&mut host, "Play the chart", "on");
    set(&mut host, "Looseness", "0%");
    waltz(&mut host, 12, Piece::China);
    // The instance's own thread takes up what was seen a few times a second.
    let third_bar =
        |struck: &[(u32, u8)]| struck.iter().any(|(at, _)| at.abs_diff(6 * QUARTER) < 50);
    let found = (0..100).any(|_| {
        std::thread::sleep(std::time::Duration::from_millis(100));
        third_bar(&waltz(&mut host, 8, Piece::China))
    });
    assert!(found, "the china never moved to the third bar of 3/4");
}

/// The panel's accent and intensity are offsets: at 50 % the chart plays as it says, and outside of it the
/// drummer rests, whatever the panel says.
#[test]
fn the_panel_moves_the_chart_and_plays_nothing_beyond_it() {
    let mut host = host();
    let song = json!({"fourlimb_song": 1, "title": "T", "start_bar": 2, "sections": [
        {"name": "A", "bars": 2, "meter": "3/4", "style": "rock", "intensity": 0.5, "fill": "none"},
    ]});
    set_part(&mut host, "song", &song).unwrap();
    for (name, text) in [
        ("Play the chart", "on"),
        ("Looseness", "0%"),
        ("Beat", "blast"),
        ("Density", "50%"),
        ("Accent contrast", "50%"),
        ("Intensity", "50%"),
    ] {
        set(&mut host, name, text);
    }
    let middle = waltz(&mut host, 15, Piece::Snare);
    let (from, to) = (3 * QUARTER, 9 * QUARTER);
    assert!(!middle.is_empty());
    assert!(
        middle.iter().all(|(at, _)| (from..to).contains(at)),
        "{middle:?}"
    );
    set(&mut host, "Intensity", "80%");
    let louder = waltz(&mut host, 15, Piece::Snare);
    let loudest = |struck: &[(u32, u8)]| struck.iter().map(|(_, velocity)| *velocity).max();
    assert!(loudest(&louder) > loudest(&middle));
    set(&mut host, "Play the chart", "off");
    let blast = waltz(&mut host, 15, Piece::Snare);
    assert!(blast.len() > 2 * middle.len() && blast[0].0 < from);
}
