//! Imports a section that was exported and edited by hand in a recording program: reads the MIDI file's notes as
//! the rows of a locked section. Also exports such a section again.

mod as_played;

use crate::check::playable::TimedStroke;
use crate::check::verdict::{Verdict, judge};
use crate::engine::offline;
use crate::export::difference::{Difference, difference};
use crate::export::{NamedSection, bars_of};
use crate::groove::Hit;
use crate::kit::note_map::Length;
use crate::kit::{Note, NoteMap, Piece};
use crate::midi::RING_TICKS;
use crate::midi::smf_read::{Read, ReadError, ReadNote, read};
use crate::midi::smf_write::{self, Conductor, DRUMS, Format, NoteTrack, SmfError};
use crate::settings::Player;
use crate::song::locked::{EARLY, Row};
use crate::song::{SongError, Timeline};
use crate::time::{Bar, Meter, Ticks};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::{self, Write as _};

/// Notes of at least this length ring, in ticks: two quarters, half the length of an ending's last hit. Judged.
const RINGS_FROM: Ticks = RING_TICKS / 2;

/// The first and the last bar of a file, counted from 1.
pub type FileBars = (u32, u32);

/// A MIDI file that does not fit as a section. Each message says what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum EditError {
    /// It can't be read.
    #[error(transparent)]
    Read(#[from] ReadError),
    /// No note on a piece of the kit.
    #[error(
        "it has no note on a piece of the kit there: choose other bars, or name its keys in a map \
         (docs/sampler.md)"
    )]
    Empty,
    /// The whole file has more bars than the section.
    #[error(
        "its notes are in bars {first}-{last}, and the section has {bars}: choose as many of them, as in \
         {first}-{example}", example = first + bars - 1
    )]
    TooLong {
        /// The first bar with a note, counted from 1.
        first: i64,
        /// The last.
        last: i64,
        /// The bars of the section.
        bars: i64,
    },
    /// The user chose more or fewer bars than the section has.
    #[error("bars {from}-{to} are not the {bars} of the section: choose {from}-{example}", example = i64::from(*from) + bars - 1)]
    Bars {
        /// The first chosen bar, counted from 1.
        from: u32,
        /// The last chosen bar.
        to: u32,
        /// The bars of the section.
        bars: i64,
    },
    /// A bar has another meter than the section's, or is cut short.
    #[error(
        "bar {bar} of the file is in {file}, and that bar of the section in {section}: export it with the \
         song's time signatures, or choose other bars"
    )]
    Meter {
        /// The bar of the file, counted from 1.
        bar: i64,
        /// Its meter there.
        file: String,
        /// The section's.
        section: Meter,
    },
    /// Keys without a piece of the kit.
    #[error(
        "{}: name them in a map (docs/sampler.md), or leave them out", keys(.0)
    )]
    Unknown(BTreeMap<u8, usize>),
}

/// How to treat notes on keys without a piece of the kit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unknown {
    /// Refuse the file.
    Refuse,
    /// Leave them out and count them.
    LeaveOut,
}

/// What the import took and left out.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Report {
    /// The first and last bar of the file that it took, counted from 1, where the file is longer than the section and
    /// nobody chose: those at which the section lies in the song.
    pub taken: Option<FileBars>,
    /// Notes that duplicate a louder one of the same piece at the same tick, as with layered keys.
    pub doubled: usize,
    /// Keys without a piece of the kit, and the number of notes on each in these bars.
    pub unknown: BTreeMap<u8, usize>,
    /// Notes in other bars of the file.
    pub outside: usize,
    /// Notes on channels other than the map's.
    pub elsewhere: usize,
    /// Notes that the map gives to several pieces, and that nothing tells apart: the pieces, the first of which they were
    /// read as, and how many there are on each.
    pub unclear: BTreeMap<Note, (Vec<Piece>, usize)>,
}

impl fmt::Display for Report {
    /// One line for each thing that the import left out.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some((first, last)) = self.taken {
            writeln!(
                f,
                "read from bars {first}-{last} of the file, where the section lies in the song"
            )?;
        }
        if self.doubled > 0 {
            writeln!(
                f,
                "{} notes double a stroke of the same piece and count with it",
                self.doubled
            )?;
        }
        if !self.unknown.is_empty() {
            writeln!(f, "{}: left out", keys(&self.unknown))?;
        }
        if self.outside > 0 {
            writeln!(
                f,
                "{} notes in other bars of the file are left out",
                self.outside
            )?;
        }
        if self.elsewhere > 0 {
            writeln!(
                f,
                "{} notes on other channels than the sampler's are left out: give them that channel in the recording \
                 program, and they count",
                self.elsewhere
            )?;
        }
        for (note, (pieces, count)) in &self.unclear {
            let names: Vec<_> = pieces.iter().map(|piece| piece.name()).collect();
            writeln!(
                f,
                "{note} is {}: its {} read as {}. Give these pieces keys of their own in the map to tell them apart",
                names.join(" and "),
                strokes(*count),
                names.first().copied().unwrap_or_default(),
            )?;
        }
        Ok(())
    }
}

