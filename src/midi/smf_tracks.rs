//! The tracks of a Standard MIDI File, in the file's own ticks.
//!
//! Standard MIDI Files 1.0 (IMA/MMA RP-001), formats 0 and 1. The reader accepts unusual but legal files: running
//! status, unknown chunks, a longer header, notes without note-off. It refuses damaged files completely.

use crate::time::tempo::DEFAULT_BPM;
use crate::time::{Meter, TICKS_PER_QUARTER, TempoMap, Ticks};
use midly::{Format, MetaMessage, MidiMessage, Timing, TrackEventKind};
use std::collections::BTreeMap;

/// A file that can't be read. Each message says what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ReadError {
    /// Not a MIDI file.
    #[error("it is not a Standard MIDI File ({0}): export it again as a MIDI file")]
    NotMidi(String),
    /// Format 2: independent patterns.
    #[error("it is of format 2, patterns without a common timeline: export it as format 0 or 1")]
    Format2,
    /// SMPTE time division.
    #[error("its positions are film frames: export it with ticks per quarter note")]
    Frames,
    /// A track ends in the middle.
    #[error("track {0} breaks off or is damaged: export it again")]
    Damaged(usize),
    /// Fewer tracks than the header promises.
    #[error("it should have {0} tracks but has {1}: it is cut short, export it again")]
    Missing(usize, usize),
    /// A time signature that Fourlimb can't use there.
    #[error("at quarter note {0}: {1}")]
    Meter(Ticks, crate::time::MeterError),
}

/// A note of a track; positions in the file's own ticks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TrackNote {
    /// Where it starts.
    pub at: u64,
    /// Where it ends; `None` without a note-off.
    pub end: Option<u64>,
    /// Its MIDI channel, 0..=15.
    pub channel: u8,
    /// Its key, 0..=127.
    pub key: u8,
    /// Its velocity, 1..=127.
    pub velocity: u8,
}

/// A control change of a track.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ControlChange {
    /// When, in the file's own ticks.
    pub at: u64,
    /// Its MIDI channel, 0..=15.
    pub channel: u8,
    /// The controller's number, 0..=127.
    pub number: u8,
    /// Its value, 0..=127.
    pub value: u8,
}

/// A track.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Track {
    /// Its name; empty where it has none.
    pub name: String,
    /// Its notes, in order of time.
    pub notes: Vec<TrackNote>,
    /// Its control changes, in order of time.
    pub controls: Vec<ControlChange>,
}

/// The contents of a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Tracks {
    /// The tracks, in order.
    pub tracks: Vec<Track>,
    /// The first tick after the file's last event, in its own ticks.
    pub end: u64,
    /// The file's own ticks per quarter note.
    per_quarter: f64,
    tempi: Vec<(u64, u32)>,
    meters: Vec<(u64, u8, u8)>,
}

impl Tracks {
    /// Reads a file.
    ///
    /// # Errors
    /// [`ReadError`] where the file can't be read completely.
    pub fn read(bytes: &[u8]) -> Result<Self, ReadError> {
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
                let problem = "it has no ticks in a quarter".to_owned();
                return Err(ReadError::NotMidi(problem));
            }
            Timing::Timecode(..) => return Err(ReadError::Frames),
        };
        let promised = tracks.size_hint().0;
        let mut read = Self {
            tracks: Vec::new(),
            end: 0,
            per_quarter,
            tempi: Vec::new(),
            meters: Vec::new(),
        };
        for (i, track) in tracks.enumerate() {
            let events = track.map_err(|_| ReadError::Damaged(i + 1))?;
            read.add(events).ok_or(ReadError::Damaged(i + 1))?;
        }
        let count = read.tracks.len();
        if count < promised {
            return Err(ReadError::Missing(promised, count));
        }
        Ok(read)
    }

    /// Adds a track; `None` where it is damaged or has no end.
    fn add(&mut self, events: midly::EventIter) -> Option<()> {
        let mut track = Track::default();
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
                        MidiMessage::Controller { controller, value } => {
                            track.controls.push(ControlChange {
                                at,
                                channel,
                                number: controller.as_int(),
                                value: value.as_int(),
                            });
                            continue;
                        }
                        _ => continue,
                    };
                    if let Some(note) = sounding.remove(&(channel, key)) {
                        track.notes[note].end = Some(at);
                    }
                    if velocity > 0 {
                        sounding.insert((channel, key), track.notes.len());
                        track.notes.push(TrackNote {
                            at,
                            end: None,
                            channel,
                            key,
                            velocity,
                        });
                    }
                }
                TrackEventKind::Meta(MetaMessage::TrackName(name)) if track.name.is_empty() => {
                    String::from_utf8_lossy(name)
                        .trim()
                        .clone_into(&mut track.name);
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
        self.tracks.push(track);
        ended.then_some(())
    }

    /// A position in the file's own ticks as our ticks, not rounded.
    pub fn exact(&self, at: u64) -> f64 {
        at as f64 * TICKS_PER_QUARTER as f64 / self.per_quarter
    }

    /// The same, rounded to the nearest.
    pub fn ticks(&self, at: u64) -> Ticks {
        #[expect(clippy::cast_possible_truncation)]
        let ticks = self.exact(at).round() as Ticks;
        ticks
    }

    /// The tempi; 120 BPM where the file says none.
    pub fn tempo(&self) -> TempoMap {
        let mut tempi = self.tempi.clone();
        tempi.sort_by_key(|tempo| tempo.0);
        let mut tempo = TempoMap::constant(DEFAULT_BPM);
        for (at, micros) in tempi {
            tempo.change(self.ticks(at), 60_000_000.0 / f64::from(micros.max(1)));
        }
        tempo
    }

    /// Whether there is a tempo.
    pub fn names_tempo(&self) -> bool {
        !self.tempi.is_empty()
    }

    /// The start of each meter, in ticks, in order; the first at 0.
    ///
    /// # Errors
    /// [`ReadError::Meter`] where Fourlimb can't use a time signature.
    pub fn meters(&self) -> Result<Vec<(Ticks, Meter)>, ReadError> {
        let mut sorted = self.meters.clone();
        sorted.sort_by_key(|meter| meter.0);
        let mut meters = vec![(0, Meter::FOUR_FOUR)];
        for (at, n, log2) in sorted {
            let tick = self.ticks(at);
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
        Ok(meters)
    }
}

/// Whether the header of a MIDI file has a frame rate byte of -128, which is invalid. midly 0.5 negates that byte
/// before it checks it, which panics in a program with overflow checks.
fn has_no_frames(file: &[u8]) -> bool {
    let mut places = file.windows(13);
    places.any(|header| header.starts_with(b"MThd") && header[12] == 0x80)
}
