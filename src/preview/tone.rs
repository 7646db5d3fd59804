//! What the pieces are made of: ringing modes, noise in a band, filters, decays. All at [`RATE`].

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};
use std::f64::consts::TAU;

/// The sample rate that pieces are rendered at, in Hz.
pub(super) const RATE: f32 = 48_000.0;

/// How far a sound falls before it is over, in dB.
const OVER_DB: f32 = 84.0;
/// After so many times its time a rise is over.
const RISEN: f32 = 17.0;

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
const LANES: usize = 8;

/// Adds modes to `out`. Each is a two-pole resonator set swinging; modes of like decay should stand
/// together, since a group rings as long as its longest.
pub(super) fn ring(modes: &[Mode], out: &mut [f32]) {
    for group in modes.chunks(LANES) {
        let (mut a, mut b) = ([0.0_f32; LANES], [0.0_f32; LANES]);
        let (mut y1, mut y2) = ([0.0_f32; LANES], [0.0_f32; LANES]);
        let mut longest = 0.0_f32;
        for (i, mode) in group.iter().enumerate() {
            let turn = TAU * f64::from(mode.hz) / f64::from(RATE);
            let fall = 10_f64.powf(-3.0 / (f64::from(mode.t60) * f64::from(RATE)));
            let start = TAU * f64::from(mode.phase);
            let back = |n: f64| f64::from(mode.amp) * fall.powf(-n) * (start - turn * n).sin();
            a[i] = narrow(2.0 * fall * turn.cos());
            b[i] = narrow(fall * fall);
            y1[i] = narrow(back(1.0));
            y2[i] = narrow(back(2.0));
            longest = longest.max(mode.t60);
        }
        let end = samples(longest * OVER_DB / 60.0).min(out.len());
        for x in &mut out[..end] {
            let mut sum = 0.0;
            for i in 0..LANES {
                let y = a[i] * y1[i] - b[i] * y2[i];
                y2[i] = y1[i];
                y1[i] = y;
                sum += y;
            }
            *x += sum;
        }
    }
}

/// A filter of second order without resonance (Butterworth), after Bristow-Johnson's *Cookbook
/// formulae for audio EQ biquad filter coefficients* [memory].
#[derive(Debug, Clone, Copy)]
pub(super) struct Filter {
    /// Weights of the input and the two before it.
    b: [f64; 3],
    /// Weights of the two outputs before.
    a: [f64; 2],
    z: [f64; 2],
}

impl Filter {
    /// Lets pass what lies below a frequency in Hz.
    pub(super) fn low_pass(hz: f32) -> Self {
        Self::new(hz, |cos| [(1.0 - cos) / 2.0, 1.0 - cos])
    }

    /// Lets pass what lies above a frequency in Hz.
    pub(super) fn high_pass(hz: f32) -> Self {
        Self::new(hz, |cos| [f64::midpoint(1.0, cos), -1.0 - cos])
    }

    fn new(hz: f32, b: impl Fn(f64) -> [f64; 2]) -> Self {
        let turn = TAU * f64::from(hz / RATE).min(0.49);
        let alpha = turn.sin() * std::f64::consts::FRAC_1_SQRT_2;
        let [outer, middle] = b(turn.cos()).map(|b| b / (1.0 + alpha));
        Self {
            b: [outer, middle, outer],
            a: [-2.0 * turn.cos(), 1.0 - alpha].map(|a| a / (1.0 + alpha)),
            z: [0.0; 2],
        }
    }

    /// One sample through it.
    pub(super) fn pass(&mut self, x: f32) -> f32 {
        let x = f64::from(x);
        let y = self.b[0] * x + self.z[0];
        self.z[0] = self.b[1] * x - self.a[0] * y + self.z[1];
        self.z[1] = self.b[2] * x - self.a[1] * y;
        narrow(y)
    }
}

/// Noise between two frequencies in Hz, of a power of 1 on average. The same seed, the same noise.
pub(super) fn hiss(seed: u64, low: f32, high: f32, length: usize) -> Vec<f32> {
    let (mut chance, mut below, mut above) = (
        Chance::new(seed),
        Filter::high_pass(low),
        Filter::low_pass(high),
    );
    // A filter needs a moment until its output is as strong as it will be.
    let settle = samples(4.0 / low.max(20.0)).min(4800);
    let mut white = || above.pass(below.pass(chance.next() * 2.0 - 1.0));
    for _ in 0..settle {
        white();
    }
    let mut noise: Vec<f32> = (0..length).map(|_| white()).collect();
    let power = noise.iter().map(|x| x * x).sum::<f32>() / length.max(1) as f32;
    let gain = 1.0 / power.sqrt().max(1e-9);
    for x in &mut noise {
        *x *= gain;
    }
    noise
}

/// Takes out what can't be heard below a drum or cymbal, and any offset.
pub(super) fn clean(buffer: &mut [f32], low: f32) {
    let mut filter = Filter::high_pass(low);
    for x in buffer {
        *x = filter.pass(*x);
    }
}

/// Fades the last part of a buffer to nothing.
pub(super) fn end(buffer: &mut [f32], seconds: f32) {
    let fade = samples(seconds).clamp(1, buffer.len().max(1));
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
    pub(super) fn new(t60: f32) -> Self {
        let factor = 10_f32.powf(-3.0 / (t60 * RATE));
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
    pub(super) fn new(seconds: f32) -> Self {
        let part = follow(seconds, RATE);
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
pub(super) fn begin(buffer: &mut [f32], seconds: f32) {
    let mut rise = Rise::new(seconds);
    // What comes later has risen all the way, to 24 bits.
    let end = samples(seconds * RISEN).min(buffer.len());
    for x in &mut buffer[..end] {
        *x *= rise.next();
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

/// Samples of a time in seconds, at [`RATE`].
pub(super) fn samples(seconds: f32) -> usize {
    samples_at(seconds, RATE)
}

/// Samples of a time in seconds at a rate in Hz.
pub(super) fn samples_at(seconds: f32, rate: f32) -> usize {
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
