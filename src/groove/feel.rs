//! Timing off the grid.
//!
//! offset = lead(kind, place) + signature(place) + looseness x (shared drift + what all limbs share at one tick + the
//! stroke's own part), all scaled by `feel`.
//!
//! Most of what people do is a slow drift that all limbs share and that forgets within two bars. The structure and
//! every size are those of the Groove MIDI Dataset (Gillick et al. 2019, CC BY 4.0), measured by us on 112 rock and
//! punk performances of nine drummers, median 100 BPM: see `drift`, `evening` and [`StrokeKind`](super::StrokeKind).
//! Listeners prefer tight playing, so the default is a third of people's size.
//!
//! Above 130 BPM the data has nothing. There the spread shrinks with the beat, since in the tapping literature the
//! standard deviation is proportional to the interval: extrapolated. In figures faster than the data's fastest, 110 ms
//! from stroke to stroke, all but the shared drift shrinks with the gap, so that they stay even: listeners hear one
//! displaced tone from 6 ms or 2.5 % of the interval on (Friberg & Sundberg 1995, *JASA* 98:2524-2531, abstract).

use super::beat::Beat;
use super::chance::{Decision, bits};
use super::context::Context;
use super::draws::{heavy, small_normal};
use super::drift::Drift;
use super::dynamics::own_bits;
use super::evening::{Evening, Signature};
use super::minimum_gaps::Gaps;
use super::roles::Stress;
use super::stroke::{Limb, Part, Stroke, StrokeTarget};
use super::{limits, swing};
use crate::time::{Ticks, tempo};

/// The lower bound of the offset at feel 1, in seconds. Measured: 2 % of the strokes of four bars lie before
/// -35 ms [-51..-23].
pub const EARLIEST_S: f64 = -0.050;
/// The upper bound of the offset at feel 1, in seconds. Measured: 2 % lie after +33 ms [22..52].
pub const LATEST_S: f64 = 0.050;

/// Standard deviation of the drift that all limbs share, in seconds. Measured: 15.2 ms [10.4..21.7] for kick and
/// cymbal, 15.8 [11.1..22.8] for snare and cymbal.
const DRIFT_S: f64 = 0.017;
/// Standard deviation of what all limbs share at one tick, without memory, in seconds. Tuned on the autocorrelation.
const TOGETHER_S: f64 = 0.0035;
/// The factor of a stroke's own part on the second and last sixteenth of a count. Measured: 19 ms against 15.
const OFF_FACTOR: f64 = 1.3;
/// How far the hands lean forward in a fill, and the second stroke of one motion towards the first, in seconds at
/// feel 1. Judged, no source.
const FILL_LEAN_S: f64 = 0.004;
const REBOUND_LEAN_S: f64 = 0.003;
/// How far a 1's own part may take it before the shared drift, in seconds at feel 1: one SD of the kick's.
const OWN_EARLY_S: f64 = 0.0105;
/// The most of the gap to its neighbour that a stroke strays by itself. Judged.
const MOST_OF_GAP: f64 = 0.3;
/// The shortest time to another stroke in the data, in seconds, and its fastest usual tempo, in quarter notes a minute.
const DATA_GAP_S: f64 = 0.110;
const DATA_BPM: f64 = 130.0;

/// The scale of the offsets: about feel^1.6, so that the default is about a third. The exponent is 1 + 1/2 + 1/8:
/// square roots alone give every machine the same bits.
fn scale(feel: f32) -> f64 {
    let feel = f64::from(feel.clamp(0.0, 1.0));
    feel * feel.sqrt() * feel.sqrt().sqrt().sqrt()
}

/// How far before its place on the grid a stroke may sound at most, in ticks. `bpm` in quarter notes a minute.
pub fn earliest(feel: f32, bpm: f64) -> Ticks {
    limits::ticks(-EARLIEST_S * scale(feel), bpm)
}

/// Moves the strokes of a finished part from the grid to where they sound, and sorts them by that time. The input
/// is in order of the grid. No limb exceeds its speed limit. Each stroke stays in its bar, but for the 1 within a section
/// of the chart, which strays like any other. A section's first 1 is never early, so that regions can be cut there;
/// without a chart no 1 is, since the host's values for a bar begin at its line.
pub(super) fn place(ctx: &Context, beat: &Beat, evening: &Evening, part: &mut Part) {
    let limits = Gaps::new(ctx);
    swing::place(ctx, beat, &limits, part);
    if ctx.bar_settings.feel > 0.0 {
        let mut offsets = Offsets::new(ctx, evening);
        let lines = offsets.lines();
        stray(&mut offsets, &lines, part);
        lead_graces(&lines, part);
        keep_apart(&limits, &lines, part);
    }
    part.sort();
}

