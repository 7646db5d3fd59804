//! A small room in stereo: first reflections, then a tail that grows dense.
//!
//! The reflections are taps of a delay for each side, with taps across. They feed two all-passes a side
//! and then four lines that feed each other (Schroeder, *Natural sounding artificial reverberation*, 1962;
//! Jot & Chaigne, *Digital delay networks for designing artificial reverberators*, 1991 [memory]). A network
//! of 32 lines sounds no better under drums and costs ten times as much. Times are judged for a small, live
//! room; that they have no common factor keeps the tail from humming.

use super::tone::{follow, samples_at};

/// The most samples that are worked out at once.
pub(super) const SPAN: usize = 64;

/// First reflections on the own side: seconds and level.
const OWN: [(f32, f32); 4] = [
    (0.0071, 0.42),
    (0.0127, 0.34),
    (0.0193, -0.28),
    (0.0271, 0.2),
];
/// First reflections of the other side.
const ACROSS: [(f32, f32); 3] = [(0.0093, 0.3), (0.0163, -0.26), (0.0239, 0.2)];
/// How much later the right side has them all, in seconds: no wall is as far as another.
const RIGHT_LATER_S: f32 = 0.0011;
/// The all-passes, in seconds, left and right.
const DIFFUSERS: [[f32; 2]; 2] = [[0.0047, 0.0083], [0.0053, 0.0079]];
const DIFFUSION: f32 = 0.6;
/// The lines, in seconds.
const LINES: [f32; 4] = [0.0297, 0.0371, 0.0419, 0.0533];
/// Seconds that the tail takes to fall by 60 dB, at low frequencies; at 10 kHz it takes half as long.
const T60_S: f32 = 0.5;
/// Below, in Hz, the room gets nothing: a small room's bass only booms.
const THIN_HZ: f32 = 170.0;
/// Level of the reflections and of the tail at the most that the parameter gives.
const EARLY: f32 = 0.62;
const LATE: f32 = 0.5;
/// Power below which the room is silent.
const SILENT: f32 = 1e-11;

/// A span of one channel.
type Span = [f32; SPAN];

/// A delay of a fixed length.
struct Line {
    held: Vec<f32>,
    at: usize,
}

impl Line {
    fn new(seconds: f32, rate: f32) -> Self {
        Self {
            held: vec![0.0; samples_at(seconds, rate).max(1)],
            at: 0,
        }
    }

    /// Adds what went in so many samples ago, at most its length, at a level.
    fn tap(&self, delay: usize, level: f32, out: &mut [f32]) {
        let back = delay.min(self.held.len());
        let from = (self.at + self.held.len() - back) % self.held.len();
        let (begin, end) = self.held.split_at(from);
        let (one, two) = out.split_at_mut(end.len().min(out.len()));
        for (out, held) in one.iter_mut().zip(end) {
            *out += held * level;
        }
        for (out, held) in two.iter_mut().zip(begin) {
            *out += held * level;
        }
    }

    /// What comes out next, as many samples as `out` has; at most its length.
    fn read(&self, out: &mut [f32]) {
        let (begin, end) = self.held.split_at(self.at.min(self.held.len()));
        let first = end.len().min(out.len());
        let (one, two) = out.split_at_mut(first);
        one.copy_from_slice(&end[..first]);
        for (x, held) in two.iter_mut().zip(begin) {
            *x = *held;
        }
    }

    /// Puts samples in, in the place of those that come out; at most its length.
    fn write(&mut self, samples: &[f32]) {
        let length = self.held.len();
        let at = self.at.min(length);
        let (begin, end) = self.held.split_at_mut(at);
        let first = end.len().min(samples.len());
        end[..first].copy_from_slice(&samples[..first]);
        for (held, x) in begin.iter_mut().zip(&samples[first..]) {
            *held = *x;
        }
        self.at = (at + samples.len()) % length;
    }

    fn clear(&mut self) {
        self.held.fill(0.0);
    }
}

/// One side: its delay with the reflections, and its all-passes.
struct Side {
    delay: Line,
    own: [usize; 4],
    across: [usize; 3],
    diffusers: [Line; 2],
    /// What the high-pass at the entry holds.
    low: f32,
}

/// The room. Audio thread; allocates only when made.
pub(super) struct Room {
    sides: [Side; 2],
    lines: [Line; 4],
    /// What is left of each line's sound after a round, and the last sample that came out.
    back: [f32; 4],
    before: [f32; 4],
    thin: f32,
    /// The most samples that may be worked out at once: its shortest time.
    step: usize,
    /// The amount in force, and whether anything is in it.
    amount: f32,
    sounds: bool,
    glide: f32,
}

impl Room {
    /// For a sample rate in Hz. Allocates.
    pub(super) fn new(rate: f32) -> Self {
        let side = |i: usize| {
            let later = if i == 0 { 0.0 } else { RIGHT_LATER_S };
            let taps = |seconds: f32| samples_at(seconds + later, rate).max(1);
            Side {
                delay: Line::new(0.035 + later, rate),
                own: OWN.map(|(seconds, _)| taps(seconds)),
                across: ACROSS.map(|(seconds, _)| taps(seconds)),
                diffusers: DIFFUSERS[i].map(|seconds| Line::new(seconds, rate)),
                low: 0.0,
            }
        };
        let shortest = samples_at(DIFFUSERS[0][0], rate).max(1);
        Self {
            sides: [side(0), side(1)],
            lines: LINES.map(|seconds| Line::new(seconds, rate)),
            back: LINES.map(|seconds| 10_f32.powf(-3.0 * seconds / T60_S)),
            before: [0.0; 4],
            thin: follow(1.0 / (std::f32::consts::TAU * THIN_HZ), rate),
            step: shortest.min(SPAN),
            amount: 0.0,
            sounds: false,
            glide: follow(0.02, rate / shortest.min(SPAN) as f32),
        }
    }

