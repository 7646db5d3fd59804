//! Reads text charts: those that this program prints, and those that a songwriter types.
//!
//! A bar is a row of cells for each piece: its name, then a cell for each count between bars: `hi-hat |x-x-|x-x-|`. A line of
//! numbers above it, a line `bar 7` or an empty line begins a bar. A heading `== Verse: 7/8, 140 BPM ==` says the meter; else
//! the cells do. `bar 3: as bar 1` repeats one.

use crate::groove::{EditTarget, Hit, Limb, Origin};
use crate::kit::{Note, Piece, Ring, names};
use crate::time::{Bar, Meter, Ticks};
use std::collections::BTreeMap;

/// What a chart says.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadChart {
    /// Its first line, where that is no row.
    pub title: String,
    /// Its bars, one after another from tick 0; their numbers are those of the chart where it has any.
    pub bars: Vec<(u32, Bar)>,
    /// Its strokes, in order, at their places on the grid. How hard they are follows from their letters.
    pub hits: Vec<Hit>,
}

/// A chart that can't be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("line {line}: {problem}")]
pub struct ChartError {
    /// The line, from 1.
    pub line: usize,
    /// The problem and its remedy.
    pub problem: String,
}

/// Velocities of letters: an accent, a plain stroke, a ghost note, a grace note.
const ACCENTED: u8 = 112;
const PLAIN: u8 = 92;
const GHOST: u8 = 36;
const GRACE: u8 = 48;

/// Lines below a bar that say no strokes.
const ALSO: [&str; 4] = [HITS, "hands", "feet", "dynamics"];
/// The line of the hits of the band.
const HITS: &str = "hits";

/// A row of a bar: its line, its name, its cells.
type RowOfBar<'a> = (usize, &'a str, Vec<&'a str>);

/// A bar while it is read.
#[derive(Debug, Default)]
struct Open<'a> {
    /// Its line, and its number where it says one.
    line: usize,
    number: Option<u32>,
    rows: Vec<RowOfBar<'a>>,
    /// The bar that it is like.
    like: Option<u32>,
}

impl Open<'_> {
    fn is_empty(&self) -> bool {
        self.number.is_none() && self.rows.is_empty()
    }
}

/// Reads a chart. `meter` is that of bars for which the chart says none; where it is left out, the cells say it.
///
/// # Errors
/// [`ChartError`] names the line and the remedy.
pub fn read(text: &str, meter: Option<Meter>) -> Result<ReadChart, ChartError> {
    let pieces = pieces(text);
    let mut reading = Reading {
        pieces,
        meter,
        chart: ReadChart {
            title: String::new(),
            bars: Vec::new(),
            hits: Vec::new(),
        },
        at: 0,
        spans: BTreeMap::new(),
        marks: Vec::new(),
    };
    let mut open = Open::default();
    for (line, text) in (1..).zip(text.lines()) {
        let trimmed = text.trim();
        if let Some(heading) = trimmed.strip_prefix("==") {
            reading.close(&std::mem::take(&mut open))?;
            reading.meter = of_heading(heading).or(meter);
        } else if let Some((number, like)) = of_bar_line(trimmed) {
            reading.close(&std::mem::take(&mut open))?;
            open = Open {
                line,
                number: Some(number),
                like,
                ..Open::default()
            };
        } else if let Some((name, cells)) = row(text) {
            if open.is_empty() {
                open.line = line;
            }
            open.rows.push((line, name, cells));
        } else if is_ruler(trimmed) || trimmed.is_empty() {
            // After the rows of a bar it begins another one.
            if !open.rows.is_empty() || (trimmed.is_empty() && !open.is_empty()) {
                reading.close(&std::mem::take(&mut open))?;
            }
        } else if !open.rows.is_empty() {
            reading.close(&std::mem::take(&mut open))?;
        } else if reading.chart.title.is_empty() && reading.chart.bars.is_empty() {
            trimmed.clone_into(&mut reading.chart.title);
        }
    }
    reading.close(&open)?;
    let mut chart = reading.chart;
    if chart.bars.is_empty() {
        let problem = "there is no row of a piece: write rows like \"snare |----|o---|----|o---|\"";
        return Err(error(1, problem));
    }
    chart.hits.sort_by_key(|hit| (hit.tick, hit.piece));
    Ok(chart)
}

fn error(line: usize, problem: impl Into<String>) -> ChartError {
    ChartError {
        line,
        problem: problem.into(),
    }
}

/// A row of cells and its name.
fn row(text: &str) -> Option<(&str, Vec<&str>)> {
    let (name, cells) = text.split_once('|')?;
    let name = name.trim().trim_end_matches(':').trim();
    // The legend has a bar in it, and no cell behind.
    let cells = cells.trim().strip_suffix('|').unwrap_or(cells.trim());
    let is_row = !name.is_empty() && !name.contains(',') && !cells.trim().is_empty();
    is_row.then(|| (name, cells.split('|').collect()))
}

