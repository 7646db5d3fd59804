//! The compressor of the bus: it takes a little of what is loud at once, so that the kit moves as one. After it a
//! rounding of the highest peaks, as tape has it: whatever is struck at once stays below the level that the hardest
//! stroke alone may have.

use super::tone::follow;

/// Samples between two looks at the level.
const STEP: usize = 16;
/// Where it begins, in dB below the peak of the hardest stroke, as power of the louder channel.
const THRESHOLD_DB: f32 = -10.0;
/// What is left of a decibel above: a ratio of 5 to 3.
const SLOPE: f32 = 0.25;
/// The most that it takes, in dB.
const MOST_DB: f32 = 3.0;
/// Seconds to take hold and to let go: slow enough to leave the stroke its attack, fast enough to be over
/// by the next count. Judged from common practice, no source.
const ATTACK_S: f32 = 0.018;
const RELEASE_S: f32 = 0.14;

/// The samples after a look.
const STEPS: [f32; STEP] = [
    1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 12.0, 13.0, 14.0, 15.0, 16.0,
];

/// The sum of squares, in four lanes.
pub(super) fn power(channel: &[f32]) -> f32 {
    let mut lanes = [0.0_f32; 4];
    let parts = channel.chunks_exact(4);
    let rest: f32 = parts.remainder().iter().map(|x| x * x).sum();
    for part in parts {
        for (lane, x) in lanes.iter_mut().zip(part) {
            *lane += x * x;
        }
    }
    lanes.iter().sum::<f32>() + rest
}

/// The compressor. Audio thread; no allocation.
pub(super) struct Glue {
    attack: f32,
    release: f32,
    /// Power as it is followed.
    power: f32,
    /// The sum of squares since the last look, of each channel, and how many samples it has.
    sums: [f32; 2],
    count: usize,
    /// The gain, and how far it goes in a sample.
    gain: f32,
    slope: f32,
}

impl Glue {
    /// For a sample rate in Hz.
    pub(super) fn new(rate: f32) -> Self {
        let step_rate = rate / STEP as f32;
        Self {
            attack: follow(ATTACK_S, step_rate),
            release: follow(RELEASE_S, step_rate),
            power: 0.0,
            sums: [0.0; 2],
            count: 0,
            gain: 1.0,
            slope: 0.0,
        }
    }

    /// A span through it, in place. It looks at the level every [`STEP`] samples, whatever the spans.
    pub(super) fn pass(&mut self, left: &mut [f32], right: &mut [f32]) {
        let frames = left.len().min(right.len());
        let mut at = 0;
        while at < frames {
            let to = frames.min(at + STEP - self.count);
            let (l, r) = (&mut left[at..to], &mut right[at..to]);
            for (sum, channel) in self.sums.iter_mut().zip([&*l, &*r]) {
                *sum += power(channel);
            }
            if self.gain != 1.0 || self.slope != 0.0 {
                for channel in [l, r] {
                    for (x, step) in channel.iter_mut().zip(STEPS) {
                        *x *= self.gain + self.slope * step;
                    }
                }
            }
            self.gain += self.slope * (to - at) as f32;
            self.count += to - at;
            if self.count == STEP {
                self.look();
            }
            at = to;
        }
    }

    /// Rounds what comes near full scale, and lets nothing beyond: straight for what is small, 1 from 1.5 on.
    pub(super) fn round(channel: &mut [f32]) {
        for x in channel {
            let held = x.clamp(-1.5, 1.5);
            *x = held * (1.0 - held * held * (4.0 / 27.0));
        }
    }

    fn look(&mut self) {
        let power = self.sums[0].max(self.sums[1]) / STEP as f32;
        let part = if power > self.power {
            self.attack
        } else {
            self.release
        };
        self.power += (power - self.power) * part;
        let over = 10.0 * self.power.max(1e-12).log10() - THRESHOLD_DB;
        let target = if over > 0.0 {
            super::tone::gain(-(over * SLOPE).min(MOST_DB))
        } else {
            1.0
        };
        self.slope = (target - self.gain) / STEP as f32;
        self.sums = [0.0; 2];
        self.count = 0;
    }

    /// Forgets what it heard.
    pub(super) fn clear(&mut self) {
        self.power = 0.0;
        self.sums = [0.0; 2];
        self.count = 0;
        self.gain = 1.0;
        self.slope = 0.0;
    }
}
