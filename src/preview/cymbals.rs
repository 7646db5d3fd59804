//! Cymbals: hundreds of inharmonic modes, higher ones dying sooner, over noise in bands.
//!
//! A struck cymbal's energy moves from the low modes to the high ones in the first tens of
//! milliseconds and then dies from the top (Fletcher & Rossing, *The Physics of Musical
//! Instruments*, chapter on cymbals and gongs [memory]): high modes rise late and fall early.
//! Modes, decays and levels are judged, no source.

use super::kit::Take;
use super::tone::{Chance, Decay, Mode, Rise, begin, follow, gain, hiss, ring, samples};
use crate::kit::Piece;

/// A cymbal.
struct Metal {
    /// How long it may ring, in seconds.
    length: f32,
    /// How many modes, from which frequency in Hz to which.
    modes: (usize, f32, f32),
    /// Seconds to fall by 60 dB at 1 kHz, and how much faster higher modes fall: the power of the
    /// frequency.
    t60: (f32, f32),
    /// Level over frequency, (Hz, dB), rising in Hz.
    shape: &'static [(f32, f32)],
    /// Seconds that the highest modes take to come.
    bloom: f32,
    /// Level of the noise beside the modes, linear, and how much sooner it dies.
    wash: (f32, f32),
    /// Tones that stand out, (Hz, level, seconds to fall by 60 dB).
    bell: &'static [(f32, f32, f32)],
    /// The stick: low and high end in Hz, seconds to fall by 60 dB, level beside the body's.
    stick: (f32, f32, f32, f32),
    /// How much the halves rattle on each other, 0..1.
    sizzle: f32,
}

const HAT_SHAPE: &[(f32, f32)] = &[
    (300.0, -20.0),
    (700.0, -15.0),
    (2500.0, -12.0),
    (5000.0, -3.0),
    (8500.0, 0.0),
    (12_000.0, -2.0),
    (16_000.0, -9.0),
];
const CRASH_SHAPE: &[(f32, f32)] = &[
    (200.0, -9.0),
    (450.0, -3.0),
    (1200.0, -5.0),
    (3000.0, -3.0),
    (6000.0, 0.0),
    (10_000.0, -4.0),
    (16_000.0, -13.0),
];
const CHINA_SHAPE: &[(f32, f32)] = &[
    (250.0, -8.0),
    (500.0, 0.0),
    (1500.0, 1.0),
    (3000.0, 2.0),
    (5500.0, 1.0),
    (9000.0, -3.0),
    (16_000.0, -14.0),
];
const RIDE_SHAPE: &[(f32, f32)] = &[
    (280.0, -8.0),
    (600.0, -5.0),
    (1500.0, -6.0),
    (3500.0, -2.0),
    (6500.0, 0.0),
    (10_000.0, -5.0),
    (16_000.0, -14.0),
];
const FOOT_SHAPE: &[(f32, f32)] = &[
    (300.0, -12.0),
    (600.0, -7.0),
    (1500.0, -6.0),
    (3500.0, 0.0),
    (6000.0, -1.0),
    (10_000.0, -6.0),
    (16_000.0, -16.0),
];

