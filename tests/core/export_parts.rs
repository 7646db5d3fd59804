//! Parts of a song as files: bars and sections, and what is wrong with asking for others; and random
//! songs in every layout.

use crate::export::{LAYOUTS, MAP, demo, odd_meters, options, read, says_the_whole, song};
use crate::smf_readers::seen;
use crate::support::{cases, random_sections, section_fields};
use fourlimb::engine::offline;
use fourlimb::export::{ExportError, Options, Tracks, What, export, sections};
use fourlimb::groove::feel;
use fourlimb::midi::RegionNote;
use fourlimb::midi::smf_write::Format;
use fourlimb::song::{SongFile, Timeline};
use fourlimb::time::Ticks;
use hosting::songs::{self, Ranges};
use proptest::prelude::*;
use proptest::sample::select;
use serde_json::json;

/// What the whole song has between two bar lines by the grid, moved to tick 0, its notes cut at the end.
fn scissors(song: &Timeline, from: Ticks, to: Ticks) -> Vec<RegionNote> {
    let notes = offline::notes(&offline::play(song), song, &MAP).notes;
    let notes = notes.into_iter();
    let inside = notes.filter(|(_, hit)| (from..to).contains(&hit.grid));
    let cut = inside.map(|(mut note, _)| {
        note.tick = note.tick.max(from);
        if to < song.end() {
            note.length = note.length.min(to - note.tick);
        }
        note.tick -= from;
        note
    });
    let mut notes: Vec<_> = cut.collect();
    // What is struck again ends there, also where it begins later than in the whole.
    for i in 0..notes.len() {
        let (now, after) = notes.split_at_mut(i + 1);
        let note = &mut now[i];
        if let Some(again) = after.iter().find(|other| other.note == note.note) {
            note.length = note.length.min(again.tick - note.tick);
        }
    }
    notes.retain(|note| note.length > 0);
    notes
}

#[test]
fn a_section_is_the_cut_of_the_whole_with_what_is_in_force_there() {
    let song = demo();
    let all = sections(&song);
    assert_eq!(all.len(), 14);
    for section in all {
        let (from, to) = (section.span.start, section.span.end);
        let file = read(&song, &[("section", &section.label)]);
        assert_eq!(file.notes(), seen(&scissors(&song, from, to)));
        let conductor = &file.tracks[0];
        assert_eq!(conductor.name, format!("Cinder Mill: {}", section.label));
        assert_eq!(conductor.markers, [(0, section.label.clone())]);
        let micros = (60_000_000.0_f64 / song.tempo().bpm_at(from)).round() as u32;
        assert_eq!(conductor.tempi, [(0, micros)]);
        let (n, d) = if section.label == "Turn" {
            (7, 8)
        } else {
            (4, 4)
        };
        assert_eq!(conductor.meters, [(0, n, d)]);
        assert_eq!(conductor.end, to - from);
        if section.label != "Last hit" {
            assert!(file.tracks.iter().all(|track| track.end == to - from));
        }
    }
    // The last hit of a song rings.
    let last = read(&song, &[("section", "Last hit")]);
    assert!(last.notes().iter().any(|note| note.1 == 3840));
}

#[test]
fn bars_begin_at_tick_0_with_the_changes_inside_them() {
    // Bars 3 to 7 of the odd song: 7/8 | 4/4 | 4/4 | 5/8 | 5/8.
    let song = odd_meters();
    let file = read(&song, &[("bars", "3-7")]);
    let conductor = &file.tracks[0];
    assert_eq!(conductor.name, "Odd: bars 3-7");
    assert_eq!(
        conductor.meters,
        [(0, 7, 8), (3360, 4, 4), (3360 + 7680, 5, 8)]
    );
    // 60,000,000 / 171.3 and / 96, rounded [derived].
    assert_eq!(conductor.tempi, [(0, 350_263), (11_040, 625_000)]);
    let name = |at: Ticks, name: &str| (at, name.to_owned());
    let expected = [name(0, "A"), name(3360, "B"), name(11_040, "C")];
    assert_eq!(conductor.markers, expected);
    assert_eq!(conductor.end, 3360 + 7680 + 2 * 2400);
    let told = export(&song, &options(&[("bars", "3-7")]), &MAP).unwrap();
    assert_eq!(told.bars, (3, 7));
    assert_eq!(told.notes, file.notes().len());
    let all = read(&song, &[("bars", "1-11")]);
    assert_eq!(all.notes(), read(&song, &[]).notes());
}

