//! Whatever comes from outside: each target takes any bytes, and neither panics nor hangs. The test
//! `tests/core/hostile.rs` takes these bodies in as they are, so that plain `cargo test` runs every seed too.

mod live;

pub use live::ODD;

use fourlimb::engine::offline;
use fourlimb::export::hand_edit::{Reading, Unknown, bring_back, to_midi};
use fourlimb::export::{Options, Tracks, export, sections, taught};
use fourlimb::groove::own::learn::Wish;
use fourlimb::kit::map_file::NamedMap;
use fourlimb::kit::{NoteMap, midnam as name_document, names};
use fourlimb::midi::smf_read;
use fourlimb::riff::import::{self, Place};
use fourlimb::settings::Player;
use fourlimb::song::{SongFile, Timeline, own_beat as beat_file};
use fourlimb::time::TempoMap;
use std::fmt::Display;
use std::sync::LazyLock;

/// A target: its name, which is that of the folder of its seeds too, and its body.
pub type Target = (&'static str, fn(&[u8]));

/// Every target.
pub const TARGETS: &[Target] = &[
    ("note_map", note_map),
    ("song", song),
    ("hand_edit", hand_edit),
    ("riff_midi", riff_midi),
    ("riff_sound", riff_sound),
    ("midnam", midnam),
    ("own_beat", own_beat),
    ("transport", transport),
    ("automation", automation),
    ("note_input", note_input),
    #[cfg(feature = "plugin")]
    ("state", state),
];

/// Songs of more bars are laid out, but not played: that takes a while, and more of the same finds nothing.
const MOST_BARS: usize = 12;

/// Packets of a recording that are listened to.
const MOST_PACKETS: usize = 32;

static MAP: LazyLock<NoteMap> = LazyLock::new(NoteMap::default);

/// An error has something to say, whatever came in.
fn told(error: &impl Display) {
    let text = error.to_string();
    assert!(!text.trim().is_empty(), "an error without words");
}

/// A note map: read, written and read again.
pub fn note_map(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return;
    };
    match NamedMap::parse(text) {
        Ok(map) => assert_eq!(NamedMap::parse(&map.to_text()), Ok(map)),
        Err(error) => told(&error),
    }
}

/// A song file: read, laid out both ways, written, exported.
pub fn song(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return;
    };
    let song = match SongFile::parse(text) {
        Ok(song) => song,
        Err(error) => return told(&error),
    };
    let timeline = match Timeline::new(&song) {
        Ok(timeline) => timeline,
        Err(error) => return told(&error),
    };
    assert!(Timeline::automated(&song).is_ok());
    timeline.warnings().iter().for_each(told);
    assert_eq!(SongFile::parse(&song.to_text()).as_ref(), Ok(&song));
    if timeline.bars().len() <= MOST_BARS {
        let options = Options {
            tracks: Tracks::Limbs,
            ..Options::default()
        };
        if let Err(error) = export(&timeline, &options, &MAP) {
            told(&error);
        }
    }
}

/// The song into which edited sections come.
const HOME: &str = r#"{"fourlimb_song": 1, "title": "Home", "sections": [
    {"name": "A", "bars": 2, "bpm": 180}, {"name": "B", "bars": 1, "meter": "7/8"}, {"name": "C", "bars": 1, "meter": "4/4"}]}"#;

/// A MIDI file: read, locked into a section, judged, played, exported, and read again.
pub fn hand_edit(bytes: &[u8]) {
    if let Err(error) = smf_read::read(bytes, &NoteMap::default()) {
        return told(&error);
    }
    let home = SongFile::parse(HOME).unwrap_or_else(|error| panic!("{error}"));
    for (section, chosen) in [(0, None), (0, Some((2, 3))), (1, None), (2, Some((1, 1)))] {
        lock(bytes, home.clone(), section, chosen);
    }
}

fn lock(bytes: &[u8], mut home: SongFile, number: usize, chosen: Option<(u32, u32)>) {
    let Ok(timeline) = Timeline::new(&home) else {
        return;
    };
    let section = &sections(&timeline)[number];
    let reading = Reading {
        map: &MAP,
        bars: chosen,
        unknown: Unknown::LeaveOut,
        player: Player::Everyday,
    };
    let back = match bring_back(bytes, &timeline, section, &reading) {
        Ok(back) => back,
        Err(error) => return told(&error),
    };
    let _ = back.to_string();
    let rows = back.rows;
    if let Err(error) = home.lock(number, rows.clone()) {
        return told(&error);
    }
    song(home.to_text().as_bytes());
    match to_midi(&rows, &timeline, section, &MAP) {
        Ok((bytes, _)) => assert!(smf_read::read(&bytes, &NoteMap::default()).is_ok()),
        Err(error) => told(&error),
    }
}

const PLACE: Place = Place {
    at: 3840,
    bar: 3840,
};

