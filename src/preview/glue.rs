//! The compressor of the bus: it takes a little of what is loud at once, so that the kit moves as one. After it a
//! rounding of the highest peaks, as tape has it: whatever is struck at once stays below the level that the hardest
//! stroke alone may have.

use super::tone::follow;
use multiversion::multiversion;

/// Samples between two looks at the level.
const STEP: usize = 16;
/// Where it begins, as power of the louder channel: 10 dB below the peak of the hardest stroke. Of a decibel above, a
/// quarter is taken: a ratio of 4 to 3.
const THRESHOLD: f32 = 0.1;
/// The least gain: 3 dB are taken at the most.
const LEAST: f32 = 0.707_945_8;
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
        pass(self, left, right);
    }

    fn look(&mut self) {
        let power = self.sums[0].max(self.sums[1]) / STEP as f32;
        let part = if power > self.power {
            self.attack
        } else {
            self.release
        };
        self.power += (power - self.power) * part;
        // A quarter of what it is above, in dB: of powers, the eighth root.
        let over = (self.power / THRESHOLD).max(1.0);
        let target = (1.0 / over.sqrt().sqrt().sqrt()).max(LEAST);
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

/// See [`Glue::pass`].
#[multiversion(targets("x86_64+avx"))]
fn pass(glue: &mut Glue, left: &mut [f32], right: &mut [f32]) {
    let frames = left.len().min(right.len());
    let mut at = 0;
    while at < frames {
        let to = frames.min(at + STEP - glue.count);
        let (l, r) = (&mut left[at..to], &mut right[at..to]);
        for (sum, channel) in glue.sums.iter_mut().zip([&*l, &*r]) {
            *sum += power(channel);
        }
        if glue.gain != 1.0 || glue.slope != 0.0 {
            for channel in [l, r] {
                ramp(channel, glue.gain, glue.slope);
            }
        }
        glue.gain += glue.slope * (to - at) as f32;
        glue.count += to - at;
        if glue.count == STEP {
            glue.look();
        }
        at = to;
    }
}

/// Multiplies at most [`STEP`] samples by a gain that goes on by `slope` a sample.
#[expect(
    clippy::inline_always,
    reason = "only what is inlined has the instructions that `pass` may use"
)]
#[inline(always)]
fn ramp(channel: &mut [f32], gain: f32, slope: f32) {
    let by = |(x, step): (&mut f32, &f32)| *x *= gain + slope * step;
    // All steps at once where there are so many, as nearly always.
    if let Ok(channel) = <&mut [f32; STEP]>::try_from(&mut *channel) {
        channel.iter_mut().zip(&STEPS).for_each(by);
    } else {
        channel.iter_mut().zip(&STEPS).for_each(by);
    }
}

/// Rounds what comes near full scale, and lets nothing beyond: straight for what is small, 1 from 1.5 on. Then brings
/// it to a level.
#[multiversion(targets("x86_64+avx"))]
pub(super) fn round(channel: &mut [f32], level: f32) {
    for x in channel {
        let held = x.clamp(-1.5, 1.5);
        *x = held * (1.0 - held * held * (4.0 / 27.0)) * level;
    }
}