fn is_ruler(text: &str) -> bool {
    !text.is_empty()
        && text
            .split_whitespace()
            .all(|word| word.parse::<u8>().is_ok())
}

/// The number of a line `bar 7` or `bar 8: as bar 3`, and the bar that it is like.
fn of_bar_line(text: &str) -> Option<(u32, Option<u32>)> {
    let rest = text.strip_prefix("bar ")?;
    match rest.split_once(':') {
        None => Some((rest.trim().parse().ok()?, None)),
        Some((number, like)) => {
            let like = like.trim().strip_prefix("as bar ")?;
            Some((number.trim().parse().ok()?, Some(like.trim().parse().ok()?)))
        }
    }
}

/// The meter of a heading `== Verse: 7/8, 140 BPM ==`. The name may have a colon, too.
fn of_heading(text: &str) -> Option<Meter> {
    let (_, rest) = text.rsplit_once(": ")?;
    rest.split(',').next()?.trim().parse().ok()
}

/// The pieces that the names of the chart's rows stand for.
fn pieces(text: &str) -> BTreeMap<String, Piece> {
    let mut known = BTreeMap::new();
    let mut unknown: Vec<String> = Vec::new();
    for (name, _) in text.lines().filter_map(row) {
        let name = name.to_lowercase();
        if let Some(piece) = Piece::from_name(&name) {
            known.insert(name, piece);
        } else if !ALSO.contains(&&*name) && !unknown.contains(&name) {
            unknown.push(name);
        }
    }
    // Names of other people's charts are read as a sampler's names of keys are.
    let keyed: Vec<_> = (0..128_u8)
        .zip(&unknown)
        .map(|(key, name)| (Note { channel: 0, key }, name.clone()))
        .collect();
    for line in names::propose(&keyed).lines {
        if let Some(name) = unknown.get(usize::from(line.note.key)) {
            known.insert(name.clone(), line.piece);
        }
    }
    known
}

struct Reading {
    pieces: BTreeMap<String, Piece>,
    meter: Option<Meter>,
    chart: ReadChart,
    at: Ticks,
    /// The bars by their numbers, each with its place among the chart's.
    spans: BTreeMap<u32, usize>,
    /// The hits of the band in the bar that is read.
    marks: Vec<(Ticks, Ring)>,
}

impl Reading {
    /// Reads a bar that is complete.
    fn close(&mut self, open: &Open<'_>) -> Result<(), ChartError> {
        if open.is_empty() {
            return Ok(());
        }
        let line = open.line;
        let place = self.chart.bars.len();
        let before = self.chart.bars.last().map_or(0, |(number, _)| *number);
        let number = open.number.unwrap_or(before + 1);
        if let Some(like) = open.like {
            let Some((_, of)) = self
                .spans
                .get(&like)
                .and_then(|at| self.chart.bars.get(*at))
            else {
                let problem =
                    format!("there is no bar {like} before it: name one that is written out");
                return Err(error(line, problem));
            };
            let (of, bar) = (
                *of,
                Bar {
                    start: self.at,
                    meter: of.meter,
                },
            );
            let inside = |hit: &&Hit| (of.start..of.end()).contains(&hit.grid);
            let moved = |hit: &Hit| Hit {
                tick: hit.tick - of.start + bar.start,
                grid: hit.grid - of.start + bar.start,
                ..*hit
            };
            let again: Vec<Hit> = self.chart.hits.iter().filter(inside).map(moved).collect();
            self.chart.hits.extend(again);
            self.add(number, place, bar);
            return Ok(());
        }
        let meter = match (self.meter, open.rows.first()) {
            (Some(meter), _) => meter,
            (None, Some((line, _, cells))) => of_cells(cells).map_err(|p| error(*line, p))?,
            // An empty bar before all others.
            (None, None) => Meter::FOUR_FOUR,
        };
        let bar = Bar {
            start: self.at,
            meter,
        };
        for (line, name, cells) in &open.rows {
            self.row(*line, name, cells, bar)?;
        }
        for (at, ring) in std::mem::take(&mut self.marks) {
            let is_hit = |hit: &&mut Hit| hit.grid == at && hit.limb < Limb::LeadFoot && !hit.grace;
            for hit in self.chart.hits.iter_mut().filter(is_hit) {
                (hit.origin, hit.ring) = (Origin::Stab, ring);
            }
        }
        self.add(number, place, bar);
        Ok(())
    }

    fn add(&mut self, number: u32, place: usize, bar: Bar) {
        self.chart.bars.push((number, bar));
        self.spans.insert(number, place);
        self.at = bar.end();
    }

