//! Writes a fill choice as strokes on the grid, and checks that a drummer can play them.

use super::super::beat::{Beat, Hands};
use super::super::context::Context;
use super::super::fill_span::FillSpan;
use super::super::limbs;
use super::super::roles::Role;
use super::super::stroke::{Limb, Stroke, StrokeTarget};
use super::choose::FillChoice;
use super::figures::{Blow, Family, Lies, Step, Steps};
use crate::kit::Piece::{CrashRight, Kick, Snare};
use crate::time::{TICKS_PER_QUARTER, Ticks, Value};
use arrayvec::ArrayVec;

/// Most strokes of a fill: two bars of thirty-seconds in 4/4 with graces and kicks, plus a reserve.
pub(super) const MAX_FILL: usize = 192;

/// The strokes of a fill, in ticks from the start of the current bar, in order of time. They are on the heap, since
/// hosts' audio threads have small stacks.
pub(super) type Strokes = Vec<Stroke>;

/// Buffers for the current fill and its neighbours. Allocates only when made.
#[derive(Debug, Clone, Default)]
pub struct Workbench {
    pub(super) own: Strokes,
    pub(super) neighbours: [Strokes; 2],
}

impl Workbench {
    /// Buffers with room for any fill.
    pub(crate) fn new() -> Self {
        let room = || Strokes::with_capacity(MAX_FILL);
        Self {
            own: room(),
            neighbours: [room(), room()],
        }
    }
}

/// Adds a stroke where there is room.
fn add(strokes: &mut Strokes, stroke: Stroke) -> Option<()> {
    (strokes.len() < MAX_FILL).then(|| strokes.push(stroke))
}

/// How far before its stroke a grace note falls, in seconds. Teaching texts give stick heights only;
/// 15 to 40 ms is common practice, no source.
const GRACE_S: f64 = 0.028;
/// The velocity offset of a grace note from its main stroke: the stick starts an inch or two above the head
/// (teaching texts). Judged.
const GRACE_SHADE: f32 = -34.0;
/// The velocity offset of the second stroke of a motion from the first. Judged.
const REBOUND_SHADE: f32 = -7.0;

/// The dynamic shape of a fill.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Swell {
    /// It grows towards the landing.
    Grows,
    /// It keeps its level.
    Even,
    /// It alternates loud and soft counts.
    Answers,
}

/// Writes a choice over its span and replaces the contents of `strokes`. `None` where it has more strokes than a
/// fill can hold. `mirrored` begins with the other hand.
pub(super) fn write(
    ctx: &Context,
    choice: &FillChoice,
    span: &FillSpan,
    swell: Swell,
    mirrored: bool,
    strokes: &mut Strokes,
) -> Option<()> {
    strokes.clear();
    let figure = choice.figure.steps();
    let grid = grid(ctx, span, choice.value)?;
    let reluctance = match choice.figure.family {
        Family::Hands | Family::Feet => span.reluctance,
        _ => 0.0,
    };
    let accented = figure.iter().any(|step| step.accent);
    let mut last: [Option<(usize, StrokeTarget, bool)>; 2] = [None; 2];
    for (i, &at) in grid.iter().enumerate() {
        let Some(step) = step(&figure, choice.figure.lies, i, grid.len()) else {
            continue;
        };
        let on_count = span.counts(ctx).any(|count| count == at);
        let accent = step.accent || (!accented && on_count);
        let share = (at - span.from) as f64 / (span.to - span.from) as f64;
        #[expect(clippy::cast_possible_truncation)]
        let weight = weight(swell, share as f32, ctx, at, accent, on_count);
        let base = Stroke {
            tick: at,
            play_tick: at,
            limb: Limb::LeadHand,
            target: StrokeTarget::Piece(Snare),
            rank: 0.0,
            weight,
            velocity_offset: 0.0,
            min_intensity: min_intensity(ctx, at, choice.value) * reluctance,
            grace: 0,
            bounce: false,
            ..Stroke::EMPTY
        };
        let kick = Stroke {
            limb: Limb::LeadFoot,
            target: StrokeTarget::Piece(Kick),
            ..base
        };
        let mut hand = |lead: bool, target: StrokeTarget| {
            let lead = lead != mirrored;
            let limb = [Limb::OtherHand, Limb::LeadHand][usize::from(lead)];
            let before = &mut last[usize::from(lead)];
            // One hand plays two strokes in a row from one motion where separate strokes are too fast.
            let bounce = matches!(*before, Some((last, piece, bounced))
                if last + 1 == i && piece == target && (!bounced || target == StrokeTarget::Piece(Snare)));
            *before = Some((i, target, bounce));
            let velocity_offset = if bounce { REBOUND_SHADE } else { 0.0 };
            Stroke {
                limb,
                target,
                velocity_offset,
                bounce,
                ..base
            }
        };
        match step.blow {
            Blow::Rest => {}
            Blow::Kick => add(strokes, kick)?,
            Blow::Hand { lead } => {
                let (piece, kicked) = choice.path.piece(lead != mirrored, accent, share);
                let stroke = hand(lead, StrokeTarget::Piece(piece));
                graces(ctx, &stroke, step.graces, span, strokes)?;
                add(strokes, stroke)?;
                if kicked {
                    add(strokes, kick)?;
                }
            }
            Blow::Both => {
                for lead in [true, false] {
                    let (piece, _) = choice.path.piece(lead != mirrored, true, share);
                    add(strokes, hand(lead, StrokeTarget::Piece(piece)))?;
                }
            }
            Blow::Stab | Blow::FullStab => {
                add(strokes, hand(true, StrokeTarget::Piece(CrashRight)))?;
                add(strokes, kick)?;
                if step.blow == Blow::FullStab {
                    add(strokes, hand(false, StrokeTarget::Piece(Snare)))?;
                }
            }
        }
    }
    // Simultaneous strokes are sorted by limb. A stable sort may allocate.
    strokes.sort_unstable_by_key(|stroke| (stroke.tick, stroke.limb));
    Some(())
}

