//! The limiter at the end: whatever is struck at once, the true peak stays below -1 dBFS.
//!
//! It looks ahead: the gain that a peak needs is held from when the peak is heard of until it comes out,
//! and a mean over that time makes the way there smooth and sure to arrive. Then it lets go slowly. Where
//! nothing is near the ceiling, it only delays.

use super::tone::{follow, samples_at};
use multiversion::multiversion;

/// The highest sample that comes out, linear. What is left to -1 dBFS is for the peaks between the
/// samples. Found by measuring (`tests/core/preview/limits.rs`).
const CEILING: f32 = 0.72;
/// What stays below this, linear, has no peak between its samples that could reach the ceiling: those rise by 6 dB at
/// the most in what drums sound like.
const QUIET: f32 = CEILING * 0.5;
/// How far the limiter looks ahead, in seconds: the preview's delay.
pub(super) const AHEAD_S: f32 = 0.001;
/// How long it takes to let go, in seconds.
const RELEASE_S: f32 = 0.08;

/// The limiter. Audio thread; allocates only when made.
pub(super) struct Limiter {
    /// What is held back, left and right.
    delay: [Vec<f32>; 2],
    /// The least gains that are still to come, rising, each with the sample that it holds for.
    least: Vec<(u64, f32)>,
    /// Where they begin and how many there are.
    first: usize,
    count: usize,
    /// The gains of the last samples, of which the mean is taken, and their sum.
    gains: Vec<f32>,
    sum: f64,
    /// The gain before the mean.
    gain: f32,
    release: f32,
    /// The last three samples of each channel.
    near: [[f32; 3]; 2],
    /// Place in `delay` and `gains`.
    at: usize,
    now: u64,
    /// Samples until the gain has been one for as long as the limiter looks ahead.
    busy: usize,
    /// Samples until all has come out.
    left: usize,
}

impl Limiter {
    /// For a sample rate in Hz. Allocates.
    pub(super) fn new(rate: f32) -> Self {
        let ahead = samples_at(AHEAD_S, rate).max(2);
        Self {
            delay: [vec![0.0; ahead], vec![0.0; ahead]],
            least: vec![(0, 1.0); ahead + 1],
            first: 0,
            count: 0,
            gains: vec![1.0; ahead],
            sum: ahead as f64,
            gain: 1.0,
            release: follow(RELEASE_S, rate),
            near: [[0.0; 3]; 2],
            at: 0,
            now: 0,
            busy: 0,
            left: 0,
        }
    }

    /// A span through it, in place; `silent` where all of it is and nothing else feeds it.
    pub(super) fn pass(&mut self, left: &mut [f32], right: &mut [f32], silent: bool) {
        let peak = loudest(left).max(loudest(right));
        if self.busy == 0 && peak <= QUIET {
            self.hold_back(left, right);
            self.near = [[0.0; 3]; 2];
        } else {
            for (l, r) in left.iter_mut().zip(right.iter_mut()) {
                self.limit(l, r);
            }
        }
        self.left = if silent {
            self.left.saturating_sub(left.len())
        } else {
            self.size()
        };
    }

    /// Puts samples into the delay and takes those out that were longest in it.
    fn hold_back(&mut self, left: &mut [f32], right: &mut [f32]) {
        let size = self.size();
        let mut done = 0;
        while done < left.len() {
            let n = (left.len() - done).min(size - self.at);
            let held = self.at..self.at + n;
            for (channel, delay) in [&mut *left, &mut *right].into_iter().zip(&mut self.delay) {
                channel[done..done + n].swap_with_slice(&mut delay[held.clone()]);
            }
            done += n;
            self.at = (self.at + n) % size;
        }
    }

    /// How far it looks ahead, in samples.
    fn size(&self) -> usize {
        self.gains.len()
    }

    fn limit(&mut self, l: &mut f32, r: &mut f32) {
        let peak = self.peak(*l, *r);
        let needed = if peak > CEILING { CEILING / peak } else { 1.0 };
        let held = self.least_ahead(needed);
        // Down at once, up slowly; the mean makes a ramp of the step.
        self.gain = held.min(self.gain + (1.0 - self.gain) * self.release);
        let was_busy = self.busy > 0;
        if self.gain > 0.9999 && held == 1.0 {
            self.gain = 1.0;
            self.busy = self.busy.saturating_sub(1);
        } else {
            self.busy = self.size();
        }
        let mut mean = 1.0;
        if let Some(oldest) = self.gains.get_mut(self.at) {
            self.sum += f64::from(self.gain) - f64::from(*oldest);
            *oldest = self.gain;
            #[expect(clippy::cast_possible_truncation)]
            let exact = (self.sum / self.size() as f64) as f32;
            mean = exact;
        }
        self.hold_back(std::slice::from_mut(l), std::slice::from_mut(r));
        // The mean is rounded; this can't be.
        *l = (*l * mean).clamp(-CEILING, CEILING);
        *r = (*r * mean).clamp(-CEILING, CEILING);
        if was_busy && self.busy == 0 {
            self.settle();
        }
    }

    /// The peak of a pair of samples, and of the curve through the last four of each channel, halfway between the
    /// middle ones.
    fn peak(&mut self, l: f32, r: f32) -> f32 {
        let mut peak = 0.0_f32;
        for (near, x) in self.near.iter_mut().zip([l, r]) {
            let [before, first, second] = *near;
            let between = ((first + second) * 9.0 - (before + x)) / 16.0;
            peak = peak.max(x.abs()).max(between.abs());
            *near = [first, second, x];
        }
        peak
    }

    /// The least gain that any sample needs that has not come out, the new one included.
    fn least_ahead(&mut self, needed: f32) -> f32 {
        let size = self.least.len();
        let ahead = self.size() as u64;
        self.now += 1;
        if self.count > 0 && self.least[self.first % size].0 + ahead < self.now {
            self.first = (self.first + 1) % size;
            self.count -= 1;
        }
        // What needs less than the new one and leaves before it says nothing any more.
        while self.count > 0 && self.least[(self.first + self.count - 1) % size].1 >= needed {
            self.count -= 1;
        }
        if self.count < size {
            self.least[(self.first + self.count) % size] = (self.now, needed);
            self.count += 1;
        }
        self.least[self.first % size].1
    }

    /// Back to where it only delays; rid of what rounding has left in the sum.
    fn settle(&mut self) {
        self.gains.fill(1.0);
        self.sum = self.gains.len() as f64;
        self.gain = 1.0;
        self.count = 0;
    }

    /// Whether nothing is held back.
    pub(super) fn is_empty(&self) -> bool {
        self.left == 0
    }

    /// Forgets what it holds.
    pub(super) fn clear(&mut self) {
        self.delay.iter_mut().for_each(|held| held.fill(0.0));
        self.busy = 0;
        self.left = 0;
        self.settle();
    }
}

/// The highest sample of a channel. Positive numbers are in the order of their bits, which compare faster.
#[multiversion(targets("x86_64+avx2"))]
fn loudest(channel: &[f32]) -> f32 {
    let mut most = 0;
    for x in channel {
        most = most.max(x.abs().to_bits().cast_signed());
    }
    f32::from_bits(most.cast_unsigned())
}
