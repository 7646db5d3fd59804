//! Out as a MIDI file, edited, and back as a locked section: what comes back is what went out, wherever in
//! the file it stands.

use crate::chart::BAR;
use crate::locked::rows;
use crate::support::cases;
use fourlimb::engine::offline;
use fourlimb::export::hand_edit::{
    EditError, Reading, Report, Unknown, bring_back, from_midi, to_midi, verdict,
};
use fourlimb::export::{NamedSection, Options, bars_of, export, sections};
use fourlimb::kit::note_map::Choke;
use fourlimb::kit::{Note, NoteMap, Piece};
use fourlimb::midi::RegionNote;
use fourlimb::midi::smf_write::{Conductor, Format, NoteTrack, write_tracks};
use fourlimb::settings::Player;
use fourlimb::song::locked::Row;
use fourlimb::song::{SongFile, Timeline};
use fourlimb::time::{Bar, Meter, Ticks};
use proptest::prelude::*;
use std::sync::LazyLock;

static MAP: LazyLock<NoteMap> = LazyLock::new(NoteMap::default);

fn demo() -> SongFile {
    SongFile::parse(SongFile::DEMO).unwrap()
}

fn timeline(song: &SongFile) -> Timeline {
    Timeline::new(song).unwrap()
}

fn back(bytes: &[u8], bars: &[Bar], chosen: Option<(u32, u32)>) -> Result<Vec<Row>, EditError> {
    let read = from_midi(bytes, &NoteMap::default(), bars, chosen, Unknown::Refuse);
    read.map(|(rows, _)| rows)
}

/// A file of these bars' meters, at 87 BPM, with notes: tick, length, key, velocity, channel.
fn file(bars: &[Bar], notes: &[(Ticks, Ticks, u8, u8, u8)]) -> Vec<u8> {
    let note = |&(tick, length, key, velocity, channel)| RegionNote {
        tick,
        length,
        note: fourlimb::kit::Note { channel, key },
        velocity,
    };
    let track = NoteTrack {
        name: String::new(),
        notes: notes.iter().map(note).collect(),
        expressions: Vec::new(),
    };
    let conductor = Conductor {
        tempi: vec![(0, 87.0)],
        meters: bars.iter().map(|bar| (bar.start, bar.meter)).collect(),
        end: bars.last().map_or(0, |bar| bar.end()),
        ..Conductor::default()
    };
    write_tracks(&conductor, &[track], Format::Parallel).unwrap()
}

fn bars(meters: &[&str]) -> Vec<Bar> {
    let mut start = 0;
    let bar = |meter: &&str| {
        let meter: Meter = meter.parse().unwrap();
        let bar = Bar { start, meter };
        start = bar.end();
        bar
    };
    meters.iter().map(bar).collect()
}

