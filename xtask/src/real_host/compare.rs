//! What the engine says, what was recorded, and the differences.

use super::program::{Recording, SAMPLE_RATE};
use anyhow::{Context as _, Result, bail, ensure};
use fourlimb::engine::offline;
use fourlimb::groove::DRUMMER;
use fourlimb::kit::NoteMap;
use fourlimb::settings::Settings;
use fourlimb::song::file::{Section, VERSION};
use fourlimb::song::{SongFile, Timeline};
use fourlimb::time::tempo::DEFAULT_BPM;
use fourlimb::time::{TICKS_PER_QUARTER, Ticks};
use std::fmt;

/// The recording program's ticks in a quarter note.
const HOST_TICKS_PER_QUARTER: i64 = 1920;
/// How far a recorded start or length may be off: the program keeps notes in whole ticks of its
/// own (12.5 samples at 120 BPM and 48 kHz), and a place between two may fall to either. Whatever
/// is off by more was sent at another sample.
const TOLERANCE: i64 = 1;
/// What the program may move a whole recording by, in its ticks: where it settles its latency
/// compensation only as it rolls, a recording may begin up to a block of 1024 samples late, and all
/// of it then lies as much earlier. A shift of single notes is a difference all the same.
const LARGEST_SHIFT: i64 = 82;
/// Differences printed; the rest are counted.
const PRINTED: usize = 10;

/// A place or a length in the recording program's ticks, 1920 to the quarter note.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct HostTicks(pub(super) i64);

impl HostTicks {
    fn of_engine(ticks: Ticks) -> Self {
        Self(ticks * HOST_TICKS_PER_QUARTER / TICKS_PER_QUARTER)
    }

    fn of_samples(samples: i64) -> Self {
        #[expect(clippy::cast_possible_truncation)]
        let per_minute = HOST_TICKS_PER_QUARTER * DEFAULT_BPM as i64;
        Self(samples * per_minute / (60 * i64::from(SAMPLE_RATE)))
    }

    fn near(self, other: Self) -> bool {
        (self.0 - other.0).abs() <= TOLERANCE
    }
}

/// A note, as recorded or as expected.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Recorded {
    /// From the start of the session.
    pub(super) start: HostTicks,
    /// From its start.
    pub(super) length: HostTicks,
    /// 0..=15.
    pub(super) channel: u8,
    /// 0..=127.
    pub(super) key: u8,
    /// 1..=127.
    pub(super) velocity: u8,
}

impl fmt::Display for Recorded {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            start: HostTicks(start),
            length: HostTicks(length),
            channel,
            key,
            velocity,
        } = self;
        let (bar, rest) = (
            start.div_euclid(4 * HOST_TICKS_PER_QUARTER),
            start.rem_euclid(4 * HOST_TICKS_PER_QUARTER),
        );
        write!(
            f,
            "bar {} quarter {} + {:4} ticks: channel {} key {key} velocity {velocity} length {length}",
            bar + 1,
            rest / HOST_TICKS_PER_QUARTER + 1,
            rest % HOST_TICKS_PER_QUARTER,
            channel + 1,
        )
    }
}

/// The notes that the engine composes offline for the plugin's defaults in a new session: 120 BPM,
/// 4/4.
pub(super) fn expected(seconds: u32, map: &NoteMap) -> Result<Vec<Recorded>> {
    let bar_settings = Settings::default().bar_settings;
    let song = SongFile {
        fourlimb_song: VERSION,
        drummer: DRUMMER,
        title: "As the plugin plays it".to_owned(),
        take: bar_settings.take,
        phrase_bars: u32::try_from(bar_settings.phrase.bars())?,
        start_bar: 1,
        // Two seconds a bar; the transport may roll a little longer than it was asked to.
        sections: vec![Section {
            name: "All".to_owned(),
            bars: seconds / 2 + 8,
            ..Section::default()
        }],
        automation: std::collections::BTreeMap::new(),
        kick_source: None,
        riff_grid: None,
        riff: None,
        own_beats: std::collections::BTreeMap::new(),
    };
    let region = offline::render(&Timeline::automated(&song)?, map);
    Ok(region
        .notes
        .iter()
        .map(|note| Recorded {
            start: HostTicks::of_engine(note.tick),
            length: HostTicks::of_engine(note.length),
            channel: note.note.channel,
            key: note.note.key,
            velocity: note.velocity,
        })
        .collect())
}

