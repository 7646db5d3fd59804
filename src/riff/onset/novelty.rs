//! From samples to spectral flux.

use super::bins::{Bins, Change, windowed};
use realfft::num_complex::Complex32;
use realfft::{RealToComplex, RealToComplexEven};
use rustfft::FftPlanner;
use std::f32::consts::TAU;
use std::fmt;

/// Samples in a window at 44.1 and 48 kHz: 10.7 to 11.6 ms.
const WINDOW: usize = 512;
/// Samples from window to window at these rates: 1.3 to 1.5 ms.
const HOP: usize = 64;
/// A spectrum is compared with the one so many hops before.
const LAG: usize = 3;
/// Below, hum and the strings' own pitch; above, nothing that a cabinet lets through. In Hz.
const LOWEST_HZ: f64 = 150.0;
const HIGHEST_HZ: f64 = 15_000.0;
/// How steeply magnitudes are compressed: as ln(1 + this x magnitude).
const COMPRESSION: f32 = 30.0;
/// A bin's peak falls by 60 dB in so many seconds.
const FORGET_S: f64 = 5.0;
/// What a spectrum is compared with falls by this from hop to hop, as a share of full scale: slowly
/// enough to bridge the period of a low string, which is longer than a window.
const FALL: f32 = 0.014;
/// A bin's peak is no lower than this share of the loudest bin's.
const FLOOR: f32 = 0.01;
/// No bin counts as louder than silence below this: -90 dB of full scale, where a guitar that peaks
/// at -40 dB still shows its pick.
const SILENCE: f32 = 3.2e-5;
/// In the first window after nothing at all, what is softer than this is noise that begins: -40 dB.
const COLD: f32 = 1e-2;
/// A spectrum whose loudest bin is below this share of the recent loudest is the end of a tail.
const TAIL: f32 = 0.01;
/// Bins weigh as frequency to this power: a pick is bright.
const BRIGHT: f32 = 0.5;
/// The level is taken over so many hops: what has sounded since a stroke when it becomes certain.
const LEVEL_HOPS: usize = 5;
/// The flux peaks so many seconds after the stroke is in the middle of the window: measured.
const LATE_S: f64 = 0.0018;

/// What one window says.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Frame {
    /// How much the spectrum grew, 0 and up; strokes reach 0.2 to 1.
    pub(super) flux: f32,
    /// Level of the last hops against the recent loudest, in decibels, 0 and below.
    pub(super) level_db: f32,
    /// Whether there is anything to hear.
    pub(super) audible: bool,
}

/// The spectral flux of a stream of samples.
pub(super) struct Novelty {
    fft: RealToComplexEven<f32>,
    window: Vec<f32>,
    bins: Bins,
    /// How many bins count.
    count: usize,
    weight_sum: f32,
    /// The first bin that counts.
    first: usize,
    hop: usize,
    centre: f32,
    forget: f32,
    /// The samples of the last window, oldest first; those of this hop come behind them.
    heard: Vec<f32>,
    /// How many of this hop there are.
    fresh: usize,
    /// Frames until the window and the past are full of sound.
    cold: usize,
    input: Vec<f32>,
    spectrum: Vec<Complex32>,
    scratch: Vec<Complex32>,
    loudest: f32,
    /// Power of the brightness of the last hops, newest last, and of the hop that runs.
    powers: [f32; LEVEL_HOPS],
    power: f32,
    last: f32,
    /// The recent loudest level.
    reference: f32,
    /// Compressed magnitudes of the last [`LAG`] spectra, a ring.
    past: Vec<Vec<f32>>,
    turn: usize,
}