/// Every section of the demo song goes out and comes back, alone and from the file of the whole song, and the
/// song plays the same.
#[test]
fn what_goes_out_unedited_comes_back_as_it_was() {
    let song = timeline(&demo());
    let whole = export(&song, &Options::default(), &MAP).unwrap().bytes;
    let play_tick = |song: &Timeline| {
        // What an export drops, a second note of a key at once, is gone for good.
        let hits = offline::play(song);
        let mut all: Vec<_> = offline::notes(&hits, song, &MAP)
            .notes
            .iter()
            .map(|(note, hit)| (note.tick, hit.piece, note.velocity))
            .collect();
        all.sort_unstable();
        all
    };
    for (i, section) in sections(&song).iter().enumerate() {
        let mut options = Options::default();
        options.set("section", &section.label).unwrap();
        let alone = export(&song, &options, &MAP).unwrap().bytes;
        let bars = bars_of(&song, section);
        let first = song
            .bars()
            .partition_point(|bar| bar.start < section.span.start) as u32
            + 1;
        let chosen = (first, first + bars.len() as u32 - 1);
        let Ok(mut rows) = back(&alone, bars, None) else {
            assert_eq!(section.label, "Guitar alone");
            continue;
        };
        let mut of_whole = back(&whole, bars, Some(chosen)).unwrap();
        // Early strokes of a section belong to it as well, when more than it is there.
        of_whole.retain(|row| row.tick >= 0);
        let plain = |rows: &[Row]| -> Vec<_> {
            rows.iter().map(|r| (r.tick, r.piece, r.velocity)).collect()
        };
        assert_eq!(plain(&of_whole), plain(&rows), "{}", section.label);
        let reading = Reading {
            map: &MAP,
            bars: None,
            unknown: Unknown::Refuse,
            player: Player::Extreme,
        };
        let brought = bring_back(&alone, &song, section, &reading).unwrap();
        assert!(brought.report.unclear.is_empty() && brought.report.taken.is_none());
        let taken = bring_back(&whole, &song, section, &reading).unwrap();
        assert_eq!(taken.report.taken, Some(chosen), "{}", section.label);
        of_whole = taken.rows;
        of_whole.retain(|row| row.tick >= 0);
        assert_eq!(plain(&of_whole), plain(&brought.rows), "{}", section.label);
        rows = brought.rows;
        let mut file = demo();
        file.lock(i, rows).unwrap();
        let locked = timeline(&file);
        let inside = |all: Vec<(Ticks, Piece, u8)>| -> Vec<_> {
            all.into_iter()
                .filter(|n| section.span.contains(&n.0))
                .collect()
        };
        assert_eq!(
            inside(play_tick(&locked)),
            inside(play_tick(&song)),
            "{}",
            section.label
        );
    }
}

proptest! {
    #![proptest_config(cases(48))]

    /// Rows that leave the song as a MIDI file come back; pieces that share a key as the first of them.
    #[test]
    fn rows_survive_their_file(rows in rows(2 * BAR)) {
        let mut file = demo();
        file.lock(2, rows.clone()).unwrap();
        let song = timeline(&file);
        let section: NamedSection = sections(&song).swap_remove(2);
        let (bytes, early) = to_midi(&rows, &song, &section, &MAP).unwrap();
        let from = 1 + u32::from(early);
        let bars = bars_of(&song, &section);
        let read = back(&bytes, bars, Some((from, from + 3)));
        if rows.is_empty() {
            prop_assert_eq!(read, Err(EditError::Empty));
            return Ok(());
        }
        let read = read.unwrap();
        let mut expected: Vec<_> = rows.iter().map(|r| (r.tick, MAP.note(r.piece).unwrap().key)).collect();
        expected.sort_unstable();
        expected.dedup();
        let mut keys: Vec<_> = read.iter().map(|r| (r.tick, MAP.note(r.piece).unwrap().key)).collect();
        keys.sort_unstable();
        prop_assert_eq!(keys, expected);
        for row in rows.iter().filter(|row| !matches!(row.piece, Piece::HiHatLoose | Piece::HiHatOpen)) {
            let same = read.iter().find(|r| (r.tick, r.piece) == (row.tick, row.piece)).unwrap();
            prop_assert_eq!(same.velocity, row.velocity);
        }
    }
}

#[test]
fn bars_are_chosen_by_number_and_a_little_early_counts() {
    let all = bars(&["4/4", "7/8", "7/8", "4/4"]);
    let note = |tick| (tick, 60, 36, 100, 9);
    let start = BAR;
    let last = start + 2 * 3360 - 1;
    let notes = [start - 120, start - 119, start, last, last + 1].map(note);
    let bytes = file(&all, &notes);
    let (rows, report) = from_midi(
        &bytes,
        &NoteMap::default(),
        &all[1..3],
        Some((2, 3)),
        Unknown::Refuse,
    )
    .unwrap();
    let ticks: Vec<_> = rows.iter().map(|row| row.tick).collect();
    assert_eq!(ticks, [-119, 0, 2 * 3360 - 1]);
    assert_eq!(report.outside, 2);
    let error = back(&bytes, &all[1..3], Some((1, 2)))
        .unwrap_err()
        .to_string();
    assert!(
        error.contains("bar 1 of the file is in 4/4") && error.contains("7/8"),
        "{error}"
    );
    // A bar that a new meter cuts short is not the section's.
    let cut = [
        all[0],
        Bar {
            start: 1920,
            ..all[1]
        },
    ];
    let error = back(&file(&cut, &notes), &all[..1], Some((1, 1)))
        .unwrap_err()
        .to_string();
    assert!(error.contains("4/4, cut short by the next"), "{error}");
}