/// The grid of a span, in ticks from the start of the current bar.
fn grid(ctx: &Context, span: &FillSpan, value: Value) -> Option<ArrayVec<Ticks, MAX_FILL>> {
    let run = ctx.layout.resolve(&[Role::Run(value)]);
    let mut grid = ArrayVec::new();
    for bar in [-1, 0, 1] {
        for tick in &run {
            let at = tick + bar * ctx.layout.bar_len;
            if (span.from..span.to).contains(&at) {
                grid.try_push(at).ok()?;
            }
        }
    }
    Some(grid)
}

/// The step of a figure at an index of the grid.
fn step(figure: &Steps, lies: Lies, i: usize, len: usize) -> Option<Step> {
    if figure.is_empty() {
        return None;
    }
    let stab = Step {
        blow: Blow::Stab,
        graces: 0,
        accent: true,
    };
    match lies {
        Lies::RiffWindow => Some(figure[i % figure.len()]),
        Lies::StabThenEnd if i == 0 && len > figure.len() => Some(stab),
        Lies::AtEnd | Lies::StabThenEnd => (i + figure.len())
            .checked_sub(len)
            .and_then(|from_end| figure.get(from_end).copied()),
    }
}

/// Adds the grace notes of a stroke: the other hand, just before it. None precede the bar's 1, which is never
/// early.
fn graces(
    ctx: &Context,
    stroke: &Stroke,
    n: u8,
    span: &FillSpan,
    strokes: &mut Strokes,
) -> Option<()> {
    let rebound_s = ctx.limits.rebound_s.max(0.045);
    for i in (0..n).rev() {
        let ahead = ctx.ticks(GRACE_S + rebound_s * f64::from(i));
        let tick = stroke.tick - ahead;
        if tick.div_euclid(ctx.layout.bar_len) != stroke.tick.div_euclid(ctx.layout.bar_len)
            || tick < span.earliest
        {
            continue;
        }
        let grace = Stroke {
            tick,
            play_tick: tick,
            limb: limbs::other(stroke.limb),
            velocity_offset: stroke.velocity_offset + GRACE_SHADE,
            weight: 0.0,
            grace: ahead,
            bounce: i + 1 < n,
            ..*stroke
        };
        add(strokes, grace)?;
    }
    Some(())
}

