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

/// The frequencies that levels and decays are given at, in Hz: octaves.
const OCTAVES: usize = 7;
const LOWEST_HZ: f32 = 250.0;
/// Bands in an octave.
const IN_OCTAVE: f32 = 2.0;
/// How many bands there are: the octaves from end to end.
const BANDS: u8 = 13;

/// The octaves, in Hz.
const OCTAVE_HZ: [f32; OCTAVES] = [250.0, 500.0, 1000.0, 2000.0, 4000.0, 8000.0, 16_000.0];

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
    /// How unequal the modes are: 0.5 is noise, above 1 some stand out.
    pub(super) lines: f32,
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

/// The modes, band by band.
fn plate(metal: &Metal, seed: u64, layers: &mut Layers) {
    let length = layers.hard.left.len();
    let size = length.next_power_of_two();
    let modes = spectrum(metal, seed, size);
    let inverse = FftPlanner::new().plan_fft_inverse(size);
    let mut scratch = vec![Complex::default(); inverse.get_inplace_scratch_len()];
    let rattle = rattle(metal, seed, length);
    for i in 0..BANDS {
        let middle = LOWEST_HZ * (f32::from(i) / IN_OCTAVE).exp2();
        let mut band = vec![Complex::<f32>::default(); size];
        for (bin, mode) in modes.iter().enumerate().skip(1) {
            let hz = bin as f32 * RATE / size as f32;
            let share = share(i, hz);
            if share > 0.0 {
                // Left is the real part, right the imaginary one: one transform makes both.
                band[bin] += (mode[0] + i_times(mode[1])) * share;
                band[size - bin] += (mode[0].conj() + i_times(mode[1].conj())) * share;
            }
        }
        inverse.process_with_scratch(&mut band, &mut scratch);
        let left: Vec<f32> = band[..length].iter().map(|x| x.re).collect();
        let right: Vec<f32> = band[..length].iter().map(|x| x.im).collect();
        let parts = [
            (&mut layers.soft, 0, metal.sooner),
            (&mut layers.hard, 1, 1.0),
        ];
        for (layer, force, sooner) in parts {
            let level = gain(at(&metal.levels[force], middle));
            let t60 = at(&metal.t60, middle) * sooner;
            let (early, times) = metal.early;
            let mut rise = Rise::new(0.0003 + metal.bloom * middle / 16_000.0);
            let (mut first, mut rest) = (Decay::new(t60 / times), Decay::new(t60));
            let mut rattle = rattle.iter();
            layer.add_wide([&left, &right], || {
                let fall = early * first.next() + (1.0 - early) * rest.next();
                let grain = if middle > 1500.0 {
                    rattle.next().copied().unwrap_or(1.0)
                } else {
                    1.0
                };
                level * rise.next() * fall * grain
            });
        }
    }
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

/// The modes of both channels as the lower half of a spectrum.
fn spectrum(metal: &Metal, seed: u64, size: usize) -> Vec<[Complex<f32>; 2]> {
    /// Above, in Hz, nothing sounds: what the highest rate of common devices leaves.
    const HIGHEST_HZ: f32 = 19_000.0;
    let mut chance = Chance::new(seed);
    let strong = OCTAVE_HZ.map(|hz| strength(lines(metal, hz)));
    // A spectrum's lines sum to a power that grows with their number.
    let level = 1.0 / (size as f32).sqrt();
    (0..size / 2)
        .map(|bin| {
            let hz = bin as f32 * RATE / size as f32;
            let (amp, phase, apart) = (chance.next(), chance.next(), chance.next() - 0.5);
            let edge = ((hz / metal.low).log2() * 3.0 + 1.0).clamp(0.0, 1.0)
                * ((HIGHEST_HZ - hz) / 2000.0).clamp(0.0, 1.0);
            let amp = unequal(amp).powf(lines(metal, hz)) * edge * level / at(&strong, hz);
            // Low modes move the plate as a whole and are heard alike on both sides.
            let width = (hz / 4000.0).clamp(0.15, 0.7);
            let line = |turns: f32| Complex::from_polar(amp, std::f32::consts::TAU * turns);
            [line(phase), line(phase + apart * width)]
        })
        .collect()
}

/// How unequal the modes are at a frequency in Hz: high ones lie so close that none stands out.
fn lines(metal: &Metal, hz: f32) -> f32 {
    metal.lines * (1.0 - 0.5 * (hz / 12_000.0).min(1.0))
}

/// A chance in 0..1 as a level: a few are far above the others, though none is bare.
fn unequal(chance: f32) -> f32 {
    -(chance.max(1e-3)).ln()
}

/// The root of the mean power of levels to a power.
fn strength(power: f32) -> f32 {
    const PLACES: u16 = 256;
    let places = (0..PLACES).map(|i| (f32::from(i) + 0.5) / f32::from(PLACES));
    let sum: f32 = places.map(|place| unequal(place).powf(2.0 * power)).sum();
    (sum / f32::from(PLACES)).sqrt()
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
    let tone = |&(hz, amp, t60)| Mode {
        hz,
        amp: amp * peak,
        t60,
        phase: 0.0,
    };
    let tones: Vec<Mode> = metal.bell.iter().map(tone).collect();
    let mut rung = vec![0.0; samples(metal.seconds)];
    ring(&tones, &mut rung);
    begin(&mut rung, 0.0004);
    layers.soft.add(&rung, 0.45);
    layers.hard.add(&rung, 1.0);
}
