//! A song as a drummer reads it: MusicXML for notation programs, a short chart to print, or plain text.
//!
//! - [`part`]: what is played, bar by bar, as chords of the hands and of the feet
//! - [`form`]: what is written once and repeated
//! - [`marks`]: sections, tempi, beats, dynamics and swing above the bars
//! - `spell`, `place`, `beams`: rhythms as people read them
//! - `stave`: where each piece stands, and the source of it
//! - `music_xml`, `mxl`: the open format MusicXML 4.0, plain or packed
//! - `sheet`: the short chart, as SVG or PDF
//!
//! See `docs/score.md`.

mod accents;
mod beams;
mod drawing;
pub mod form;
pub mod marks;
mod music_xml;
mod mxl;
pub mod part;
mod place;
mod rolls;
mod sheet;
mod spell;
mod stave;
mod xml;

use crate::engine::offline;
use crate::export::text_chart::{self, Also};
use crate::export::{ExportError, What, sections, span};
use crate::kit::Piece;
use crate::song::Timeline;
use form::Form;
use marks::Marks;
use part::WrittenBar;
use std::collections::BTreeSet;
use std::fmt;

choice! {
    /// The paper of a printed page.
    Paper "paper" {
        /// 210 by 297 mm (ISO 216).
        A4 = "A4",
        /// 8.5 by 11 inches (ANSI A).
        Letter = "letter",
    }
}

impl Paper {
    /// Its width and height, in millimetres.
    pub fn size_mm(self) -> (f64, f64) {
        match self {
            Self::A4 => (210.0, 297.0),
            Self::Letter => (215.9, 279.4),
        }
    }
}

choice! {
    /// A kind of file, by the ending of its name.
    ScoreFormat "kind of score" {
        /// MusicXML 4.0, for notation programs.
        MusicXml = "musicxml",
        /// The same, packed.
        Packed = "mxl",
        /// The short chart, to print.
        Pdf = "pdf",
        /// The short chart as a picture.
        Svg = "svg",
        /// Every bar in plain text.
        Text = "txt",
    }
}

/// The endings of the names of scores, as a message lists them.
pub(super) fn endings() -> String {
    ScoreFormat::NAMES
        .iter()
        .map(|name| format!(".{name}"))
        .collect::<Vec<_>>()
        .join(", ")
}

impl ScoreFormat {
    /// The kind of a file by its name.
    ///
    /// # Errors
    /// [`ExportError::Ending`] lists the endings that there are.
    pub fn of_file(name: &str) -> Result<Self, ExportError> {
        let ending = name
            .rsplit_once('.')
            .map_or("", |(_, ending)| ending)
            .to_lowercase();
        Self::from_name(&ending).ok_or_else(|| ExportError::Ending(name.to_owned()))
    }
}

/// A written score.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WrittenScore {
    /// The bytes of its file.
    pub bytes: Vec<u8>,
    /// How many strokes the bars have, repeats played.
    pub strokes: usize,
    /// The bars of the song that are in it, counted from 1: the first, and the last.
    pub bars: (usize, usize),
}

impl fmt::Display for WrittenScore {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (from, to) = self.bars;
        let bars = if from == to {
            format!("bar {from}")
        } else {
            format!("bars {from}-{to}")
        };
        let strokes = if self.strokes == 1 {
            "stroke"
        } else {
            "strokes"
        };
        write!(f, "{bars}: {} {strokes}", self.strokes)
    }
}

/// Writes a song, or a part of it. It plays the whole song: not for the audio thread.
///
/// # Errors
/// [`ExportError`] where the song has no such bars or section.
pub fn write(
    song: &Timeline,
    format: ScoreFormat,
    options: &ScoreOptions,
) -> Result<WrittenScore, ExportError> {
    let score = Score::of(song, options)?;
    let bytes = match format {
        ScoreFormat::MusicXml => music_xml::music_xml(&score),
        ScoreFormat::Packed => mxl::packed(&music_xml::music_xml(&score)),
        ScoreFormat::Pdf => drawing::pdf(&sheet::sheet(song, &score)),
        ScoreFormat::Svg => drawing::svg(&sheet::sheet(song, &score)),
        ScoreFormat::Text => text(song, options)?.into_bytes(),
    };
    let number = |bar: Option<&WrittenBar>| bar.map_or(0, |bar| bar.number);
    Ok(WrittenScore {
        bytes,
        strokes: score.strokes(),
        bars: (number(score.bars.first()), number(score.bars.last())),
    })
}

