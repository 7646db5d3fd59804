//! Makes an own beat of what is played: a phrase of the drummer with its edits, a region, a text chart.
//!
//! What stands in every repetition of the cycle is the core. What stands in some of them is an extra, with the rarer the
//! higher its rank. What the riding hand does is found, so that hand cymbal and hand rate act on it. What could not be
//! understood is in the [`Report`].

mod bars;
mod grid;
mod heard;
mod report;
mod riding;
mod voices;

use super::model::{MAX_BARS, MAX_STROKES_IN_BAR, OwnBeat, OwnStroke};
use super::{OwnBeatError, Strikes};
use crate::groove::Hit;
use crate::kit::Piece;
use crate::time::{Bar, Meter};
use bars::Bars;
pub use heard::Heard;
pub use report::Report;
use riding::Riding;

/// Most bars that a beat is made of. Judged: a long song's.
pub const MAX_HEARD: usize = 512;

/// What to make of it.
#[derive(Debug, Clone, Default)]
pub struct Wish {
    /// What the songwriter calls the beat.
    pub name: String,
    /// How many bars its cycle has; `None` to find it.
    pub cycle: Option<usize>,
}

/// A beat, and what was made of what.
#[derive(Debug, Clone, PartialEq)]
pub struct Learned {
    /// The beat.
    pub beat: OwnBeat,
    /// What was left out, and what was understood how.
    pub report: Report,
}

/// Why no beat can be made. Each message says what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LearnError {
    /// There are no bars, or too many.
    #[error("{0} bars are not 1 to {MAX_HEARD}: choose other bars")]
    Bars(usize),
    /// The cycle does not fit.
    #[error("a cycle of {cycle} bars is not 1 to {most}: choose another, or leave it to be found")]
    Cycle {
        /// The cycle that was asked for.
        cycle: usize,
        /// The longest there can be.
        most: usize,
    },
    /// No stroke lies in the bars.
    #[error("no stroke lies in these bars: choose others")]
    Empty,
    /// It has more strokes than a beat can have.
    #[error("a bar has more than {MAX_STROKES_IN_BAR} strokes: choose other bars")]
    TooMany,
    /// The beat that comes of it can't be played.
    #[error(transparent)]
    Beat(#[from] OwnBeatError),
}

/// Makes a beat of the phrase on show, as the drummer plays it, edits included: these hits in these bars. Main thread;
/// allocates.
///
/// # Errors
/// As [`learn`].
pub fn from_phrase(hits: &[Hit], bars: &[Bar], wish: &Wish) -> Result<Learned, LearnError> {
    let heard: Vec<_> = hits.iter().map(Heard::from).collect();
    learn(&heard, bars, wish)
}

/// Makes a beat of strokes in bars that follow each other. Main thread; allocates.
///
/// # Errors
/// [`LearnError`] says what to change.
pub fn learn(heard: &[Heard], bars: &[Bar], wish: &Wish) -> Result<Learned, LearnError> {
    // The count first: a file may have millions of bars, and their usual meter is looked for among all of them.
    let Some(meter) = Some(bars)
        .filter(|bars| bars.len() <= MAX_HEARD)
        .and_then(usual_meter)
    else {
        return Err(LearnError::Bars(bars.len()));
    };
    let mut report = Report::default();
    let placed = grid::place(heard, bars, meter, &mut report);
    if placed.is_empty() {
        return Err(LearnError::Empty);
    }
    let mut table = Bars::new(&placed, bars, meter);
    table.leave_out_fills(&mut report);
    let riding = Riding::find(&table, meter);
    voices::name(&mut table, &riding, &mut report);
    let most = MAX_BARS.min(bars.len());
    let cycle = match wish.cycle {
        Some(cycle) if !(1..=most).contains(&cycle) => {
            return Err(LearnError::Cycle { cycle, most });
        }
        Some(cycle) => cycle,
        None => table.cycle(),
    };
    report.cycle = cycle;
    report.repetitions = bars.len() / cycle;
    let mut beat = OwnBeat {
        name: wish.name.clone(),
        meter,
        triplets: false,
        cymbal: riding.cymbal(),
        rate: None,
        hands: super::OwnHands::Lead,
        opens: report.openings > 0 || bars.len() < 4,
        bars: table.fold(cycle),
    };
    riding.figure(&mut beat);
    voices::weigh(&mut beat, &table, cycle);
    let snares = |s: &OwnStroke| s.strikes == Strikes::Piece(Piece::Snare) && s.rank == 0.0;
    beat.opens &= beat.bars.iter().flatten().any(snares);
    if beat.bars.iter().any(|bar| bar.len() > MAX_STROKES_IN_BAR) {
        return Err(LearnError::TooMany);
    }
    beat.check()?;
    Ok(Learned { beat, report })
}

/// The meter that most bars have, the earlier one of two.
fn usual_meter(bars: &[Bar]) -> Option<Meter> {
    let of = |meter: Meter| bars.iter().filter(|bar| bar.meter == meter).count();
    let mut usual: Option<Meter> = None;
    for bar in bars {
        if usual.is_none_or(|usual| of(bar.meter) > of(usual)) {
            usual = Some(bar.meter);
        }
    }
    usual
}
