//! A guitar, made in code: plucked strings, a hand that mutes them, and an amplifier that distorts.
//! The session's demo plays it into the plugin, and the detector's tests know where it is struck.
//!
//! Strings are Karplus and Strong's (1983, *Computer Music Journal* 7(2):43-55, from memory): a burst
//! of noise in a loop as long as the pitch's period, averaged at every turn.

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};
use std::f64::consts::TAU;

/// How a stroke is played.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Touch {
    /// With the palm on the strings: dead within a few periods.
    Mute,
    /// Left to ring.
    Ring,
}

/// A stroke of the pick over root, fifth and octave.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pick {
    /// When, in seconds.
    pub at: f64,
    /// How long it may ring, in seconds; the next stroke ends it in any case.
    pub held: f64,
    /// Pitch of the root, in Hz.
    pub hz: f64,
    /// How hard, 1 is usual.
    pub force: f64,
    /// Muted or not.
    pub touch: Touch,
}

/// What the sound goes through.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rig {
    /// Gain before the distortion; 0 for the clean strings.
    pub gain: f64,
    /// Amplitude of hum at 50 Hz before the amplifier.
    pub hum: f64,
    /// Standard deviation of the noise before the amplifier.
    pub noise: f64,
    /// Highest level of the result, of full scale.
    pub peak: f64,
}

impl Rig {
    /// The strings as they are.
    pub const CLEAN: Self = Self {
        gain: 0.0,
        hum: 2e-4,
        noise: 2.5e-4,
        peak: 0.7,
    };
    /// High gain: what a rhythm guitar of heavy music sounds like.
    pub const HIGH_GAIN: Self = Self {
        gain: 40.0,
        ..Self::CLEAN
    };
    /// The same in a room with bad wiring.
    pub const HUM_AND_NOISE: Self = Self {
        gain: 40.0,
        hum: 1.5e-3,
        noise: 5e-4,
        peak: 0.7,
    };
}

/// Plays strokes, in order of time, for so many seconds. The same seed gives the same sound.
pub fn play(picks: &[Pick], rig: &Rig, sample_rate: f64, seconds: f64, seed: u64) -> Vec<f32> {
    let mut dice = Dice(Xoshiro256PlusPlus::seed_from_u64(seed));
    let length = samples(seconds, sample_rate);
    let mut sound = vec![0.0; length];
    for (i, pick) in picks.iter().enumerate() {
        let start = samples(pick.at, sample_rate).min(length);
        let next = picks
            .get(i + 1)
            .map_or(length, |next| samples(next.at, sample_rate));
        let ring = match pick.touch {
            Touch::Mute => pick.held + 0.35,
            Touch::Ring => pick.held + 0.02,
        };
        let end = (start + samples(ring, sample_rate)).min(next).min(length);
        let stroke = stroke(pick, end.saturating_sub(start), sample_rate, &mut dice);
        for (out, sample) in sound[start..].iter_mut().zip(stroke) {
            *out += sample;
        }
    }
    for (i, sample) in sound.iter_mut().enumerate() {
        *sample += rig.noise * dice.normal();
        *sample += rig.hum * (TAU * 50.0 * i as f64 / sample_rate).sin();
    }
    if rig.gain > 0.0 {
        filter(&mut sound, sample_rate, 120.0, true);
        for sample in &mut sound {
            *sample = (*sample * rig.gain).tanh();
        }
        // The cabinet.
        filter(&mut sound, sample_rate, 5000.0, false);
        filter(&mut sound, sample_rate, 5000.0, false);
        filter(&mut sound, sample_rate, 80.0, true);
    }
    let loudest = sound.iter().fold(1e-9_f64, |a, b| a.max(b.abs()));
    #[expect(clippy::cast_possible_truncation)]
    sound
        .iter()
        .map(|sample| (sample * rig.peak / loudest) as f32)
        .collect()
}