/// The minimum intensity of a stroke of a fill: at low intensity a drummer leaves out the fine subdivisions. It
/// depends on the time between strokes of this stroke's subdivision: 0 from 0.2 s on, 0.7 at 50 ms. Tuned by ear.
fn min_intensity(ctx: &Context, at: Ticks, value: Value) -> f32 {
    let at = at.rem_euclid(ctx.layout.bar_len);
    let (_, count) = ctx.layout.count_of(at);
    let coarser: &[Value] = match value {
        Value::Sextuplet => &[Value::Quarter, Value::Triplet],
        Value::ThirtySecond => &[Value::Quarter, Value::Eighth, Value::Sixteenth],
        Value::Sixteenth => &[Value::Quarter, Value::Eighth],
        _ => &[Value::Quarter],
    };
    let on = |value: &&Value| (at - count.start) % value.step(count) == 0;
    let value = coarser.iter().find(on).copied().unwrap_or(value);
    #[expect(clippy::cast_possible_truncation)]
    let step_s = ctx.seconds(value.step(count)) as f32;
    ((0.2 - step_s) / 0.15 * 0.7).clamp(0.0, 0.8)
}

fn weight(swell: Swell, share: f32, ctx: &Context, at: Ticks, accent: bool, on_count: bool) -> f32 {
    let accent = match (accent, on_count) {
        (true, _) => 0.95,
        (_, true) => 0.7,
        _ => 0.35,
    };
    accent
        + match swell {
            Swell::Grows => 0.6 * (share - 0.5),
            Swell::Even => 0.0,
            Swell::Answers => {
                let (count, _) = ctx.layout.count_of(at.rem_euclid(ctx.layout.bar_len));
                if count % 2 == 0 { 0.2 } else { -0.3 }
            }
        }
}

/// The hands' first strokes after a fill: the lead hand lands on the crash, the other hand plays its first stroke
/// of the next bar.
fn landing(ctx: &Context, beat: &Beat, span: &FillSpan) -> ArrayVec<Stroke, 2> {
    let at = |limb, target, tick| Stroke {
        tick,
        limb,
        target,
        ..Stroke::EMPTY
    };
    let mut landing = ArrayVec::new();
    landing.push(at(
        Limb::LeadHand,
        StrokeTarget::Opening { rides: false },
        span.to,
    ));
    let first = ctx.layout.resolve(beat.snare[0]).first().copied();
    let other = match (beat.lead.hands, first) {
        // Hand to hand, the other hand strikes a sixteenth after the 1.
        (Hands::Both | Hands::Drums(..), _) => {
            Some((TICKS_PER_QUARTER / 4, StrokeTarget::HandCymbal))
        }
        (_, Some(first)) => Some((first, StrokeTarget::Piece(beat.snare_piece))),
        _ => None,
    };
    if let Some((first, target)) = other {
        landing.push(at(Limb::OtherHand, target, span.to + first));
    }
    landing
}

/// Leaves out each hand's last stroke where the hand would not return in time for the landing.
pub(super) fn cut_short(ctx: &Context, beat: &Beat, span: &FillSpan, strokes: &mut Strokes) {
    for landing in landing(ctx, beat, span) {
        let last = strokes.iter().rposition(|s| s.limb == landing.limb);
        if let Some(i) = last
            && landing.tick - strokes[i].tick < limbs::minimum_gap(ctx, &strokes[i], &landing)
        {
            let gone = strokes.remove(i);
            strokes.retain(|s| s.grace == 0 || s.tick + s.grace != gone.tick);
        }
    }
}

/// Whether a drummer can play the strokes and land on the 1 after them.
pub(super) fn playable(ctx: &Context, beat: &Beat, span: &FillSpan, strokes: &[Stroke]) -> bool {
    let feet = ctx.ticks(ctx.limits.feet_s);
    let landing = landing(ctx, beat, span);
    let mut last: [Option<Stroke>; 2] = [None; 2];
    for stroke in strokes.iter().chain(&landing) {
        let Some(hand) = last.get_mut(stroke.limb as usize) else {
            continue;
        };
        if hand.is_some_and(|last| stroke.tick - last.tick < limbs::minimum_gap(ctx, &last, stroke))
        {
            return false;
        }
        *hand = Some(*stroke);
    }
    let kicks = strokes.iter().filter(|s| s.limb == Limb::LeadFoot);
    let mut last = None;
    kicks
        .map(|kick| kick.tick)
        .chain([span.to])
        .all(|tick| last.replace(tick).is_none_or(|last| tick - last >= feet))
}
