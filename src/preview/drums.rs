//! Kick, snare and toms: two membranes over a shell, wires that answer, and what strikes them.
//!
//! Partials of a membrane lie at the zeros of the Bessel functions: 1, 1.594, 2.136, 2.296, 2.653,
//! 2.918 times the lowest (Abramowitz & Stegun, *Handbook of Mathematical Functions*, table 9.5:
//! 2.4048, 3.8317, 5.1356, 5.5201, 6.3802, 7.0156 [memory]). Decays are set by measuring beside recorded
//! drums (`cargo xtask kit`); pitches and levels are judged for heavy music, no source.

use super::layers::{Layers, Wave};
use super::tone::{Decay, Mode, Rise, hiss, ring, samples};
use crate::kit::Piece;
use std::f32::consts::TAU;

/// What is left of a partial when nobody hears it any more.
const SILENT: f32 = 1e-5;

/// One partial of a membrane: its place above the lowest, its level in a soft and in a hard stroke, and
/// seconds to fall by 60 dB.
struct Partial {
    ratio: f32,
    levels: [f32; 2],
    t60: f32,
}

const fn partial(ratio: f32, soft: f32, hard: f32, t60: f32) -> Partial {
    Partial {
        ratio,
        levels: [soft, hard],
        t60,
    }
}

/// A skin that starts sharp, as a struck one does, and settles.
struct Skin<'a> {
    /// Its lowest tone, in Hz.
    hz: f32,
    /// How far above it starts, as a part, and seconds to settle by 60 dB: two shares.
    bends: [(f32, f32); 2],
    /// Seconds of its rise.
    rise: f32,
    partials: &'a [Partial],
    /// How much sooner a soft stroke dies.
    sooner: f32,
}

impl Skin<'_> {
    /// Adds the tone to both layers, in step.
    fn ring(&self, layers: &mut Layers) {
        let length = layers.hard.left.len();
        let mut bends = self.bends.map(|(part, t60)| (part, Decay::new(t60)));
        let mut rise = Rise::new(self.rise);
        let mut falls: Vec<[Decay; 2]> = self
            .partials
            .iter()
            .map(|partial| {
                [
                    Decay::new(partial.t60 * self.sooner),
                    Decay::new(partial.t60),
                ]
            })
            .collect();
        let (mut soft, mut hard) = (vec![0.0; length], vec![0.0; length]);
        let mut phase = 0.0_f32;
        for (soft, hard) in soft.iter_mut().zip(&mut hard) {
            let (mut quiet, mut loud) = (0.0, 0.0);
            for (partial, falls) in self.partials.iter().zip(&mut falls) {
                let left = [falls[0].next(), falls[1].next()];
                if left[1] > SILENT {
                    let tone = (TAU * (phase * partial.ratio).fract()).sin();
                    quiet += tone * left[0] * partial.levels[0];
                    loud += tone * left[1] * partial.levels[1];
                }
            }
            let bend: f32 = bends
                .iter_mut()
                .map(|(part, fall)| *part * fall.next())
                .sum();
            phase += self.hz * (1.0 + bend) / super::tone::RATE;
            let risen = rise.next();
            *soft = quiet * risen;
            *hard = loud * risen;
        }
        layers.soft.add(&soft, 1.0);
        layers.hard.add(&hard, 1.0);
    }
}

/// A band of noise that rings in both layers.
struct Wash {
    /// Low and high end in Hz.
    band: (f32, f32),
    /// Seconds of its rise, and to fall by 60 dB.
    time: (f32, f32),
    /// Level in a soft and in a hard stroke.
    levels: [f32; 2],
    /// How far left and right differ, 0..1.
    width: f32,
}

impl Wash {
    fn ring(&self, seed: u64, sooner: f32, layers: &mut Layers) {
        let length = samples(self.time.1 * 1.5).min(layers.hard.left.len());
        let sounds = wide(seed, self.band, self.width, length);
        let parts = [
            (&mut layers.soft, self.levels[0], sooner),
            (&mut layers.hard, self.levels[1], 1.0),
        ];
        for (layer, level, sooner) in parts {
            let mut rise = Rise::new(self.time.0);
            let mut fall = Decay::new(self.time.1 * sooner);
            let [left, right] = &sounds;
            layer.add_wide([left, right], || level * rise.next() * fall.next());
        }
    }
}