impl Novelty {
    /// For a sample rate in Hz. Allocates.
    pub(super) fn new(sample_rate: f64) -> Self {
        // Windows of about the same time at every rate, and of a length that transforms quickly.
        let (times, part) = match sample_rate {
            ..33_000.0 => (1, 2),
            ..72_000.0 => (1, 1),
            ..144_000.0 => (2, 1),
            _ => (4, 1),
        };
        let (length, hop) = (WINDOW * times / part, HOP * times / part);
        let fft = RealToComplexEven::new(length, &mut FftPlanner::new());
        let bin = |hz: f64| {
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            let bin = (hz / sample_rate * length as f64).round() as usize;
            bin.clamp(1, length / 2)
        };
        let (first, last) = (bin(LOWEST_HZ), bin(HIGHEST_HZ));
        let weights: Vec<f32> = (first..=last)
            .map(|k| (k as f32 / first as f32).powf(BRIGHT))
            .collect();
        let window: Vec<f32> = (0..length)
            .map(|i| 0.5 - 0.5 * (TAU * i as f32 / length as f32).cos())
            .collect();
        let sum: f32 = window.iter().sum();
        let frames_per_s = sample_rate / hop as f64;
        #[expect(clippy::cast_possible_truncation)]
        let (forget, late) = (
            0.001_f64.powf(1.0 / (FORGET_S * frames_per_s)) as f32,
            (LATE_S * sample_rate) as f32,
        );
        let bins = Bins::new(&weights);
        let mut novelty = Self {
            input: fft.make_input_vec(),
            spectrum: fft.make_output_vec(),
            scratch: fft.make_scratch_vec(),
            fft,
            // A full-scale sine has a magnitude of 1.
            window: window.iter().map(|w| w * 2.0 / sum).collect(),
            weight_sum: weights.iter().sum(),
            first,
            hop,
            centre: length as f32 / 2.0 + late,
            forget,
            heard: vec![0.0; length + hop],
            fresh: 0,
            cold: 0,
            loudest: 0.0,
            powers: [0.0; LEVEL_HOPS],
            power: 0.0,
            last: 0.0,
            reference: 0.0,
            past: vec![vec![0.0; bins.len()]; LAG],
            turn: 0,
            count: weights.len(),
            bins,
        };
        novelty.reset();
        novelty
    }

    /// Samples from frame to frame.
    pub(super) fn hop(&self) -> usize {
        self.hop
    }

    /// How many samples before the end of a frame lies what it shows.
    pub(super) fn centre(&self) -> f32 {
        self.centre
    }

    /// Forgets what it has heard.
    pub(super) fn reset(&mut self) {
        self.heard.fill(0.0);
        self.bins.reset(SILENCE * FLOOR);
        self.past.iter_mut().for_each(|past| past.fill(0.0));
        self.powers.fill(0.0);
        (self.power, self.last) = (0.0, 0.0);
        (self.loudest, self.reference) = (SILENCE, SILENCE);
        (self.fresh, self.turn) = (0, 0);
        self.cold = self.window.len() / self.hop + LAG;
    }

    /// Hears samples up to the end of a hop at the most. Returns how many, and a frame where the hop is full.
    pub(super) fn hear(&mut self, samples: &[f32]) -> (usize, Option<Frame>) {
        let n = samples.len().min(self.hop - self.fresh);
        let at = self.window.len() + self.fresh;
        let heard = &mut self.heard[at..at + n];
        for (heard, x) in heard.iter_mut().zip(samples) {
            *heard = if x.is_finite() { *x } else { 0.0 };
        }
        // The difference from sample to sample: as bright as loud, and no hum.
        for x in heard {
            self.power += (*x - self.last).powi(2);
            self.last = *x;
        }
        self.fresh += n;
        (n, (self.fresh == self.hop).then(|| self.frame()))
    }

    fn frame(&mut self) -> Frame {
        self.fresh = 0;
        self.heard.copy_within(self.hop.., 0);
        windowed(&mut self.input, &self.heard, &self.window);
        // It only fails for buffers of the wrong length.
        let done =
            self.fft
                .process_with_scratch(&mut self.input, &mut self.spectrum, &mut self.scratch);
        debug_assert!(done.is_ok());
        let loudest = self.bins.take(&self.spectrum[self.first..][..self.count]);
        self.loudest = (self.loudest * self.forget).max(loudest).max(SILENCE);
        self.powers.rotate_left(1);
        self.powers[LEVEL_HOPS - 1] = std::mem::take(&mut self.power) / self.hop as f32;
        let level = (self.powers.iter().sum::<f32>() / LEVEL_HOPS as f32).sqrt();
        self.reference = (self.reference * self.forget).max(level).max(SILENCE);
        // That there is sound at all is new only once.
        let least = if self.cold > 0 { COLD } else { SILENCE };
        self.cold = self.cold.saturating_sub(1);
        let past = &mut self.past[self.turn];
        self.turn = (self.turn + 1) % LAG;
        let change = Change {
            forget: self.forget,
            floor: FLOOR * self.loudest,
            compression: COMPRESSION,
            fall: FALL,
        };
        let flux = self.bins.grow(past, &change);
        Frame {
            flux: flux / self.weight_sum,
            level_db: 20.0 * (level / self.reference).max(1e-6).log10(),
            audible: loudest > least && loudest > TAIL * self.loudest,
        }
    }
}

impl fmt::Debug for Novelty {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Novelty")
            .field("window", &self.window.len())
            .field("hop", &self.hop)
            .finish_non_exhaustive()
    }
}
