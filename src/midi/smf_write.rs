//! Writes notes as a Standard MIDI File: conductor data (title, tempi, meters, section markers) and one or more
//! drum tracks.
//!
//! Standard MIDI Files 1.0 (IMA/MMA RP-001). `midly` writes the bytes; this module builds the events.
//!
//! Names are written as UTF-8. The standard recommends ASCII and leaves other characters to agreement between
//! programs. ASCII text is the same in both, and current programs read the rest as UTF-8. The notes never depend on
//! it.

use super::{Expression, RegionExpression, RegionNote};
use crate::time::{Bar, Meter, ObservedTempoMap, TICKS_PER_QUARTER, TempoMap, Ticks};
use midly::num::{u4, u7, u15, u24, u28};
use midly::{Header, MetaMessage, MidiMessage, Smf, Timing, Track, TrackEvent, TrackEventKind};
use std::ops::Range;

/// The notes can't be written as a file.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SmfError {
    /// Two events lie further apart than the format allows.
    #[error("the song is too long for a MIDI file: more than {} quarter notes without an event", u28::max_value().as_int() / 960)]
    TooLong,
    /// A note lies before the start of the song.
    #[error("the note at tick {0} lies before the start of the song")]
    Negative(Ticks),
}

choice! {
    /// The format number of the file's header.
    Format "format" {
        /// Everything on one track.
        Single = "0",
        /// The conductor data on its own track, then the tracks of notes.
        Parallel = "1",
    }
}

/// The conductor data. Positions in ticks from the start of the file.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Conductor {
    /// Its title: the name of the sequence.
    pub title: String,
    /// Tempi in order, each from its tick on, in quarter notes a minute; at least 3.58, the slowest that the format
    /// has.
    pub tempi: Vec<(Ticks, f64)>,
    /// Meters in order, each from its tick on.
    pub meters: Vec<(Ticks, Meter)>,
    /// Markers in order: the names of sections.
    pub markers: Vec<(Ticks, String)>,
    /// The first tick after the song.
    pub end: Ticks,
}

impl Conductor {
    /// The data of a span of a song, in ticks, as if the song began there. Values in force at its start go to tick
    /// 0; changes at its end or later are left out. `bars` and `markers` in order of time.
    pub fn cut<'a>(
        span: Range<Ticks>,
        tempo: &TempoMap,
        bars: &[Bar],
        markers: impl Iterator<Item = (Ticks, &'a str)>,
    ) -> Self {
        let mut meters = Vec::new();
        for bar in bars {
            if meters.last().is_none_or(|&(_, meter)| meter != bar.meter) {
                meters.push((bar.start, bar.meter));
            }
        }
        Self {
            title: String::new(),
            tempi: within(&span, tempo.changes()),
            meters: within(&span, meters.into_iter()),
            markers: within(&span, markers.map(|(at, name)| (at, name.to_owned()))),
            end: span.end - span.start,
        }
    }

    /// The same of a span of a host's song as it was observed. The span may begin before the song.
    pub fn observed(span: Range<Ticks>, observed: &ObservedTempoMap) -> Self {
        // What holds at the start of the song holds before it.
        let earliest = |at: Ticks| if at == 0 { span.start.min(0) } else { at };
        let tempo = observed.tempo();
        let tempi = tempo.changes().map(|(at, bpm)| (earliest(at), bpm));
        let meters = observed.meters().iter().map(|&(at, m)| (earliest(at), m));
        Self {
            tempi: within(&span, tempi),
            meters: within(&span, meters),
            end: span.end - span.start,
            ..Self::default()
        }
    }
}

/// The values in force at the start of a span, and the changes within it.
fn within<T>(span: &Range<Ticks>, all: impl Iterator<Item = (Ticks, T)>) -> Vec<(Ticks, T)> {
    let mut kept = Vec::new();
    for (at, value) in all.take_while(|(at, _)| *at < span.end) {
        if at <= span.start {
            kept.clear();
        }
        kept.push(((at - span.start).max(0), value));
    }
    kept
}

/// A track of notes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoteTrack {
    /// Its name.
    pub name: String,
    /// Its notes, positions in ticks from the start of the file. Those of one key must not overlap,
    /// on any track (see [`Region::unlap`](super::Region::unlap)).
    pub notes: Vec<RegionNote>,
    /// What is sent beside them, in order of time.
    pub expressions: Vec<RegionExpression>,
}

/// The track name where one track has all drums.
pub const DRUMS: &str = "Drums";