/// The options of an import.
#[derive(Debug, Clone)]
pub struct Reading<'a> {
    /// What the sampler is sent. For pieces that share a key, the import takes the one that the section plays.
    pub map: &'a NoteMap,
    /// The bars of the file, as for [`from_midi`].
    pub bars: Option<FileBars>,
    /// How to treat notes on keys without a piece of the kit.
    pub unknown: Unknown,
    /// The player whose limits the verdict uses.
    pub player: Player,
}

/// An imported section.
#[derive(Debug, Clone, PartialEq)]
pub struct BroughtBack {
    /// Its strokes.
    pub rows: Vec<Row>,
    /// What the import left out.
    pub report: Report,
    /// Whether the player can play it.
    pub verdict: Verdict,
    /// The player whose limits the verdict used.
    pub player: Player,
}

impl fmt::Display for BroughtBack {
    /// The report and the verdict, one line for each.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.report, self.verdict)?;
        let who = format!("two hands and two feet ({})", self.player.name());
        match self.verdict.problems {
            0 => writeln!(f, "It can be played by {who}."),
            n => writeln!(
                f,
                "{} can't be played by {who}; locked all the same",
                strokes(n)
            ),
        }
    }
}

/// A number of strokes, in words.
pub fn strokes(count: usize) -> String {
    format!("{count} stroke{}", if count == 1 { "" } else { "s" })
}

/// Reads a MIDI file as the strokes of a section of a song, and checks their playability.
///
/// # Errors
/// [`EditError`] names the mismatch.
pub fn bring_back(
    bytes: &[u8],
    song: &Timeline,
    section: &NamedSection,
    reading: &Reading,
) -> Result<BroughtBack, EditError> {
    let bars = bars_of(song, section);
    let before = song
        .bars()
        .partition_point(|bar| bar.start < section.span.start);
    let from = u32::try_from(before + 1).unwrap_or(u32::MAX);
    let to = from.saturating_add(u32::try_from(bars.len()).unwrap_or(u32::MAX)) - 1;
    let chosen = (reading.bars, Some((from, to)));
    let (mut read, mut report) = notes(bytes, reading.map, bars, chosen, reading.unknown)?;
    let hits = offline::play(song);
    let start = section.span.start;
    let chokes = offline::chokes(&hits, song, reading.map);
    as_played::leave_out_chokes(&mut read, &chokes, start);
    as_played::name_pieces(&mut read, &hits, start, reading.map);
    for (_, note) in read.iter().filter(|(_, note)| note.candidates.len() > 1) {
        let pieces = || (note.candidates.to_vec(), 0);
        report.unclear.entry(note.note).or_insert_with(pieces).1 += 1;
    }
    let (rows, doubled) = rows(read);
    report.doubled = doubled;
    let verdict = verdict(&rows, song, section, reading.player);
    Ok(BroughtBack {
        rows,
        report,
        verdict,
        player: reading.player,
    })
}

/// What a section that came back does otherwise than the drummer plays it, as edits by hand. Its present edits are
/// replaced by them.
///
/// # Errors
/// [`SongError`] where the edits would be more than a section or a bar has room for.
pub fn as_edits(
    rows: &[Row],
    song: &Timeline,
    section: &NamedSection,
    place: usize,
) -> Result<Difference, SongError> {
    let (start, end) = (section.span.start, section.span.end);
    let mut problem = None;
    let found = difference(rows, |edits| {
        let edited = song.with_edits(place, edits);
        let edited = edited.map_err(|error| problem = Some(error)).ok();
        let hits = edited.as_ref().map(offline::play).unwrap_or_default();
        let inside = hits
            .into_iter()
            .filter(|hit| hit.tick > start - EARLY && hit.tick < end);
        let moved = inside.map(|hit| Hit {
            tick: hit.tick - start,
            grid: hit.grid - start,
            ..hit
        });
        // A stroke that belongs to the next section may be early.
        moved.filter(|hit| hit.grid < end - start).collect()
    });
    problem.map_or(Ok(found), Err)
}

