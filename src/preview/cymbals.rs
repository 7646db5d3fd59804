//! Cymbals: tens of thousands of inharmonic modes, bands of which rise and die each in its time.
//!
//! The modes are the lines of one long spectrum with random phases, so that they lie as densely as in a
//! plate (whose modes stand at about equal distances over frequency; Fletcher & Rossing, *The Physics of
//! Musical Instruments*, chapters on plates and on cymbals [memory]) and no line stands bare. A struck
//! cymbal's energy moves from the low modes to the high ones in the first tens of milliseconds and then
//! dies from the top (same source): high bands rise late and fall early. Levels and decays are set by
//! measuring beside recorded cymbals (`cargo xtask kit`) where there are any, else judged.

use super::drums::{Burst, strike};
use super::layers::{Layers, Wave};
use super::metal_table::metal;
use super::tone::{Chance, Decay, Mode, RATE, Rise, begin, gain, ring, samples};
use crate::kit::Piece;
use rustfft::FftPlanner;
use rustfft::num_complex::Complex;
use std::f32::consts::TAU;

/// The frequencies that levels and decays are given at, in Hz: octaves.
const OCTAVES: usize = 7;
const LOWEST_HZ: f32 = 250.0;
/// Bands in an octave.
const IN_OCTAVE: f32 = 2.0;
/// How many bands there are: the octaves from end to end.
const BANDS: u8 = 13;

/// A value for each octave from 250 Hz to 16 kHz.
pub(super) type Curve = [f32; OCTAVES];

/// A cymbal.
pub(super) struct Metal {
    /// How long a hard stroke may ring, in seconds; a soft one rings two thirds of it.
    pub(super) seconds: f32,
    /// Its lowest mode, in Hz.
    pub(super) low: f32,
    /// Level in dB (of the density of power) of a soft and of a hard stroke.
    pub(super) levels: [Curve; 2],
    /// Seconds to fall by 60 dB, of a hard stroke.
    pub(super) t60: Curve,
    /// The part that dies first: its share of the level, and how many times sooner it dies.
    pub(super) early: (f32, f32),
    /// How much sooner a soft stroke dies.
    pub(super) sooner: f32,
    /// Seconds that the highest modes take to come.
    pub(super) bloom: f32,
    /// Hz from a mode to the next, on average.
    pub(super) spacing: f32,
    /// How unequal the modes are, as a power.
    pub(super) lines: f32,
    /// The level of the wash beside the modes, in the part that dies first and in what rings on.
    pub(super) wash: (f32, f32),
    /// Tones that stand out: Hz, level, seconds to fall by 60 dB.
    pub(super) bell: &'static [(f32, f32, f32)],
    /// What the stick adds, beside the body's peak.
    pub(super) stick: &'static [Burst],
    /// How much the halves or rivets rattle, 0..1.
    pub(super) sizzle: f32,
}

/// The value of a curve at a frequency in Hz.
fn at(curve: &Curve, hz: f32) -> f32 {
    let place = (hz / LOWEST_HZ).log2().clamp(0.0, (OCTAVES - 1) as f32);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let below = (place as usize).min(OCTAVES - 2);
    let part = place - below as f32;
    curve[below] * (1.0 - part) + curve[below + 1] * part
}

/// Any cymbal, hi-hats included.
pub(super) fn cymbal(piece: Piece, seed: u64) -> Layers {
    let metal = metal(piece);
    let mut layers = Layers::new(metal.seconds * 0.67, metal.seconds, 0.09);
    plate(&metal, seed, &mut layers);
    bell(&metal, &mut layers);
    let peak = layers.hard.peak();
    strike(seed, 0.8, metal.stick, &mut layers.hits);
    for channel in layers.hits.iter_mut().flat_map(Wave::channels) {
        for x in channel {
            *x *= peak;
        }
    }
    layers
}