/// A guitar as a MIDI file.
pub fn riff_midi(bytes: &[u8]) {
    for track in [None, Some(0), Some(1), Some(2), Some(usize::MAX)] {
        match import::from_midi(bytes, track, PLACE) {
            Ok(riff) => assert!(fourlimb::riff::Riff::load(&riff.save()).is_ok()),
            Err(error) => told(&error),
        }
    }
}

/// A guitar as a recording.
pub fn riff_sound(bytes: &[u8]) {
    let mut packets = 0;
    let go_on = |_| {
        packets += 1;
        packets < MOST_PACKETS
    };
    let tempo = TempoMap::constant(120.0);
    if let Err(error) = import::from_sound(bytes.to_vec(), 0.5, &tempo, PLACE, go_on) {
        told(&error);
    }
}

/// A name document: read, its names placed, written, and read again.
pub fn midnam(bytes: &[u8]) {
    let lists = match name_document::read(bytes) {
        Ok(lists) => lists,
        Err(error) => return told(&error),
    };
    for list in lists {
        let channel = list.channels.first().copied().unwrap_or(9);
        let notes = list.on(channel);
        let proposal = names::propose(&notes);
        let placed = proposal.lines.len() + proposal.unplaced.len();
        assert_eq!(placed, notes.len(), "a note is lost");
        proposal.lines.iter().for_each(|line| told(&line.reason));
        proposal.unplaced.iter().for_each(|left| told(&left.reason));
        let named: Vec<_> = notes.iter().map(|(note, name)| (*note, &**name)).collect();
        let text = name_document::write(&list.device, &named);
        let again = name_document::read(text.as_bytes()).unwrap_or_else(|error| panic!("{error}"));
        let keys = |list: &name_document::NamedList| -> Vec<u8> {
            list.notes.iter().map(|named| named.key).collect()
        };
        assert_eq!(again[0].channels, [channel]);
        assert_eq!(keys(&again[0]), keys(&list));
    }
}

/// A beat of the songwriter's own, as a beat file, a text chart or a region: read, written, read again, and played.
pub fn own_beat(bytes: &[u8]) {
    let wish = Wish {
        name: "fuzzed".to_owned(),
        cycle: None,
    };
    let beat = if bytes.starts_with(b"MThd") {
        match taught::from_midi(bytes, &MAP, None, &wish) {
            Ok(taught) => {
                told(&taught);
                taught.learned.beat
            }
            Err(error) => return told(&error),
        }
    } else {
        let Ok(text) = std::str::from_utf8(bytes) else {
            return;
        };
        match beat_file::parse(text) {
            Ok(beat) => beat,
            Err(error) => {
                told(&error);
                match taught::from_chart(text, None, &wish) {
                    Ok(taught) => taught.learned.beat,
                    Err(error) => return told(&error),
                }
            }
        }
    };
    assert_eq!(
        beat_file::parse(&beat_file::to_text(&beat)).as_ref(),
        Ok(&beat)
    );
    let mut home = SongFile::parse(PLAYS_OWN).unwrap_or_else(|error| panic!("{error}"));
    home.own_beats.insert(1, beat);
    match Timeline::new(&home) {
        Ok(timeline) => assert!(!offline::play(&timeline).is_empty()),
        Err(error) => told(&error),
    }
}

/// The song that plays an own beat, in its own meter or another.
const PLAYS_OWN: &str = r#"{"fourlimb_song": 1, "title": "Home", "sections": [
    {"name": "A", "bars": 2, "style": "own 1", "density": 1.0, "play": "beat"},
    {"name": "B", "bars": 1, "meter": "7/8"}, {"name": "C", "bars": 1, "meter": "3/4"}]}"#;

/// What a host says of time, block after block.
pub fn transport(bytes: &[u8]) {
    live::play(bytes, live::Theme::Transport);
}

/// Settings that a host changes, block after block.
pub fn automation(bytes: &[u8]) {
    live::play(bytes, live::Theme::Automation);
}

/// A guitar that comes in, as notes and as detected strokes, while the riff is captured.
pub fn note_input(bytes: &[u8]) {
    live::play(bytes, live::Theme::Notes);
}

/// What a project saves: read, saved and read again; what can't be read of it is kept as it came.
#[cfg(feature = "plugin")]
pub fn state(bytes: &[u8]) {
    use fourlimb::project::document::{Document, SavedDocument};
    let Ok(saved) = serde_json::from_slice(bytes) else {
        return;
    };
    let document = Document::read(SavedDocument(saved), &Document::default());
    if let Some(problem) = document.map_problem() {
        told(problem);
    }
    let _ = document.chart();
    let again = document.saved();
    let back = Document::read(again.clone(), &Document::default());
    assert_eq!(back.saved(), again, "it is saved otherwise the second time");
    if let Some(song) = document
        .song
        .song()
        .filter(|song| song.timeline.bars().len() <= MOST_BARS)
    {
        offline::play(&song.timeline);
    }
}
