//! Makes an own beat of a MIDI file or of a text chart.

use crate::export::text_chart::read::{ChartError, ReadChart, read as read_chart};
use crate::groove::own::learn::{Heard, LearnError, Learned, MAX_HEARD, Wish, learn};
use crate::kit::{NoteMap, Piece};
use crate::midi::smf_read::{Read, ReadError, ReadNote, read};
use crate::time::{Bar, Meter, Ticks};
use std::collections::BTreeMap;
use std::fmt;

/// A region is quantised where all its notes are multiples of this after their bar, in ticks: the finest grid.
const FINEST: Ticks = 20;

/// Why a file can't be made a beat. Each message says what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum TeachError {
    /// The MIDI file can't be read.
    #[error(transparent)]
    Read(#[from] ReadError),
    /// The chart can't be read.
    #[error(transparent)]
    Chart(#[from] ChartError),
    /// It has no note on a piece of the kit.
    #[error(
        "it has no note on a piece of the kit there: choose other bars, or name its keys in a map \
         (docs/sampler.md)"
    )]
    NoNotes,
    /// No beat comes of what was read.
    #[error(transparent)]
    Learn(#[from] LearnError),
}

/// A beat, and what was left out of the file.
#[derive(Debug, Clone, PartialEq)]
pub struct Taught {
    /// The beat, and what was understood how.
    pub learned: Learned,
    /// The bars of the file that it was made of, from 1.
    pub bars: (u32, u32),
    /// Keys without a piece of the kit, and how many notes each has there.
    pub unknown: BTreeMap<u8, usize>,
    /// Notes that the map gives to several pieces: the piece that they were read as, and how many.
    pub unclear: BTreeMap<Piece, usize>,
}

impl fmt::Display for Taught {
    /// One line for each thing.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (from, to) = self.bars;
        if from == to {
            write!(f, "bar {from}: {}", self.learned.report)?;
        } else {
            write!(f, "bars {from}-{to}: {}", self.learned.report)?;
        }
        for (key, count) in &self.unknown {
            writeln!(
                f,
                "no piece of the kit has key {key}: {count} of its notes left out; name it in a map (docs/sampler.md)"
            )?;
        }
        for (piece, count) in &self.unclear {
            writeln!(
                f,
                "{count} notes could be several pieces and were read as {}: give these pieces keys of their own in \
                 the map",
                piece.name()
            )?;
        }
        Ok(())
    }
}

/// Makes a beat of a MIDI file. `chosen` are its first and last bar, from 1; without it, those from the first note to
/// the last.
///
/// # Errors
/// [`TeachError`] says what to change.
pub fn from_midi(
    bytes: &[u8],
    map: &NoteMap,
    chosen: Option<(u32, u32)>,
    wish: &Wish,
) -> Result<Taught, TeachError> {
    let file = read(bytes, map)?;
    let (from, to) = match chosen {
        Some(chosen) => chosen,
        None => reach(&file).ok_or(TeachError::NoNotes)?,
    };
    // A note at the end of time asks for more bars than fit into memory.
    let count = to.saturating_sub(from) as usize;
    if count >= MAX_HEARD {
        return Err(LearnError::Bars(count.saturating_add(1)).into());
    }
    let bars: Vec<Bar> = (from..=to)
        .map(|number| file.numbered(number.into()).0)
        .collect();
    let (Some(first), Some(last)) = (bars.first(), bars.last()) else {
        return Err(LearnError::Bars(0).into());
    };
    // Who plays the first 1 a little early means the 1.
    let span = first.start - first.meter.unit() / 8..last.end();
    let inside: Vec<&ReadNote> = file
        .notes
        .iter()
        .filter(|note| span.contains(&note.tick))
        .collect();
    if inside.is_empty() {
        return Err(TeachError::NoNotes);
    }
    let mut unclear = BTreeMap::new();
    for note in inside.iter().filter(|note| note.candidates.len() > 1) {
        *unclear.entry(note.piece).or_insert(0) += 1;
    }
    let mut unknown = BTreeMap::new();
    for (_, key) in file.unknown.iter().filter(|(tick, _)| span.contains(tick)) {
        *unknown.entry(*key).or_insert(0) += 1;
    }
    let on_grid = |note: &&ReadNote| (note.tick - first.start) % FINEST == 0;
    let exact = inside.iter().all(on_grid);
    let heard: Vec<Heard> = inside
        .iter()
        .map(|note| Heard {
            exact,
            ..Heard::new(note.tick, note.piece, note.velocity)
        })
        .collect();
    Ok(Taught {
        learned: learn(&heard, &bars, wish)?,
        bars: (from, to),
        unknown,
        unclear,
    })
}

/// The bars from the first note to the last, from 1.
fn reach(file: &Read) -> Option<(u32, u32)> {
    let number = |note: &ReadNote| u32::try_from(file.bar(note.tick).0).ok();
    // A note just before a bar line means the 1 after it.
    let first = file.notes.first()?;
    let (at, bar) = file.bar(first.tick);
    let early = bar.end() - first.tick < bar.meter.unit() / 8;
    let from = u32::try_from(at + i64::from(early)).ok()?;
    let to = number(file.notes.last()?)?;
    Some((from.max(1), to.max(from)))
}

/// Makes a beat of a text chart. `meter` is that of bars for which it says none.
///
/// # Errors
/// [`TeachError`] says what to change.
pub fn from_chart(text: &str, meter: Option<Meter>, wish: &Wish) -> Result<Taught, TeachError> {
    let ReadChart { bars, hits, .. } = read_chart(text, meter)?;
    let heard: Vec<Heard> = hits
        .iter()
        .map(|hit| Heard {
            exact: true,
            ..Heard::from(hit)
        })
        .collect();
    let numbers = bars.iter().map(|(number, _)| *number);
    let (from, to) = (numbers.clone().min(), numbers.max());
    let bars: Vec<Bar> = bars.into_iter().map(|(_, bar)| bar).collect();
    Ok(Taught {
        learned: learn(&heard, &bars, wish)?,
        bars: (from.unwrap_or(1), to.unwrap_or(1)),
        unknown: BTreeMap::new(),
        unclear: BTreeMap::new(),
    })
}