/// The modes and the wash, band by band.
fn plate(metal: &Metal, seed: u64, layers: &mut Layers) {
    let length = layers.hard.left.len();
    let size = length.next_power_of_two();
    let modes = Spectrum::new(modes(metal, seed, size), metal);
    // None of its lines is heard by itself, so that a short one may go round.
    let wash = Spectrum::new(wash(seed + 5, size.min(WASH)), metal);
    let rattle = rattle(metal, seed, length);
    let (early, times) = metal.early;
    let (washed, washes) = metal.wash;
    for i in 0..BANDS {
        let middle = LOWEST_HZ * (f32::from(i) / IN_OCTAVE).exp2();
        let (modes, wash) = (modes.band(i), wash.band(i));
        let parts = [
            (&mut layers.soft, 0, metal.sooner),
            (&mut layers.hard, 1, 1.0),
        ];
        for (layer, force, sooner) in parts {
            let level = gain(at(&metal.levels[force], middle));
            let t60 = at(&metal.t60, middle) * sooner;
            let mut rise = Rise::new(0.0003 + metal.bloom * middle / 16_000.0);
            let (mut first, mut rest) = (Decay::new(t60 / times), Decay::new(t60));
            let mut rattle = rattle.iter();
            let channels = layer.left.iter_mut().zip(&mut layer.right);
            for ((l, r), (mode, wash)) in channels.zip(modes.iter().zip(wash.iter().cycle())) {
                let grain = if middle > 1500.0 {
                    rattle.next().copied().unwrap_or(1.0)
                } else {
                    1.0
                };
                let (first, rest) = (early * first.next(), (1.0 - early) * rest.next());
                let sound = *mode * (first + rest) + *wash * (first * washed + rest * washes);
                let level = level * rise.next() * grain;
                *l += sound.re * level;
                *r += sound.im * level;
            }
        }
    }
}

/// Samples until the wash comes round.
const WASH: usize = 1 << 15;

/// Both channels of a line of a spectrum.
type Line = [Complex<f32>; 2];

/// A transform from a spectrum to time, in place.
type Inverse = dyn Fn(&mut [Complex<f32>]) + Send + Sync;

/// A spectrum that is made sound band by band.
struct Spectrum {
    /// Its lower half.
    lines: Vec<Line>,
    /// How much of each line the cymbal lets sound.
    edges: Vec<f32>,
    inverse: Box<Inverse>,
}

impl Spectrum {
    /// From lines of a power of 1 on average.
    fn new(lines: Vec<Line>, metal: &Metal) -> Self {
        /// Above, in Hz, nothing sounds: what the highest rate of common devices leaves.
        const HIGHEST_HZ: f32 = 19_000.0;
        let size = lines.len() * 2;
        let edge = |bin| {
            let hz = hz(bin, size);
            ((hz / metal.low).log2() * 3.0 + 1.0).clamp(0.0, 1.0)
                * ((HIGHEST_HZ - hz) / 2000.0).clamp(0.0, 1.0)
        };
        let inverse = FftPlanner::new().plan_fft_inverse(size);
        Self {
            edges: (0..lines.len()).map(edge).collect(),
            lines,
            inverse: Box::new(move |spectrum| inverse.process(spectrum)),
        }
    }

    /// One band of it in time, as strong as noise is in it: left in the real part, right in the imaginary one, so
    /// that one transform makes both.
    fn band(&self, band: u8) -> Vec<Complex<f32>> {
        let size = self.lines.len() * 2;
        let mut made = vec![Complex::default(); size];
        let (mut is, mut should) = (1e-30, 0.0);
        for (bin, (line, edge)) in self.lines.iter().zip(&self.edges).enumerate().skip(1) {
            let share = share(band, hz(bin, size)) * edge;
            if share > 0.0 {
                made[bin] += (line[0] + i_times(line[1])) * share;
                made[size - bin] += (line[0].conj() + i_times(line[1].conj())) * share;
                is += line[0].norm_sqr() * share * share;
                should += share * share;
            }
        }
        // A spectrum's lines sum to a power that grows with their number. Where few modes are strong, a band's level
        // is not left to luck.
        let level = (should / is / size as f32).sqrt();
        (self.inverse)(&mut made);
        for x in &mut made {
            *x *= level;
        }
        made
    }
}

/// The frequency of a line in Hz, where the whole spectrum has `size`.
fn hz(bin: usize, size: usize) -> f32 {
    bin as f32 * RATE / size as f32
}

/// The imaginary unit times a number.
fn i_times(x: Complex<f32>) -> Complex<f32> {
    Complex::new(-x.im, x.re)
}

