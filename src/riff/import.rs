//! A riff from a file: the notes of a MIDI track, or a recording of the guitar.

use super::attacks::{Attack, FARTHEST, Riff};
use super::sound::{SoundError, listen};
use crate::midi::smf_read::has_no_frames;
use crate::time::{TICKS_PER_QUARTER, TempoMap, Ticks};
use midly::{MetaMessage, MidiMessage, Smf, Timing, TrackEventKind};

/// Notes this close to the first of a chord are the same stroke: a 128th.
const CHORD: Ticks = TICKS_PER_QUARTER / 32;

/// Where a riff is put.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// The bar line at which the file begins, in ticks.
    pub at: Ticks,
    /// The length of a bar there, in ticks.
    pub bar: Ticks,
}

/// A track of a MIDI file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Track {
    /// Its name; empty where it has none.
    pub name: String,
    /// How many notes it has.
    pub notes: usize,
}

/// A file that gives no riff. Each message says what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ImportError {
    /// Not a MIDI file, or a damaged one.
    #[error("it is no MIDI file that can be read ({0}): export the guitar again")]
    Midi(String),
    /// Positions in frames.
    #[error("its positions are film frames: export it with ticks per quarter note")]
    Frames,
    /// No such track.
    #[error("it has no track {0} with notes; tracks with notes: {1}")]
    Track(usize, String),
    /// Several tracks could be meant.
    #[error("several tracks have notes, choose one of them: {0}")]
    Which(String),
    /// Beyond any song.
    #[error("its notes go on for longer than any song: export the guitar of one song")]
    TooLong,
    /// Nothing to follow.
    #[error("no stroke was found in it")]
    Empty,
    /// The recording can't be heard.
    #[error(transparent)]
    Sound(#[from] SoundError),
}

/// Whether a file says that it is a MIDI file.
pub fn is_midi(file: &[u8]) -> bool {
    file.starts_with(b"MThd")
}

/// The tracks of a MIDI file, in order, as they are numbered from 1.
///
/// # Errors
/// Where it can't be read.
pub fn tracks(file: &[u8]) -> Result<Vec<Track>, ImportError> {
    if has_no_frames(file) {
        return Err(ImportError::Frames);
    }
    let smf = Smf::parse(file).map_err(|error| ImportError::Midi(error.to_string()))?;
    let track = |events: &midly::Track| {
        let name = events.iter().find_map(|event| match event.kind {
            TrackEventKind::Meta(MetaMessage::TrackName(name)) => {
                Some(String::from_utf8_lossy(name).trim().to_owned())
            }
            _ => None,
        });
        Track {
            name: name.unwrap_or_default(),
            notes: events
                .iter()
                .filter(|event| velocity(&event.kind).is_some())
                .count(),
        }
    };
    Ok(smf.tracks.iter().map(track).collect())
}

/// The note-ons of a track of a MIDI file as a riff; the only track with notes where none is chosen.
/// Tracks are numbered from 1.
///
/// # Errors
/// [`ImportError`].
pub fn from_midi(file: &[u8], track: Option<usize>, place: Place) -> Result<Riff, ImportError> {
    let tracks = tracks(file)?;
    let with_notes: Vec<usize> = (1..=tracks.len())
        .filter(|i| tracks[i - 1].notes > 0)
        .collect();
    let names = || {
        let name = |i: &usize| format!("{i} {:?}", tracks[i - 1].name);
        with_notes.iter().map(name).collect::<Vec<_>>().join(", ")
    };
    let chosen = match (track, &*with_notes) {
        (Some(track), _) if with_notes.contains(&track) => track,
        (Some(track), _) => return Err(ImportError::Track(track, names())),
        (None, []) => return Err(ImportError::Empty),
        (None, &[only]) => only,
        (None, _) => return Err(ImportError::Which(names())),
    };
    let smf = Smf::parse(file).map_err(|error| ImportError::Midi(error.to_string()))?;
    let Timing::Metrical(per_quarter) = smf.header.timing else {
        return Err(ImportError::Frames);
    };
    let per_quarter = i64::from(per_quarter.as_int()).max(1);
    let (mut at, mut attacks) = (0_i64, Vec::<Attack>::new());
    for event in &smf.tracks[chosen - 1] {
        at += i64::from(event.delta.as_int());
        let Some(velocity) = velocity(&event.kind) else {
            continue;
        };
        let tick = place.at + (at * TICKS_PER_QUARTER + per_quarter / 2) / per_quarter;
        let strength = f32::from(velocity) / 127.0;
        match attacks.last_mut() {
            Some(last) if tick - last.tick < CHORD => last.strength = last.strength.max(strength),
            _ => attacks.push(Attack { tick, strength }),
        }
    }
    placed(attacks, place)
}

/// A recording of the guitar, WAV or FLAC, as a riff: it begins at a bar line of a song whose tempi
/// are known. `progress` is told how much is done and may stop it: see [`listen`]. Not for the audio
/// thread.
///
/// # Errors
/// [`ImportError`].
pub fn from_sound(
    file: Vec<u8>,
    sensitivity: f32,
    tempo: &TempoMap,
    place: Place,
    progress: impl FnMut(f32) -> bool,
) -> Result<Riff, ImportError> {
    let start = tempo.seconds(place.at as f64);
    let heard = listen(file, sensitivity, progress)?;
    let attacks = heard.iter().map(|heard| {
        #[expect(clippy::cast_possible_truncation)]
        let tick = tempo.ticks(start + heard.seconds).round() as Ticks;
        Attack {
            tick,
            strength: heard.strength,
        }
    });
    placed(attacks.collect(), place)
}

/// A riff that is known from its place to the end of the bar of its last stroke.
fn placed(attacks: Vec<Attack>, place: Place) -> Result<Riff, ImportError> {
    let last = attacks.last().ok_or(ImportError::Empty)?.tick;
    let bars = (last - place.at).div_euclid(place.bar) + 1;
    let end = place.at + bars * place.bar;
    if end >= FARTHEST {
        return Err(ImportError::TooLong);
    }
    Ok(Riff::new(attacks, place.at, end))
}

/// The velocity of a note-on.
fn velocity(kind: &TrackEventKind) -> Option<u8> {
    match kind {
        TrackEventKind::Midi {
            message: MidiMessage::NoteOn { vel, .. },
            ..
        } if vel.as_int() > 0 => Some(vel.as_int()),
        _ => None,
    }
}
