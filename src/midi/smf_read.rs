//! A Standard MIDI File from anywhere, read as strokes on the kit.
//!
//! Standard MIDI Files 1.0 (IMA/MMA RP-001), formats 0 and 1. Legal oddities are read: running
//! status, unknown chunks, a longer header, notes that are never ended. What is damaged is refused,
//! never read by half.

use crate::kit::general_midi::PERCUSSION_CHANNEL;
use crate::kit::{KeyMap, Piece};
use crate::time::tempo::DEFAULT_BPM;
use crate::time::{Bar, Meter, TICKS_PER_QUARTER, TempoMap, Ticks};
use midly::{Format, MetaMessage, MidiMessage, Timing, TrackEventKind};
use std::collections::BTreeMap;

/// A file that can't be read. Each message says what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ReadError {
    /// Not a MIDI file.
    #[error("it is not a Standard MIDI File ({0}): export the region again as a MIDI file")]
    NotMidi(String),
    /// Independent patterns.
    #[error("it is of format 2, patterns without a common timeline: export it as format 0 or 1")]
    Format2,
    /// Positions in frames.
    #[error("its positions are film frames: export it with ticks per quarter note")]
    Frames,
    /// A track stops in the middle.
    #[error("track {0} breaks off or is damaged: export the region again")]
    Damaged(usize),
    /// Fewer tracks than the header promises.
    #[error("it should have {0} tracks but has {1}: it is cut short, export the region again")]
    Missing(usize, usize),
    /// A time signature that has no place here.
    #[error("at quarter note {0}: {1}")]
    Meter(Ticks, crate::time::MeterError),
}

/// A note that was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReadNote {
    /// Where it starts, in ticks (960 a quarter), rounded to the nearest.
    pub tick: Ticks,
    /// When it starts, in seconds from the start of the file, not rounded.
    pub seconds: f64,
    /// How long it lasts, in ticks; one that is never ended lasts to the end of the file.
    pub length: Ticks,
    /// The piece that it sounds.
    pub piece: Piece,
    /// Its velocity, 1..=127.
    pub velocity: u8,
}

/// What a file holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Read {
    /// The notes that sound a piece, in order of time.
    pub notes: Vec<ReadNote>,
    /// Notes on keys without a piece, in order of time: where, in ticks, and which key.
    pub unknown: Vec<(Ticks, u8)>,
    /// Notes on channels other than the drums', which are not read.
    pub elsewhere: usize,
    /// The tempi.
    pub tempo: TempoMap,
    /// Where each meter begins, in ticks, in order; the first from 0. A meter begins a bar.
    pub meters: Vec<(Ticks, Meter)>,
}