/// Compares, prints the first differences and fails where there are any. The stop cuts the last
/// notes short: a note that was to end after it may lack, or be shorter.
pub(super) fn compare(recording: &Recording, expected: &[Recorded]) -> Result<String> {
    let stop = HostTicks::of_samples(recording.rolled);
    ensure!(
        stop.0 >= HOST_TICKS_PER_QUARTER,
        "the transport rolled for {} samples only",
        recording.rolled
    );
    let shift = shift(&recording.notes, expected);
    let notes: Vec<_> = recording
        .notes
        .iter()
        .map(|note| Recorded {
            start: HostTicks(note.start.0 + shift),
            ..*note
        })
        .collect();
    // A recording that begins late lacks the first note; one that does not has it.
    let begins = HostTicks(if shift == 0 { 0 } else { LARGEST_SHIFT });
    let expected = expected.iter().filter(|wish| wish.start >= begins);
    let mut left: Vec<&Recorded> = notes.iter().filter(|note| note.start >= begins).collect();
    let (mut differences, mut same, mut farthest) = (Vec::new(), 0_usize, 0);
    for wish in expected {
        let cut = wish.start.0 + wish.length.0 >= stop.0;
        let found = left.iter().position(|note| {
            (note.channel, note.key) == (wish.channel, wish.key) && note.start.near(wish.start)
        });
        let Some(found) = found else {
            if !cut {
                differences.push(format!("lost:      {wish}"));
            }
            continue;
        };
        let note = left.remove(found);
        farthest = farthest.max((note.start.0 - wish.start.0).abs());
        if note.velocity != wish.velocity || !(cut || note.length.near(wish.length)) {
            differences.push(format!("different: {note}\n  expected {wish}"));
        } else {
            same += 1;
        }
    }
    differences.extend(left.iter().map(|note| format!("too many:  {note}")));
    if differences.is_empty() {
        return Ok(format!(
            "{same} notes recorded as composed: keys, velocities and lengths the same, none lost \
             or doubled, starts within {farthest} of the program's ticks (1/1920 quarter){}",
            match shift {
                0 => String::new(),
                shift => format!("; the whole recording lies {shift} ticks early"),
            }
        ));
    }
    for difference in differences.iter().take(PRINTED) {
        println!("{difference}");
    }
    if let Some(more) = differences.len().checked_sub(PRINTED).filter(|n| *n > 0) {
        println!("... and {more} more");
    }
    let first = recording.notes.first();
    first.context("nothing was recorded: does the plugin send notes?")?;
    bail!(
        "{} of the {} recorded notes are as composed, and there are {} differences",
        same,
        recording.notes.len(),
        differences.len()
    )
}

/// By how much the whole recording lies early, in the program's ticks: what lets the most of its
/// first notes fall where they should.
fn shift(recorded: &[Recorded], expected: &[Recorded]) -> i64 {
    let first: Vec<_> = recorded.iter().take(12).collect();
    let in_place = |shift: i64| {
        let falls = |note: &&&Recorded| {
            expected.iter().any(|wish| {
                (wish.key, wish.velocity) == (note.key, note.velocity)
                    && HostTicks(note.start.0 + shift).near(wish.start)
            })
        };
        first.iter().filter(falls).count()
    };
    (-LARGEST_SHIFT..=LARGEST_SHIFT)
        .max_by_key(|&shift| (in_place(shift), -shift.abs()))
        .unwrap_or(0)
}
