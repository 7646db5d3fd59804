//! Side stick and sticks: short, dry wood. Pitches and decays are judged, no source.

use super::kit::Take;
use super::tone::{Decay, Mode, hiss, ring};

/// The stick across the rim.
pub(super) fn side_stick(seed: u64, rate: f32) -> Take {
    let shape = [
        (405.0, 0.35, 0.09),
        (1120.0, 0.8, 0.1),
        (1730.0, 1.0, 0.08),
        (2680.0, 0.5, 0.05),
        (4150.0, 0.25, 0.03),
    ];
    knock(seed, rate, &shape, 0.22, 0.5)
}

/// The sticks against each other.
pub(super) fn sticks(seed: u64, rate: f32) -> Take {
    let shape = [
        (1380.0, 0.45, 0.05),
        (2350.0, 1.0, 0.07),
        (3720.0, 0.7, 0.045),
        (5600.0, 0.35, 0.03),
        (7900.0, 0.15, 0.02),
    ];
    knock(seed, rate, &shape, 0.15, 0.35)
}

fn knock(seed: u64, rate: f32, shape: &[(f32, f32, f32)], length: f32, tick: f32) -> Take {
    let mut take = Take::new(length, 0.05, rate);
    // No two strokes land on the same spot of the wood.
    let off = 1.0 + 0.012 * ((seed / 16 % 2) as f32);
    let modes: Vec<Mode> = shape
        .iter()
        .map(|&(hz, amp, t60)| Mode {
            hz: hz * off,
            amp,
            t60,
            phase: 0.0,
        })
        .collect();
    ring(&modes, rate, &mut take.body);
    let (mut air, mut fall) = (hiss(seed, 1500.0, 12_000.0, rate), Decay::new(0.016, rate));
    for x in &mut take.edge {
        *x = air() * fall.next() * tick * 4.0;
    }
    take
}