fn metal(piece: Piece) -> Metal {
    let hat = Metal {
        length: 0.2,
        modes: (160, 330.0, 16_500.0),
        t60: (0.14, 0.2),
        shape: HAT_SHAPE,
        bloom: 0.0008,
        wash: (0.9, 0.8),
        bell: &[],
        stick: (4000.0, 14_000.0, 0.02, 0.55),
        sizzle: 0.0,
    };
    let crash = Metal {
        length: 2.8,
        modes: (208, 270.0, 16_500.0),
        t60: (2.6, 0.45),
        shape: CRASH_SHAPE,
        bloom: 0.012,
        wash: (0.9, 0.55),
        bell: &[],
        stick: (2500.0, 12_000.0, 0.06, 0.45),
        sizzle: 0.0,
    };
    match piece {
        Piece::HiHatClosed => hat,
        Piece::HiHatLoose => Metal {
            length: 0.7,
            t60: (0.62, 0.25),
            wash: (1.2, 0.8),
            sizzle: 0.7,
            ..hat
        },
        Piece::HiHatOpen => Metal {
            length: 1.7,
            t60: (1.7, 0.3),
            wash: (1.0, 0.7),
            sizzle: 0.25,
            bloom: 0.002,
            ..hat
        },
        Piece::HiHatFoot => Metal {
            length: 0.18,
            t60: (0.12, 0.15),
            shape: FOOT_SHAPE,
            bloom: 0.003,
            stick: (1500.0, 7000.0, 0.03, 0.15),
            ..hat
        },
        Piece::CrashLeft => crash,
        Piece::CrashRight => Metal {
            modes: (208, 215.0, 16_000.0),
            t60: (3.0, 0.47),
            length: 3.0,
            ..crash
        },
        Piece::China => Metal {
            length: 1.9,
            modes: (192, 240.0, 15_500.0),
            t60: (1.35, 0.3),
            shape: CHINA_SHAPE,
            bloom: 0.004,
            wash: (1.4, 0.7),
            stick: (1200.0, 9000.0, 0.05, 0.5),
            sizzle: 0.5,
            ..crash
        },
        Piece::Splash => Metal {
            length: 1.0,
            modes: (160, 560.0, 16_500.0),
            t60: (0.85, 0.25),
            bloom: 0.004,
            wash: (0.9, 0.7),
            stick: (3500.0, 13_000.0, 0.03, 0.5),
            ..crash
        },
        Piece::RideBell => Metal {
            length: 2.4,
            modes: (128, 300.0, 15_000.0),
            t60: (2.2, 0.4),
            shape: RIDE_SHAPE,
            bloom: 0.02,
            wash: (0.35, 0.5),
            bell: &[
                (612.0, 0.30, 1.9),
                (1043.0, 0.55, 2.0),
                (1588.0, 0.8, 1.8),
                (2376.0, 1.0, 1.5),
                (3190.0, 0.8, 1.2),
                (4085.0, 0.6, 0.9),
                (5120.0, 0.45, 0.7),
                (6470.0, 0.3, 0.5),
                (8050.0, 0.2, 0.35),
            ],
            stick: (3000.0, 12_000.0, 0.02, 0.5),
            ..crash
        },
        _ => Metal {
            length: 2.6,
            modes: (160, 290.0, 15_500.0),
            t60: (3.0, 0.42),
            shape: RIDE_SHAPE,
            bloom: 0.015,
            wash: (0.5, 0.5),
            bell: &[
                (2890.0, 0.22, 0.5),
                (3730.0, 0.26, 0.42),
                (4910.0, 0.26, 0.34),
                (6240.0, 0.22, 0.26),
                (7950.0, 0.16, 0.18),
            ],
            stick: (3500.0, 13_000.0, 0.03, 1.5),
            ..crash
        },
    }
}

/// After so many times its fall by 60 dB a sound is over.
const OVER: f32 = 1.4;
/// Modes whose rise and fall are worked out together.
const BAND: usize = 32;

/// Any cymbal, hi-hats included: one take for each seed. The takes share the noise between the
/// modes, which nobody could tell apart, and differ in how the modes start and in the stick.
pub(super) fn cymbal<const TAKES: usize>(
    piece: Piece,
    seeds: [u64; TAKES],
    rate: f32,
) -> [Take; TAKES] {
    let metal = metal(piece);
    let mut takes = seeds.map(|seed| {
        let mut take = Take::new(metal.length, (metal.stick.2 * 3.0).max(0.12), rate);
        let modes = modes(&metal, seed);
        plate(&metal, &modes, rate, &mut take.body);
        bell(&metal, &modes, rate, &mut take.body);
        take
    });
    wash(&metal, seeds[0], rate, &mut takes);
    for (take, seed) in takes.iter_mut().zip(seeds) {
        stick(&metal, seed, rate, take);
    }
    takes
}

/// The modes, band by band, since higher ones come later.
fn plate(metal: &Metal, modes: &[Mode], rate: f32, out: &mut [f32]) {
    let top = metal.modes.2;
    let mut band = vec![0.0; out.len()];
    for group in modes.chunks(BAND) {
        let middle = group[group.len() / 2].hz;
        let longest = group.iter().map(|mode| mode.t60).fold(0.0, f32::max);
        let end = samples(longest * OVER, rate).min(band.len());
        band[..end].fill(0.0);
        ring(group, rate, &mut band[..end]);
        begin(
            &mut band[..end],
            0.0003 + metal.bloom * (middle / top),
            rate,
        );
        for (x, band) in out.iter_mut().zip(&band[..end]) {
            *x += band;
        }
    }
}

/// The tones that stand out.
fn bell(metal: &Metal, modes: &[Mode], rate: f32, out: &mut [f32]) {
    let level = tones_level(modes);
    let tone = |&(hz, amp, t60)| Mode {
        hz,
        amp: amp * level,
        t60,
        phase: 0.0,
    };
    let tones: Vec<Mode> = metal.bell.iter().map(tone).collect();
    let mut rung = vec![0.0; out.len()];
    ring(&tones, rate, &mut rung);
    begin(&mut rung, 0.0004, rate);
    for (x, rung) in out.iter_mut().zip(rung) {
        *x += rung;
    }
}