#[test]
fn sections_of_one_name_are_told_apart() {
    let part = |name: &str| format!(r#""name": "{name}", "bars": 1"#);
    let parts = [
        "Verse", "Chorus", "Verse", "", "Solo", "Solo", "Solo 2", "3",
    ]
    .map(part);
    let parts: Vec<_> = parts.iter().map(String::as_str).collect();
    let song = song("Names", &parts);
    let labels: Vec<_> = sections(&song).into_iter().map(|s| s.label).collect();
    let expected = [
        "Verse 1", "Chorus", "Verse 2", "#4", "Solo 1", "#6", "Solo 2", "3",
    ];
    assert_eq!(labels, expected);
    let bar = |name: &str| {
        let options = options(&[("section", name)]);
        export(&song, &options, &MAP).map(|told| told.bars.0)
    };
    for (name, expected) in [
        ("Verse 2", 3),
        (" verse 2 ", 3),
        ("CHORUS", 2),
        ("#4", 4),
        ("4", 4),
        ("6", 6),
        // A name before a number.
        ("3", 8),
        ("#3", 3),
        ("Solo 2", 7),
    ] {
        assert_eq!(bar(name), Ok(expected), "{name}");
    }
    for label in &labels {
        assert!(bar(label).is_ok(), "{label}");
    }
}

#[test]
fn capitals_tell_sections_apart_where_nothing_else_does() {
    let song = song(
        "Names",
        &[
            r#""name": "riff", "bars": 1"#,
            r#""name": "RIFF", "bars": 1"#,
        ],
    );
    let bar = |name: &str| {
        let options = options(&[("section", name)]);
        export(&song, &options, &MAP).map(|told| told.bars.0)
    };
    assert_eq!((bar("riff"), bar("RIFF")), (Ok(1), Ok(2)));
    let error = bar("Riff").unwrap_err().to_string();
    assert!(error.contains("use one of riff, RIFF"), "{error}");
}

/// A song, the options, and words of the message.
type Case = (
    Timeline,
    &'static [(&'static str, &'static str)],
    &'static [&'static str],
);

/// The project's own promise, no source: whoever reads the message knows what to write instead.
#[test]
fn errors_name_the_thing_and_the_remedy() {
    let twice = [
        r#""name": "Verse", "bars": 1"#,
        r#""name": "Verse", "bars": 1"#,
    ];
    let table: [Case; 11] = [
        (
            demo(),
            &[("bars", "70-80")],
            &["70-80", "1 to 77 in this song"],
        ),
        (demo(), &[("bars", "0-4")], &["0-4", "1 to 77"]),
        (
            demo(),
            &[("bars", "8-5")],
            &["write the first bar first, 5-8"],
        ),
        (
            demo(),
            &[("section", "Bridge")],
            &["no section \"Bridge\"", "Verse 1", "Last hit"],
        ),
        (demo(), &[("section", "15")], &["no section \"15\"", "Turn"]),
        (demo(), &[("section", "")], &["no section \"\"", "Turn"]),
        (
            song("T", &twice),
            &[("section", "verse")],
            &["several sections \"verse\"", "Verse 1, Verse 2"],
        ),
        (
            demo(),
            &[("feel", "1.5")],
            &["feel \"1.5\"", "0 (the exact grid) to 1"],
        ),
        (demo(), &[("feel", "NaN")], &["feel \"NaN\"", "to 1"]),
        (demo(), &[("take", "1000")], &["take \"1000\"", "1 to 999"]),
        (
            demo(),
            &[("format", "0"), ("tracks", "pieces")],
            &["pieces", "use format 1"],
        ),
    ];
    for (song, list, words) in table {
        let error = export(&song, &options(list), &MAP).unwrap_err().to_string();
        for word in words {
            assert!(error.contains(word), "{list:?}: {error}");
        }
    }
    let mut both = options(&[("bars", "1-2")]);
    assert_eq!(both.set("section", "Turn"), Err(ExportError::Both));
    let unknown = both.set("colour", "red").unwrap_err().to_string();
    assert!(
        unknown.contains("colour: use one of bars, section"),
        "{unknown}"
    );
}

