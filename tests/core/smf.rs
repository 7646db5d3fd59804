//! Our MIDI files against Standard MIDI Files 1.0, and read back by three independent readers.
//!
//! Source of every format fact here, unless a line says otherwise: *Standard MIDI Files 1.0* (IMA/MMA
//! RP-001), read in a freely copyable transcription (D. Back 1999, from the IMA text) [read].

use crate::smf_readers::{agreed, seen};
use crate::support::BEATS;
use fourlimb::engine::offline;
use fourlimb::export::write_song as write;
use fourlimb::groove::vocabulary::VOCABULARY;
use fourlimb::kit::{Note, NoteMap};
use fourlimb::midi::smf_write::SmfError;
use fourlimb::midi::{Region, RegionNote};
use fourlimb::song::{SongFile, Timeline};
use fourlimb::time::Ticks;

/// A song whose sections are given as the inside of JSON objects.
fn song(sections: &[String]) -> Timeline {
    let sections: Vec<_> = sections
        .iter()
        .enumerate()
        .map(|(i, s)| format!(r#"{{"name": "S{i}", {s}}}"#))
        .collect();
    let json = format!(
        r#"{{"fourlimb_song": 1, "title": "Proof", "sections": [{}]}}"#,
        sections.join(",")
    );
    Timeline::new(&SongFile::parse(&json).unwrap()).unwrap()
}

fn file(timeline: &Timeline) -> (Region, Vec<u8>) {
    let region = offline::render(timeline, &NoteMap::default());
    let bytes = write(timeline, &region).unwrap();
    (region, bytes)
}

/// One kick at a tick.
fn kick_at(tick: Ticks) -> Region {
    let note = RegionNote {
        tick,
        length: 120,
        note: Note {
            channel: 9,
            key: 36,
        },
        velocity: 100,
    };
    Region {
        notes: vec![note],
        expressions: Vec::new(),
        end: tick + 120,
    }
}

/// Chunks of a file: type and data. Checks that lengths add up.
fn chunks(mut bytes: &[u8]) -> Vec<(&[u8], &[u8])> {
    let mut chunks = Vec::new();
    while !bytes.is_empty() {
        let len = u32::from_be_bytes(bytes[4..8].try_into().unwrap()) as usize;
        chunks.push((&bytes[..4], &bytes[8..8 + len]));
        bytes = &bytes[8 + len..];
    }
    chunks
}

fn holds(bytes: &[u8], part: &[u8]) -> bool {
    bytes.windows(part.len()).any(|w| w == part)
}

#[test]
fn header_and_tracks_are_as_the_format_says() {
    let (_, bytes) = file(&song(&[r#""bars": 4"#.into()]));
    // MThd: length 6, format 1, two tracks, 960 ticks to the quarter (0x03C0, bit 15 clear).
    let header = [0x4D, 0x54, 0x68, 0x64, 0, 0, 0, 6, 0, 1, 0, 2, 0x03, 0xC0];
    assert_eq!(bytes[..14], header);
    let chunks = chunks(&bytes);
    assert_eq!(chunks.len(), 3);
    for (kind, data) in &chunks[1..] {
        assert_eq!(*kind, b"MTrk");
        // A track's name stands at time 0; the end of track, FF 2F 00, is last.
        assert_eq!(data[..3], [0x00, 0xFF, 0x03]);
        assert_eq!(data[data.len() - 3..], [0xFF, 0x2F, 0x00]);
    }
}

/// The specification's table of variable-length quantities, all twelve rows.
#[test]
fn delta_times_are_written_as_in_the_table_of_the_specification() {
    let table: [(Ticks, &[u8]); 12] = [
        (0x0000_0000, &[0x00]),
        (0x0000_0040, &[0x40]),
        (0x0000_007F, &[0x7F]),
        (0x0000_0080, &[0x81, 0x00]),
        (0x0000_2000, &[0xC0, 0x00]),
        (0x0000_3FFF, &[0xFF, 0x7F]),
        (0x0000_4000, &[0x81, 0x80, 0x00]),
        (0x0010_0000, &[0xC0, 0x80, 0x00]),
        (0x001F_FFFF, &[0xFF, 0xFF, 0x7F]),
        (0x0020_0000, &[0x81, 0x80, 0x80, 0x00]),
        (0x0800_0000, &[0xC0, 0x80, 0x80, 0x00]),
        (0x0FFF_FFFF, &[0xFF, 0xFF, 0xFF, 0x7F]),
    ];
    let timeline = song(&[r#""bars": 1"#.into()]);
    for (value, vlq) in table {
        let bytes = write(&timeline, &kick_at(value)).unwrap();
        let drums = chunks(&bytes)[2].1;
        // Delta 0, FF 03 05 "Drums", then the note's delta and status 99 on channel 10.
        let expected = [&[0, 0xFF, 3, 5][..], b"Drums", vlq, &[0x99, 36, 100]].concat();
        assert_eq!(drums[..expected.len()], expected, "{value:#x}");
        let read = midly::Smf::parse(&bytes).unwrap();
        assert_eq!(Ticks::from(read.tracks[1][1].delta.as_int()), value);
    }
    let error = write(&timeline, &kick_at(0x1000_0000)).unwrap_err();
    assert!(matches!(error, SmfError::TooLong), "{error}");
    let error = write(&timeline, &kick_at(-1)).unwrap_err();
    assert!(matches!(error, SmfError::Negative(-1)), "{error}");
}

/// FF 51 03 tttttt, microseconds a quarter, rounded to the nearest [derived: 60,000,000 / BPM].
#[test]
fn tempi_are_written_as_computed() {
    let table = [
        (60, [0x0F, 0x42, 0x40]),
        (80, [0x0B, 0x71, 0xB0]),
        (100, [0x09, 0x27, 0xC0]),
        (120, [0x07, 0xA1, 0x20]),
        (140, [0x06, 0x8A, 0x1B]),
        (160, [0x05, 0xB8, 0xD8]),
        (180, [0x05, 0x16, 0x15]),
        (200, [0x04, 0x93, 0xE0]),
        (220, [0x04, 0x29, 0x57]),
        (240, [0x03, 0xD0, 0x90]),
        (260, [0x03, 0x85, 0x71]),
        (280, [0x03, 0x45, 0x0E]),
        (300, [0x03, 0x0D, 0x40]),
    ];
    for (bpm, tempo) in table {
        let (_, bytes) = file(&song(&[format!(r#""bars": 1, "bpm": {bpm}"#)]));
        let expected = [&[0x00, 0xFF, 0x51, 0x03][..], &tempo].concat();
        assert!(holds(chunks(&bytes)[1].1, &expected), "{bpm} BPM");
    }
}

/// FF 58 04 nn dd cc bb: dd is the power of two, cc the MIDI clocks of a count (24 to a quarter), bb
/// eight. The 6/8 is the specification's own example.
#[test]
fn meters_are_written_as_the_format_says() {
    let table = [
        ("6/8", [6, 3, 0x24, 8]),
        ("4/4", [4, 2, 24, 8]),
        ("3/2", [3, 1, 48, 8]),
        ("7/8", [7, 3, 24, 8]),
        ("15/16", [15, 4, 18, 8]),
        ("32/16", [32, 4, 12, 8]),
    ];
    for (meter, data) in table {
        let (_, bytes) = file(&song(&[format!(r#""bars": 1, "meter": "{meter}""#)]));
        let expected = [&[0x00, 0xFF, 0x58, 0x04][..], &data].concat();
        assert!(holds(chunks(&bytes)[1].1, &expected), "{meter}");
    }
}

/// A song with every beat, several meters and tempi.
fn long_song() -> Timeline {
    let meters = ["4/4", "7/8", "3/4", "6/8", "5/4"];
    let sections: Vec<_> = (0..BEATS)
        .map(|i| {
            let name = VOCABULARY[usize::from(i)].name();
            let meter = meters[usize::from(i) % meters.len()];
            let bpm = 90 + 7 * u32::from(i);
            format!(
                r#""bars": 5, "meter": "{meter}", "bpm": {bpm}, "style": "{name}",
                   "fill_chance": 1, "density": {{"from": 0, "to": 1}}"#
            )
        })
        .collect();
    song(&sections)
}

#[test]
fn three_readers_read_back_every_note_tempo_meter_and_marker() {
    let timeline = long_song();
    let (region, bytes) = file(&timeline);
    let file = agreed(&bytes);
    let [conductor, drums] = &file.tracks[..] else {
        panic!("{} tracks", file.tracks.len());
    };
    assert_eq!(drums.notes, seen(&region.notes));
    assert!(drums.end >= timeline.end());
    let sections = usize::from(BEATS);
    assert_eq!(conductor.meters.len(), sections);
    assert_eq!(conductor.markers.len(), sections);
    assert_eq!(conductor.end, timeline.end());
    let micros = |bpm: f64| (60_000_000.0 / bpm).round() as u32;
    let ours = timeline.tempo().changes();
    let ours: Vec<_> = ours.map(|(at, bpm)| (at, micros(bpm))).collect();
    assert_eq!(ours.len(), sections);
    assert_eq!(conductor.tempi, ours);
}

/// Without its feature `strict` midly takes anything [measured]; a build that lost it would make the
/// checks above worthless.
#[test]
fn the_reader_is_strict() {
    let (_, mut bytes) = file(&song(&[r#""bars": 1"#.into()]));
    bytes.truncate(bytes.len() - 3);
    assert!(midly::Smf::parse(&bytes).is_err());
}