/// The level of a tone that stands out of the modes.
fn tones_level(modes: &[Mode]) -> f32 {
    let power: f32 = modes.iter().map(|mode| mode.amp * mode.amp).sum();
    power.sqrt() * 0.9
}

fn modes(metal: &Metal, seed: u64) -> Vec<Mode> {
    // The metal is the same in every take; where it is struck, and so how its modes start, differs.
    let (mut plate, mut section_position) = (Chance::new(seed / 64), Chance::new(seed + 7));
    let (count, low, high) = metal.modes;
    (0..count)
        .map(|i| {
            let place = (i as f32 + plate.next()) / count as f32;
            let hz = low + (high - low) * place;
            let t60 = fall(metal, hz) * (0.75 + 0.5 * plate.next());
            let amp = gain(level(metal.shape, hz))
                * (0.25 + 1.5 * section_position.next() * section_position.next().sqrt());
            Mode {
                hz,
                amp,
                t60,
                phase: section_position.next(),
            }
        })
        .collect()
}

/// Seconds to fall by 60 dB at a frequency.
fn fall(metal: &Metal, hz: f32) -> f32 {
    let (at_1k, power) = metal.t60;
    at_1k * (hz / 1000.0).powf(-power)
}

/// Level in dB at a frequency, between the points of a shape.
fn level(shape: &[(f32, f32)], hz: f32) -> f32 {
    let above = shape.partition_point(|(at, _)| *at <= hz);
    let (Some(&(low, low_db)), Some(&(high, high_db))) = (
        shape.get(above.saturating_sub(1)),
        shape.get(above.min(shape.len() - 1)),
    ) else {
        return 0.0;
    };
    if above == 0 || above == shape.len() {
        return if above == 0 { low_db } else { high_db };
    }
    low_db + (high_db - low_db) * (hz / low).ln() / (high / low).ln()
}

/// The noise between the modes, in three bands that die one after another, from the top.
fn wash(metal: &Metal, seed: u64, rate: f32, takes: &mut [Take]) {
    let (share, sooner) = metal.wash;
    let start = samples(0.05, rate);
    let power: f32 = takes[0].body.iter().take(start).map(|x| x * x).sum();
    let beside = (power / start as f32).sqrt() * share;
    let mut noise = vec![0.0_f32; takes[0].body.len()];
    let mut rattle = Chance::new(seed + 11);
    for (i, (low, high)) in (0_u64..).zip([(1500.0, 4000.0), (4000.0, 8500.0), (8500.0, 15_000.0)])
    {
        let middle = f32::sqrt(low * high);
        let t60 = fall(metal, middle) * sooner;
        let over = samples(t60 * OVER, rate).min(noise.len());
        let mut band = hiss(seed + 1 + i, low, high, rate);
        let mut dying = Decay::new(t60, rate);
        let mut rise = Rise::new(0.0004 + metal.bloom * middle / 16_000.0, rate);
        // A band of noise is as strong as it is wide.
        let level =
            beside * gain(level(metal.shape, middle)) * 1.3 * (15_000.0 / (high - low)).sqrt();
        // Loose metal touches itself at random: the noise comes in grains.
        let (often, fall_back, mut gate) = (260.0 / rate, follow(0.004, rate), 1.0_f32);
        for x in &mut noise[..over] {
            let mut grain = 1.0;
            if metal.sizzle > 0.0 {
                if rattle.next() < often {
                    gate = 1.0 + 2.5 * rattle.next();
                }
                gate += (0.45 - gate) * fall_back;
                grain += metal.sizzle * (gate - 1.0);
            }
            *x += band() * dying.next() * rise.next() * level * grain;
        }
    }
    for take in takes {
        for (x, noise) in take.body.iter_mut().zip(&noise) {
            *x += noise;
        }
    }
}

/// What the stick adds on top.
fn stick(metal: &Metal, seed: u64, rate: f32, take: &mut Take) {
    let (low, high, t60, share) = metal.stick;
    let peak = take.body.iter().fold(0.0_f32, |peak, x| peak.max(x.abs()));
    let (mut tick, mut dying) = (hiss(seed + 5, low, high, rate), Decay::new(t60, rate));
    for x in &mut take.edge {
        *x = tick() * dying.next() * peak * share * 2.0;
    }
}