/// When a single stroke of the bar sounds that is added once all others have their times, in ticks.
pub(super) fn placed(
    ctx: &Context,
    beat: &Beat,
    evening: &Evening,
    stroke: &Stroke,
    in_fill: bool,
) -> Ticks {
    let swung = swing::swung_tick(ctx, beat, stroke.tick);
    if ctx.bar_settings.feel <= 0.0 {
        return swung;
    }
    let mut offsets = Offsets::new(ctx, evening);
    let offset = offsets.shared_s(stroke.tick) + offsets.own_s(stroke, DATA_GAP_S, in_fill);
    swung + offsets.ticks(offset.clamp(EARLIEST_S, LATEST_S))
}

/// The offsets of the strokes of one bar, in seconds at feel 1.
struct Offsets<'a> {
    ctx: &'a Context<'a>,
    evening: &'a Evening,
    drift: Drift,
    /// The factor of everything at this tempo.
    tempo: f64,
    signature: Signature,
    /// Ticks a second, times the scale of feel.
    per_second: f64,
}

/// The bar lines as this bar's strokes may use them: where the shared drift is early, so is the 1.
struct Lines {
    start: Ticks,
    end: Ticks,
}

impl<'a> Offsets<'a> {
    fn new(ctx: &'a Context, evening: &'a Evening) -> Self {
        // Hosts' tempi have rounding errors.
        let bpm = (ctx.bpm * 100.0).round() / 100.0;
        Self {
            ctx,
            evening,
            drift: Drift::new(ctx.bar_settings.take),
            signature: evening.signature(),
            tempo: (DATA_BPM / bpm).min(1.0),
            per_second: tempo::ticks_per_second(bpm) * scale(ctx.bar_settings.feel),
        }
    }

    /// Both bars at a line compute the same place for it.
    fn lines(&mut self) -> Lines {
        let (start, end) = (self.ctx.bar.start, self.ctx.bar.end());
        let of_section = self.ctx.section_position;
        let inside = of_section.is_some_and(|section| section.index > 0);
        let goes_on = of_section.is_some_and(|section| section.index + 1 < section.bars);
        let mut line = |tick, may_be_early: bool| {
            if !may_be_early {
                return tick;
            }
            let early = (self.shared_s(tick) - OWN_EARLY_S).clamp(EARLIEST_S, 0.0);
            tick + self.ticks(early)
        };
        // The end first: the drift then has the lattice points for the walk from the start.
        let end = line(end, goes_on);
        let start = line(start, inside);
        Lines { start, end }
    }

    /// An offset in seconds at feel 1, in ticks.
    fn ticks(&self, offset_s: f64) -> Ticks {
        #[expect(clippy::cast_possible_truncation)]
        let ticks = (offset_s * self.per_second) as Ticks;
        ticks
    }

    /// What all limbs share at a tick.
    fn shared_s(&mut self, tick: Ticks) -> f64 {
        let take = self.ctx.bar_settings.take;
        let together = small_normal(bits(take, tick, Decision::Together, 0) >> 16);
        let shared = DRIFT_S * self.drift.at(tick) + TOGETHER_S * f64::from(together);
        shared * self.evening.looseness * self.tempo
    }

    /// What a stroke has beyond that. `gap_s` is the time to the nearest other stroke, in seconds.
    fn own_s(&mut self, stroke: &Stroke, gap_s: f64, in_fill: bool) -> f64 {
        let at = stroke.tick - self.ctx.bar.start;
        let stress = self.ctx.layout.stress(at);
        let own = f64::from(heavy(own_bits(self.ctx.bar_settings.take, stroke) >> 16));
        let own = own * stroke.kind.figures().own_s * self.evening.looseness;
        let off = if stress == Stress::Off {
            OFF_FACTOR
        } else {
            1.0
        };
        let lean = if in_fill { -FILL_LEAN_S } else { 0.0 };
        let rebound = if stroke.bounce { -REBOUND_LEAN_S } else { 0.0 };
        let systematic = self.evening.lead_s(stroke.kind, stress)
            + self.signature.offset_s(at, stroke.limb)
            + lean
            + rebound;
        let whole = (own * off + systematic) * self.tempo * (gap_s / DATA_GAP_S).min(1.0);
        // Neighbours never meet.
        whole.clamp(-MOST_OF_GAP * gap_s, MOST_OF_GAP * gap_s)
    }
}

