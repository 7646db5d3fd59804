//! The bars that were heard, stroke by stroke: which of them are fills, how long their cycle is, and what it has.

use super::grid::Placed;
use super::report::Report;
use crate::groove::own::model::{OwnStroke, Strikes};
use crate::kit::Piece;
use crate::time::{Bar, Meter, Ticks};
use std::collections::BTreeMap;

/// A place and what is struck there.
pub(super) type Key = (usize, Ticks, Strikes);

/// A stroke in a bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Struck {
    pub(super) piece: Piece,
    pub(super) velocity: u8,
    pub(super) ghost: bool,
}

/// The bars that were heard.
#[derive(Debug)]
pub(super) struct Bars {
    /// The strokes of each bar; `None` for a bar that is left out.
    pub(super) bars: Vec<Option<BTreeMap<Key, Struck>>>,
    /// Which bars have strokes that are known to be a fill's.
    filled: Vec<bool>,
}

/// Strokes of hands on drums that hardly any other bar has, from which on a bar is a fill. Judged.
const FILL_STROKES: usize = 4;
/// What a stroke that the cycle does not explain costs, against one in the cycle. Judged.
const UNEXPLAINED: usize = 4;
/// From so many repetitions on, the core may be missing in one of so many: people leave strokes out.
const MAY_MISS: usize = 8;
/// The least and the greatest rank of extras, and that of a ghost note that is never missing.
const RANKS: (f32, f32) = (0.08, 0.95);
const STEADY_GHOST: f32 = 0.05;

impl Bars {
    pub(super) fn new(placed: &[Placed], bars: &[Bar], meter: Meter) -> Self {
        let of_bar = |bar: &Bar| (bar.meter == meter).then(BTreeMap::new);
        let mut table = Self {
            bars: bars.iter().map(of_bar).collect(),
            filled: vec![false; bars.len()],
        };
        for one in placed {
            let key = (one.count, one.at, Strikes::Piece(one.piece));
            let struck = Struck {
                piece: one.piece,
                velocity: one.velocity,
                ghost: one.ghost,
            };
            if let Some(Some(bar)) = table.bars.get_mut(one.bar) {
                bar.insert(key, struck);
            }
            if let Some(filled) = table.filled.get_mut(one.bar) {
                *filled |= one.fill;
            }
        }
        table
    }

    /// The bars that are not left out.
    pub(super) fn heard(&self) -> impl Iterator<Item = &BTreeMap<Key, Struck>> {
        self.bars.iter().flatten()
    }

    /// How many bars are not left out.
    pub(super) fn len(&self) -> usize {
        self.heard().count()
    }

    /// In how many bars a stroke stands.
    pub(super) fn count(&self, key: &Key) -> usize {
        self.heard().filter(|bar| bar.contains_key(key)).count()
    }

    /// Leaves out the bars that are fills, unless that would be most of them.
    pub(super) fn leave_out_fills(&mut self, report: &mut Report) {
        let heard = self.len();
        let on_drum = |struck: &Struck| {
            matches!(
                struck.piece,
                Piece::Snare
                    | Piece::RackHigh
                    | Piece::RackLow
                    | Piece::FloorHigh
                    | Piece::FloorLow
            )
        };
        let fills: Vec<usize> = (0..self.bars.len())
            .filter(|&i| {
                let Some(Some(bar)) = self.bars.get(i) else {
                    return false;
                };
                let rare = bar.iter().filter(|(key, struck)| {
                    on_drum(struck) && !struck.ghost && self.count(key) * 4 <= heard
                });
                self.filled.get(i) == Some(&true) || rare.count() >= FILL_STROKES
            })
            .collect();
        if heard < 2 || fills.len() * 2 > heard {
            return;
        }
        for &i in &fills {
            self.bars[i] = None;
            report.fills.push(i + 1);
        }
    }

    /// The strokes of bars at a place of a cycle, each with the number of bars that have it, and how many bars there are.
    fn class(&self, cycle: usize, place: usize) -> (BTreeMap<Key, usize>, usize) {
        let mut strokes: BTreeMap<Key, usize> = BTreeMap::new();
        let mut bars = 0;
        for bar in self.bars.iter().skip(place).step_by(cycle).flatten() {
            bars += 1;
            for (key, struck) in bar {
                if !struck.ghost {
                    *strokes.entry(*key).or_default() += 1;
                }
            }
        }
        (strokes, bars)
    }

    /// The cycle that explains the bars with the fewest strokes: those that it has, and those that it does not explain.
    pub(super) fn cycle(&self) -> usize {
        let all = self.bars.len();
        let cost = |cycle: usize| -> usize {
            let places = (0..cycle).map(|place| {
                let (strokes, bars) = self.class(cycle, place);
                let cost = strokes.values().map(|&n| {
                    let has = usize::from(n * 2 > bars);
                    has + UNEXPLAINED * n.min(bars - n)
                });
                // A bar that was never heard has to be made up.
                cost.sum::<usize>() + if bars == 0 { 1000 } else { 0 }
            });
            places.sum()
        };
        let cycles = [1, 2, 3, 4, 5, 6, 7, 8].into_iter();
        let fits = cycles.filter(|&n| n == 1 || n == all || n * 2 <= all);
        fits.min_by_key(|&n| (cost(n), n)).unwrap_or(1)
    }

    /// The bars of the cycle.
    pub(super) fn fold(&self, cycle: usize) -> Vec<Vec<OwnStroke>> {
        (0..cycle)
            .map(|place| {
                let mut strokes: BTreeMap<Key, (usize, usize)> = BTreeMap::new();
                let mut bars = 0;
                for bar in self.bars.iter().skip(place).step_by(cycle).flatten() {
                    bars += 1;
                    for (key, struck) in bar {
                        let (all, ghosts) = strokes.entry(*key).or_default();
                        *all += 1;
                        *ghosts += usize::from(struck.ghost);
                    }
                }
                let stroke = |((count, tick, strikes), (n, ghosts)): (Key, (usize, usize))| {
                    let missing = bars - n;
                    let ghost = ghosts * 2 > n && strikes == Strikes::Piece(Piece::Snare);
                    let core = missing == 0 || (bars >= MAY_MISS && missing * MAY_MISS <= bars);
                    let share = n as f32 / bars.max(1) as f32;
                    OwnStroke {
                        count: u8::try_from(count + 1).unwrap_or(u8::MAX),
                        tick,
                        strikes,
                        rank: match (core, ghost) {
                            (true, true) => STEADY_GHOST,
                            (true, false) => 0.0,
                            // Two digits say enough.
                            _ => ((1.0 - share).clamp(RANKS.0, RANKS.1) * 100.0).round() / 100.0,
                        },
                        weight: None,
                        ghost,
                    }
                };
                strokes.into_iter().map(stroke).collect()
            })
            .collect()
    }
}
