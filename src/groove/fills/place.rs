//! Writes a fill choice as strokes on the grid, and checks that a drummer can play them.

use super::super::beat::{Beat, Hands};
use super::super::context::Context;
use super::super::fill_span::FillSpan;
use super::super::limbs;
use super::super::stroke::{Limb, Origin, Stroke, StrokeTarget};
use super::choose::FillChoice;
use super::chosen::Chosen;
use super::closings::Closing;
use super::enough::depth;
use super::figures::{Blow, Family, Lies, MAX_STEPS, Step};
use crate::kit::Piece::{self, CrashLeft, CrashRight, FloorLow, Snare};
use crate::time::{Count, TICKS_PER_QUARTER, Ticks, Value};
use arrayvec::ArrayVec;

/// Most strokes of a fill: two bars of thirty-seconds in 4/4 with graces and kicks, plus a reserve.
pub(super) const MAX_FILL: usize = 192;

/// The strokes of a fill, in ticks from the start of the current bar, in order of time. They are on the heap, since
/// hosts' audio threads have small stacks.
pub(super) type Strokes = Vec<Stroke>;

/// Buffers for fills. Allocates only when made.
#[derive(Debug, Clone, Default)]
pub struct Workbench {
    pub(super) own: Strokes,
    pub(super) chosen: Chosen,
}

impl Workbench {
    /// Buffers with room for any fill.
    pub(crate) fn new() -> Self {
        Self {
            own: Strokes::with_capacity(MAX_FILL),
            chosen: Chosen::new(),
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
pub(super) struct Swell {
    /// Whether it alternates loud and soft counts.
    pub(super) answers: bool,
    /// Velocity steps that it grows by, from its start to its end.
    pub(super) grows: f32,
    /// Velocity steps by which its end comes nearer to the level of the next bar.
    pub(super) aims: f32,
}

impl Swell {
    /// The velocity steps that the shape adds at a position (0..1) in the fill. It does not depend on accent: a fill
    /// grows at every accent.
    fn offset(self, share: f32) -> f32 {
        // Few fills aim, and the power takes longest.
        let aimed = if self.aims == 0.0 {
            0.0
        } else {
            share.powf(1.5)
        };
        self.grows * (share - 0.5) + self.aims * aimed
    }
}

/// A fill being written.
struct Pen<'a> {
    ctx: &'a Context<'a>,
    span: &'a FillSpan,
    choice: &'a FillChoice,
    swell: Swell,
    /// Whether the other hand leads.
    mirrored: bool,
    strokes: &'a mut Strokes,
    /// The number of the step.
    step: usize,
    /// What each hand struck last: at which step, what, and whether it was the second stroke of a motion.
    last: [Option<(usize, StrokeTarget, bool)>; 2],
    /// Where a hand's strokes follow on each other without grace notes between them: each hand's last stroke, and whether
    /// the hand is late for it.
    watched: Option<[(Stroke, bool); 2]>,
    /// The scale of the minimum intensity of fast strokes.
    reluctance: f32,
}

/// Writes a choice over its span and replaces the contents of `strokes`. `closing` replaces the last count. `None`
/// where it has more strokes than a fill can hold, or where a hand is too late for a stroke before its last: no cut at
/// the end would change that. `mirrored` begins with the other hand.
pub(super) fn write(
    ctx: &Context,
    choice: &FillChoice,
    closing: Option<&Closing>,
    span: &FillSpan,
    swell: Swell,
    mirrored: bool,
    strokes: &mut Strokes,
) -> Option<()> {
    strokes.clear();
    let figure = &choice.figure.steps;
    let last = closing.map_or(span.to, |_| span.last_count(ctx));
    let closes = closing.map_or(&[][..], |closing| &*closing.steps);
    let graced = figure.iter().chain(closes).any(|step| step.graces > 0);
    let far = Stroke {
        tick: Ticks::MIN / 2,
        ..Stroke::EMPTY
    };
    let mut pen = Pen {
        ctx,
        span,
        choice,
        swell,
        mirrored,
        strokes,
        step: 0,
        last: [None; 2],
        watched: (!graced).then_some([(far, false); 2]),
        reluctance: match choice.figure.family {
            Family::Hands | Family::Feet => span.reluctance,
            _ => 0.0,
        },
    };
    let mut own = Grid::new();
    grid(ctx, (span.from, last), choice.value, &mut own)?;
    // A figure that stands at the end leaves what is before it silent.
    let silent = match choice.figure.lies {
        Lies::Repeated => 0,
        Lies::AtEnd => own.len().saturating_sub(figure.len()),
    };
    let cut = figure.len().saturating_sub(match choice.figure.lies {
        Lies::Repeated => usize::MAX,
        Lies::AtEnd => own.len(),
    });
    pen.steps(
        figure.iter().cycle().skip(cut),
        &own[silent..],
        choice.value,
    )?;
    if let Some(closing) = closing {
        // The hand that did not strike last begins.
        let [other, lead] = pen.last.map(|last| last.map_or(0, |(step, ..)| step + 1));
        pen.mirrored = lead > other;
        own.clear();
        grid(ctx, (last, span.to), closing.value, &mut own)?;
        pen.steps(closing.steps.iter(), &own, closing.value)?;
    }
    // Simultaneous strokes are sorted by limb. A stable sort may allocate.
    strokes.sort_unstable_by_key(|stroke| (stroke.tick, stroke.limb));
    Some(())
}

impl Pen<'_> {
    /// Writes steps at ticks.
    fn steps<'s>(
        &mut self,
        steps: impl Iterator<Item = &'s Step> + Clone,
        ticks: &[Ticks],
        value: Value,
    ) -> Option<()> {
        // Accents of the figure's own replace those on the counts.
        let accented = steps.clone().take(MAX_STEPS).any(|step| step.accent);
        for (&step, &at) in steps.zip(ticks) {
            self.write(step, at, value, accented)?;
            self.step += 1;
        }
        Some(())
    }

