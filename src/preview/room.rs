//! A small room in stereo: first reflections, then a tail that grows dense.
//!
//! The reflections are taps of a delay for each side, with taps across. They feed two all-passes a side
//! and then four lines that feed each other (Schroeder, *Natural sounding artificial reverberation*, 1962;
//! Jot & Chaigne, *Digital delay networks for designing artificial reverberators*, 1991 [memory]). A network
//! of 32 lines sounds no better under drums and costs ten times as much. Times are judged for a small, live
//! room; that they have no common factor keeps the tail from humming.

#![allow(
    clippy::needless_range_loop,
    reason = "the compiler vectorises loops over one index into several slices"
)]
#![allow(
    clippy::inline_always,
    reason = "only what is inlined has the instructions that `span` may use"
)]

use super::tone::{follow, samples_at};
use multiversion::multiversion;

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
    #[inline(always)]
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

    /// What comes out next, so many samples, at most its length: the ring from where it stands to its end, and what
    /// follows at its begin. What is written there comes out when it has gone round.
    #[inline(always)]
    fn next(&mut self, n: usize) -> [&mut [f32]; 2] {
        let at = self.at.min(self.held.len());
        let (begin, end) = self.held.split_at_mut(at);
        let first = end.len().min(n);
        [&mut end[..first], &mut begin[..n - first]]
    }

    /// Goes on by so many samples.
    #[inline(always)]
    fn go_on(&mut self, n: usize) {
        self.at = (self.at + n) % self.held.len();
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

/// What a span is worked out in. It holds nothing from span to span.
struct Work {
    /// The reflections of each side.
    early: [Span; 2],
    /// What is diffused, then the tail.
    late: [Span; 2],
    /// What comes out of each line.
    out: [Span; 4],
    /// Half the sum of that.
    sum: Span,
}

impl Default for Work {
    fn default() -> Self {
        Self {
            early: [[0.0; SPAN]; 2],
            late: [[0.0; SPAN]; 2],
            out: [[0.0; SPAN]; 4],
            sum: [0.0; SPAN],
        }
    }
}

/// The room. Audio thread; allocates only when made.
pub(super) struct Room {
    sides: [Side; 2],
    lines: [Line; 4],
    /// What is left of each line's sound after a round, and the last sample that came out.
    back: [f32; 4],
    before: [f32; 4],
    work: Work,
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
            work: Work::default(),
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
            power += span(self, left, right, from, silent);
        }
        if silent && power < SILENT {
            self.clear();
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

/// Works out a span no longer than `step`, and says how strong its answer is where `asked`.
#[multiversion(targets("x86_64+avx"))]
fn span(room: &mut Room, left: &mut [f32], right: &mut [f32], amount: f32, asked: bool) -> f32 {
    let n = left.len().min(right.len()).min(SPAN);
    let (thin, work) = (room.thin, &mut room.work);
    for (side, mut dry) in room.sides.iter_mut().zip([&left[..n], &right[..n]]) {
        for held in side.delay.next(n) {
            let (now, after) = dry.split_at(held.len());
            for (held, x) in held.iter_mut().zip(now) {
                side.low += (x - side.low) * thin;
                *held = x - side.low;
            }
            dry = after;
        }
        side.delay.go_on(n);
    }
    for i in 0..2 {
        let (own, other) = (&room.sides[i], &room.sides[1 - i]);
        let out = &mut work.early[i][..n];
        out.fill(0.0);
        // The span is in the delay already.
        for (delay, (_, level)) in own.own.iter().zip(OWN) {
            own.delay.tap(delay + n, level, out);
        }
        for (delay, (_, level)) in own.across.iter().zip(ACROSS) {
            other.delay.tap(delay + n, level, out);
        }
        let late = &mut work.late[i][..n];
        late.copy_from_slice(out);
        for diffuser in &mut room.sides[i].diffusers {
            diffuse(diffuser, late);
        }
    }
    tail(room, n);
    let (near, far) = (amount * EARLY, amount * LATE);
    let outs = [&mut left[..n], &mut right[..n]];
    let answers = room.work.early.iter().zip(&room.work.late);
    let mut power = 0.0;
    for (out, (early, late)) in outs.into_iter().zip(answers) {
        let (early, late) = (&early[..n], &late[..n]);
        for i in 0..n {
            out[i] += early[i] * near + late[i] * far;
        }
        if asked {
            power += super::glue::power(early) + super::glue::power(late);
        }
    }
    power
}

/// The four lines: in goes what was diffused, out comes the tail, in its place.
#[inline(always)]
fn tail(room: &mut Room, n: usize) {
    let Work { late, out, sum, .. } = &mut room.work;
    let sum = &mut sum[..n];
    sum.fill(0.0);
    let lines = room.lines.iter_mut().zip(out.iter_mut());
    for (((line, out), back), before) in lines.zip(room.back).zip(&mut room.before) {
        // The mean of two neighbours, each time round, is what makes the tail darken.
        let share = back * 0.5;
        let mut from = 0;
        for come in line.next(n) {
            let out = &mut out[from..from + come.len()];
            for i in 1..come.len() {
                out[i] = (come[i - 1] + come[i]) * share;
            }
            if let (Some(out), Some(come)) = (out.first_mut(), come.first()) {
                *out = (*before + come) * share;
            }
            *before = come.last().copied().unwrap_or(*before);
            from += come.len();
        }
        for i in 0..n {
            sum[i] += out[i] * 0.5;
        }
    }
    for (i, (line, out)) in room.lines.iter_mut().zip(out.iter()).enumerate() {
        let (fed, mut from) = (&late[i % 2], 0);
        for back in line.next(n) {
            let (fed, out, sum) = (&fed[from..], &out[from..], &sum[from..]);
            let m = back.len();
            let (fed, out, sum) = (&fed[..m], &out[..m], &sum[..m]);
            for i in 0..m {
                // Householder's reflection keeps the power of what goes round.
                back[i] = fed[i] + out[i] - sum[i];
            }
            from += m;
        }
        line.go_on(n);
    }
    let [one, two, three, four] = out;
    for (late, (first, second)) in late.iter_mut().zip([(one, three), (two, four)]) {
        let late = &mut late[..n];
        let (first, second) = (&first[..n], &second[..n]);
        for i in 0..n {
            late[i] = first[i] - second[i];
        }
    }
}

/// An all-pass: scatters a span in time, and leaves its spectrum as it is.
#[inline(always)]
fn diffuse(line: &mut Line, span: &mut [f32]) {
    let n = span.len();
    let mut rest = span;
    for held in line.next(n) {
        let (span, after) = rest.split_at_mut(held.len());
        for i in 0..span.len() {
            let fed = span[i] + held[i] * DIFFUSION;
            span[i] = held[i] - fed * DIFFUSION;
            held[i] = fed;
        }
        rest = after;
    }
    line.go_on(n);
}