#[test]
fn layered_keys_are_one_stroke_long_notes_ring_and_strange_keys_are_counted() {
    let one = bars(&["4/4"]);
    let notes = [
        (0, 60, 35, 80, 9),
        (0, 60, 36, 99, 9),
        (960, 1920, 49, 127, 9),
        (1920, 1919, 57, 1, 9),
        (2000, 60, 56, 9, 9),
        (2100, 60, 56, 9, 9),
        (2100, 60, 60, 9, 0),
    ];
    let bytes = file(&one, &notes);
    let error = back(&bytes, &one, None).unwrap_err();
    assert!(error.to_string().contains("key 56 (2 notes)"), "{error}");
    let leave = Unknown::LeaveOut;
    let (rows, report) = from_midi(&bytes, &NoteMap::default(), &one, None, leave).unwrap();
    let read: Vec<_> = rows
        .iter()
        .map(|r| (r.tick, r.piece, r.velocity, r.rings))
        .collect();
    let expected = [
        (0, Piece::Kick, 99, false),
        (960, Piece::CrashLeft, 127, true),
        (1920, Piece::CrashRight, 1, false),
    ];
    assert_eq!(read, expected);
    let told = report.to_string();
    for words in [
        "1 notes double",
        "key 56 (2 notes): left out",
        "1 notes on other channels",
    ] {
        assert!(told.contains(words), "{told}");
    }
}

/// A hand that grabs a cymbal is no stroke: neither where only the choke has the key, nor where a piece reads it too.
#[test]
fn keys_that_choke_come_back_as_no_strokes() {
    let song = timeline(&demo());
    let hits = offline::play(&song);
    let rows = |map: &NoteMap, section: &NamedSection| {
        let mut options = Options::default();
        options.set("section", &section.label).unwrap();
        let alone = export(&song, &options, map).unwrap().bytes;
        let reading = Reading {
            map,
            bars: None,
            unknown: Unknown::Refuse,
            player: Player::Extreme,
        };
        let back = bring_back(&alone, &song, section, &reading).ok()?;
        // A choke after the last bar is in another.
        let report = Report {
            outside: 0,
            ..back.report
        };
        assert_eq!(report, Report::default(), "{}", section.label);
        Some(back.rows)
    };
    let grab = Note {
        channel: 9,
        key: 58,
    };
    let mut chokes = NoteMap::default();
    for piece in Piece::ALL {
        chokes.get_mut(piece).choke = Choke::Key(grab);
    }
    let mut shared = chokes.clone();
    shared.get_mut(Piece::Snare).also_read.push(grab);
    for map in [chokes, shared] {
        assert!(!offline::chokes(&hits, &song, &map).is_empty());
        for section in &sections(&song) {
            let without = rows(&NoteMap::default(), section);
            assert_eq!(rows(&map, section), without, "{}", section.label);
        }
    }
}

/// By the song's tempo, not the file's, and in the song's bars.
#[test]
fn the_verdict_names_bars_of_the_song() {
    let json = |bpm: u32| {
        format!(
            r#"{{"fourlimb_song": 1, "title": "T", "sections": [
            {{"name": "A", "bars": 2, "bpm": {bpm}}}, {{"name": "B", "bars": 1}}]}}"#
        )
    };
    let kick = |tick| Row::new(tick, Piece::Ride, 90);
    let rows: Vec<_> = [-50, 240, 480, 720, 960, 1200].map(kick).to_vec();
    let told = |bpm| {
        let song = timeline(&SongFile::parse(&json(bpm)).unwrap());
        let section = &sections(&song)[1];
        verdict(&rows, &song, section, Player::Extreme)
    };
    assert_eq!(told(120).problems, 0);
    let fast = told(400);
    assert!(fast.problems > 0);
    assert!(
        fast.to_string().contains("\nbar 3, count 1 a: ride"),
        "{fast}"
    );
}
