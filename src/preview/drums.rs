//! Kick, snare and toms: membranes over a shell.
//!
//! Partials of a membrane lie at the zeros of the Bessel functions: 1, 1.594, 2.136, 2.296, 2.653,
//! 2.918 times the lowest (Abramowitz & Stegun, *Handbook of Mathematical Functions*, table 9.5:
//! 2.4048, 3.8317, 5.1356, 5.5201, 6.3802, 7.0156 [memory]). Pitches, decays and levels are judged
//! for a dry, close sound, no source.

use super::kit::Take;
use super::tone::{Decay, Mode, Rise, drive, hiss, ring};
use crate::kit::Piece;
use std::f32::consts::TAU;

/// The partials of a membrane, as parts of the lowest.
const MEMBRANE: [f32; 6] = [1.0, 1.594, 2.136, 2.296, 2.653, 2.918];

/// What is left of a partial when nobody hears it any more.
const SILENT: f32 = 1e-4;

/// A tone that starts sharp, as a struck skin does, and settles.
struct Glide {
    hz: f32,
    /// How far above it starts, as a part, and how fast each share settles.
    bends: [(f32, Decay); 2],
    phase: f32,
    rate: f32,
}

impl Glide {
    fn new(hz: f32, bends: [(f32, f32); 2], rate: f32) -> Self {
        Self {
            hz,
            bends: bends.map(|(part, t60)| (part, Decay::new(t60, rate))),
            phase: 0.0,
            rate,
        }
    }

    /// The phase in turns; it grows without bound, by a few hundred turns at most.
    fn next(&mut self) -> f32 {
        let phase = self.phase;
        let bend: f32 = self
            .bends
            .iter_mut()
            .map(|(part, fall)| *part * fall.next())
            .sum();
        self.phase += self.hz * (1.0 + bend) / self.rate;
        phase
    }
}

/// A kick for heavy music: a low, short body, and the click of a hard beater.
pub(super) fn kick(seed: u64, rate: f32) -> Take {
    let mut take = Take::new(0.55, 0.09, rate);
    let mut glide = Glide::new(51.0, [(2.6, 0.06), (0.5, 0.3)], rate);
    let (mut rise, mut fall) = (Rise::new(0.0006, rate), Decay::new(0.42, rate));
    let mut knock = Decay::new(0.09, rate);
    let (mut air, mut air_fall) = (hiss(seed, 60.0, 420.0, rate), Decay::new(0.12, rate));
    for x in &mut take.body {
        let phase = glide.next();
        let tone = (TAU * phase).sin() * fall.next();
        let second = (TAU * phase * MEMBRANE[1]).sin() * knock.next() * 0.35;
        let driven = drive((tone + second) * 1.7);
        *x = rise.next() * (driven + air() * air_fall.next() * 0.25);
    }
    let (mut snap, mut snap_fall) = (
        hiss(seed + 1, 2200.0, 9000.0, rate),
        Decay::new(0.028, rate),
    );
    let (mut slap, mut slap_fall) = (hiss(seed + 2, 500.0, 1600.0, rate), Decay::new(0.05, rate));
    for x in &mut take.edge {
        *x = snap() * snap_fall.next() * 1.9 + slap() * slap_fall.next() * 1.5;
    }
    let tap = |hz, amp, t60| Mode {
        hz,
        amp,
        t60,
        phase: 0.0,
    };
    ring(
        &[
            tap(3100.0, 0.6, 0.022),
            tap(4700.0, 0.35, 0.014),
            tap(1250.0, 0.25, 0.03),
        ],
        rate,
        &mut take.edge,
    );
    take
}

