//! Exports: what a file of a song, of some bars or of a section holds, whoever reads it.
//!
//! Source of the format facts, unless a line says otherwise: *Standard MIDI Files 1.0* (IMA/MMA
//! RP-001), read in a freely copyable transcription (D. Back 1999, from the IMA text) [read].

use crate::smf_readers::{SeenFile, agreed, seen};
use fourlimb::engine::offline;
use fourlimb::export::write_song;
use fourlimb::export::{Options, export};
use fourlimb::groove::{Hit, Limb};
use fourlimb::kit::{NoteMap, Piece};
use fourlimb::song::{SongFile, Timeline};
use fourlimb::time::{TICKS_PER_QUARTER, Ticks};
use std::sync::LazyLock;

pub static MAP: LazyLock<NoteMap> = LazyLock::new(NoteMap::default);

/// A song from the insides of its sections.
pub fn song(title: &str, sections: &[&str]) -> Timeline {
    let title = serde_json::to_string(title).unwrap();
    let sections: Vec<_> = sections.iter().map(|s| format!("{{{s}}}")).collect();
    let sections = sections.join(",");
    let json = format!(r#"{{"fourlimb_song": 1, "title": {title}, "sections": [{sections}]}}"#);
    Timeline::new(&SongFile::parse(&json).unwrap()).unwrap()
}

pub fn demo() -> Timeline {
    Timeline::new(&SongFile::parse(SongFile::DEMO).unwrap()).unwrap()
}

pub fn odd_meters() -> Timeline {
    song(
        "Odd",
        &[
            r#""name": "A", "bars": 3, "meter": "7/8", "bpm": 171.3, "fill_chance": 1"#,
            r#""name": "B", "bars": 2, "meter": "4/4", "style": "blast", "hand": "china""#,
            r#""name": "C", "bars": 5, "meter": "5/8", "bpm": 96, "style": "tom groove""#,
            r#""name": "D", "bars": 1, "meter": "7/8", "play": "ending""#,
        ],
    )
}

pub fn options(list: &[(&str, &str)]) -> Options {
    let mut options = Options::default();
    for (name, text) in list {
        options.set(name, text).unwrap();
    }
    options
}

pub fn bytes(song: &Timeline, list: &[(&str, &str)]) -> Vec<u8> {
    export(song, &options(list), &MAP).unwrap().bytes
}

pub fn read(song: &Timeline, list: &[(&str, &str)]) -> SeenFile {
    agreed(&bytes(song, list))
}

/// The three layouts, and the one track of format 0.
pub const LAYOUTS: [[(&str, &str); 2]; 4] = [
    [("format", "1"), ("tracks", "one")],
    [("format", "1"), ("tracks", "limbs")],
    [("format", "1"), ("tracks", "pieces")],
    [("format", "0"), ("tracks", "one")],
];

/// What a whole song's file must say, in any layout.
pub fn says_the_whole(song: &Timeline, file: &SeenFile) {
    let region = offline::render(song, &MAP);
    assert_eq!(file.notes(), seen(&region.notes));
    assert_eq!(file.per_quarter, 960);
    let conductor = &file.tracks[0];
    assert_eq!(conductor.name, song.title());
    let markers = song.markers().map(|(at, name)| (at, name.to_owned()));
    assert_eq!(conductor.markers, markers.collect::<Vec<_>>());
    let micros = |bpm: f64| (60_000_000.0 / bpm).round() as u32;
    let tempi = song.tempo().changes().map(|(at, bpm)| (at, micros(bpm)));
    assert_eq!(conductor.tempi, tempi.collect::<Vec<_>>());
    // The meter that a reader takes every bar for is the bar's own, and changes only where it does.
    for bar in song.bars() {
        let now = conductor.meters.iter().rfind(|m| m.0 <= bar.start).unwrap();
        let (n, d) = (bar.meter.numerator(), bar.meter.denominator());
        assert_eq!((now.1, now.2), (n, u16::from(d)), "bar at {}", bar.start);
    }
    let same = |w: &[(Ticks, u8, u16)]| (w[0].1, w[0].2) == (w[1].1, w[1].2);
    assert!(!conductor.meters.windows(2).any(same));
    // A song may end with a hit that rings past its last bar.
    let rings = region.notes.iter().map(|n| n.tick + n.length).max();
    let end = song.end().max(rings.unwrap_or(0));
    for track in &file.tracks {
        assert!((song.end()..=end).contains(&track.end), "{}", track.end);
    }
}

#[test]
fn three_readers_see_every_song_whole_in_every_layout() {
    let songs = [
        demo(),
        odd_meters(),
        song("One bar", &[r#""name": "A", "bars": 1"#]),
        song("Tiny", &[r#""name": "A", "bars": 1, "meter": "1/16""#]),
        song(
            "400 BPM",
            &[r#""name": "A", "bars": 8, "bpm": 400, "style": "bomb blast""#],
        ),
        song(
            "Grüße aus Köln, 雷と鋼",
            &[
                r#""name": "Brücke", "bars": 2"#,
                r#""name": "サビ", "bars": 2"#,
            ],
        ),
        song("Silence", &[r#""name": "A", "bars": 2, "play": "rest""#]),
    ];
    for song in songs {
        for layout in LAYOUTS {
            says_the_whole(&song, &read(&song, &layout));
        }
    }
}

/// Three hours at 120 BPM are 21,600 quarters, 20,736,000 ticks [derived].
#[test]
fn a_song_of_three_hours() {
    let part = |name: &str| format!(r#""name": "{name}", "bars": 2700, "bpm": 120"#);
    let song = song("Long", &[&part("First half"), &part("Second half")]);
    let file = read(&song, &[]);
    says_the_whole(&song, &file);
    assert_eq!(file.tracks[0].end, 3 * 60 * 120 * 960);
    assert_eq!(file.tracks[0].markers[1].0, 10_368_000);
    assert!(file.tracks[1].notes.last().unwrap().0 > 20_700_000);
}

/// A tempo is whole microseconds a quarter, so a reader's clock may be off by half of one a quarter.
#[test]
fn seconds_are_kept_as_well_as_the_format_can() {
    let song = song(
        "Clock",
        &[
            r#""name": "A", "bars": 500, "bpm": 171.3, "play": "rest""#,
            r#""name": "B", "bars": 500, "bpm": 97.77"#,
        ],
    );
    let file = read(&song, &[]);
    let conductor = &file.tracks[0];
    let mut seconds = 0.0;
    for (i, (at, micros)) in conductor.tempi.iter().enumerate() {
        let until = conductor.tempi.get(i + 1).map_or(conductor.end, |t| t.0);
        seconds += (until - at) as f64 / 960.0 * f64::from(*micros) / 1e6;
    }
    let quarters = song.end() as f64 / TICKS_PER_QUARTER as f64;
    let off = (seconds - song.tempo().seconds(song.end() as f64)).abs();
    assert!(off <= 0.5e-6 * quarters, "{off} s off after {seconds} s");
}

/// MThd: length 6, format, number of tracks, 960 ticks a quarter. Format 0 has one track; tempi,
/// meters and markers are on the first, and only there; each ends with FF 2F 00.
#[test]
fn headers_and_ends_are_as_the_format_says() {
    let song = demo();
    for (layout, format, tracks) in [(LAYOUTS[0], 1, 2), (LAYOUTS[1], 1, 5), (LAYOUTS[3], 0, 1)] {
        let bytes = bytes(&song, &layout);
        let header = [
            &b"MThd"[..],
            &[0, 0, 0, 6, 0, format, 0, tracks, 0x03, 0xC0],
        ]
        .concat();
        assert_eq!(bytes[..14], header);
        let mut rest = &bytes[14..];
        let mut count = 0;
        while !rest.is_empty() {
            let length = u32::from_be_bytes(rest[4..8].try_into().unwrap()) as usize;
            assert_eq!(rest[..4], *b"MTrk");
            assert_eq!(rest[8..11], [0x00, 0xFF, 0x03]);
            assert_eq!(rest[8 + length - 3..8 + length], [0xFF, 0x2F, 0x00]);
            rest = &rest[8 + length..];
            count += 1;
        }
        assert_eq!(count, tracks);
        let file = agreed(&bytes);
        assert_eq!(file.format, format);
        for track in &file.tracks[1..] {
            assert!(track.tempi.is_empty() && track.meters.is_empty());
            assert!(track.markers.is_empty());
        }
        assert_eq!(file.tracks[0].notes.is_empty(), format == 1);
    }
}

/// The length of a name is a variable-length quantity too: 7F and 81 00, as in the table.
#[test]
fn names_may_be_long_and_stay_on_one_line() {
    for (letters, length) in [(127, &[0x7F][..]), (128, &[0x81, 0x00])] {
        let song = song(&"x".repeat(letters), &[r#""name": "A", "bars": 1"#]);
        let expected = [&[0x00, 0xFF, 0x03][..], length, b"x"].concat();
        assert_eq!(bytes(&song, &[])[22..22 + expected.len()], expected);
    }
    let song = song("Two\nlines\u{0}", &[r#""name": "A\tB", "bars": 1"#]);
    let file = read(&song, &[]);
    assert_eq!(file.tracks[0].name, "Two lines ");
    assert_eq!(file.tracks[0].markers[0].1, "A B");
}

/// The export is the region that is recorded live (`cargo xtask session` and the hosted tests compare
/// that with the plugin).
#[test]
fn the_whole_song_is_the_region_of_the_engine() {
    for song in [demo(), odd_meters()] {
        let region = offline::render(&song, &MAP);
        assert_eq!(bytes(&song, &[]), write_song(&song, &region).unwrap());
    }
}

#[test]
fn tracks_are_named_and_hold_what_their_names_say() {
    let song = demo();
    let hits = offline::play(&song);
    let limbs = read(&song, &LAYOUTS[1]);
    let names: Vec<_> = limbs.tracks[1..].iter().map(|t| t.name.as_str()).collect();
    assert_eq!(names, Limb::ALL.map(Limb::name));
    for (track, limb) in limbs.tracks[1..].iter().zip(Limb::ALL) {
        for &(tick, _, _, key, velocity) in &track.notes {
            let struck = |hit: &Hit| {
                let note = MAP.note(hit.piece).unwrap();
                (hit.tick, hit.limb, note.key, hit.velocity) == (tick, limb, key, velocity)
            };
            assert!(hits.iter().any(struck), "{tick}");
        }
    }
    let pieces = read(&song, &LAYOUTS[2]);
    assert!(pieces.tracks.len() > 8);
    for track in &pieces.tracks[1..] {
        let piece = Piece::ALL.into_iter().find(|p| p.name() == track.name);
        let key = MAP.note(piece.unwrap()).unwrap().key;
        assert!(!track.notes.is_empty());
        assert!(track.notes.iter().all(|note| note.3 == key));
    }
    assert_eq!(read(&song, &LAYOUTS[0]).tracks[1].name, "Drums");
}

/// Feel 0 is the exact grid (the project's own promise). Swing stays: of a pair of eighths the first
/// takes two thirds, 640 of 960 ticks. Grace notes stay before their strokes.
#[test]
fn without_feel_strokes_stand_on_the_grid_and_swing_stays() {
    let mut song = song(
        "Grid",
        &[
            r#""name": "A", "bars": 8, "style": "rock", "hand_rate": "eighths", "fill_chance": 0"#,
            r#""name": "B", "bars": 8, "style": "double-kick", "fill_chance": 1"#,
        ],
    );
    let off_grid = |file: &SeenFile, step: Ticks| {
        let notes = file.notes();
        notes.iter().filter(|note| note.0 % step != 0).count()
    };
    let straight = [("section", "A")];
    let exact = [("section", "A"), ("feel", "0")];
    assert!(off_grid(&read(&song, &straight), 120) > 50);
    assert_eq!(off_grid(&read(&song, &exact), 120), 0);
    // The same strokes, and not one of them lost.
    let count = |list: &[(&str, &str)]| read(&song, list).notes().len();
    assert_eq!(count(&straight), count(&exact));

    let mut bare = song.clone();
    bare.start_mut().bar_settings.feel = 0.0;
    let exact = |hits: Vec<Hit>| hits.iter().all(|hit| hit.grace || hit.tick == hit.grid);
    assert!(exact(offline::play(&bare)));
    assert_eq!(bytes(&song, &[("feel", "0")]), bytes(&bare, &[]));

    song.start_mut().bar_settings.swing = 2.0 / 3.0;
    let file = read(&song, &[("section", "A"), ("feel", "0")]);
    let hats = file.notes().into_iter().filter(|note| note.3 == 42);
    let places: Vec<_> = hats.map(|note| note.0 % 960).collect();
    assert!(
        places.iter().all(|place| [0, 640].contains(place)),
        "{places:?}"
    );
    assert!(places.iter().filter(|place| **place == 640).count() > 16);
}

#[test]
fn another_take_is_the_song_with_that_take() {
    let mut file = SongFile::parse(SongFile::DEMO).unwrap();
    let song = demo();
    file.take = 321;
    let other = Timeline::new(&file).unwrap();
    assert_eq!(bytes(&song, &[("take", "321")]), bytes(&other, &[]));
    assert_ne!(bytes(&song, &[("take", "321")]), bytes(&song, &[]));
    assert_eq!(bytes(&song, &[("take", "7")]), bytes(&song, &[]));
}