/// Noise for two channels that differ by `width`.
fn wide(seed: u64, band: (f32, f32), width: f32, length: usize) -> [Vec<f32>; 2] {
    let middle = hiss(seed, band.0, band.1, length);
    let side = hiss(seed ^ 0x5151, band.0, band.1, length);
    let (near, far) = (
        (1.0 - width * width * 0.5).sqrt(),
        width * std::f32::consts::FRAC_1_SQRT_2,
    );
    let mix = |sign: f32| {
        let pairs = middle.iter().zip(&side);
        pairs.map(|(m, s)| m * near + s * far * sign).collect()
    };
    [mix(1.0), mix(-1.0)]
}

/// A burst of noise in the stick's part: low and high end in Hz, seconds to fall by 60 dB, level.
pub(super) struct Burst(pub(super) (f32, f32), pub(super) f32, pub(super) f32);

/// The stick: bursts, different in both hits.
pub(super) fn strike(seed: u64, width: f32, bursts: &[Burst], hits: &mut [Wave; 2]) {
    for (h, hit) in (0_u64..).zip(hits) {
        for (i, Burst(band, t60, level)) in (0_u64..).zip(bursts) {
            let [left, right] = wide(seed + 100 + h * 16 + i, *band, width, hit.left.len());
            let mut fall = Decay::new(*t60);
            hit.add_wide([&left, &right], || level * fall.next());
        }
    }
}

/// Short tones in both layers, in step: what a beater or a rim rings like.
fn taps(taps: &[(f32, f32, f32)], levels: [f32; 2], layers: &mut Layers) {
    let modes: Vec<Mode> = taps
        .iter()
        .map(|&(hz, amp, t60)| Mode {
            hz,
            amp,
            t60,
            phase: 0.0,
        })
        .collect();
    let mut rung = vec![0.0; layers.hard.left.len()];
    ring(&modes, &mut rung);
    layers.soft.add(&rung, levels[0]);
    layers.hard.add(&rung, levels[1]);
}

/// A kick for heavy music: a low, short body, and the click of a hard beater that a soft stroke has too.
pub(super) fn kick(seed: u64) -> Layers {
    let mut layers = Layers::new(0.45, 0.55, 0.1);
    let skin = Skin {
        hz: 50.0,
        bends: [(2.2, 0.05), (0.45, 0.25)],
        rise: 0.0008,
        partials: &[
            partial(1.0, 1.0, 1.0, 0.46),
            partial(1.594, 0.2, 0.34, 0.12),
            partial(2.296, 0.08, 0.2, 0.09),
            partial(4.2, 0.03, 0.1, 0.12),
            partial(5.3, 0.01, 0.06, 0.1),
        ],
        sooner: 0.85,
    };
    skin.ring(&mut layers);
    for (i, wash) in (0..).zip([
        // The air in the drum and what the blanket leaves of it.
        Wash {
            band: (70.0, 420.0),
            time: (0.001, 0.16),
            levels: [0.05, 0.09],
            width: 0.3,
        },
        // The beater's felt and wood on the head: a click that lasts as long as guitars need to let it through.
        Wash {
            band: (2000.0, 7000.0),
            time: (0.0003, 0.06),
            levels: [0.25, 0.44],
            width: 0.3,
        },
        // Wires of the snare and loose parts answer: a little air behind the tone.
        Wash {
            band: (500.0, 6000.0),
            time: (0.006, 0.35),
            levels: [0.002, 0.006],
            width: 0.9,
        },
    ]) {
        wash.ring(seed + i, 0.85, &mut layers);
    }
    taps(
        &[
            (2700.0, 0.4, 0.03),
            (3350.0, 0.3, 0.03),
            (4100.0, 0.35, 0.026),
            (5700.0, 0.2, 0.02),
            (1250.0, 0.16, 0.03),
        ],
        [0.39, 0.72],
        &mut layers,
    );
    strike(
        seed,
        0.35,
        &[
            Burst((2300.0, 7500.0), 0.045, 0.33),
            Burst((500.0, 1600.0), 0.045, 0.08),
        ],
        &mut layers.hits,
    );
    layers
}

