//! Reads any Standard MIDI File as strokes on the kit.

pub use super::smf_tracks::ReadError;
use super::smf_tracks::{ControlChange, Tracks};
use crate::kit::note_reader::{Candidates, NoteReader};
use crate::kit::{Note, NoteMap, Piece};
use crate::time::{Bar, Meter, TempoMap, Ticks};
use std::collections::BTreeMap;

/// A note of the file.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadNote {
    /// Where it starts, in ticks (960 a quarter), rounded to the nearest.
    pub tick: Ticks,
    /// When it starts, in seconds from the start of the file, not rounded.
    pub seconds: f64,
    /// Its length, in ticks. A note without a note-off lasts to the end of the file.
    pub length: Ticks,
    /// Its piece.
    pub piece: Piece,
    /// The pieces that it may be, where the map gives its note to several: that one first.
    pub candidates: Candidates,
    /// Its note on the sampler, as the map has it.
    pub note: Note,
    /// Its velocity in the file, 1..=127.
    pub sent: u8,
    /// How hard it was struck, 1..=127: its velocity before the map's response.
    pub velocity: u8,
    /// Which of the piece's notes it is, from 0; `None` where it has only one.
    pub alternate: Option<u8>,
    /// How far the hi-hat is open, 0..=127, where its key or its controller says it.
    pub opening: Option<u8>,
}

/// The contents of a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Read {
    /// The notes with a piece, in order of time.
    pub notes: Vec<ReadNote>,
    /// Notes on keys without a piece, in order of time: tick and key.
    pub unknown: Vec<(Ticks, u8)>,
    /// The number of notes on other channels than the map's, which are not read.
    pub elsewhere: usize,
    /// The tempi; where the file names none, [`DEFAULT_BPM`].
    ///
    /// [`DEFAULT_BPM`]: crate::time::tempo::DEFAULT_BPM
    pub tempo: TempoMap,
    /// Whether the file names a tempo.
    pub names_tempo: bool,
    /// The start of each meter, in ticks, in order; the first at 0. A meter begins a bar.
    pub meters: Vec<(Ticks, Meter)>,
}

impl Read {
    /// The bar of a tick, and its number counted from 1.
    pub fn bar(&self, tick: Ticks) -> (i64, Bar) {
        let mut number = 1;
        for (i, &(from, meter)) in self.meters.iter().enumerate() {
            let len = meter.bar_len();
            match self.meters.get(i + 1) {
                // A bar cut short by a new meter still counts.
                Some(&(until, _)) if until <= tick => number += (until - from + len - 1) / len,
                _ => {
                    let bars = (tick - from).div_euclid(len);
                    let start = from + bars * len;
                    return (number + bars, Bar { start, meter });
                }
            }
        }
        let meter = Meter::FOUR_FOUR;
        (1, Bar { start: 0, meter })
    }

    /// A bar by its number, from 1, and the first tick after it: its end, or the new meter that cuts it short.
    pub fn numbered(&self, number: i64) -> (Bar, Ticks) {
        let mut before = (number - 1).max(0);
        let mut last = (0, Meter::FOUR_FOUR);
        for (i, &(from, meter)) in self.meters.iter().enumerate() {
            last = (from, meter);
            let Some(&(until, _)) = self.meters.get(i + 1) else {
                break;
            };
            let len = meter.bar_len();
            let bars = (until - from + len - 1) / len;
            if before < bars {
                let start = from + before * len;
                let bar = Bar { start, meter };
                return (bar, bar.end().min(until));
            }
            before -= bars;
        }
        let (from, meter) = last;
        let start = from + before * meter.bar_len();
        let bar = Bar { start, meter };
        (bar, bar.end())
    }

    /// Keys without a piece, and how many notes each has.
    pub fn unknown_keys(&self) -> BTreeMap<u8, usize> {
        let mut keys = BTreeMap::new();
        for (_, key) in &self.unknown {
            *keys.entry(*key).or_insert(0) += 1;
        }
        keys
    }
}

/// Reads a file; `map` is what the sampler is sent.
///
/// Where the map's channels have notes, reads only those, else the notes of every channel by their keys alone, since
/// recording programs export a drum track on any channel.
///
/// # Errors
/// [`ReadError`] where the file can't be read completely.
pub fn read(bytes: &[u8], map: &NoteMap) -> Result<Read, ReadError> {
    let file = Tracks::read(bytes)?;
    let (tempo, meters) = (file.tempo(), file.meters()?);
    let reader = NoteReader::new(map);
    let mut all: Vec<_> = file.tracks.iter().flat_map(|track| &track.notes).collect();
    let by_channel = all.iter().any(|note| reader.is_on(note.channel));
    // A hand that grabs a cymbal is no stroke.
    all.retain(|note| !reader.is_choke(note.key, by_channel.then_some(note.channel)));
    let count = all.len();
    if by_channel {
        all.retain(|note| reader.is_on(note.channel));
    }
    let elsewhere = count - all.len();
    all.sort_by_key(|note| note.at);
    let mut openings = openings(&file, map, by_channel).into_iter().peekable();
    let mut value = None;
    let mut unknown = Vec::new();
    let mut notes = Vec::with_capacity(all.len());
    for note in all {
        while let Some((_, said)) = openings.next_if(|(at, _)| *at <= note.at) {
            value = Some(said);
        }
        let tick = file.ticks(note.at);
        let (channel, key) = (note.channel, note.key);
        let found = if by_channel {
            Some(Note { channel, key })
        } else {
            reader.on_any_channel(key)
        };
        let stroke =
            found.and_then(|found| Some((found, reader.read(found, note.velocity, value)?)));
        let Some((found, stroke)) = stroke else {
            unknown.push((tick, key));
            continue;
        };
        notes.push(ReadNote {
            tick,
            seconds: tempo.seconds(file.exact(note.at)),
            length: file.ticks(note.end.unwrap_or(file.end)) - tick,
            piece: stroke.pieces[0],
            candidates: stroke.pieces,
            note: found,
            sent: note.velocity,
            velocity: stroke.velocity,
            alternate: stroke.alternate,
            opening: stroke.opening,
        });
    }
    Ok(Read {
        notes,
        unknown,
        elsewhere,
        tempo,
        names_tempo: file.names_tempo(),
        meters,
    })
}

/// The values of the hi-hat's controller, in order of time in the file's own ticks.
fn openings(file: &Tracks, map: &NoteMap, by_channel: bool) -> Vec<(u64, u8)> {
    let Some(controller) = map.hi_hat.controller() else {
        return Vec::new();
    };
    let is_it = |change: &&ControlChange| {
        change.number == controller.number && (!by_channel || change.channel == controller.channel)
    };
    let changes = file.tracks.iter().flat_map(|track| &track.controls);
    let mut values: Vec<_> = changes.filter(is_it).map(|c| (c.at, c.value)).collect();
    values.sort_by_key(|(at, _)| *at);
    values
}
