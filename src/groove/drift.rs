//! Slow changes of timing and touch, each a lattice noise that any tick can be asked for.
//!
//! Each octave has a lattice of values in -1..1, seeded by take and place, and is interpolated between its points. A
//! value at a tick therefore never depends on earlier ticks.

use super::chance::{Decision, bits};
use super::stroke_kind::StrokeKind;
use crate::time::Ticks;

/// A sixteenth, in ticks: the spacing of the finest octave of [`timing`].
const SIXTEENTH: Ticks = 240;

/// The octaves of the drift of timing: spacing in sixteenths, and share of the variance. Fitted, with an error below
/// 0.01, to a memory of exp(-lag / 11 sixteenths): measured 12.3 [5.5..20.6] on 75 performances of the Groove MIDI
/// Dataset (Gillick et al. 2019, CC BY 4.0).
const OCTAVES: [(Ticks, f64); 6] = [
    (1, 0.08),
    (2, 0.04),
    (4, 0.13),
    (8, 0.23),
    (16, 0.33),
    (32, 0.19),
];

/// The spacing of the slow part of touch, in ticks: two bars of 4/4, a memory of about three bars.
const TOUCH_SPACING: Ticks = 2 * 3840;

/// The drift of timing that all limbs share, of one take: mean 0, standard deviation 1. It caches the lattice points
/// around the last tick for the walk over a bar; its values never depend on the cache.
#[derive(Debug, Clone)]
pub struct Drift {
    take: u32,
    cells: [Option<(Ticks, [f64; 2])>; OCTAVES.len()],
}

impl Drift {
    /// The drift of a take.
    pub fn new(take: u32) -> Self {
        Self {
            take,
            cells: [None; OCTAVES.len()],
        }
    }

    /// The drift at a tick of the timeline, within about ±4. Any thread; no allocation.
    pub fn at(&mut self, tick: Ticks) -> f64 {
        let mut sum = 0.0;
        for ((octave, (spacing, share)), cell) in (0_u64..).zip(OCTAVES).zip(&mut self.cells) {
            let spacing = spacing * SIXTEENTH;
            // Offsets the lattices, so that they don't coincide on bar lines.
            let along = tick + spacing * 5 / 8;
            let index = along.div_euclid(spacing);
            let point = |index| value(bits(self.take, index, Decision::Drift, octave));
            let [a, b] = match *cell {
                Some((at, values)) if at == index => values,
                Some((at, [_, last])) if at + 1 == index => [last, point(index + 1)],
                _ => [point(index), point(index + 1)],
            };
            *cell = Some((index, [a, b]));
            // A uniform value in -1..1 has a variance of 1/3.
            sum += between(a, b, along, spacing) * (3.0 * share).sqrt();
        }
        sum
    }
}

/// The slow part of the touch of one take. It caches each kind's lattice points around the last tick for the walk over
/// a bar; its values never depend on the cache.
#[derive(Debug, Clone)]
pub(super) struct SlowTouch {
    take: u32,
    cells: [Option<(Ticks, [f64; 2])>; StrokeKind::ALL.len()],
}

impl SlowTouch {
    pub(super) fn new(take: u32) -> Self {
        Self {
            take,
            cells: [None; StrokeKind::ALL.len()],
        }
    }

    /// The slow part for a kind of stroke at a tick: mean 0, standard deviation 1, within ±1.74.
    pub(super) fn at(&mut self, kind: StrokeKind, tick: Ticks) -> f64 {
        let along = tick + TOUCH_SPACING * 5 / 8;
        let index = along.div_euclid(TOUCH_SPACING);
        let point = |index| value(bits(self.take, index, Decision::TouchDrift, kind as u64));
        let cell = &mut self.cells[kind as usize];
        let [a, b] = match *cell {
            Some((at, points)) if at == index => points,
            _ => [point(index), point(index + 1)],
        };
        *cell = Some((index, [a, b]));
        let root_3 = 3.0_f64.sqrt();
        between(a, b, along, TOUCH_SPACING) * root_3
    }
}

/// A value in -1..1.
fn value(bits: u64) -> f64 {
    ((bits >> 40) as f64 + 0.5) / f64::from(1_u32 << 23) - 1.0
}

/// Interpolates between two points of a lattice, and keeps the power equal between the points too.
fn between(a: f64, b: f64, along: Ticks, spacing: Ticks) -> f64 {
    let y = along.rem_euclid(spacing) as f64 / spacing as f64;
    let x = 1.0 - y;
    (a * x + b * y) / (x * x + y * y).sqrt()
}