/// One stroke over three strings, of so many samples.
fn stroke(pick: &Pick, length: usize, sample_rate: f64, dice: &mut Dice) -> Vec<f64> {
    let (keep, bright) = match pick.touch {
        Touch::Mute => (0.74 + 0.10 * dice.even(), 2500.0),
        Touch::Ring => (0.994, 5000.0),
    };
    let mut sound = vec![0.0; length];
    for (ratio, level) in [(1.0, 1.0), (1.4983, 0.8), (2.0, 0.5)] {
        let string = string(pick.hz * ratio, length, keep, bright, sample_rate, dice);
        for (out, sample) in sound.iter_mut().zip(string) {
            *out += level * sample;
        }
    }
    let attack = length.min(samples(0.03, sample_rate));
    let loudest = sound[..attack].iter().fold(1e-9_f64, |a, b| a.max(b.abs()));
    let fade = length.min(samples(0.004, sample_rate));
    for (i, sample) in sound.iter_mut().enumerate() {
        // The next stroke's pick, or the hand, stops the string.
        let left = (length - i).min(fade) as f64 / fade.max(1) as f64;
        *sample *= 0.25 * pick.force / loudest * left;
    }
    sound
}

fn string(
    hz: f64,
    length: usize,
    keep: f64,
    bright: f64,
    sample_rate: f64,
    dice: &mut Dice,
) -> Vec<f64> {
    let period = sample_rate / hz - 0.5;
    let whole = samples(period, 1.0).max(2);
    let part = period - whole as f64;
    let mut burst: Vec<f64> = (0..whole).map(|_| dice.even() * 2.0 - 1.0).collect();
    let mean = burst.iter().sum::<f64>() / whole as f64;
    let soft = 1.0 - (-TAU * bright / sample_rate).exp();
    let mut low = 0.0;
    for sample in &mut burst {
        low += soft * (*sample - mean - low);
        *sample = low;
    }
    // The pick strikes an eighth of the way along the string.
    let place = (whole / 8).max(1);
    let mut sound = vec![0.0; length];
    for i in 0..length {
        let plucked = burst.get(i).copied().unwrap_or(0.0);
        let echo = i.checked_sub(place).and_then(|i| burst.get(i));
        let back = |turns: usize| i.checked_sub(turns).map_or(0.0, |i| sound[i]);
        let turn = |turns| 0.5 * (back(turns) + back(turns + 1));
        let looped = (1.0 - part) * turn(whole) + part * turn(whole + 1);
        sound[i] = plucked - 0.7 * echo.copied().unwrap_or(0.0) + keep * looped;
    }
    sound
}

/// A second-order Butterworth filter, by the bilinear transform.
fn filter(sound: &mut [f64], sample_rate: f64, hz: f64, high: bool) {
    let k = (std::f64::consts::PI * hz / sample_rate).tan();
    let norm = 1.0 / (1.0 + std::f64::consts::SQRT_2 * k + k * k);
    let (b0, b1) = if high {
        (norm, -2.0 * norm)
    } else {
        (k * k * norm, 2.0 * k * k * norm)
    };
    let a1 = 2.0 * (k * k - 1.0) * norm;
    let a2 = (1.0 - std::f64::consts::SQRT_2 * k + k * k) * norm;
    let (mut first, mut second) = (0.0, 0.0);
    for sample in sound {
        let out = b0 * *sample + first;
        first = b1 * *sample - a1 * out + second;
        second = b0 * *sample - a2 * out;
        *sample = out;
    }
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn samples(seconds: f64, sample_rate: f64) -> usize {
    (seconds * sample_rate).max(0.0) as usize
}

struct Dice(Xoshiro256PlusPlus);

impl Dice {
    /// 0..1.
    fn even(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Mean 0, standard deviation 1 (Box and Muller).
    fn normal(&mut self) -> f64 {
        let (u, v) = (self.even().max(1e-12), self.even());
        (-2.0 * u.ln()).sqrt() * (TAU * v).cos()
    }
}