impl Read {
    /// The bar that a tick lies in, and its number counted from 1.
    pub fn bar(&self, tick: Ticks) -> (i64, Bar) {
        let mut number = 1;
        for (i, &(from, meter)) in self.meters.iter().enumerate() {
            let len = meter.bar_len();
            match self.meters.get(i + 1) {
                // A bar that a new meter cuts short is a bar all the same.
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

    /// A bar by its number, from 1, and the first tick after it: its end, or where a new meter cuts it
    /// short.
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

/// A note before its key is looked up; positions in the file's own ticks.
struct Raw {
    at: u64,
    end: Option<u64>,
    channel: u8,
    key: u8,
    velocity: u8,
}

/// What the tracks hold, in the file's own ticks.
#[derive(Default)]
struct Contents {
    notes: Vec<Raw>,
    tempi: Vec<(u64, u32)>,
    meters: Vec<(u64, u8, u8)>,
    end: u64,
}

/// Reads a file; `map` says which key sounds which piece.
///
/// Where the percussion channel (10) has notes, only they are read, else those of every channel,
/// since recording programs export a drum track on any.
///
/// # Errors
/// [`ReadError`] where it can't be read whole.
pub fn read(bytes: &[u8], map: &KeyMap) -> Result<Read, ReadError> {
    if has_no_frames(bytes) {
        return Err(ReadError::Frames);
    }
    let not_midi = |error: midly::Error| ReadError::NotMidi(error.to_string());
    let (header, tracks) = midly::parse(bytes).map_err(not_midi)?;
    if header.format == Format::Sequential {
        return Err(ReadError::Format2);
    }
    let per_quarter = match header.timing {
        Timing::Metrical(ticks) if ticks.as_int() > 0 => f64::from(ticks.as_int()),
        Timing::Metrical(_) => {
            return Err(ReadError::NotMidi(
                "it has no ticks in a quarter".to_owned(),
            ));
        }
        Timing::Timecode(..) => return Err(ReadError::Frames),
    };
    let promised = tracks.size_hint().0;
    let mut contents = Contents::default();
    let mut count = 0;
    for (i, track) in tracks.enumerate() {
        let events = track.map_err(|_| ReadError::Damaged(i + 1))?;
        contents.add(events).ok_or(ReadError::Damaged(i + 1))?;
        count += 1;
    }
    if count < promised {
        return Err(ReadError::Missing(promised, count));
    }
    contents.finish(per_quarter, map)
}

impl Contents {
    /// Adds a track; `None` where it is damaged or lacks its end.
    fn add(&mut self, events: midly::EventIter) -> Option<()> {
        let mut at = 0;
        let mut ended = false;
        let mut sounding: BTreeMap<(u8, u8), usize> = BTreeMap::new();
        for event in events {
            let event = event.ok()?;
            at += u64::from(event.delta.as_int());
            match event.kind {
                TrackEventKind::Midi { channel, message } => {
                    let channel = channel.as_int();
                    let (key, velocity) = match message {
                        MidiMessage::NoteOn { key, vel } => (key.as_int(), vel.as_int()),
                        MidiMessage::NoteOff { key, .. } => (key.as_int(), 0),
                        _ => continue,
                    };
                    if let Some(note) = sounding.remove(&(channel, key)) {
                        self.notes[note].end = Some(at);
                    }
                    if velocity > 0 {
                        sounding.insert((channel, key), self.notes.len());
                        self.notes.push(Raw {
                            at,
                            end: None,
                            channel,
                            key,
                            velocity,
                        });
                    }
                }
                TrackEventKind::Meta(MetaMessage::Tempo(micros)) => {
                    self.tempi.push((at, micros.as_int()));
                }
                TrackEventKind::Meta(MetaMessage::TimeSignature(n, log2, ..)) => {
                    self.meters.push((at, n, log2));
                }
                TrackEventKind::Meta(MetaMessage::EndOfTrack) => {
                    ended = true;
                    break;
                }
                _ => {}
            }
        }
        self.end = self.end.max(at);
        ended.then_some(())
    }

    fn finish(mut self, per_quarter: f64, map: &KeyMap) -> Result<Read, ReadError> {
        let exact = |at: u64| at as f64 * TICKS_PER_QUARTER as f64 / per_quarter;
        #[expect(clippy::cast_possible_truncation)]
        let ours = |at: u64| exact(at).round() as Ticks;
        self.tempi.sort_by_key(|tempo| tempo.0);
        let mut tempo = TempoMap::constant(DEFAULT_BPM);
        for &(at, micros) in &self.tempi {
            tempo.change(ours(at), 60_000_000.0 / f64::from(micros.max(1)));
        }
        self.meters.sort_by_key(|meter| meter.0);
        let mut meters = vec![(0, Meter::FOUR_FOUR)];
        for &(at, n, log2) in &self.meters {
            let tick = ours(at);
            let denominator = 1_i64.checked_shl(log2.into()).unwrap_or(0);
            let meter = Meter::new(n.into(), denominator)
                .map_err(|error| ReadError::Meter(tick / TICKS_PER_QUARTER, error))?;
            if meters.last().is_some_and(|last| last.0 == tick) {
                meters.pop();
            }
            if meters.last().is_none_or(|last| last.1 != meter) {
                meters.push((tick, meter));
            }
        }
        let percussion = self.notes.iter().any(|n| n.channel == PERCUSSION_CHANNEL);
        let all = self.notes.len();
        self.notes
            .retain(|n| !percussion || n.channel == PERCUSSION_CHANNEL);
        let elsewhere = all - self.notes.len();
        self.notes.sort_by_key(|note| note.at);
        let mut unknown = Vec::new();
        let mut notes = Vec::with_capacity(self.notes.len());
        for raw in &self.notes {
            let Some(piece) = map.piece(raw.key) else {
                unknown.push((ours(raw.at), raw.key));
                continue;
            };
            let tick = ours(raw.at);
            notes.push(ReadNote {
                tick,
                seconds: tempo.seconds(exact(raw.at)),
                length: ours(raw.end.unwrap_or(self.end)) - tick,
                piece,
                velocity: raw.velocity,
            });
        }
        Ok(Read {
            notes,
            unknown,
            elsewhere,
            tempo,
            meters,
        })
    }
}

/// Whether the header of a MIDI file says -128 film frames a second, which are none. The reader of MIDI files
/// (midly 0.5) turns the sign of that byte before it looks, which stops a program that checks its sums.
pub(crate) fn has_no_frames(file: &[u8]) -> bool {
    let mut places = file.windows(13);
    places.any(|header| header.starts_with(b"MThd") && header[12] == 0x80)
}
