//! From the inner rate to a host's that is a multiple of it.

use super::room::SPAN;

/// Makes several samples of one, by the cubic through the four around (Hermite's, Catmull-Rom's tangents).
/// What it leaves above half the inner rate lies beyond hearing. Audio thread; allocates only when made.
pub(super) struct Upsample {
    /// What each of the four weighs, for each of the samples that are made of one.
    weights: Vec<[f32; 4]>,
    /// Samples made since the second of `near`.
    phase: usize,
    near: [[f32; 4]; 2],
}

impl Upsample {
    /// So many samples for each. Allocates.
    pub(super) fn new(times: u16) -> Self {
        let place = |phase| f32::from(phase) / f32::from(times);
        Self {
            weights: (0..times).map(|phase| cubic(place(phase))).collect(),
            phase: 0,
            near: [[0.0; 4]; 2],
        }
    }

    /// How many inner samples the next `frames` need.
    pub(super) fn needs(&self, frames: usize) -> usize {
        (self.phase + frames) / self.weights.len()
    }

    /// Adds to `left` and `right`, at most [`SPAN`] samples, what comes next of `inner`, which are as many as it
    /// [`needs`](Self::needs).
    pub(super) fn add(&mut self, inner: [&[f32]; 2], left: &mut [f32], right: &mut [f32]) {
        let times = self.weights.len();
        let frames = left.len().min(right.len());
        let needs = self.needs(frames);
        for ((near, inner), out) in self.near.iter_mut().zip(inner).zip([left, right]) {
            let mut around = [0.0; SPAN + 4];
            around[..4].copy_from_slice(near);
            around[4..4 + needs].copy_from_slice(&inner[..needs]);
            // All samples that lie alike between two at once: the same weights, a place further each.
            for (phase, weights) in self.weights.iter().enumerate() {
                let later = usize::from(phase < self.phase);
                let first = phase + later * times - self.phase;
                let mut made = [0.0; SPAN];
                let places = needs + 1 - later;
                for (made, four) in made[..places.min(SPAN)]
                    .iter_mut()
                    .zip(around[later..].windows(4))
                {
                    *made = four[0] * weights[0]
                        + four[1] * weights[1]
                        + four[2] * weights[2]
                        + four[3] * weights[3];
                }
                let out = out.iter_mut().skip(first).step_by(times);
                for (out, made) in out.zip(made) {
                    *out += made;
                }
            }
            near.copy_from_slice(&around[needs..needs + 4]);
        }
        self.phase = (self.phase + frames) % times;
    }

    /// Whether nothing is left in it.
    pub(super) fn is_empty(&self) -> bool {
        self.near.iter().flatten().all(|x| *x == 0.0)
    }

    /// Forgets what it holds.
    pub(super) fn clear(&mut self) {
        self.phase = 0;
        self.near = [[0.0; 4]; 2];
    }
}

/// What four neighbours weigh at a place between the second and the third, 0..1.
fn cubic(x: f32) -> [f32; 4] {
    let (square, cube) = (x * x, x * x * x);
    [
        -0.5 * x + square - 0.5 * cube,
        1.0 - 2.5 * square + 1.5 * cube,
        0.5 * x + 2.0 * square - 1.5 * cube,
        -0.5 * square + 0.5 * cube,
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A cubic goes through a straight line and a parabola as they are, whatever the blocks.
    #[test]
    fn between_the_samples_lies_the_curve_through_them() {
        for times in [2_u16, 3, 16] {
            for blocks in [&[64][..], &[1, 7, 33, 2]] {
                let mut up = Upsample::new(times);
                let curve = |at: f32| 0.3 + 0.02 * at - 0.001 * at * at;
                let (mut made, mut given, mut turn) = (Vec::new(), 0_u16, blocks.iter().cycle());
                while made.len() < 300 {
                    let frames = *turn.next().unwrap();
                    let inner: Vec<f32> = (0..up.needs(frames))
                        .map(|_| {
                            given += 1;
                            curve(f32::from(given))
                        })
                        .collect();
                    let (mut left, mut right) = (vec![0.0; frames], vec![1.0; frames]);
                    up.add([&inner, &inner], &mut left, &mut right);
                    assert!(
                        left.iter()
                            .zip(&right)
                            .all(|(l, r)| (r - l - 1.0).abs() < 1e-6)
                    );
                    made.extend(left);
                }
                // The second of the four comes out first: two samples after the last that was given.
                for (i, x) in (0_u16..).zip(&made).skip(usize::from(times) * 5) {
                    let at = f32::from(i) / f32::from(times) - 2.0;
                    assert!(
                        (x - curve(at)).abs() < 1e-3,
                        "{times} times, sample {i}: {x}, {}",
                        curve(at)
                    );
                }
            }
        }
    }
}