/// Every bar in plain text.
fn text(song: &Timeline, options: &ScoreOptions) -> Result<String, ExportError> {
    let also = Also {
        stickings: options.stickings,
        dynamics: options.dynamics,
    };
    let span = span(song, &options.what)?;
    Ok(text_chart::chart_of(
        song,
        &offline::play(song),
        &span,
        also,
    ))
}

/// What is written, and how.
#[derive(Debug, Clone, PartialEq)]
pub struct ScoreOptions {
    /// Which part of the song.
    pub what: What,
    /// Whether it says which hand and foot strikes.
    pub stickings: bool,
    /// Whether plain text says how hard each stroke is.
    pub dynamics: bool,
    /// Whether bars that keep time have slashes.
    pub slashes: bool,
    /// The paper to print on.
    pub paper: Paper,
}

impl Default for ScoreOptions {
    /// The whole song, every stroke written, on A4.
    fn default() -> Self {
        Self {
            what: What::Whole,
            stickings: false,
            dynamics: false,
            slashes: false,
            paper: Paper::A4,
        }
    }
}

/// A song, or a part of it, as it is written.
#[derive(Debug, Clone, PartialEq)]
pub struct Score {
    /// The song's title.
    pub title: String,
    /// The bars.
    pub bars: Vec<WrittenBar>,
    /// How each bar is written.
    pub forms: Vec<Form>,
    /// What is said at each bar.
    pub marks: Vec<Marks>,
    /// Whether it says which hand and foot strikes.
    pub stickings: bool,
    /// The paper to print on.
    pub paper: Paper,
}

impl Score {
    /// Writes a song down. It plays the whole song: not for the audio thread.
    ///
    /// # Errors
    /// [`ExportError`] where the song has no such bars or section.
    pub fn of(song: &Timeline, options: &ScoreOptions) -> Result<Self, ExportError> {
        let span = span(song, &options.what)?;
        let mut bars = part::written(song, options.stickings, options.slashes);
        bars.retain(|bar| span.contains(&bar.bar.start));
        let names: Vec<_> = sections(song)
            .into_iter()
            .map(|section| section.label)
            .collect();
        let marks = marks::marks(song, &bars, &names);
        let forms = form::forms(&bars, |i| marks[i].breaks());
        Ok(Self {
            title: song.title().to_owned(),
            bars,
            forms,
            marks,
            stickings: options.stickings,
            paper: options.paper,
        })
    }

    /// The pieces that are struck, each by hand or by foot, from the top of the stave to the bottom.
    pub fn pieces(&self) -> Vec<(Piece, bool)> {
        let mut pieces = BTreeSet::new();
        for bar in &self.bars {
            for chord in bar.voices().into_iter().flat_map(|voice| &voice.chords) {
                let heads = chord.heads.iter().chain(&chord.graces);
                pieces.extend(heads.map(|head| (head.piece, head.by_foot)));
            }
        }
        let mut pieces: Vec<_> = pieces.into_iter().collect();
        let step = |&(piece, by_foot): &(Piece, bool)| -stave::Look::of(piece, by_foot).step;
        pieces.sort_by_key(step);
        pieces
    }

    /// How many strokes are in it, repeats played.
    pub fn strokes(&self) -> usize {
        let voices = self.bars.iter().flat_map(WrittenBar::voices);
        let chords = voices.flat_map(|voice| &voice.chords);
        chords
            .map(|chord| chord.heads.len() + chord.graces.len() + usize::from(chord.roll))
            .sum()
    }
}