/// What share of a frequency in Hz belongs to a band; the shares of all bands sum to one.
fn share(band: u8, hz: f32) -> f32 {
    let place = ((hz / LOWEST_HZ).log2() * IN_OCTAVE).clamp(0.0, f32::from(BANDS - 1));
    let apart = (place - f32::from(band)).abs();
    if apart < 1.0 {
        0.5 + 0.5 * (std::f32::consts::PI * apart).cos()
    } else {
        0.0
    }
}

/// A line of both channels. Low ones move the plate as a whole and are heard alike on both sides.
fn line(chance: &mut Chance, hz: f32, amp: f32) -> Line {
    let (turns, apart) = (chance.next(), chance.next() - 0.5);
    let width = (hz / 4000.0).clamp(0.15, 0.7);
    [turns, turns + apart * width].map(|turns| Complex::from_polar(amp, TAU * turns))
}

/// Noise.
fn wash(seed: u64, size: usize) -> Vec<Line> {
    let mut chance = Chance::new(seed);
    let lines = 0..size / 2;
    lines
        .map(|bin| {
            let amp = unequal(chance.next()).sqrt();
            line(&mut chance, hz(bin, size), amp)
        })
        .collect()
}

/// The modes. Each is a pair: no plate is quite round, and what would be one tone is two that beat slowly.
fn modes(metal: &Metal, seed: u64, size: usize) -> Vec<Line> {
    /// How far apart the two of a pair are at most, in Hz.
    const APART_HZ: f32 = 2.5;
    /// Below, in Hz, the modes are more and more alike.
    const EVEN_HZ: f32 = 2000.0;
    let mut chance = Chance::new(seed);
    let mut lines = vec![Line::default(); size / 2];
    let mut at = metal.low * 0.5;
    while at < RATE * 0.5 {
        // An octave has few low modes: one that stood far above the others would be a bare tone.
        let unlike = metal.lines * (at / EVEN_HZ).clamp(0.35, 1.0);
        let amp = unequal(chance.next()).powf(unlike);
        for (apart, share) in [(0.0, 1.0), (chance.next() * APART_HZ, chance.next())] {
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            let bin = ((at + apart) * size as f32 / RATE).round() as usize;
            let line = line(&mut chance, at, amp * share);
            if let Some(held) = lines.get_mut(bin) {
                for (held, line) in held.iter_mut().zip(line) {
                    *held += line;
                }
            }
        }
        at += metal.spacing * (0.3 + 1.4 * chance.next());
    }
    lines
}

/// A chance in 0..1 as a level: a few are far above the others, though none is bare.
fn unequal(chance: f32) -> f32 {
    -(chance.max(1e-2)).ln()
}

/// Loose metal touches itself at random: a level that comes in grains.
fn rattle(metal: &Metal, seed: u64, length: usize) -> Vec<f32> {
    /// Grains a second, and seconds that one lasts.
    const OFTEN: f32 = 240.0;
    const LASTS_S: f32 = 0.004;
    if metal.sizzle == 0.0 {
        return Vec::new();
    }
    let mut chance = Chance::new(seed + 11);
    let (often, back) = (OFTEN / RATE, super::tone::follow(LASTS_S, RATE));
    let (mut gate, mut smooth) = (1.0_f32, 1.0_f32);
    (0..length)
        .map(|_| {
            if chance.next() < often {
                gate = 1.0 + 2.0 * chance.next();
            }
            gate += (0.5 - gate) * back;
            smooth += (gate - smooth) * 0.05;
            1.0 + metal.sizzle * (smooth - 1.0)
        })
        .collect()
}

/// The tones that stand out.
fn bell(metal: &Metal, layers: &mut Layers) {
    if metal.bell.is_empty() {
        return;
    }
    let peak = layers.hard.peak();
    let parts = [
        (&mut layers.soft, 0.45, metal.sooner),
        (&mut layers.hard, 1.0, 1.0),
    ];
    for (layer, level, sooner) in parts {
        let tone = |&(hz, amp, t60)| Mode {
            hz,
            amp: amp * peak,
            t60: t60 * sooner,
            phase: 0.0,
        };
        let tones: Vec<Mode> = metal.bell.iter().map(tone).collect();
        let mut rung = vec![0.0; samples(metal.seconds)];
        ring(&tones, &mut rung);
        begin(&mut rung, 0.0004);
        layer.add(&rung, level);
    }
}