/// Adds the offsets.
fn stray(found: &mut Offsets, lines: &Lines, part: &mut Part) {
    let start = part.bar.start;
    let end = part.bar.end();
    let fill = part.fill;
    let strokes = &mut part.strokes;
    let (mut i, mut last_core) = (0, None::<Ticks>);
    while i < strokes.len() {
        let tick = strokes[i].tick;
        let n = strokes[i..].iter().take_while(|s| s.tick == tick).count();
        let core = |s: &&Stroke| s.rank == 0.0 && s.grace == 0;
        let next_core = strokes[i + n..].iter().find(core);
        let next_core = next_core.map_or(end, |s| s.tick);
        let gap = last_core.map_or(next_core - tick, |last| (tick - last).min(next_core - tick));
        let gap_s = found.ctx.seconds(gap);
        let in_fill = fill.is_some_and(|fill| fill.contains(tick));
        let shared = found.shared_s(tick);
        // On the 1 the earliest stroke stays on the line, and the others keep their distance to it.
        let mut too_early = 0;
        let mut offsets = [0; Limb::ALL.len()];
        for stroke in &strokes[i..i + n] {
            let offset = shared + found.own_s(stroke, gap_s, in_fill);
            let offset = found.ticks(offset.clamp(EARLIEST_S, LATEST_S));
            offsets[stroke.limb as usize] = offset;
            if tick == start {
                too_early = too_early.max(lines.start - tick - offset);
            }
        }
        let latest = found.ticks(LATEST_S);
        for stroke in &mut strokes[i..i + n] {
            stroke.play_tick += (offsets[stroke.limb as usize] + too_early).min(latest);
        }
        if strokes[i..i + n].iter().any(|s| core(&s)) {
            last_core = Some(tick);
        }
        i += n;
    }
}

/// Keeps each grace note as far before its main stroke as it is on the grid.
fn lead_graces(lines: &Lines, part: &mut Part) {
    for i in 0..part.strokes.len() {
        let grace = part.strokes[i];
        let stroke = |s: &&Stroke| s.tick == grace.tick + grace.grace && s.limb != grace.limb;
        if grace.grace > 0
            && let Some(stroke) = part.strokes.iter().find(stroke)
        {
            part.strokes[i].play_tick = (stroke.play_tick - grace.grace).max(lines.start);
        }
    }
}

/// Restores the minimum gaps of limbs, and of kicks, where the offsets fell below them. It moves the earlier stroke earlier, but none
/// before its place in the bar.
fn keep_apart(gaps: &Gaps, lines: &Lines, part: &mut Part) {
    let (start, end) = (part.bar.start, part.bar.end());
    let strokes = &mut part.strokes;
    // By limb, then by version: bare, varied. A stroke keeps its gaps in each that has it, to the stroke with this index.
    let mut nexts = [[None; 2]; Limb::ALL.len()];
    for i in (0..strokes.len()).rev() {
        let stroke = &strokes[i];
        let mut play_tick = stroke.play_tick;
        for next in neighbours(strokes, stroke, &nexts) {
            let latest = next.map_or(lines.end, |next| next.play_tick);
            let gap = gaps.between(Some(stroke), next, end - stroke.tick);
            play_tick = play_tick.min(latest - gap);
        }
        replace_in(&mut nexts, stroke, i);
        strokes[i].play_tick = play_tick;
    }
    let mut lasts = [[None; 2]; Limb::ALL.len()];
    for i in 0..strokes.len() {
        let stroke = &strokes[i];
        let mut play_tick = stroke.play_tick;
        for last in neighbours(strokes, stroke, &lasts) {
            let gap = gaps.between(last, Some(stroke), stroke.tick - start);
            let earliest = last.map_or(lines.start, |last| last.play_tick) + gap;
            play_tick = play_tick.max(earliest);
        }
        replace_in(&mut lasts, stroke, i);
        strokes[i].play_tick = play_tick;
    }
}

/// By limb and version, the index of a stroke beside the present one.
type Beside = [[Option<usize>; 2]; Limb::ALL.len()];

/// What a stroke keeps its distance to: the strokes of its limb in the versions that have it, one where both have the
/// same, and a kick also to the other foot's. `None` is the bar line.
fn neighbours<'a>(
    strokes: &'a [Stroke],
    stroke: &Stroke,
    beside: &Beside,
) -> impl Iterator<Item = Option<&'a Stroke>> {
    let of = move |limb: Limb| {
        let [bare, varied] = beside[limb as usize];
        let same = stroke.is_in(true) && bare == varied;
        let bare = stroke.is_in(true).then_some(bare);
        let varied = (stroke.is_in(false) && !same).then_some(varied);
        let found = bare.into_iter().chain(varied);
        found.map(move |i| i.map(|i| &strokes[i]))
    };
    let kick = |s: &Stroke| s.target == StrokeTarget::KICK;
    let other = match stroke.limb {
        Limb::LeadFoot if kick(stroke) => Some(Limb::OtherFoot),
        Limb::OtherFoot if kick(stroke) => Some(Limb::LeadFoot),
        _ => None,
    };
    let other = other.into_iter().flat_map(of);
    of(stroke.limb).chain(other.filter(move |other| other.is_some_and(kick)))
}

/// Makes a stroke the neighbour of the next in the versions that have it.
fn replace_in(beside: &mut Beside, stroke: &Stroke, i: usize) {
    for (beside, bare) in beside[stroke.limb as usize].iter_mut().zip([true, false]) {
        if stroke.is_in(bare) {
            *beside = Some(i);
        }
    }
}
