//! A song, some of its bars or one section as a MIDI file, with the options that the songwriter chose on the
//! command line or in the editor.
//!
//! The export plays the song from its start and then cuts it, so that a part has the same notes as the whole. See
//! `docs/export.md`.

mod options;
mod sections;

pub use options::{CommandOption, OPTIONS, Options, Tracks, What};
pub use sections::{NamedSection, bars_of, number_of, sections};

use crate::engine::offline::{self, Notes};
use crate::groove::{Hit, Limb};
use crate::kit::{NoteMap, Piece};
use crate::midi::Region;
use crate::midi::region::shorten;
use crate::midi::smf_write::{self, Conductor, DRUMS, Format, NoteTrack, SmfError};
use crate::song::Timeline;
use crate::time::{Bar, Ticks};
use std::fmt;
use std::ops::Range;

/// An export that failed. Each message says what to do.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ExportError {
    /// An unknown option.
    #[error("there is no option {0}: use one of {names}", names = options::names())]
    Option(String),
    /// An unknown text for an option that takes one of a few names.
    #[error("{option} \"{text}\" is not known: use one of {names}", names = names.join(", "))]
    Choice {
        /// The option.
        option: &'static str,
        /// The given text.
        text: String,
        /// The valid texts.
        names: &'static [&'static str],
    },
    /// The text names no bars.
    #[error("\"{0}\" are no bars: write first and last, as in 5-8, or a single bar, as in 5")]
    NotBars(String),
    /// Bars beyond the song.
    #[error("there are no bars {from}-{to}: bars go from 1 to {last} in this song")]
    Bars {
        /// The first bar asked for.
        from: u32,
        /// The last bar asked for.
        to: u32,
        /// The last bar of the song.
        last: usize,
    },
    /// The last bar comes before the first.
    #[error("bar {from} comes after bar {to}: write the first bar first, {to}-{from}")]
    Backwards {
        /// The first bar asked for.
        from: u32,
        /// The last bar asked for.
        to: u32,
    },
    /// Both bars and a section were given.
    #[error("bars and a section were both named: leave one of them out")]
    Both,
    /// A section that is not in the song.
    #[error("there is no section \"{name}\": use one of {labels}", labels = labels.join(", "))]
    NoSection {
        /// The given name.
        name: String,
        /// The valid labels.
        labels: Vec<String>,
    },
    /// Several sections of that name.
    #[error("there are several sections \"{name}\": use one of {labels}", labels = labels.join(", "))]
    Several {
        /// The given name.
        name: String,
        /// The valid labels.
        labels: Vec<String>,
    },
    /// A feel out of range.
    #[error("feel \"{0}\" is out of range: use a number from 0 (the exact grid) to 1")]
    Feel(String),
    /// A take out of range.
    #[error("take \"{0}\" is out of range: use a whole number from 1 to 999")]
    Take(String),
    /// Format 0 has no room for tracks.
    #[error(
        "a file of format 0 has a single track: use format 1 for a track for each of the {}, or \
         keep all on one track",
        .0.name()
    )]
    SingleTrack(Tracks),
    /// The name of a file that no score has.
    #[error(
        "a score is no \"{0}\": end the name of the file in {endings}",
        endings = crate::export::score::endings()
    )]
    Ending(String),
    /// The format can't represent the song.
    #[error(transparent)]
    Smf(#[from] SmfError),
}

/// The exported file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Exported {
    /// Its bytes.
    pub bytes: Vec<u8>,
    /// How many notes are in it.
    pub notes: usize,
    /// The bars of the song that are in it, counted from 1: the first, and the last.
    pub bars: (u32, u32),
}

impl fmt::Display for Exported {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let notes = if self.notes == 1 { "note" } else { "notes" };
        let bars = What::Bars(self.bars.0, self.bars.1);
        write!(f, "{bars}: {} {notes}", self.notes)
    }
}

/// Makes a file of `song` with the keys of `map`. It plays the whole song: not for the audio
/// thread.
///
/// A part of a song begins at tick 0 of its file, with the tempo, the meter and the section in force there. A note
/// that would ring beyond the part ends with it, so that files placed end to end do not overlap and a loop keeps
/// its length; drum samplers ignore note lengths. At the end of the song the last hit keeps its full length.
///
/// # Errors
/// [`ExportError`] names the problem and the valid choices.
pub fn export(song: &Timeline, options: &Options, map: &NoteMap) -> Result<Exported, ExportError> {
    options.check()?;
    let mut set = song.clone();
    if let Some(feel) = options.feel {
        set.start_mut().bar_settings.feel = feel;
    }
    if let Some(take) = options.take {
        set.start_mut().bar_settings.take = take;
    }
    let span = span(&set, &options.what)?;
    let mut conductor = Conductor::cut(span.clone(), set.tempo(), set.bars(), set.markers());
    conductor.title = title(&set, &options.what);
    let sent = cut(&set, &span, map);
    let tracks = split(&sent, options.tracks);
    let bars = |of: &dyn Fn(&Bar) -> bool| {
        u32::try_from(set.bars().partition_point(of)).unwrap_or(u32::MAX)
    };
    Ok(Exported {
        bytes: smf_write::write_tracks(&conductor, &tracks, options.format)?,
        notes: sent.notes.len(),
        bars: (
            bars(&|bar| bar.end() <= span.start) + 1,
            bars(&|bar| bar.start < span.end),
        ),
    })
}