/// Keys and how many notes they have, in words.
fn keys(unknown: &BTreeMap<u8, usize>) -> String {
    let mut text = String::from("no piece of the kit has ");
    for (i, (key, count)) in unknown.iter().enumerate() {
        let comma = if i == 0 { "" } else { ", " };
        let notes = if *count == 1 { "note" } else { "notes" };
        let _ = write!(text, "{comma}key {key} ({count} {notes})");
    }
    text
}

/// Reads a MIDI file as the strokes of a section with these bars. `chosen` are the first and last bar of the file,
/// counted from 1; without it, the whole file. The file's tempi are ignored. A note less than [`EARLY`] before the
/// first bar belongs to it.
///
/// # Errors
/// [`EditError`] says what does not fit.
pub fn from_midi(
    bytes: &[u8],
    map: &NoteMap,
    section: &[Bar],
    chosen: Option<FileBars>,
    unknown: Unknown,
) -> Result<(Vec<Row>, Report), EditError> {
    let (read, report) = notes(bytes, map, section, (chosen, None), unknown)?;
    let (rows, doubled) = rows(read);
    Ok((rows, Report { doubled, ..report }))
}

/// Reads the notes of a file as strokes of a section, each with its row. Where no bars are `chosen` and the file is longer
/// than the section, it takes those at which the section lies in the `song`, if the file goes so far.
fn notes(
    bytes: &[u8],
    map: &NoteMap,
    section: &[Bar],
    (chosen, song): (Option<FileBars>, Option<FileBars>),
    unknown: Unknown,
) -> Result<(Vec<(Row, ReadNote)>, Report), EditError> {
    let file = read(bytes, map)?;
    let mut taken = None;
    let first = match (first_bar(&file, map, section, chosen), song) {
        (Err(EditError::TooLong { last, .. }), Some((from, to))) if last >= i64::from(to) => {
            taken = song;
            i64::from(from)
        }
        (first, _) => first?,
    };
    let (start, end) = fit(&file, section, first)?;
    let is_inside = |tick: Ticks| tick > start - EARLY && tick < end;
    let mut keys = BTreeMap::new();
    for (_, key) in file.unknown.iter().filter(|(tick, _)| is_inside(*tick)) {
        *keys.entry(*key).or_insert(0) += 1;
    }
    if unknown == Unknown::Refuse && !keys.is_empty() {
        return Err(EditError::Unknown(keys));
    }
    let begins: BTreeSet<_> = file
        .notes
        .iter()
        .map(|note| (note.tick, note.note))
        .collect();
    let rings = |note: &ReadNote| match map.get(note.piece).length {
        // Such notes are long all by themselves, up to the next stroke.
        Length::UntilNext => {
            note.length == RING_TICKS && !begins.contains(&(note.tick + note.length, note.note))
        }
        Length::Short | Length::Rings => note.length >= RINGS_FROM,
    };
    let inside = file.notes.iter().filter(|note| is_inside(note.tick));
    let read: Vec<_> = inside
        .map(|note| (row(note, start, rings(note)), note.clone()))
        .collect();
    if read.is_empty() {
        return Err(EditError::Empty);
    }
    let report = Report {
        taken,
        unknown: keys,
        outside: file.notes.len() - read.len(),
        elsewhere: file.elsewhere,
        ..Report::default()
    };
    Ok((read, report))
}

/// The rows in order, one for each piece and tick, and how many notes doubled another.
fn rows(read: Vec<(Row, ReadNote)>) -> (Vec<Row>, usize) {
    let all = read.len();
    let mut rows: Vec<_> = read.into_iter().map(|(row, _)| row).collect();
    rows.sort_by_key(|row| (row.tick, row.piece, std::cmp::Reverse(row.velocity)));
    rows.dedup_by_key(|row| (row.tick, row.piece));
    let doubled = all - rows.len();
    (rows, doubled)
}

fn row(note: &ReadNote, start: Ticks, rings: bool) -> Row {
    Row {
        tick: note.tick - start,
        piece: note.piece,
        velocity: note.velocity,
        rings,
        alternate: note.alternate,
        opening: note.opening,
    }
}

