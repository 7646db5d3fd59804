//! Files from anywhere, read byte by byte: Standard MIDI Files 1.0 (RP-001).

use fourlimb::engine::offline;
use fourlimb::export::write_song;
use fourlimb::kit::{NoteMap, Piece};
use fourlimb::midi::smf_read::{Read, ReadError, read};
use fourlimb::song::{SongFile, Timeline};

fn chunk(name: &[u8; 4], data: &[u8]) -> Vec<u8> {
    let len = u32::try_from(data.len()).unwrap().to_be_bytes();
    [name.as_slice(), &len, data].concat()
}

fn file(format: u8, division: [u8; 2], tracks: &[&[u8]]) -> Vec<u8> {
    let header = [0, format, 0, tracks.len() as u8, division[0], division[1]];
    let mut bytes = chunk(b"MThd", &header);
    for track in tracks {
        bytes.extend(chunk(b"MTrk", track));
    }
    bytes
}

fn gm(bytes: &[u8]) -> Result<Read, ReadError> {
    read(bytes, &NoteMap::default())
}

const END: [u8; 4] = [0, 0xFF, 0x2F, 0];

#[test]
fn what_we_write_is_what_we_read() {
    let song = Timeline::new(&SongFile::parse(SongFile::DEMO).unwrap()).unwrap();
    let region = offline::render(&song, &NoteMap::default());
    let back = gm(&write_song(&song, &region).unwrap()).unwrap();
    assert_eq!(back.notes.len(), region.notes.len());
    let mut ours: Vec<_> = region
        .notes
        .iter()
        .map(|n| (n.tick, n.length, n.velocity))
        .collect();
    let mut read: Vec<_> = back
        .notes
        .iter()
        .map(|n| (n.tick, n.length, n.velocity))
        .collect();
    ours.sort_unstable();
    read.sort_unstable();
    assert_eq!(ours, read);
    for (i, bar) in song.bars().iter().enumerate() {
        let (number, found) = back.bar(bar.start + 10);
        assert_eq!((number - 1, found), (i as i64, *bar));
    }
    for note in &back.notes {
        let seconds = song.tempo().seconds(note.tick as f64);
        assert!((note.seconds - seconds).abs() < 0.001, "{note:?} {seconds}");
    }
}

#[test]
fn format_0_with_running_status_tempo_and_a_hanging_note() {
    // 96 ticks a quarter; kick, a quarter later snare at half the tempo, by running status, never
    // ended; a cowbell.
    let track = [
        &[0, 0x99, 36, 100, 24, 36, 0, 72, 38, 90][..],
        &[0, 0xFF, 0x51, 3, 0x0F, 0x42, 0x40],
        &[96, 0x99, 56, 70],
        &END,
    ]
    .concat();
    let back = gm(&file(0, [0, 96], &[&track])).unwrap();
    let notes: Vec<_> = back
        .notes
        .iter()
        .map(|n| (n.tick, n.length, n.piece, n.seconds))
        .collect();
    assert_eq!(
        notes,
        [(0, 240, Piece::Kick, 0.0), (960, 960, Piece::Snare, 0.5)]
    );
    assert_eq!(back.unknown, [(1920, 56)]);
    assert_eq!(back.tempo.seconds(1920.0), 1.5);
}

#[test]
fn meters_number_the_bars() {
    // 3/4 from 0, 7/8 from the third bar on.
    let track = [
        &[0, 0xFF, 0x58, 4, 3, 2, 24, 8][..],
        // 576 = 84 40 as a variable-length quantity.
        &[0x84, 0x40, 0xFF, 0x58, 4, 7, 3, 24, 8],
        &END,
    ]
    .concat();
    let back = gm(&file(1, [0, 96], &[&track])).unwrap();
    let place = |tick| (back.bar(tick).0, back.bar(tick).1.start);
    assert_eq!(place(0), (1, 0));
    assert_eq!(place(2880), (2, 2880));
    assert_eq!(place(5760), (3, 5760));
    assert_eq!(place(5760 + 3360 + 5), (4, 5760 + 3360));
}

#[test]
fn other_channels_are_left_where_there_is_a_drum_channel() {
    let both = [&[0, 0x90, 36, 100, 0, 0x99, 38, 100][..], &END].concat();
    let back = gm(&file(0, [0, 96], &[&both])).unwrap();
    assert_eq!((back.notes.len(), back.elsewhere), (1, 1));
    let only = [&[0, 0x92, 36, 100][..], &END].concat();
    assert_eq!(gm(&file(0, [0, 96], &[&only])).unwrap().notes.len(), 1);
}

#[test]
fn legal_oddities_are_read() {
    let track = [&[0, 0x99, 36, 100, 9, 36, 0][..], &END].concat();
    let mut bytes = chunk(b"MThd", &[0, 1, 0, 1, 0, 96, 7, 7]);
    bytes.extend(chunk(b"XFIH", &[1, 2, 3]));
    bytes.extend(chunk(b"MTrk", &track));
    assert_eq!(gm(&bytes).unwrap().notes.len(), 1);
}

#[test]
fn what_is_damaged_is_refused_with_a_remedy() {
    let good = [&[0, 0x99, 36, 100, 9, 36, 0][..], &END].concat();
    let cases: Vec<(Vec<u8>, &str)> = vec![
        (b"hello".to_vec(), "not a Standard MIDI File"),
        (vec![], "not a Standard MIDI File"),
        (file(2, [0, 96], &[&good]), "format 0 or 1"),
        (file(1, [0xE7, 40], &[&good]), "ticks per quarter"),
        (file(1, [0, 0], &[&good]), "no ticks"),
        (file(1, [0, 96], &[&good[..good.len() - 4]]), "track 1"),
        (file(1, [0, 96], &[&good, &[0, 0x99, 36]]), "track 2"),
        (
            file(
                1,
                [0, 96],
                &[&[&[0, 0xFF, 0x58, 4, 4, 6, 24, 8][..], &END].concat()],
            ),
            "4/64",
        ),
    ];
    for (bytes, words) in cases {
        let error = gm(&bytes).unwrap_err().to_string();
        assert!(error.contains(words), "{error}");
    }
    let whole = file(1, [0, 96], &[&good, &good]);
    for cut in 0..whole.len() {
        assert!(gm(&whole[..cut]).is_err(), "cut at {cut}");
    }
}