/// The bytes of a file. [`Format::Single`] merges the notes of all tracks into one and leaves out their names.
///
/// # Errors
/// [`SmfError`] where the format can't represent a position.
pub fn write_tracks(
    conductor: &Conductor,
    tracks: &[NoteTrack],
    format: Format,
) -> Result<Vec<u8>, SmfError> {
    let title = line(&conductor.title);
    let markers: Vec<_> = conductor
        .markers
        .iter()
        .map(|(at, name)| (*at, line(name)))
        .collect();
    let names: Vec<_> = tracks.iter().map(|track| line(&track.name)).collect();
    let metrical = Timing::Metrical(u15::new(u16::try_from(TICKS_PER_QUARTER).unwrap_or(960)));
    let mut smf = Smf::new(Header::new(
        match format {
            Format::Single => midly::Format::SingleTrack,
            Format::Parallel => midly::Format::Parallel,
        },
        metrical,
    ));
    let mut events = vec![(0, 0, meta(MetaMessage::TrackName(title.as_bytes())))];
    events.extend(conducted(conductor));
    let marked = markers
        .iter()
        .map(|(at, name)| (*at, 3, meta(MetaMessage::Marker(name.as_bytes()))));
    events.extend(marked);
    match format {
        Format::Single => {
            events.extend(tracks.iter().flat_map(played));
            smf.tracks.push(track(events, conductor.end)?);
        }
        Format::Parallel => {
            smf.tracks.push(track(events, conductor.end)?);
            for (notes, name) in tracks.iter().zip(&names) {
                let mut events = vec![(0, 0, meta(MetaMessage::TrackName(name.as_bytes())))];
                events.extend(played(notes));
                smf.tracks.push(track(events, conductor.end)?);
            }
        }
    }
    let mut bytes = Vec::new();
    smf.write_std(&mut bytes).map_err(|_| SmfError::TooLong)?;
    Ok(bytes)
}

/// A name on one line, since readers display line breaks and other control characters differently.
fn line(name: &str) -> String {
    name.replace(char::is_control, " ")
}

/// An event: its tick, its order among those of the same tick, and its message.
type Placed<'a> = (Ticks, u8, TrackEventKind<'a>);

fn meta(message: MetaMessage) -> TrackEventKind {
    TrackEventKind::Meta(message)
}

/// The events of tempi and meters.
fn conducted<'a>(conductor: &Conductor) -> impl Iterator<Item = Placed<'a>> {
    let tempi = conductor.tempi.iter().map(|&(at, bpm)| {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let micros = (60_000_000.0 / bpm)
            .round()
            .min(f64::from(u24::max_value().as_int())) as u32;
        (at, 1, meta(MetaMessage::Tempo(u24::new(micros))))
    });
    let meters = conductor.meters.iter().map(|&(at, meter)| {
        let log2 = u8::try_from(meter.denominator().trailing_zeros()).unwrap_or(2);
        // MIDI clocks (24 to a quarter) in the first count.
        let clocks = meter.counts()[0].len * 24 / TICKS_PER_QUARTER;
        let clocks = u8::try_from(clocks).unwrap_or(24);
        let signature = MetaMessage::TimeSignature(meter.numerator(), log2, clocks, 8);
        (at, 2, meta(signature))
    });
    tempi.chain(meters)
}

/// Notes, and what is sent beside them. At one tick a choke comes first, then the note-offs, the controllers, and the
/// note-ons.
fn played<'a>(track: &NoteTrack) -> impl Iterator<Item = Placed<'a>> {
    let expressions = track
        .expressions
        .iter()
        .map(|&RegionExpression { tick, expression }| {
            let (order, channel, message) = match expression {
                Expression::Pressure { note, value } => {
                    let (key, vel) = (u7::new(note.key.min(127)), u7::new(value.min(127)));
                    let order = if value > 0 { 4 } else { 6 };
                    (order, note.channel, MidiMessage::Aftertouch { key, vel })
                }
                Expression::Control {
                    channel,
                    number,
                    value,
                } => {
                    let (controller, value) = (u7::new(number.min(127)), u7::new(value.min(127)));
                    (6, channel, MidiMessage::Controller { controller, value })
                }
            };
            let channel = u4::new(channel.min(15));
            (tick, order, TrackEventKind::Midi { channel, message })
        });
    let notes = track.notes.iter().flat_map(|note| {
        let channel = u4::new(note.note.channel.min(15));
        let key = u7::new(note.note.key.min(127));
        let vel = u7::new(note.velocity.min(127));
        let midi = |message| TrackEventKind::Midi { channel, message };
        // Release velocity 64 is the neutral one (MIDI 1.0, as quoted in secondary texts).
        let off = MidiMessage::NoteOff {
            key,
            vel: u7::new(64),
        };
        [
            (note.tick + note.length, 5, midi(off)),
            (note.tick, 7, midi(MidiMessage::NoteOn { key, vel })),
        ]
    });
    expressions.chain(notes)
}

/// A track from absolute ticks. It ends at `end` or at its last event, whichever is later.
fn track(mut events: Vec<Placed>, end: Ticks) -> Result<Track, SmfError> {
    events.sort_by_key(|event| (event.0, event.1));
    let end = end.max(events.last().map_or(0, |event| event.0));
    events.push((end, u8::MAX, meta(MetaMessage::EndOfTrack)));
    let mut last = 0;
    events
        .into_iter()
        .map(|(at, _, kind)| {
            if at < 0 {
                return Err(SmfError::Negative(at));
            }
            let delta = u32::try_from(at - last).ok().and_then(u28::try_from);
            last = at;
            Ok(TrackEvent {
                delta: delta.ok_or(SmfError::TooLong)?,
                kind,
            })
        })
        .collect()
}