/// The bar of the file at which the section begins, counted from 1.
fn first_bar(
    file: &Read,
    map: &NoteMap,
    section: &[Bar],
    chosen: Option<FileBars>,
) -> Result<i64, EditError> {
    let chokes: BTreeSet<_> = map.chokes().collect();
    let bars = i64::try_from(section.len()).unwrap_or(i64::MAX);
    if let Some((from, to)) = chosen {
        let fits = from > 0 && i64::from(to) - i64::from(from) + 1 == bars;
        return if fits {
            Ok(i64::from(from))
        } else {
            let from = from.max(1);
            Err(EditError::Bars { from, to, bars })
        };
    }
    let ticks = || {
        let unknown = file.unknown.iter().map(|(tick, _)| *tick);
        // What a map uses as a choke may come after the last bar, where a piece has the key as well.
        let strokes = file
            .notes
            .iter()
            .filter(|note| !chokes.contains(&note.note));
        strokes.map(|note| note.tick).chain(unknown)
    };
    let number = |tick: Option<Ticks>| file.bar(tick.unwrap_or(0)).0;
    let (first, last) = (number(ticks().min()), number(ticks().max()));
    if last > bars {
        return Err(EditError::TooLong { first, last, bars });
    }
    Ok(1)
}

/// The ticks of the bars from `first` on in the file, if their meters match the section's.
fn fit(file: &Read, section: &[Bar], first: i64) -> Result<(Ticks, Ticks), EditError> {
    let start = file.numbered(first).0.start;
    let mut end = start;
    for (number, bar) in (first..).zip(section) {
        let (here, until) = file.numbered(number);
        let is_whole = until == here.end();
        if here.meter != bar.meter || !is_whole {
            let cut = if is_whole {
                ""
            } else {
                ", cut short by the next"
            };
            return Err(EditError::Meter {
                bar: number,
                file: format!("{}{cut}", here.meter),
                section: bar.meter,
            });
        }
        end = until;
    }
    Ok((start, end))
}

/// Whether two hands and two feet can play the rows of a section, at the song's tempo and with the song's bar
/// numbers.
pub fn verdict(rows: &[Row], song: &Timeline, section: &NamedSection, player: Player) -> Verdict {
    let struck = |row: &Row| {
        let tick = (section.span.start + row.tick).max(0);
        TimedStroke {
            tick,
            seconds: song.tempo().seconds(tick as f64),
            piece: row.piece,
        }
    };
    let mut strokes: Vec<_> = rows.iter().map(struck).collect();
    strokes.sort_by_key(|struck| struck.tick);
    let bars = song.bars();
    judge(&strokes, player, |tick| {
        let next = bars.partition_point(|bar| bar.start <= tick).max(1);
        let bar = bars.get(next - 1).copied();
        let none = Bar {
            start: 0,
            meter: Meter::FOUR_FOUR,
        };
        (i64::try_from(next).unwrap_or(i64::MAX), bar.unwrap_or(none))
    })
}

/// The rows of a section as a MIDI file, including those beyond its end. The file begins with the section, or one
/// bar earlier where a row is early: the second value is then true.
///
/// # Errors
/// [`SmfError`] where the format can't represent a position.
pub fn to_midi(
    rows: &[Row],
    song: &Timeline,
    section: &NamedSection,
    map: &NoteMap,
) -> Result<(Vec<u8>, bool), SmfError> {
    let early = rows.iter().any(|row| row.tick < 0);
    let bar = bars_of(song, section).first();
    let lead = bar.filter(|_| early).map_or(0, |bar| bar.meter.bar_len());
    let span = section.span.clone();
    let mut conductor = Conductor::cut(span, song.tempo(), song.bars(), song.markers());
    conductor.title = format!("{}: {}", song.title(), section.label);
    conductor.end += lead;
    // The section's tempo and meter apply to the bar before as well.
    let later = |at: &mut Ticks| *at += if *at > 0 { lead } else { 0 };
    conductor.tempi.iter_mut().for_each(|(at, _)| later(at));
    conductor.meters.iter_mut().for_each(|(at, _)| later(at));
    conductor.markers.iter_mut().for_each(|(at, _)| *at += lead);
    // As the song's engine would play them, at the start of a song.
    let hits = crate::song::locked::hits(rows, lead);
    let sent = offline::notes(&hits, song, map);
    let track = NoteTrack {
        name: DRUMS.to_owned(),
        notes: sent.notes.into_iter().map(|(note, _)| note).collect(),
        expressions: sent.expressions.into_iter().map(|(e, _)| e).collect(),
    };
    let bytes = smf_write::write_tracks(&conductor, &[track], Format::Parallel)?;
    Ok((bytes, early))
}
