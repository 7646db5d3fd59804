//! Timing off the grid: a systematic bias, and a drift that is correlated over long spans.
//!
//! The bias is measured: 15 professionals with a metronome had the hi-hat hand about 2 ms off, snare hand and kick
//! foot about 10 ms early at 60 and 120 BPM; at 200 BPM the hi-hat was about 10 ms late, snare and kick about 1 ms
//! off, and the limbs' errors were correlated (Fujii et al. 2011, *Music Perception* 28(5):491-503, abstract). We
//! apply it by target rather than by limb, so that hand-to-hand figures on one piece stay even. We interpolate
//! between the tempi. That the last two were late is our reading.
//!
//! The drift is 1/f noise, which listeners prefer (Hennig et al. 2011, *`PLoS` ONE* 6(10):e26457, abstract). Each
//! octave of musical time has a lattice of values, seeded by take and place, so the value at a tick never depends
//! on earlier ticks. All limbs share most of the drift; less is each limb's own, and some is white noise. Its size
//! is based on the Groove MIDI Dataset (Gillick et al. 2019, CC BY 4.0) as measured on its 211 rock and punk
//! performances: local jitter 10 to 13 ms, lag-1 autocorrelation of the offsets 0.3 to 0.5. In fast figures, bias
//! and drift shrink with the time to the nearest stroke, so that the figures stay even: listeners hear one
//! displaced tone from 6 ms or 2.5 % of the interval on (Friberg & Sundberg 1995, *JASA* 98:2524-2531, abstract).

use super::beat::Beat;
use super::chance::{Decision, bits};
use super::context::Context;
use super::minimum_gaps::Gaps;
use super::stroke::{Limb, Part, Stroke, StrokeTarget};
use super::swing;
use crate::kit::Piece;
use crate::time::{Ticks, tempo};

/// The lower bound of the offset, in seconds. No stroke reaches it.
pub const EARLIEST_S: f64 = -0.012;
/// The upper bound of the offset, in seconds.
pub const LATEST_S: f64 = 0.020;

/// Offsets beyond these bend towards the earliest and the latest, in seconds.
const KNEES_S: (f64, f64) = (-0.009, 0.012);

/// Standard deviation of the drift before the bend, in seconds.
const DRIFT_S: f64 = 0.011;
/// From this time to the nearest stroke on, in seconds, the drift has its full size. Below, its standard deviation
/// stays under 5 % of that time.
const WHOLE_DRIFT_S: f64 = 0.240;
/// The same for the bias: eighths at 200 BPM, the fastest tempo measured.
const WHOLE_BIAS_S: f64 = 0.150;

/// The parts of the drift as shares of its variance: all limbs together, each limb's own, white noise.
const SHARES: [f64; 3] = [0.55, 0.20, 0.25];

/// The finest octave's lattice, in ticks: a sixteenth. The coarsest is 2^9 of it, 32 bars of 4/4.
const FINEST: Ticks = 240;
const OCTAVES: usize = 10;

/// One value for all limbs together, then one for each limb.
type Values = [f64; 1 + Limb::ALL.len()];

/// The drift of one take. It caches the lattice points around the last tick for the walk over a bar; its values
/// never depend on the cache.
#[derive(Debug, Clone)]
pub struct Drift {
    take: u32,
    cells: [Option<(Ticks, [Values; 2])>; OCTAVES],
}

impl Drift {
    /// The drift of a take.
    pub fn new(take: u32) -> Self {
        Self {
            take,
            cells: [None; OCTAVES],
        }
    }

    /// The drift of a limb at a tick of the timeline: about -2..=2, mean 0, standard deviation 1. Any thread; no
    /// allocation.
    pub fn at(&mut self, tick: Ticks, limb: Limb) -> f64 {
        let own = 1 + limb as usize;
        let (mut shared, mut alone) = (0.0, 0.0);
        let mut spacing = FINEST;
        for (octave, cell) in (0_u64..).zip(&mut self.cells) {
            // Offsets the lattices, so that they don't coincide on bar lines.
            let along = tick + spacing * 5 / 8;
            let index = along.div_euclid(spacing);
            let point = |index| values(self.take, index, Decision::Drift, octave);
            let [a, b] = match *cell {
                Some((at, values)) if at == index => values,
                Some((at, [_, last])) if at + 1 == index => [last, point(index + 1)],
                _ => [point(index), point(index + 1)],
            };
            *cell = Some((index, [a, b]));
            let part = along.rem_euclid(spacing) as f64 / spacing as f64;
            let (x, y) = (1.0 - part, part);
            // Keeps the power equal between lattice points too.
            let power = (x * x + y * y).sqrt();
            shared += (a[0] * x + b[0] * y) / power;
            alone += (a[own] * x + b[own] * y) / power;
            spacing *= 2;
        }
        let white = values(self.take, tick, Decision::Jitter, 0)[own];
        // A uniform value in -1..1 has a variance of 1/3.
        let octaves = OCTAVES as f64;
        shared * (3.0 * SHARES[0] / octaves).sqrt()
            + alone * (3.0 * SHARES[1] / octaves).sqrt()
            + white * (3.0 * SHARES[2]).sqrt()
    }
}

/// Five values in -1..1 from one draw.
fn values(take: u32, place: Ticks, decision: Decision, index: u64) -> Values {
    let bits = bits(take, place, decision, index);
    let mut shift = 64;
    [(); 5].map(|()| {
        shift -= 12;
        ((bits >> shift & 0xfff) as f64 + 0.5) / 2048.0 - 1.0
    })
}

