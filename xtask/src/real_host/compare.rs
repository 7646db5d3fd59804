//! What the engine says, what was recorded, and the differences.

use super::program::{Recording, Take};
use anyhow::{Result, bail, ensure};
use fourlimb::engine::offline;
use fourlimb::kit::NoteMap;
use fourlimb::song::{SongFile, Timeline};
use fourlimb::time::{TICKS_PER_QUARTER, Ticks};
use std::fmt;

/// The recording program's ticks in a quarter note.
const HOST_TICKS_PER_QUARTER: i64 = 1920;
/// How far a recorded start and a recorded length may be off, in the program's ticks.
#[derive(Debug, Clone, Copy)]
pub(super) struct Leeway {
    start: i64,
    length: i64,
}

impl Leeway {
    /// The program keeps notes in whole ticks of its own (12.5 samples at 120 BPM and 48 kHz), and a place between two may
    /// fall to either. Whatever is off by more was sent at another sample.
    pub(super) const EXACT: Self = Self {
        start: 1,
        length: 1,
    };
    /// Where the tempo changes inside a block, the program tells of it with the next one, up to 1024 samples later. Until then
    /// time goes on at the old tempo: 37 ticks at a change from 151 to 97 BPM. A note that begins before it ends by the old
    /// tempo: 240 ticks become 154.
    pub(super) const CHANGE_OF_TEMPO: Self = Self {
        start: 37,
        length: 86,
    };
}

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

    fn near(self, other: Self, leeway: i64) -> bool {
        (self.0 - other.0).abs() <= leeway
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

/// What the engine composes offline for a song that the panel plays, without its sections' words: what the plugin plays
/// where the program automates it so.
pub(super) fn expected(song: &SongFile, map: &NoteMap) -> Result<Vec<Expected>> {
    let timeline = Timeline::automated(song)?;
    let notes = offline::notes(&offline::play(&timeline), &timeline, map).notes;
    let expected = notes.iter().map(|(note, hit)| Expected {
        note: Recorded {
            start: HostTicks::of_engine(note.tick),
            length: HostTicks::of_engine(note.length),
            channel: note.note.channel,
            key: note.note.key,
            velocity: note.velocity,
        },
        grid: HostTicks::of_engine(hit.grid),
    });
    Ok(expected.collect())
}

/// A note that the engine composes.
#[derive(Debug, Clone, Copy)]
pub(super) struct Expected {
    note: Recorded,
    /// Its place on the grid.
    grid: HostTicks,
}

/// What a comparison found.
#[derive(Debug, Default)]
struct Found {
    same: usize,
    /// The farthest start from where it should be, in the program's ticks.
    farthest: i64,
    /// By how much the recording lies early as a whole, in the program's ticks.
    shift: i64,
    differences: Vec<String>,
}

/// Compares all takes of a recording, prints the first differences and fails where there are any.
pub(super) fn compare(
    recording: &Recording,
    expected: &[Expected],
    leeway: Leeway,
) -> Result<String> {
    ensure!(
        !recording.takes.is_empty(),
        "nothing was recorded: does the plugin send notes?"
    );
    let mut found = Found::default();
    for take in &recording.takes {
        compare_take(take, expected, leeway, &mut found);
    }
    let Found {
        same,
        farthest,
        shift,
        differences,
    } = found;
    if differences.is_empty() {
        let takes = match recording.takes.len() {
            1 => String::new(),
            takes => format!(" in {takes} takes"),
        };
        let shifted = match shift {
            0 => String::new(),
            shift => format!("; a recording lies {shift} ticks early as a whole"),
        };
        return Ok(format!(
            "{same} notes{takes} recorded as composed: keys, velocities and lengths the same, none lost or doubled, starts \
             within {farthest} of the program's ticks (1/1920 quarter){shifted}"
        ));
    }
    for difference in differences.iter().take(PRINTED) {
        println!("{difference}");
    }
    if let Some(more) = differences.len().checked_sub(PRINTED).filter(|n| *n > 0) {
        println!("... and {more} more");
    }
    bail!(
        "{same} of the {} recorded notes are as composed, and there are {} differences",
        recording
            .takes
            .iter()
            .map(|take| take.notes.len())
            .sum::<usize>(),
        differences.len()
    )
}

/// Compares one take. Its end cuts the last notes short: a note that was to end after it may lack, or be shorter.
fn compare_take(take: &Take, expected: &[Expected], leeway: Leeway, found: &mut Found) {
    let first: Vec<_> = expected
        .iter()
        .filter_map(|wish| wish.within(take))
        .collect();
    let shift = shift(&take.notes, &first);
    found.shift = found.shift.max(shift.abs());
    let notes = take.notes.iter().map(|note| Recorded {
        start: HostTicks(note.start.0 + shift),
        ..*note
    });
    // A recording that begins late lacks the first note; one that does not has it.
    let begins = HostTicks(take.from.0 + if shift == 0 { 0 } else { LARGEST_SHIFT });
    let notes: Vec<_> = notes.filter(|note| note.start >= begins).collect();
    let mut left: Vec<&Recorded> = notes.iter().collect();
    for wish in first.iter().filter(|wish| wish.start >= begins) {
        let cut = wish.start.0 + wish.length.0 >= take.until.0;
        let there = left.iter().position(|note| {
            (note.channel, note.key) == (wish.channel, wish.key)
                && note.start.near(wish.start, leeway.start)
        });
        let Some(there) = there else {
            // Where the transport was set to another place, the program misses what sounds with its first sample: its log has
            // a note-off without a note-on there.
            let missed = take.from.0 > 0 && wish.start.near(take.from, leeway.start);
            if !cut && !missed {
                found.differences.push(format!("lost:      {wish}"));
            }
            continue;
        };
        let note = left.remove(there);
        found.farthest = found.farthest.max((note.start.0 - wish.start.0).abs());
        if note.velocity != wish.velocity || !(cut || note.length.near(wish.length, leeway.length))
        {
            found
                .differences
                .push(format!("different: {note}\n  expected {wish}"));
        } else {
            found.same += 1;
        }
    }
    found
        .differences
        .extend(left.iter().map(|note| format!("too many:  {note}")));
}

impl Expected {
    /// The note as a take has it, where it does: a stroke that would come a little before the take sounds at once.
    fn within(&self, take: &Take) -> Option<Recorded> {
        let start = self.note.start.max(if self.grid >= take.from {
            take.from
        } else {
            HostTicks(i64::MIN)
        });
        let inside = (take.from..take.until).contains(&start);
        inside.then_some(Recorded { start, ..self.note })
    }
}

/// Whether the kicks of a recording are the strokes of a guitar: one at each, and no others. `strokes` are the quarters of a
/// bar of 4/4 at which the guitar is struck, `detector` how far a kick may be beside one, in the program's ticks.
pub(super) fn kicks_follow(
    recording: &Recording,
    strokes: &[f64],
    kick: u8,
    detector: i64,
) -> Result<String> {
    let mut kicks = 0;
    for take in &recording.takes {
        let found: Vec<i64> = take
            .notes
            .iter()
            .filter(|note| note.key == kick)
            .map(|note| note.start.0)
            .collect();
        let bars = 0..=take.until.0 / (4 * HOST_TICKS_PER_QUARTER);
        #[expect(clippy::cast_possible_truncation)]
        let at = |bar: i64, stroke: f64| ((bar * 4) as f64 * 1920.0 + stroke * 1920.0) as i64;
        let mut wanted: Vec<i64> = bars
            .flat_map(|bar| strokes.iter().map(move |stroke| at(bar, *stroke)))
            .collect();
        wanted.retain(|at| *at + detector < take.until.0);
        let near = |a: i64, b: i64| (a - b).abs() <= detector;
        for at in &wanted {
            ensure!(
                found.iter().filter(|kick| near(**kick, *at)).count() == 1,
                "the guitar's stroke at tick {at} has not one kick: kicks are at {found:?}"
            );
        }
        for kick in found
            .iter()
            .filter(|kick| **kick + 2 * detector < take.until.0)
        {
            ensure!(
                wanted.iter().any(|at| near(*kick, *at)),
                "the kick at tick {kick} has no stroke of the guitar"
            );
        }
        kicks += wanted.len();
    }
    ensure!(kicks > 0, "nothing was recorded");
    Ok(format!(
        "{kicks} kicks on the guitar's {kicks} strokes, and no others"
    ))
}

/// By how much the whole recording lies early, in the program's ticks: what lets the most of its
/// first notes fall where they should.
fn shift(recorded: &[Recorded], expected: &[Recorded]) -> i64 {
    let first: Vec<_> = recorded.iter().take(12).collect();
    let in_place = |shift: i64| {
        let falls = |note: &&&Recorded| {
            expected.iter().any(|wish| {
                (wish.key, wish.velocity) == (note.key, note.velocity)
                    && HostTicks(note.start.0 + shift).near(wish.start, Leeway::EXACT.start)
            })
        };
        first.iter().filter(falls).count()
    };
    (-LARGEST_SHIFT..=LARGEST_SHIFT)
        .max_by_key(|&shift| (in_place(shift), -shift.abs()))
        .unwrap_or(0)
}
