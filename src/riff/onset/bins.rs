//! The loops over the bins of a spectrum, several at a time.
//!
//! As in `preview/mix.rs`, they are functions of their own over slices and one index, and exist twice: for processors
//! with AVX (or AVX2) and for all others, with the same arithmetic in the same order. No function of the system's mathematics
//! library is among it, so that the same sound has the same strokes on every system.

#![allow(
    clippy::needless_range_loop,
    reason = "the compiler vectorises loops over one index into several slices"
)]

use multiversion::multiversion;
use realfft::num_complex::Complex32;
use std::f32::consts::LN_2;

/// Bins that are taken at a time.
const LANES: usize = 8;

/// What each bin remembers. All have the same length, a multiple of [`LANES`]; what is beyond the last bin is silent.
pub(super) struct Bins {
    /// Magnitudes, 1 for a full-scale sine.
    magnitudes: Vec<f32>,
    /// The recent peak.
    peaks: Vec<f32>,
    /// What the bin is compared with: the past, held where it falls quickly.
    held: Vec<f32>,
    /// How much the bin counts.
    weights: Vec<f32>,
    /// How much it grew in this hop.
    growth: Vec<f32>,
}

/// How bins change from hop to hop.
pub(super) struct Change {
    /// By which a peak falls, a factor.
    pub(super) forget: f32,
    /// What a peak does not fall below.
    pub(super) floor: f32,
    /// How steeply magnitudes are compressed.
    pub(super) compression: f32,
    /// By how much what is held falls.
    pub(super) fall: f32,
}

impl Bins {
    /// Bins with these weights. Allocates.
    pub(super) fn new(weights: &[f32]) -> Self {
        let length = weights.len().next_multiple_of(LANES);
        let mut bins = Self {
            magnitudes: vec![0.0; length],
            peaks: vec![0.0; length],
            held: vec![0.0; length],
            weights: vec![0.0; length],
            growth: vec![0.0; length],
        };
        bins.weights[..weights.len()].copy_from_slice(weights);
        bins
    }

    /// How many there are, with those that are only there to make a multiple.
    pub(super) fn len(&self) -> usize {
        self.weights.len()
    }

    /// Forgets what was heard. `peak` is what peaks begin with.
    pub(super) fn reset(&mut self, peak: f32) {
        self.peaks.fill(peak);
        self.held.fill(0.0);
    }

    /// Takes the magnitudes of a spectrum; the loudest.
    pub(super) fn take(&mut self, spectrum: &[Complex32]) -> f32 {
        let count = spectrum.len().min(self.magnitudes.len());
        magnitudes(&mut self.magnitudes[..count], &spectrum[..count])
    }

    /// How much the bins grew against `past`, which then has what they are now: the weighted sum.
    pub(super) fn grow(&mut self, past: &mut [f32], change: &Change) -> f32 {
        grow(
            &self.magnitudes,
            &self.weights,
            &mut self.peaks,
            &mut self.held,
            past,
            &mut self.growth,
            change,
        );
        let (groups, _) = self.growth.as_chunks::<LANES>();
        let mut lanes = [0.0_f32; LANES];
        for group in groups {
            for i in 0..LANES {
                lanes[i] += group[i];
            }
        }
        lanes.iter().sum()
    }
}

/// Writes samples times a window.
#[multiversion(targets("x86_64+avx"))]
pub(super) fn windowed(to: &mut [f32], samples: &[f32], window: &[f32]) {
    let count = to.len().min(samples.len()).min(window.len());
    let (to, samples, window) = (&mut to[..count], &samples[..count], &window[..count]);
    for i in 0..count {
        to[i] = samples[i] * window[i];
    }
}

#[multiversion(targets("x86_64+avx"))]
fn magnitudes(to: &mut [f32], spectrum: &[Complex32]) -> f32 {
    let count = to.len().min(spectrum.len());
    let (to, spectrum) = (&mut to[..count], &spectrum[..count]);
    for i in 0..count {
        let Complex32 { re, im } = spectrum[i];
        to[i] = (re * re + im * im).sqrt();
    }
    let mut loudest = [0.0_f32; LANES];
    let (groups, rest) = to.as_chunks::<LANES>();
    for group in groups {
        for i in 0..LANES {
            loudest[i] = if group[i] > loudest[i] {
                group[i]
            } else {
                loudest[i]
            };
        }
    }
    let all = loudest.into_iter().chain(rest.iter().copied());
    all.fold(0.0, f32::max)
}

/// Writes by how much each bin grew, and what it remembers from now on.
#[multiversion(targets("x86_64+avx2"))]
fn grow(
    magnitudes: &[f32],
    weights: &[f32],
    peaks: &mut [f32],
    held: &mut [f32],
    past: &mut [f32],
    growth: &mut [f32],
    change: &Change,
) {
    let &Change {
        forget,
        floor,
        compression,
        fall,
    } = change;
    // ln(1 + compression), so that a bin at its peak is 1.
    let scale = 1.0 / ln(1.0 + compression);
    let n = magnitudes.len();
    let (weights, peaks) = (&weights[..n], &mut peaks[..n]);
    let (held, past, growth) = (&mut held[..n], &mut past[..n], &mut growth[..n]);
    for i in 0..n {
        let least = larger(magnitudes[i], floor);
        let peak = larger(peaks[i] * forget, least);
        let compressed = ln(1.0 + compression * magnitudes[i] / peak) * scale;
        let before = larger(past[i], held[i] - fall);
        growth[i] = weights[i] * larger(compressed - before, 0.0);
        peaks[i] = peak;
        held[i] = before;
        past[i] = compressed;
    }
}

/// The larger of two, neither of which is NaN: `f32::max` also asks whether one is.
#[inline]
fn larger(a: f32, b: f32) -> f32 {
    if a > b { a } else { b }
}

/// The natural logarithm of a normal, positive number, within 2e-7 of the result or of 1, whichever is larger.
///
/// The number is split into 2^e and m between the square roots of 1/2 and 2; ln m is a series in (m - 1)/(m + 1) (Abramowitz
/// and Stegun 1964, *Handbook of Mathematical Functions*, 4.1.27), of which what follows its fifth term is below 1e-8.
#[inline]
fn ln(x: f32) -> f32 {
    /// The bits of the square root of 1/2.
    const ROOT: i32 = 0x3f35_04f3;
    let bits = x.to_bits().cast_signed();
    let e = (bits - ROOT) >> 23;
    let m = f32::from_bits((bits - (e << 23)).cast_unsigned());
    let ratio = (m - 1.0) / (m + 1.0);
    let square = ratio * ratio;
    let series =
        square * (1.0 / 3.0 + square * (1.0 / 5.0 + square * (1.0 / 7.0 + square * (1.0 / 9.0))));
    e as f32 * LN_2 + 2.0 * ratio * (1.0 + series)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_logarithm_is_right() {
        let mut farthest = 0.0_f64;
        let mut x = 1.0_f32;
        while x < 40.0 {
            let exact = f64::from(x).ln();
            farthest = farthest.max((f64::from(ln(x)) - exact).abs() / exact.max(1.0));
            x *= 1.000_1;
        }
        assert!(farthest < 2e-7, "{farthest}");
        assert_eq!(ln(1.0), 0.0);
    }
}
