//! What the pieces are made of: ringing modes, noise in a band, decays.

use fundsp::F32x;
use fundsp::prelude32::{highpass_hz, lowpass_hz, noise};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};

/// How far a sound falls before it is over, in dB.
const OVER_DB: f32 = 84.0;
/// After so many times its time a rise is over.
const RISEN: f32 = 17.0;
/// The resonance of a filter that has none: Butterworth.
const FLAT_Q: f32 = std::f32::consts::FRAC_1_SQRT_2;

/// One damped vibration.
#[derive(Debug, Clone, Copy)]
pub(super) struct Mode {
    /// Frequency in Hz.
    pub(super) hz: f32,
    /// Amplitude at its start.
    pub(super) amp: f32,
    /// Seconds to fall by 60 dB.
    pub(super) t60: f32,
    /// Phase at its start, in turns.
    pub(super) phase: f32,
}

/// Modes that are worked out together, so that the compiler can keep them in vector registers.
const LANES: usize = 16;

/// Adds modes to `out`. Each is a two-pole resonator set swinging; modes of like decay should stand
/// together, since a group rings as long as its longest.
pub(super) fn ring(modes: &[Mode], rate: f32, out: &mut [f32]) {
    for group in modes.chunks(LANES) {
        let (mut a, mut b) = ([0.0_f32; LANES], [0.0_f32; LANES]);
        let (mut y1, mut y2) = ([0.0_f32; LANES], [0.0_f32; LANES]);
        let mut longest = 0.0_f32;
        for (i, mode) in group.iter().enumerate() {
            if mode.hz >= rate * 0.45 {
                continue;
            }
            let turn = std::f64::consts::TAU * f64::from(mode.hz) / f64::from(rate);
            let fall = 10_f64.powf(-3.0 / (f64::from(mode.t60) * f64::from(rate)));
            let start = std::f64::consts::TAU * f64::from(mode.phase);
            let back = |n: f64| f64::from(mode.amp) * fall.powf(-n) * (start - turn * n).sin();
            a[i] = narrow(2.0 * fall * turn.cos());
            b[i] = narrow(fall * fall);
            y1[i] = narrow(back(1.0));
            y2[i] = narrow(back(2.0));
            longest = longest.max(mode.t60);
        }
        let end = samples(longest * OVER_DB / 60.0, rate).min(out.len());
        let lanes = |x: [f32; LANES]| {
            let half = |from: usize| F32x::new(std::array::from_fn(|i| x[from + i]));
            [half(0), half(LANES / 2)]
        };
        let (a, b, mut y1, mut y2) = (lanes(a), lanes(b), lanes(y1), lanes(y2));
        for x in &mut out[..end] {
            let y = [a[0] * y1[0] - b[0] * y2[0], a[1] * y1[1] - b[1] * y2[1]];
            y2 = y1;
            y1 = y;
            *x += (y[0] + y[1]).reduce_add();
        }
    }
}

/// White noise between two frequencies in Hz, about 1 at most. The same seed, the same noise.
pub(super) fn hiss(seed: u64, low: f32, high: f32, rate: f32) -> impl FnMut() -> f32 {
    let top = high.min(rate * 0.42);
    // Neighbouring seeds of the noise are the same noise, one sample later.
    let spread = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15);
    let mut band = noise().seed(spread) >> highpass_hz(low, FLAT_Q) >> lowpass_hz(top, FLAT_Q);
    band.set_sample_rate(f64::from(rate));
    move || band.get_mono()
}

/// Takes out what can't be heard below a drum or cymbal, and any offset.
pub(super) fn clean(buffer: &mut [f32], low: f32, rate: f32) {
    let mut filter = highpass_hz(low, FLAT_Q);
    filter.set_sample_rate(f64::from(rate));
    for x in buffer {
        *x = filter.filter_mono(*x);
    }
}

/// Fades the last part of a buffer to nothing.
pub(super) fn end(buffer: &mut [f32], seconds: f32, rate: f32) {
    let fade = samples(seconds, rate).clamp(1, buffer.len().max(1));
    let start = buffer.len().saturating_sub(fade);
    for (i, x) in buffer[start..].iter_mut().enumerate() {
        let part = i as f32 / fade as f32;
        *x *= 0.5 + 0.5 * (std::f32::consts::PI * part).cos();
    }
}

/// A value that falls by a factor a sample.
#[derive(Debug, Clone, Copy)]
pub(super) struct Decay {
    value: f32,
    factor: f32,
}

impl Decay {
    /// From 1, by 60 dB in `t60` seconds.
    pub(super) fn new(t60: f32, rate: f32) -> Self {
        let factor = 10_f32.powf(-3.0 / (t60 * rate));
        Self { value: 1.0, factor }
    }

    /// The present value; the next one is a little less.
    pub(super) fn next(&mut self) -> f32 {
        let value = self.value;
        // Numbers that small slow a processor down.
        self.value = if value > 1e-7 {
            value * self.factor
        } else {
            0.0
        };
        value
    }
}

/// A value that rises from 0 to 1, most of it in `seconds`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rise {
    value: f32,
    part: f32,
}

impl Rise {
    /// From 0.
    pub(super) fn new(seconds: f32, rate: f32) -> Self {
        let part = follow(seconds, rate);
        Self { value: 0.0, part }
    }

    /// The present value; the next one is a little more.
    pub(super) fn next(&mut self) -> f32 {
        let value = self.value;
        self.value += (1.0 - value) * self.part;
        value
    }
}

/// Lets a sound begin from nothing instead of with a step.
pub(super) fn begin(buffer: &mut [f32], seconds: f32, rate: f32) {
    let mut rise = Rise::new(seconds, rate);
    // What comes later has risen all the way, to 24 bits.
    let end = samples(seconds * RISEN, rate).min(buffer.len());
    for x in &mut buffer[..end] {
        *x *= rise.next();
    }
}

/// A gentle overdrive: the hyperbolic tangent, of which small values need the first terms alone.
pub(super) fn drive(x: f32) -> f32 {
    if x.abs() < 0.1 {
        x - x * x * x / 3.0
    } else {
        x.tanh()
    }
}

/// The part of the way that a value goes in a sample to be most of the way after `seconds`.
pub(super) fn follow(seconds: f32, rate: f32) -> f32 {
    1.0 - (-1.0 / (seconds * rate).max(1.0)).exp()
}

/// A linear gain from dB.
pub(super) fn gain(db: f32) -> f32 {
    10_f32.powf(db / 20.0)
}

/// Samples of a time in seconds.
pub(super) fn samples(seconds: f32, rate: f32) -> usize {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let samples = (seconds * rate).round().max(0.0) as usize;
    samples
}

#[expect(clippy::cast_possible_truncation)]
fn narrow(x: f64) -> f32 {
    x as f32
}

/// Numbers in 0..1 from a seed, always the same.
pub(super) struct Chance(Xoshiro256PlusPlus);

impl Chance {
    /// From a seed.
    pub(super) fn new(seed: u64) -> Self {
        Self(Xoshiro256PlusPlus::seed_from_u64(seed))
    }

    /// The next number.
    pub(super) fn next(&mut self) -> f32 {
        (self.0.next_u64() >> 40) as f32 / (1_u64 << 24) as f32
    }
}
