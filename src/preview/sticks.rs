//! Side stick and sticks: short, dry wood. Pitches and decays are judged, no source.

use super::drums::{Burst, strike};
use super::layers::Layers;
use super::tone::{Mode, ring};

/// A tone of wood: Hz, level in a soft and in a hard stroke, seconds to fall by 60 dB.
type Tone = (f32, f32, f32, f32);

/// The stick across the rim.
pub(super) fn side_stick(seed: u64) -> Layers {
    let shape = [
        (405.0, 0.35, 0.35, 0.1),
        (1120.0, 0.75, 0.8, 0.11),
        (1730.0, 0.7, 1.0, 0.09),
        (2680.0, 0.25, 0.5, 0.06),
        (4150.0, 0.08, 0.25, 0.04),
    ];
    knock(seed, &shape, 0.24, 0.5)
}

/// The sticks against each other.
pub(super) fn sticks(seed: u64) -> Layers {
    let shape = [
        (1380.0, 0.45, 0.45, 0.05),
        (2350.0, 0.9, 1.0, 0.075),
        (3720.0, 0.45, 0.7, 0.05),
        (5600.0, 0.15, 0.35, 0.035),
        (7900.0, 0.05, 0.15, 0.025),
    ];
    knock(seed, &shape, 0.16, 0.35)
}

fn knock(seed: u64, shape: &[Tone], length: f32, tick: f32) -> Layers {
    let mut layers = Layers::new(length * 0.85, length, length * 0.8);
    // A soft stroke rings a little shorter.
    for (layer, hard) in [(&mut layers.soft, false), (&mut layers.hard, true)] {
        let modes: Vec<Mode> = shape
            .iter()
            .map(|&(hz, soft_amp, hard_amp, t60)| Mode {
                hz,
                amp: if hard { hard_amp } else { soft_amp },
                t60: if hard { t60 } else { t60 * 0.85 },
                phase: 0.0,
            })
            .collect();
        let mut rung = vec![0.0; layer.left.len()];
        ring(&modes, &mut rung);
        layer.add(&rung, 1.0);
    }
    strike(
        seed,
        0.4,
        &[
            Burst((1500.0, 12_000.0), 0.02, tick),
            Burst((2500.0, 9000.0), 0.06, tick * 0.12),
            // What stands around answers: wires, shells, the next drum.
            Burst((600.0, 7000.0), length, 0.006),
        ],
        &mut layers.hits,
    );
    layers
}