/// A snare that cracks: two skins, wires, and the rim in a hard stroke.
pub(super) fn snare(seed: u64, rate: f32) -> Take {
    let mut take = Take::new(0.5, 0.22, rate);
    let mut glide = Glide::new(192.0, [(0.22, 0.035), (0.04, 0.2)], rate);
    let shares = [
        (1.0, 0.34),
        (0.55, 0.22),
        (0.3, 0.16),
        (0.25, 0.13),
        (0.16, 0.1),
        (0.12, 0.09),
    ];
    let mut falls = shares.map(|(_, t60)| Decay::new(t60, rate));
    let mut rise = Rise::new(0.0003, rate);
    let (mut wires, mut far) = (
        hiss(seed, 1300.0, 7000.0, rate),
        hiss(seed + 1, 700.0, 5200.0, rate),
    );
    // The wires leave the skin, then slap back: they come a moment after the stick.
    let mut wires_rise = Rise::new(0.0014, rate);
    let (mut near_fall, mut far_fall) = (Decay::new(0.26, rate), Decay::new(0.42, rate));
    for x in &mut take.body {
        let phase = glide.next();
        let mut skin = 0.0;
        for (i, fall) in falls.iter_mut().enumerate() {
            let left = fall.next();
            if left > SILENT {
                skin += (TAU * phase * MEMBRANE[i]).sin() * left * shares[i].0;
            }
        }
        let buzz = wires() * near_fall.next() * 1.15 + far() * far_fall.next() * 0.4;
        *x = rise.next() * skin * 0.62 + wires_rise.next() * buzz;
    }
    let (mut crack, mut crack_fall) = (
        hiss(seed + 2, 800.0, 10_000.0, rate),
        Decay::new(0.045, rate),
    );
    for x in &mut take.edge {
        *x = crack() * crack_fall.next() * 2.6;
    }
    let rim = |hz, amp, t60| Mode {
        hz,
        amp,
        t60,
        phase: 0.0,
    };
    ring(
        &[
            rim(905.0, 0.2, 0.12),
            rim(1410.0, 0.17, 0.09),
            rim(2230.0, 0.13, 0.06),
            rim(3480.0, 0.1, 0.05),
        ],
        rate,
        &mut take.edge,
    );
    take
}

/// A tom: the larger, the lower and the longer.
pub(super) fn tom(piece: Piece, seed: u64, rate: f32) -> Take {
    let (hz, t60): (f32, f32) = match piece {
        Piece::RackHigh => (147.0, 0.6),
        Piece::RackLow => (117.0, 0.72),
        Piece::FloorHigh => (90.0, 0.9),
        _ => (71.0, 1.1),
    };
    let mut take = Take::new(t60 * 1.25, 0.12, rate);
    let mut glide = Glide::new(hz, [(0.28, 0.07), (0.09, 0.4)], rate);
    let shares = [
        (1.0, 1.0),
        (0.6, 0.6),
        (0.4, 0.46),
        (0.28, 0.4),
        (0.16, 0.3),
        (0.07, 0.2),
    ];
    let mut falls = shares.map(|(_, part)| Decay::new(t60 * part, rate));
    let mut rise = Rise::new(0.0005, rate);
    let (mut air, mut air_fall) = (hiss(seed, hz, 900.0, rate), Decay::new(0.09, rate));
    for x in &mut take.body {
        let phase = glide.next();
        let mut skin = 0.0;
        for (i, fall) in falls.iter_mut().enumerate() {
            let left = fall.next();
            if left > SILENT {
                skin += (TAU * phase * MEMBRANE[i]).sin() * left * shares[i].0;
            }
        }
        *x = rise.next() * (drive(skin * 0.8) + air() * air_fall.next() * 0.3);
    }
    let (mut stick, mut stick_fall) =
        (hiss(seed + 1, 1200.0, 5500.0, rate), Decay::new(0.03, rate));
    let (mut slap, mut slap_fall) = (hiss(seed + 2, 350.0, 1500.0, rate), Decay::new(0.07, rate));
    // A larger skin swallows more of the stick; a harder hand makes up for it.
    let hand = (147.0 / hz).sqrt();
    for x in &mut take.edge {
        let attack = stick() * stick_fall.next() * 2.7 + slap() * slap_fall.next() * 2.6;
        *x = attack * hand;
    }
    take
}