/// Songs of all that sections may state, some of them of one name.
fn a_song() -> impl Strategy<Value = Timeline> {
    let names: &[_] = &["Verse", "Chorus", "Verse 2", "", "Brücke"];
    let ranges = Ranges {
        fields: section_fields().chain([("name", names)]).collect(),
        bars: 1..=3,
        bpm: 30.0..=400.0,
    };
    random_sections(ranges, 5).prop_map(|sections| {
        let text = songs::song(&json!({}), sections);
        Timeline::new(&SongFile::parse(&text).unwrap()).unwrap()
    })
}

proptest! {
    #![proptest_config(cases(24))]

    /// So a section that is cut out has its own grace notes, and no others. Within a section the 1 may be early.
    #[test]
    fn strokes_sound_in_the_bar_they_are_written_in(song in a_song()) {
        let bars = song.bars();
        let bar = |tick: Ticks| bars.partition_point(|bar| bar.end() <= tick);
        let starts: Vec<_> = song.markers().map(|(at, _)| at).collect();
        for hit in offline::play(&song) {
            let (sounds, written) = (bar(hit.tick), bar(hit.grid));
            let line = bars[written.min(bars.len() - 1)].start;
            let most = feel::earliest(song.start_settings().bar_settings.feel, song.tempo().bpm_at(line - 1));
            let early = !starts.contains(&line) && hit.grid == line && line - hit.tick <= most;
            prop_assert!(sounds == written || early, "{hit:?}");
        }
    }

    #[test]
    fn any_song_is_read_alike_by_all_in_every_layout(
        song in a_song(),
        take in 1..=999_u32,
        feel in select(vec![0.0, 0.5, 1.0]),
    ) {
        let mut set = song.clone();
        set.start_mut().bar_settings.take = take;
        set.start_mut().bar_settings.feel = feel;
        for layout in LAYOUTS {
            let (take, feel) = (take.to_string(), feel.to_string());
            let list = [&layout[..], &[("take", &take), ("feel", &feel)]].concat();
            says_the_whole(&set, &read(&song, &list));
        }
    }

    #[test]
    fn any_bars_of_any_song_are_the_cut_of_the_whole(
        song in a_song(),
        ends in (any::<proptest::sample::Index>(), any::<proptest::sample::Index>()),
        layout in select(LAYOUTS.to_vec()),
    ) {
        let bars = song.bars();
        let (a, b) = (ends.0.index(bars.len()), ends.1.index(bars.len()));
        let (first, last) = (a.min(b), a.max(b));
        let what = What::Bars(first as u32 + 1, last as u32 + 1).to_string();
        let range = what.split_once(' ').unwrap().1;
        let file = read(&song, &[&layout[..], &[("bars", range)]].concat());
        let (from, to) = (bars[first].start, bars[last].end());
        prop_assert_eq!(file.notes(), seen(&scissors(&song, from, to)));
        let conductor = &file.tracks[0];
        prop_assert_eq!(conductor.tempi[0].0, 0);
        prop_assert_eq!(conductor.meters[0].0, 0);
        prop_assert_eq!(conductor.markers[0].0, 0);
        let micros = (60_000_000.0_f64 / song.tempo().bpm_at(from)).round() as u32;
        prop_assert_eq!(conductor.tempi[0].1, micros);
        prop_assert_eq!(conductor.meters[0].1, bars[first].meter.numerator());
        if to < song.end() {
            prop_assert!(file.tracks.iter().all(|track| track.end == to - from));
        }
    }
}

/// The sections of a song, laid end to end, are the song: nothing is lost or doubled at the seams.
#[test]
fn sections_end_to_end_are_the_song() {
    let song = demo();
    let mut notes = Vec::new();
    for section in sections(&song) {
        let file = read(&song, &[("section", &section.label)]);
        let moved = file.notes().into_iter().map(|mut note| {
            note.0 += section.span.start;
            note
        });
        notes.extend(moved.map(|note| (note.0, note.2, note.3, note.4)));
    }
    let whole = read(&song, &[]).notes();
    let whole: Vec<_> = whole.iter().map(|n| (n.0, n.2, n.3, n.4)).collect();
    notes.sort_unstable();
    let mut sorted = whole;
    sorted.sort_unstable();
    assert_eq!(notes, sorted);
}

#[test]
fn formats_and_tracks_are_chosen_by_their_names() {
    assert_eq!(options(&[("format", "0")]).format, Format::Single);
    assert_eq!(options(&[("tracks", "limbs")]).tracks, Tracks::Limbs);
    let error = Options::default().set("format", "2").unwrap_err();
    assert!(error.to_string().contains("use one of 0, 1"), "{error}");
}