    /// Adds the room's answer to a span of at most [`SPAN`] samples. `amount` is 0..=1; at 0 nothing is
    /// worked out. `silent` where nothing goes in.
    pub(super) fn pass(&mut self, left: &mut [f32], right: &mut [f32], amount: f32, silent: bool) {
        if amount <= 0.0 && self.amount < 1e-4 {
            if self.sounds {
                self.clear();
            }
            self.amount = 0.0;
            return;
        }
        if silent && !self.sounds {
            self.amount = amount;
            return;
        }
        if !self.sounds {
            // Nothing is heard of it that could jump.
            self.amount = amount;
        }
        self.sounds = true;
        let mut power = 0.0;
        for (left, right) in left.chunks_mut(self.step).zip(right.chunks_mut(self.step)) {
            let from = self.amount;
            self.amount += (amount - from) * self.glide;
            power += self.span(left, right, from);
        }
        if silent && power < SILENT {
            self.clear();
        }
    }

    /// Works out a span no longer than `step`, and says how strong its answer is.
    fn span(&mut self, left: &mut [f32], right: &mut [f32], amount: f32) -> f32 {
        let n = left.len().min(right.len()).min(SPAN);
        let mut early: [Span; 2] = [[0.0; SPAN]; 2];
        let mut late = early;
        for (side, dry) in self.sides.iter_mut().zip([&*left, &*right]) {
            let mut thinned: Span = [0.0; SPAN];
            for (out, x) in thinned.iter_mut().zip(&dry[..n]) {
                side.low += (x - side.low) * self.thin;
                *out = x - side.low;
            }
            side.delay.write(&thinned[..n]);
        }
        for (i, out) in early.iter_mut().enumerate() {
            let (own, other) = (&self.sides[i], &self.sides[1 - i]);
            let taps = own
                .own
                .iter()
                .zip(OWN)
                .map(|(delay, (_, level))| (own, *delay, level));
            let across = own.across.iter().zip(ACROSS);
            let across = across.map(|(delay, (_, level))| (other, *delay, level));
            for (side, delay, level) in taps.chain(across) {
                // The span is in the delay already.
                side.delay.tap(delay + n, level, &mut out[..n]);
            }
        }
        for ((side, early), late) in self.sides.iter_mut().zip(&early).zip(&mut late) {
            *late = *early;
            for diffuser in &mut side.diffusers {
                diffuse(diffuser, &mut late[..n]);
            }
        }
        self.tail(&mut late, n);
        let (near, far) = (amount * EARLY, amount * LATE);
        let mut power = 0.0;
        let outs = [left, right];
        for ((out, early), late) in outs.into_iter().zip(&early).zip(&late) {
            for ((out, early), late) in out[..n].iter_mut().zip(early).zip(late) {
                *out += early * near + late * far;
            }
            power += super::glue::power(&early[..n]) + super::glue::power(&late[..n]);
        }
        power
    }

    /// The four lines: in goes what was diffused, out comes the tail.
    fn tail(&mut self, late: &mut [Span; 2], n: usize) {
        let mut out: [Span; 4] = [[0.0; SPAN]; 4];
        let lines = self.lines.iter().zip(&mut out);
        for (((line, out), back), before) in lines.zip(self.back).zip(&mut self.before) {
            // The mean of two neighbours, each time round, is what makes the tail darken.
            let mut come: [f32; SPAN + 1] = [0.0; SPAN + 1];
            come[0] = *before;
            line.read(&mut come[1..=n]);
            let share = back * 0.5;
            for (out, pair) in out[..n].iter_mut().zip(come.windows(2)) {
                *out = (pair[0] + pair[1]) * share;
            }
            *before = come[n];
        }
        let mut sum: Span = [0.0; SPAN];
        for line in &out {
            for (sum, x) in sum.iter_mut().zip(line) {
                *sum += x * 0.5;
            }
        }
        for (i, (line, out)) in self.lines.iter_mut().zip(&out).enumerate() {
            let fed = &late[i % 2];
            let mut back: Span = [0.0; SPAN];
            for (((back, x), sum), fed) in back.iter_mut().zip(out).zip(&sum).zip(fed) {
                // Householder's reflection keeps the power of what goes round.
                *back = fed + x - sum;
            }
            line.write(&back[..n]);
        }
        let [one, two, three, four] = &out;
        for (i, late) in late.iter_mut().enumerate() {
            let (first, second) = if i == 0 { (one, three) } else { (two, four) };
            for ((late, first), second) in late.iter_mut().zip(first).zip(second) {
                *late = first - second;
            }
        }
    }

    /// Whether nothing is in it.
    pub(super) fn is_empty(&self) -> bool {
        !self.sounds
    }

    /// Forgets what is in it.
    pub(super) fn clear(&mut self) {
        for side in &mut self.sides {
            side.delay.clear();
            side.diffusers.iter_mut().for_each(Line::clear);
            side.low = 0.0;
        }
        self.lines.iter_mut().for_each(Line::clear);
        self.before = [0.0; 4];
        self.sounds = false;
    }
}

/// An all-pass: scatters a span in time, and leaves its spectrum as it is.
fn diffuse(line: &mut Line, span: &mut [f32]) {
    let mut held: Span = [0.0; SPAN];
    let n = span.len().min(SPAN);
    line.read(&mut held[..n]);
    let mut fed: Span = [0.0; SPAN];
    for ((fed, x), held) in fed.iter_mut().zip(span.iter_mut()).zip(&held) {
        *fed = *x + held * DIFFUSION;
        *x = held - *fed * DIFFUSION;
    }
    line.write(&fed[..n]);
}
