//! A region as a Standard MIDI File, format 1: a conductor track with tempi, meters and section
//! markers, and a drum track.
//!
//! Standard MIDI Files 1.0 (IMA/MMA RP-001). The bytes are `midly`'s; the events are ours.

use super::Region;
use crate::song::Timeline;
use crate::time::{TICKS_PER_QUARTER, Ticks};
use midly::num::{u4, u7, u15, u24, u28};
use midly::{
    Format, Header, MetaMessage, MidiMessage, Smf, Timing, Track, TrackEvent, TrackEventKind,
};

/// The file can't be written.
#[derive(Debug, thiserror::Error)]
pub enum SmfError {
    /// Two events lie further apart than the format can say.
    #[error("the song is too long for a MIDI file: more than {} quarter notes without an event", u28::max_value().as_int() / 960)]
    TooLong,
    /// A note lies before the start of the song.
    #[error("the note at tick {0} lies before the start of the song")]
    Negative(Ticks),
}

/// The bytes of a format-1 file: the song's conductor track, and `region` as its drum track.
///
/// # Errors
/// [`SmfError`] where a position can't be said in the format.
pub fn write(timeline: &Timeline, region: &Region) -> Result<Vec<u8>, SmfError> {
    let mut smf = Smf::new(Header::new(
        Format::Parallel,
        Timing::Metrical(u15::new(u16::try_from(TICKS_PER_QUARTER).unwrap_or(960))),
    ));
    smf.tracks.push(conductor(timeline)?);
    smf.tracks.push(drums(region)?);
    let mut bytes = Vec::new();
    smf.write_std(&mut bytes).map_err(|_| SmfError::TooLong)?;
    Ok(bytes)
}

fn conductor(timeline: &Timeline) -> Result<Track<'_>, SmfError> {
    let mut events = vec![(0, 0, MetaMessage::TrackName(timeline.title().as_bytes()))];
    for (at, bpm) in timeline.tempo().changes() {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let micros = (60_000_000.0 / bpm)
            .round()
            .min(f64::from(u24::max_value().as_int())) as u32;
        events.push((at, 1, MetaMessage::Tempo(u24::new(micros))));
    }
    let mut last = None;
    for bar in timeline.bars() {
        if last.replace(bar.meter) != Some(bar.meter) {
            let log2 = u8::try_from(bar.meter.denominator().trailing_zeros()).unwrap_or(2);
            // MIDI clocks (24 to a quarter) in the first count.
            let clocks = bar.meter.counts()[0].len * 24 / TICKS_PER_QUARTER;
            let clocks = u8::try_from(clocks).unwrap_or(24);
            let meter = MetaMessage::TimeSignature(bar.meter.numerator(), log2, clocks, 8);
            events.push((bar.start, 2, meter));
        }
    }
    for (at, name) in timeline.markers() {
        events.push((at, 3, MetaMessage::Marker(name.as_bytes())));
    }
    events.sort_by_key(|event| (event.0, event.1));
    let kinds = events
        .into_iter()
        .map(|(at, _, meta)| (at, TrackEventKind::Meta(meta)));
    track(kinds, timeline.end())
}

fn drums(region: &Region) -> Result<Track<'static>, SmfError> {
    // Note-offs before note-ons of the same tick.
    let mut events = Vec::with_capacity(region.notes.len() * 2);
    for note in &region.notes {
        let channel = u4::new(note.note.channel.min(15));
        let key = u7::new(note.note.key.min(127));
        let vel = u7::new(note.velocity.min(127));
        // Release velocity 64 is the neutral one (MIDI 1.0, as quoted in secondary texts).
        let off = MidiMessage::NoteOff {
            key,
            vel: u7::new(64),
        };
        events.push((
            note.tick + note.length,
            0,
            TrackEventKind::Midi {
                channel,
                message: off,
            },
        ));
        let on = MidiMessage::NoteOn { key, vel };
        events.push((
            note.tick,
            1,
            TrackEventKind::Midi {
                channel,
                message: on,
            },
        ));
    }
    events.sort_by_key(|event| (event.0, event.1));
    let name = TrackEventKind::Meta(MetaMessage::TrackName(b"Drums"));
    let end = region.end.max(events.last().map_or(0, |event| event.0));
    let named = std::iter::once((0, name));
    track(
        named.chain(events.into_iter().map(|(at, _, kind)| (at, kind))),
        end,
    )
}

/// A track from absolute ticks, closed at `end`.
fn track<'a>(
    events: impl Iterator<Item = (Ticks, TrackEventKind<'a>)>,
    end: Ticks,
) -> Result<Track<'a>, SmfError> {
    let close = (end, TrackEventKind::Meta(MetaMessage::EndOfTrack));
    let mut last = 0;
    events
        .chain(std::iter::once(close))
        .map(|(at, kind)| {
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