    fn write(&mut self, step: Step, at: Ticks, value: Value, accented: bool) -> Option<()> {
        let place = Place::new(self.ctx, at);
        let on_count = place.from_count == 0;
        let accent = step.accent || (!accented && on_count);
        let share = (at - self.span.from) as f64 / (self.span.to - self.span.from) as f64;
        #[expect(clippy::cast_possible_truncation)]
        let base = Stroke {
            tick: at,
            play_tick: at,
            target: StrokeTarget::Piece(Snare),
            origin: Origin::Fill,
            weight: weight(self.swell, &place, accent, on_count),
            velocity_offset: self.swell.offset(share as f32),
            min_intensity: if self.reluctance == 0.0 {
                0.0
            } else {
                min_intensity(self.ctx, &place, value) * self.reluctance
            },
            ..Stroke::EMPTY
        };
        let kick = Stroke {
            limb: Limb::LeadFoot,
            target: StrokeTarget::KICK,
            ..base
        };
        let path = self.choice.path;
        match step.blow {
            Blow::Rest => {}
            Blow::Kick => add(self.strokes, kick)?,
            Blow::Hand { lead } => {
                let (piece, kicked) = path.piece(lead != self.mirrored, accent, share);
                let stroke = self.hand(base, lead, piece)?;
                // No flam is played on a crash.
                let graces = if matches!(piece, CrashLeft | CrashRight) {
                    0
                } else {
                    step.graces
                };
                grace_notes(self.ctx, &stroke, graces, self.span, self.strokes)?;
                add(self.strokes, stroke)?;
                if kicked {
                    add(self.strokes, kick)?;
                }
            }
            Blow::Both => {
                let [(one, first), (two, second)] =
                    [true, false].map(|lead| path.piece(lead, true, share));
                if first || second {
                    add(self.strokes, kick)?;
                }
                // Both hands on one piece are one sound: the other hand then strikes the snare, or the low tom.
                let two = match two {
                    Snare if one == two => FloorLow,
                    two if one == two => Snare,
                    two => two,
                };
                // The lead hand has the piece that is further to its side.
                let (one, two) = if one == Snare && two == FloorLow {
                    (two, one)
                } else {
                    (one, two)
                };
                for (lead, piece) in [(!self.mirrored, one), (self.mirrored, two)] {
                    let stroke = self.hand(base, lead, piece)?;
                    add(self.strokes, stroke)?;
                }
            }
            Blow::Stab | Blow::FullStab => {
                let stab = self.hand(base, !self.mirrored, CrashRight)?;
                add(self.strokes, stab)?;
                add(self.strokes, kick)?;
                if step.blow == Blow::FullStab {
                    let snare = self.hand(base, self.mirrored, Snare)?;
                    add(self.strokes, snare)?;
                }
            }
        }
        Some(())
    }