/// The bias, in seconds, at `bpm` quarter notes a minute.
pub fn bias(target: StrokeTarget, bpm: f64) -> f64 {
    let cymbal = match target {
        StrokeTarget::HandCymbal | StrokeTarget::Opening { .. } | StrokeTarget::Lifted => true,
        StrokeTarget::Piece(piece) => !matches!(
            piece,
            Piece::Kick
                | Piece::Snare
                | Piece::SideStick
                | Piece::HiHatFoot
                | Piece::RackHigh
                | Piece::RackLow
                | Piece::FloorHigh
                | Piece::FloorLow
                | Piece::Sticks
        ),
    };
    let (slow, fast) = if cymbal {
        (0.002, 0.010)
    } else {
        (-0.010, 0.001)
    };
    let part = ((bpm - 120.0) / 80.0).clamp(0.0, 1.0);
    slow + (fast - slow) * part
}

/// The offset in seconds, at feel 1, of a stroke with this drift. `gap_s` is the time to the nearest other stroke,
/// in seconds.
pub fn offset(target: StrokeTarget, drift: f64, bpm: f64, gap_s: f64) -> f64 {
    let whole = bias(target, bpm) * (gap_s / WHOLE_BIAS_S).min(1.0)
        + drift * DRIFT_S * (gap_s / WHOLE_DRIFT_S).min(1.0);
    // Beyond the knee the offset grows ever less and never reaches `end`.
    let bend = |knee: f64, end: f64| {
        let (room, past) = (end - knee, whole - knee);
        knee + past * room / (room + past)
    };
    if whole < KNEES_S.0 {
        bend(KNEES_S.0, EARLIEST_S)
    } else if whole > KNEES_S.1 {
        bend(KNEES_S.1, LATEST_S)
    } else {
        whole
    }
}

/// Moves the strokes of a finished part from the grid to where they sound, and sorts them by that time. The input
/// is in order of the grid. Each stroke stays in its bar, and no limb exceeds its speed limit.
pub(super) fn place(ctx: &Context, beat: &Beat, part: &mut Part) {
    let limits = Gaps::new(ctx);
    swing::place(ctx, beat, &limits, part);
    if ctx.bar_settings.feel > 0.0 {
        stray(ctx, part);
        lead_graces(part);
        keep_apart(&limits, part);
    }
    part.sort();
}

/// Adds the offsets.
fn stray(ctx: &Context, part: &mut Part) {
    let start = part.bar.start;
    let end = part.bar.end();
    // Hosts' tempi have rounding errors.
    let bpm = (ctx.bpm * 100.0).round() / 100.0;
    let per_second = tempo::ticks_per_second(bpm);
    let feel = f64::from(ctx.bar_settings.feel.min(1.0));
    let mut drift = Drift::new(ctx.bar_settings.take);
    let strokes = &mut part.strokes;
    let (mut i, mut last_core) = (0, None::<Ticks>);
    while i < strokes.len() {
        let tick = strokes[i].tick;
        let n = strokes[i..].iter().take_while(|s| s.tick == tick).count();
        let core = |s: &&Stroke| s.rank == 0.0 && s.grace == 0;
        let next_core = strokes[i + n..].iter().find(core);
        let next_core = next_core.map_or(end, |s| s.tick);
        let gap = last_core.map_or(next_core - tick, |last| (tick - last).min(next_core - tick));
        let gap_s = gap as f64 / per_second;
        // On the 1 the earliest stroke stays on the grid, and the others keep their distance to it.
        let mut first = 0.0_f64;
        let mut offsets = [0.0; Limb::ALL.len()];
        for stroke in &strokes[i..i + n] {
            let found = offset(stroke.target, drift.at(tick, stroke.limb), bpm, gap_s);
            offsets[stroke.limb as usize] = found;
            if tick == start {
                first = first.min(found);
            }
        }
        for stroke in &mut strokes[i..i + n] {
            let offset = (offsets[stroke.limb as usize] - first).min(LATEST_S) * feel;
            #[expect(clippy::cast_possible_truncation)]
            let ticks = (offset * per_second) as Ticks;
            stroke.play_tick += ticks;
        }
        if strokes[i..i + n].iter().any(|s| core(&s)) {
            last_core = Some(tick);
        }
        i += n;
    }
}

/// Keeps each grace note as far before its main stroke as it is on the grid.
fn lead_graces(part: &mut Part) {
    let start = part.bar.start;
    for i in 0..part.strokes.len() {
        let grace = part.strokes[i];
        let stroke = |s: &&Stroke| s.tick == grace.tick + grace.grace && s.limb != grace.limb;
        if grace.grace > 0
            && let Some(stroke) = part.strokes.iter().find(stroke)
        {
            part.strokes[i].play_tick = (stroke.play_tick - grace.grace).max(start);
        }
    }
}

/// Restores a limb's minimum gaps where the offsets fell below them. It moves the earlier stroke earlier, but none
/// before its place in the bar.
fn keep_apart(gaps: &Gaps, part: &mut Part) {
    let (start, end) = (part.bar.start, part.bar.end());
    for limb in Limb::ALL {
        let mut next: Option<Stroke> = None;
        for stroke in part.strokes.iter_mut().rev().filter(|s| s.limb == limb) {
            let latest = next.map_or(end, |next| next.play_tick);
            stroke.play_tick = stroke
                .play_tick
                .min(latest - gaps.between(Some(stroke), next.as_ref(), end - stroke.tick));
            next = Some(*stroke);
        }
        let mut last: Option<Stroke> = None;
        for stroke in part.strokes.iter_mut().filter(|s| s.limb == limb) {
            let gap = gaps.between(last.as_ref(), Some(stroke), stroke.tick - start);
            stroke.play_tick = stroke
                .play_tick
                .max(last.map_or(start, |last| last.play_tick) + gap);
            last = Some(*stroke);
        }
    }
}
