//! From the inner rate to a host's that is a multiple of it.

/// Makes several samples of one, by the cubic through the four around (Hermite's, Catmull-Rom's tangents).
/// What it leaves above half the inner rate lies beyond hearing. Audio thread; no allocation.
pub(super) struct Upsample {
    times: u16,
    /// Samples made since the second of `near`.
    phase: u16,
    near: [[f32; 4]; 2],
}

impl Upsample {
    /// So many samples for each.
    pub(super) fn new(times: u16) -> Self {
        Self {
            times,
            phase: 0,
            near: [[0.0; 4]; 2],
        }
    }

    /// How many inner samples the next `frames` need.
    pub(super) fn needs(&self, frames: usize) -> usize {
        (usize::from(self.phase) + frames) / usize::from(self.times)
    }

    /// Adds to `left` and `right` what comes next of `inner`, which are as many as it [`needs`](Self::needs).
    pub(super) fn add(&mut self, inner: [&[f32]; 2], left: &mut [f32], right: &mut [f32]) {
        let start = self.phase;
        for ((near, inner), out) in self.near.iter_mut().zip(inner).zip([left, right]) {
            let mut inner = inner.iter();
            self.phase = start;
            let mut curve = Cubic::new(near);
            for out in out {
                *out += curve.at(f32::from(self.phase) / f32::from(self.times));
                self.phase += 1;
                if self.phase == self.times {
                    self.phase = 0;
                    near.rotate_left(1);
                    near[3] = *inner.next().unwrap_or(&0.0);
                    curve = Cubic::new(near);
                }
            }
        }
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

/// A cubic in its powers.
struct Cubic([f32; 4]);

impl Cubic {
    fn new(near: &[f32; 4]) -> Self {
        let [a, b, c, d] = *near;
        Self([
            b,
            0.5 * (c - a),
            a - 2.5 * b + 2.0 * c - 0.5 * d,
            0.5 * (d - a) + 1.5 * (b - c),
        ])
    }

    fn at(&self, x: f32) -> f32 {
        let [constant, linear, square, cube] = self.0;
        ((cube * x + square) * x + linear) * x + constant
    }
}