    /// A stroke of one hand. One hand plays two strokes in a row on a drum from one motion where separate strokes are
    /// too fast. `None` where the hand was late for its last stroke.
    fn hand(&mut self, base: Stroke, lead: bool, piece: Piece) -> Option<Stroke> {
        let lead = lead != self.mirrored;
        let target = StrokeTarget::Piece(piece);
        let before = &mut self.last[usize::from(lead)];
        let bounce = matches!(*before, Some((last, piece, bounced))
            if last + 1 == self.step
                && piece == target
                && depth(target).is_some()
                && (!bounced || target == StrokeTarget::Piece(Snare)));
        *before = Some((self.step, target, bounce));
        let rebound = if bounce { REBOUND_SHADE } else { 0.0 };
        let stroke = Stroke {
            limb: [Limb::OtherHand, Limb::LeadHand][usize::from(lead)],
            target,
            velocity_offset: base.velocity_offset + rebound,
            bounce,
            ..base
        };
        if let Some(hands) = &mut self.watched {
            let (last, late) = &mut hands[usize::from(lead)];
            if *late {
                return None;
            }
            *late = stroke.tick - last.tick < limbs::minimum_gap(self.ctx, last, &stroke);
            *last = stroke;
        }
        Some(stroke)
    }
}

/// Adds the grid of a note value from one tick to another, in ticks from the start of the current bar. `None` where it
/// has no room.
fn grid(ctx: &Context, (from, to): (Ticks, Ticks), value: Value, grid: &mut Grid) -> Option<()> {
    let bars = Ticks::from(from >= 0) - 1..=Ticks::from(to > ctx.layout.bar_len);
    for bar in bars {
        for tick in ctx.layout.run(value) {
            let at = tick + bar * ctx.layout.bar_len;
            if (from..to).contains(&at) {
                grid.try_push(at).ok()?;
            }
        }
    }
    Some(())
}

/// The steps of a fill, in ticks from the start of the current bar.
type Grid = ArrayVec<Ticks, MAX_FILL>;

/// Where a step of a fill lies.
struct Place {
    count: Count,
    /// Ticks from the start of the count.
    from_count: Ticks,
    /// How many counts of the bar follow.
    counts_left: usize,
}

impl Place {
    /// `at` in ticks from the start of the current bar.
    fn new(ctx: &Context, at: Ticks) -> Self {
        let at = at.rem_euclid(ctx.layout.bar_len);
        let (i, count) = ctx.layout.count_of(at);
        Self {
            count,
            from_count: at - count.start,
            counts_left: ctx.layout.counts.len() - 1 - i,
        }
    }
}

/// Adds the grace notes of a stroke: the other hand, just before it. None precede the bar's 1, which is never
/// early.
fn grace_notes(
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
            origin: Origin::Grace,
            bounce: i + 1 < n,
            ..*stroke
        };
        add(strokes, grace)?;
    }
    Some(())
}