/// A snare that cracks: two skins, wires, and the rim in a hard stroke.
pub(super) fn snare(seed: u64) -> Layers {
    let mut layers = Layers::new(0.42, 0.55, 0.3);
    let skin = Skin {
        hz: 188.0,
        bends: [(0.2, 0.035), (0.035, 0.2)],
        rise: 0.0003,
        partials: &[
            partial(1.0, 0.75, 0.92, 0.32),
            partial(1.72, 0.36, 0.55, 0.34),
            partial(2.136, 0.16, 0.3, 0.2),
            partial(2.653, 0.1, 0.2, 0.14),
            partial(3.5, 0.04, 0.14, 0.1),
        ],
        sooner: 0.9,
    };
    skin.ring(&mut layers);
    for (i, wash) in (0..).zip([
        // The wires leave the skin, then slap back: they come a moment after the stick.
        Wash {
            band: (1100.0, 6500.0),
            time: (0.004, 0.36),
            levels: [0.13, 0.28],
            width: 0.6,
        },
        Wash {
            band: (500.0, 4000.0),
            time: (0.002, 0.46),
            levels: [0.06, 0.09],
            width: 0.7,
        },
        // The shell knocks: what lies between the skins' tones and the wires.
        Wash {
            band: (380.0, 1250.0),
            time: (0.0006, 0.17),
            levels: [0.09, 0.19],
            width: 0.4,
        },
        Wash {
            band: (4500.0, 12_000.0),
            time: (0.0006, 0.22),
            levels: [0.035, 0.12],
            width: 0.8,
        },
    ]) {
        wash.ring(seed + i, 0.88, &mut layers);
    }
    taps(
        &[
            (905.0, 0.2, 0.12),
            (1410.0, 0.17, 0.09),
            (2230.0, 0.13, 0.06),
            (3480.0, 0.1, 0.05),
        ],
        [0.1, 0.6],
        &mut layers,
    );
    strike(
        seed,
        0.5,
        &[
            Burst((900.0, 9500.0), 0.05, 0.4),
            Burst((1500.0, 9000.0), 0.24, 0.15),
        ],
        &mut layers.hits,
    );
    layers
}

/// A tom: the larger, the lower and the longer.
pub(super) fn tom(piece: Piece, seed: u64) -> Layers {
    // The lowest tone in Hz, seconds to fall by 60 dB, and how much air there is.
    let (hz, t60, air): (f32, f32, f32) = match piece {
        Piece::RackHigh => (147.0, 1.0, 5.0),
        Piece::RackLow => (117.0, 1.2, 2.2),
        Piece::FloorHigh => (90.0, 1.42, 1.2),
        _ => (71.0, 1.7, 0.45),
    };
    let mut layers = Layers::new(t60 * 0.8, t60, 0.12);
    // The lower head, tuned a little higher: both beat slowly.
    let partials = [
        partial(1.0, 0.85, 0.85, t60),
        partial(1.023, 0.15, 0.2, t60 * 0.9),
        partial(1.594, 0.3, 0.5, t60 * 0.55),
        partial(2.136, 0.14, 0.34, t60 * 0.4),
        partial(2.296, 0.08, 0.24, t60 * 0.36),
        partial(2.653, 0.05, 0.16, t60 * 0.3),
        partial(2.918, 0.03, 0.13, t60 * 0.3),
        partial(3.501, 0.025, 0.12, t60 * 0.28),
        partial(4.06, 0.015, 0.09, t60 * 0.25),
    ];
    let skin = Skin {
        hz,
        bends: [(0.26, 0.06), (0.07, 0.4)],
        rise: 0.0005,
        partials: &partials,
        sooner: 0.86,
    };
    skin.ring(&mut layers);
    for (i, wash) in (0..).zip([
        Wash {
            band: (hz, 900.0),
            time: (0.001, 0.1),
            levels: [0.04, 0.12],
            width: 0.4,
        },
        // The snare's wires answer every tom, and the shell breathes.
        Wash {
            band: (900.0, 4500.0),
            time: (0.008, t60 * 0.65),
            levels: [0.0026 * air, 0.011 * air],
            width: 1.0,
        },
        Wash {
            band: (4000.0, 11_000.0),
            time: (0.006, t60 * 0.42),
            levels: [0.0015 * air, 0.009 * air],
            width: 1.0,
        },
        Wash {
            band: (250.0, 2500.0),
            time: (0.003, t60 * 0.45),
            levels: [0.005 * air, 0.016 * air],
            width: 0.8,
        },
    ]) {
        wash.ring(seed + i, 0.9, &mut layers);
    }
    // A larger skin swallows more of the stick; a harder hand makes up for it. Set beside recorded attacks.
    let hand = 147.0 / hz;
    strike(
        seed,
        0.5,
        &[
            Burst((1200.0, 5500.0), 0.03, 0.36 * hand),
            Burst((350.0, 1500.0), 0.07, 0.54 * hand),
        ],
        &mut layers.hits,
    );
    layers
}