    fn row(&mut self, line: usize, name: &str, cells: &[&str], bar: Bar) -> Result<(), ChartError> {
        let name = name.to_lowercase();
        if name == HITS {
            self.marks.extend(band(cells, bar));
        }
        if ALSO.contains(&&*name) {
            return Ok(());
        }
        let Some(&piece) = self.pieces.get(&name) else {
            let all = Piece::ALL.map(Piece::name).join(", ");
            return Err(error(
                line,
                format!("no piece is called \"{name}\": use one of {all}"),
            ));
        };
        let counts = bar.meter.counts();
        if counts.len() != cells.len() {
            let problem = format!(
                "{} cells are not the {} counts of {}: write a cell for each count, as in |x-x-|x-x-|",
                cells.len(),
                counts.len(),
                bar.meter
            );
            return Err(error(line, problem));
        }
        for (count, cell) in counts.iter().zip(cells) {
            let columns = Ticks::try_from(cell.chars().count()).unwrap_or(0);
            if columns == 0 || count.len % columns != 0 {
                let problem = format!(
                    "a cell of {columns} letters divides no count: use 1, 2, 3, 4, 6, 8 or 12 letters a quarter"
                );
                return Err(error(line, problem));
            }
            let step = count.len / columns;
            for (i, letter) in (0..).zip(cell.chars()) {
                let grid = bar.start + count.start + i * step;
                self.letter(line, letter, piece, grid)?;
            }
        }
        Ok(())
    }

    fn letter(
        &mut self,
        line: usize,
        letter: char,
        piece: Piece,
        grid: Ticks,
    ) -> Result<(), ChartError> {
        let (velocity, graces) = match letter {
            '-' | '.' | ' ' => return Ok(()),
            'X' | 'O' => (ACCENTED, 0),
            'x' | 'o' => (PLAIN, 0),
            ',' => (GHOST, 0),
            'f' => (PLAIN, 1),
            'd' => (PLAIN, 2),
            other => {
                let problem = format!(
                    "\"{other}\" is no letter of a chart: use x and o, X and O for accents, a comma for a ghost \
                     note, f for a flam, d for a drag, - for a rest"
                );
                return Err(error(line, problem));
            }
        };
        let hit = |velocity, grace| Hit {
            tick: grid,
            grid,
            limb: limb(piece),
            piece,
            velocity,
            origin: Origin::ByHand,
            target: EditTarget::Piece(piece),
            asked: true,
            grace,
            ghost: letter == ',',
            ring: Ring::Free,
            opening: 0,
            turn: 0,
            alternate: None,
        };
        let graces = (0..graces).map(|_| hit(GRACE, true));
        self.chart.hits.extend(graces);
        self.chart.hits.push(hit(velocity, false));
        Ok(())
    }
}

/// The hits of the band in a bar: where, and how they end.
fn band(cells: &[&str], bar: Bar) -> Vec<(Ticks, Ring)> {
    let mut found = Vec::new();
    for (count, cell) in bar.meter.counts().iter().zip(cells) {
        let columns = Ticks::try_from(cell.chars().count()).unwrap_or(1).max(1);
        for (column, letter) in (0..).zip(cell.chars()) {
            let at = bar.start + count.start + column * count.len / columns;
            match letter {
                '^' => found.push((at, Ring::Grabbed)),
                '>' => found.push((at, Ring::Free)),
                _ => {}
            }
        }
    }
    found
}

/// A limb that can strike a piece.
fn limb(piece: Piece) -> Limb {
    match piece {
        Piece::Kick => Limb::LeadFoot,
        Piece::HiHatFoot => Limb::OtherFoot,
        Piece::Snare | Piece::SideStick => Limb::OtherHand,
        _ => Limb::LeadHand,
    }
}

/// The meter that cells say: as many quarters, or eighths in groups where the last is longer by half.
fn of_cells(cells: &[&str]) -> Result<Meter, String> {
    let widths: Vec<usize> = cells.iter().map(|cell| cell.chars().count()).collect();
    let counts = i64::try_from(widths.len()).unwrap_or(i64::MAX);
    let (first, last) = (widths.first().copied(), widths.last().copied());
    let (first, last) = (first.unwrap_or(0), last.unwrap_or(0));
    let even = |widths: &[usize]| widths.iter().all(|width| *width == first);
    let meter = if even(&widths) {
        Meter::new(counts, 4)
    } else if even(widths.split_last().map_or(&[], |(_, before)| before)) && last * 2 == first * 3 {
        Meter::new(counts * 2 + 1, 8)
    } else {
        return Err("its cells have different lengths: write as many letters in each".to_owned());
    };
    meter.map_err(|error| error.to_string())
}