/// The ticks of the song that are asked for.
pub(super) fn span(song: &Timeline, what: &What) -> Result<Range<Ticks>, ExportError> {
    match what {
        What::Whole => Ok(0..song.end()),
        What::Section(name) => Ok(sections::find(song, name)?.span),
        &What::Bars(from, to) => {
            let bars = song.bars();
            let bar = |number: u32| bars.get((number as usize).checked_sub(1)?);
            if from > to {
                return Err(ExportError::Backwards { from, to });
            }
            let (Some(first), Some(last)) = (bar(from), bar(to)) else {
                let last = bars.len();
                return Err(ExportError::Bars { from, to, last });
            };
            Ok(first.start..last.end())
        }
    }
}

fn title(song: &Timeline, what: &What) -> String {
    match what {
        What::Whole => song.title().to_owned(),
        What::Bars(..) => format!("{}: {what}", song.title()),
        What::Section(name) => {
            let label = sections::find(song, name).map_or_else(|_| name.clone(), |s| s.label);
            format!("{}: {label}", song.title())
        }
    }
}

/// What is sent in a span, positions from its start.
fn cut(song: &Timeline, span: &Range<Ticks>, map: &NoteMap) -> Notes {
    let goes_on = span.end < song.end();
    let mut hits = offline::play(song);
    let mut sent = offline::notes(&hits, song, map);
    // By the grid: the 1 may sound a little before its bar line.
    sent.notes.retain(|(_, hit)| span.contains(&hit.grid));
    if !sent.expressions.is_empty() {
        // The part says how far the hi-hat is open from its first stroke on.
        hits.retain(|hit| span.contains(&hit.grid));
        sent.expressions = offline::notes(&hits, song, map).expressions;
    }
    for (note, _) in &mut sent.notes {
        note.tick = note.tick.max(span.start);
        if goes_on {
            note.length = note.length.min(span.end - note.tick);
        }
        note.tick -= span.start;
    }
    // What came a little before the part comes with its first tick, and still ends where its key is struck again.
    shorten(sent.notes.iter_mut().map(|(note, _)| note).rev());
    sent.notes.retain(|(note, _)| note.length > 0);
    for (expression, _) in &mut sent.expressions {
        expression.tick = expression.tick.max(span.start) - span.start;
    }
    if goes_on {
        // What is grabbed beyond the part ends with it.
        let end = span.end - span.start;
        sent.expressions
            .retain(|(expression, _)| expression.tick < end);
    }
    sent
}

/// The tracks without empty ones, but at least one.
fn split(sent: &Notes, tracks: Tracks) -> Vec<NoteTrack> {
    let track = |name: &str, of: &dyn Fn(&Hit) -> bool| {
        let notes = sent.notes.iter().filter(|(_, hit)| of(hit));
        let expressions = sent.expressions.iter().filter(|(_, hit)| of(hit));
        NoteTrack {
            name: name.to_owned(),
            notes: notes.map(|(note, _)| *note).collect(),
            expressions: expressions.map(|(expression, _)| *expression).collect(),
        }
    };
    let all = || track(DRUMS, &|_| true);
    let mut split: Vec<_> = match tracks {
        Tracks::One => return vec![all()],
        Tracks::Limbs => Limb::ALL
            .iter()
            .map(|limb| track(limb.name(), &|hit| hit.limb == *limb))
            .collect(),
        Tracks::Pieces => Piece::ALL
            .iter()
            .map(|piece| track(piece.name(), &|hit| hit.piece == *piece))
            .collect(),
    };
    split.retain(|track| !track.notes.is_empty());
    if split.is_empty() {
        split.push(all());
    }
    split
}

impl Default for Options {
    /// The whole song as it is, in format 1, on one track.
    fn default() -> Self {
        Self {
            what: What::Whole,
            feel: None,
            take: None,
            format: Format::Parallel,
            tracks: Tracks::One,
        }
    }
}

impl From<&Timeline> for Conductor {
    fn from(song: &Timeline) -> Self {
        let all = Self::cut(0..song.end(), song.tempo(), song.bars(), song.markers());
        Self {
            title: song.title().to_owned(),
            ..all
        }
    }
}

/// The bytes of a format-1 file: the song's conductor track, and `region` as its drum track.
///
/// # Errors
/// [`SmfError`] where the format can't represent a position.
pub fn write_song(timeline: &Timeline, region: &Region) -> Result<Vec<u8>, SmfError> {
    let drums = NoteTrack {
        name: DRUMS.to_owned(),
        notes: region.notes.clone(),
        expressions: region.expressions.clone(),
    };
    smf_write::write_tracks(&Conductor::from(timeline), &[drums], Format::Parallel)
}
