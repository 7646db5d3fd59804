//! A riff from a file: the notes of a MIDI track, or a recording of the guitar.

use super::attacks::{Attack, FARTHEST, Riff};
use super::sound::{SoundError, listen};
use crate::midi::smf_tracks::{ReadError, Tracks};
use crate::time::{TICKS_PER_QUARTER, TempoMap, Ticks};

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

/// A file that gives no riff. Each message says what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ImportError {
    /// Not a MIDI file, or a damaged one.
    #[error(transparent)]
    Midi(#[from] ReadError),
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

/// The note-ons of a track of a MIDI file as a riff; the only track with notes where none is chosen.
/// Tracks are numbered from 1.
///
/// # Errors
/// [`ImportError`].
pub fn from_midi(file: &[u8], track: Option<usize>, place: Place) -> Result<Riff, ImportError> {
    let file = Tracks::read(file)?;
    let Tracks { tracks, .. } = &file;
    let with_notes: Vec<usize> = (1..=tracks.len())
        .filter(|i| !tracks[i - 1].notes.is_empty())
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
    let mut attacks = Vec::<Attack>::new();
    for note in &tracks[chosen - 1].notes {
        let tick = place.at + file.ticks(note.at);
        let strength = f32::from(note.velocity) / 127.0;
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
