//! The limiter at the end: whatever is struck at once, the true peak stays below -1 dBFS.

use fundsp::prelude32::{An, AudioNode as _, Limiter, limiter_stereo};
use fundsp::typenum::U2;

/// What the limiter is told is full scale, linear. It keeps some headroom below by itself; what is
/// left to -1 dBFS is for the peaks between the samples. Found by measuring
/// (`tests/core/preview/limits.rs`).
const FULL: f32 = 0.8;
/// How far the limiter looks ahead, in seconds: the preview's delay.
const AHEAD_S: f32 = 0.002;
/// How long it takes to let go, in seconds.
const RELEASE_S: f32 = 0.08;

/// The limiter. Audio thread; allocates only when made.
pub(super) struct Ceiling {
    limiter: An<Limiter<U2>>,
    /// Samples that the look-ahead holds back.
    delay: usize,
    /// Samples until they have all come out.
    left: usize,
}

impl Ceiling {
    /// For a sample rate in Hz. Allocates.
    pub(super) fn new(sample_rate: f32) -> Self {
        let mut limiter = limiter_stereo(AHEAD_S, RELEASE_S);
        limiter.set_sample_rate(f64::from(sample_rate));
        limiter.allocate();
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let delay = (AHEAD_S * sample_rate).ceil().max(1.0) as usize;
        Self {
            limiter,
            delay,
            left: 0,
        }
    }

    /// One pair of samples through it.
    pub(super) fn pass(&mut self, left: f32, right: f32) -> (f32, f32) {
        let (left, right) = self.limiter.filter_stereo(left / FULL, right / FULL);
        // The limiter follows smoothly and may overshoot by a hair; this can't.
        let hold = |x: f32| x.clamp(-1.0, 1.0) * FULL;
        (hold(left), hold(right))
    }

    /// Says after `samples` whether they were fed by silence.
    pub(super) fn rest(&mut self, silent: bool, samples: usize) {
        self.left = if silent {
            self.left.saturating_sub(samples)
        } else {
            self.delay + 1
        };
    }

    /// Whether nothing is held back.
    pub(super) fn is_empty(&self) -> bool {
        self.left == 0
    }

    /// Forgets what it holds.
    pub(super) fn clear(&mut self) {
        self.limiter.reset();
        self.left = 0;
    }
}
