//! The strokes of a region, each with its place in its bar.

use super::UsedNote;
use crate::kit::Note;
use crate::time::{Bar, Meter, TICKS_PER_QUARTER, Ticks};
use std::collections::BTreeMap;

/// Strokes at most this far apart count as struck together: a sixty-fourth and a bit, 42 ms at 120 BPM. Limbs of
/// people differ by 11 to 24 ms (SD) where they mean the same time (Groove MIDI Dataset, Gillick et al. 2019, CC BY
/// 4.0, measured by us); a thirty-second, the closest that a beat writes, is 120 ticks.
pub(super) const TOGETHER: Ticks = 80;

/// How far from its place a stroke may be: half a sixteenth.
const STRAY: Ticks = TICKS_PER_QUARTER / 8;

/// Positions beyond this are clamped: no region is a million quarters long, and sums of ticks must not overflow.
const FARTHEST: Ticks = TICKS_PER_QUARTER * 1_000_000;

/// What a place of a bar is to a drummer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Place {
    /// The 1.
    One,
    /// Another count that a kick leans on: 3 of 4/4.
    Strong,
    /// A backbeat: 2 and 4 of 4/4.
    Back,
    /// Between two counts: the & of 4/4.
    Off,
    /// Anything finer.
    Fine,
}

/// A stroke of one key.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stroke {
    /// Ticks from the start of the song.
    pub tick: Ticks,
    /// 1..=127.
    pub velocity: f64,
    /// Which bar, counted from any.
    pub bar: i64,
    /// Where in the bar.
    pub place: Place,
    /// The nearest sixteenth of the bar, from 0.
    pub sixteenth: i64,
    /// Whether it stands in the last quarter of its bar.
    pub late: bool,
}

/// The strokes of one key, in order of time.
#[derive(Debug, Clone)]
pub(super) struct Used {
    /// The key.
    pub note: Note,
    /// Its strokes, at least one.
    pub strokes: Vec<Stroke>,
}

/// The bars of a region, continued on both sides.
struct Grid<'a> {
    bars: &'a [Bar],
}

impl Grid<'_> {
    /// The bar of a tick and its number, counted from the first of `bars`.
    fn bar(&self, tick: Ticks) -> (i64, Bar) {
        let four = Bar {
            start: 0,
            meter: Meter::FOUR_FOUR,
        };
        let after = self.bars.partition_point(|bar| bar.start <= tick);
        let near = after.saturating_sub(1);
        let bar = self.bars.get(near).copied().unwrap_or(four);
        let last = after >= self.bars.len();
        if (after == 0 || last) && !(bar.start..bar.end()).contains(&tick) {
            let on = (tick - bar.start).div_euclid(bar.meter.bar_len());
            let start = bar.start + on * bar.meter.bar_len();
            return (i64::try_from(near).unwrap_or(0) + on, Bar { start, ..bar });
        }
        (i64::try_from(near).unwrap_or(0), bar)
    }

    fn stroke(&self, tick: Ticks, velocity: u8) -> Stroke {
        let (number, bar) = self.bar(tick + STRAY - 1);
        let at = tick - bar.start;
        Stroke {
            tick,
            velocity: f64::from(velocity),
            bar: number,
            place: place(bar.meter, at),
            sixteenth: (at + STRAY).div_euclid(2 * STRAY),
            late: at + STRAY > bar.meter.bar_len() - TICKS_PER_QUARTER,
        }
    }
}

/// What the place `at` ticks after the bar line is.
fn place(meter: Meter, at: Ticks) -> Place {
    let near = |start: Ticks| (at - start).abs() < STRAY || at - start == STRAY;
    let (strong, back) = meter.pairs();
    if near(0) {
        return Place::One;
    }
    if back.iter().any(|pulse| near(pulse.start)) {
        return Place::Back;
    }
    if strong.iter().any(|pulse| near(pulse.start)) {
        return Place::Strong;
    }
    for count in meter.counts() {
        let unit = count.unit();
        if near(count.start) {
            return Place::Strong;
        }
        if (1..i64::from(count.units)).any(|n| near(count.start + n * unit)) {
            return Place::Off;
        }
    }
    Place::Fine
}

/// The keys of a region in order of channel and key. Notes of velocity 0 are none.
pub(super) fn read(notes: &[UsedNote], bars: &[Bar]) -> Vec<Used> {
    let mut bars: Vec<Bar> = bars
        .iter()
        .filter(|bar| bar.start.unsigned_abs() <= FARTHEST.unsigned_abs())
        .copied()
        .collect();
    bars.sort_by_key(|bar| bar.start);
    let grid = Grid { bars: &bars };
    let mut keys: BTreeMap<Note, Vec<Stroke>> = BTreeMap::new();
    for note in notes.iter().filter(|note| note.velocity > 0) {
        let tick = note.tick.clamp(-FARTHEST, FARTHEST);
        let stroke = grid.stroke(tick, note.velocity);
        keys.entry(note.note).or_default().push(stroke);
    }
    keys.into_iter()
        .map(|(note, mut strokes)| {
            // Of two at one tick the louder one counts.
            strokes.sort_by(|a, b| (a.tick.cmp(&b.tick)).then(b.velocity.total_cmp(&a.velocity)));
            strokes.dedup_by_key(|stroke| stroke.tick);
            Used { note, strokes }
        })
        .collect()
}

/// The index of the first stroke at `tick` or later.
fn from(strokes: &[Stroke], tick: Ticks) -> usize {
    strokes.partition_point(|stroke| stroke.tick < tick)
}

/// Whether a stroke stands in a stretch of ticks, both ends included.
pub(super) fn any_in(strokes: &[Stroke], first: Ticks, last: Ticks) -> bool {
    strokes
        .get(from(strokes, first))
        .is_some_and(|stroke| stroke.tick <= last)
}