/// The minimum intensity of a stroke of a fill: at low intensity a drummer leaves out the fine subdivisions. It
/// depends on the time between strokes of this stroke's subdivision: 0 from 0.2 s on, 0.7 at 50 ms. Tuned by ear.
fn min_intensity(ctx: &Context, place: &Place, value: Value) -> f32 {
    let count = place.count;
    let coarser: &[Value] = match value {
        Value::Sextuplet => &[Value::Quarter, Value::Triplet],
        Value::ThirtySecond => &[Value::Quarter, Value::Eighth, Value::Sixteenth],
        Value::Sixteenth => &[Value::Quarter, Value::Eighth],
        _ => &[Value::Quarter],
    };
    let on = |value: &&Value| place.from_count % value.step(count) == 0;
    let value = coarser.iter().find(on).copied().unwrap_or(value);
    #[expect(clippy::cast_possible_truncation)]
    let step_s = ctx.seconds(value.step(count)) as f32;
    ((0.2 - step_s) / 0.15 * 0.7).clamp(0.0, 0.8)
}

fn weight(swell: Swell, place: &Place, accent: bool, on_count: bool) -> f32 {
    let own = match (accent, on_count) {
        (true, _) => 0.95,
        (_, true) => 0.7,
        _ => 0.35,
    };
    // The last count, which leads to the 1, is a loud one.
    own + match (swell.answers, place.counts_left % 2) {
        (false, _) => 0.0,
        (true, 0) => 0.2,
        (true, _) => -0.3,
    }
}

/// The hands' first strokes after a fill: the lead hand lands on the crash, the other hand plays its first stroke
/// of the next bar.
pub(super) fn landing(ctx: &Context, beat: &Beat, span: &FillSpan) -> ArrayVec<Stroke, 2> {
    let at = |limb, target, tick| Stroke {
        tick,
        limb,
        target,
        ..Stroke::EMPTY
    };
    let mut landing = ArrayVec::new();
    let crash = if span.ends_low(ctx, beat) {
        StrokeTarget::Piece(CrashRight)
    } else {
        StrokeTarget::Opening { rides: false }
    };
    landing.push(at(Limb::LeadHand, crash, span.to));
    let first = ctx.layout.resolve(beat.snare.bar(0)).first().copied();
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
pub(super) fn cut_short(ctx: &Context, landing: &[Stroke], strokes: &mut Strokes) {
    for first in landing {
        if let Some(i) = late(ctx, first, strokes) {
            let gone = strokes.remove(i);
            strokes.retain(|s| s.grace == 0 || s.tick + s.grace != gone.tick);
        }
    }
}

/// Whether a hand would not return in time for the landing.
pub(super) fn is_late(ctx: &Context, landing: &[Stroke], strokes: &[Stroke]) -> bool {
    let mut firsts = landing.iter();
    firsts.any(|first| late(ctx, first, strokes).is_some())
}

/// A hand's last stroke, if it leaves no time for its first one after the fill.
fn late(ctx: &Context, first: &Stroke, strokes: &[Stroke]) -> Option<usize> {
    let last = strokes.iter().rposition(|s| s.limb == first.limb);
    last.filter(|&i| first.tick - strokes[i].tick < limbs::minimum_gap(ctx, &strokes[i], first))
}

/// Whether a drummer can play the strokes and land on the 1 after them.
pub(super) fn playable(
    ctx: &Context,
    span: &FillSpan,
    landing: &[Stroke],
    strokes: &[Stroke],
) -> bool {
    let feet = ctx.ticks(ctx.limits.feet_s);
    let mut last: [Option<&Stroke>; 2] = [None; 2];
    for stroke in strokes.iter().chain(landing) {
        let Some(hand) = last.get_mut(stroke.limb as usize) else {
            continue;
        };
        if hand.is_some_and(|last| stroke.tick - last.tick < limbs::minimum_gap(ctx, last, stroke))
        {
            return false;
        }
        *hand = Some(stroke);
    }
    let kicks = strokes.iter().filter(|s| s.limb == Limb::LeadFoot);
    let mut last = None;
    kicks
        .map(|kick| kick.tick)
        .chain([span.to])
        .all(|tick| last.replace(tick).is_none_or(|last| tick - last >= feet))
}
