//! The kick follows the guitar: attacks become kicks wherever two feet can play them.
//!
//! Attacks are quantised to the grid. Where two are closer than the feet can play, the one on the heavier place
//! stays, then the stronger one. Whether an attack stays depends on near neighbours alone, so that adjacent bars
//! agree about the attacks between them.

use super::beat::{Beat, Feel};
use super::context::Context;
use super::edit::EditTarget;
use super::fill_span::FillSpan;
use super::limits::Limits;
use super::stroke::{Hit, Limb, Origin, Part, Stroke, StrokeTarget};
use super::stroke_kind::StrokeKind;
use super::{dynamics, limits};
use crate::kit::{Piece, Ring};
use crate::riff::Attack;
use crate::riff::window::MARGIN;
use crate::settings::StrokeSettings;
use crate::settings::{KickSource, RiffGrid};
use crate::time::{TICKS_PER_QUARTER, Ticks};
use arrayvec::ArrayVec;
use std::cmp::Ordering;

/// Attacks within half a sixteenth of the beat's kick are that kick.
pub(super) const SAME: Ticks = TICKS_PER_QUARTER / 8;
/// Of several attacks within this cell, a 128th, the strongest counts.
const CELL: Ticks = TICKS_PER_QUARTER / 32;
/// Most attacks considered for a bar.
const MAX_WISHES: usize = 256;
/// The number of rounds in which the best remaining attacks are chosen.
const ROUNDS: usize = 4;
/// From this strength on, an attack is a core stroke. A weaker one is an extra whose rank rises to
/// [`WEAKEST_RANK`], below the default density, which therefore plays all.
const CORE_STRENGTH: f32 = 0.75;
const WEAKEST_RANK: f32 = 0.35;
/// The strength that gives a kick its usual velocity. Then the velocity range that the whole range of strength
/// covers. Judged, no source.
const USUAL_STRENGTH: f32 = 0.6;
const STRENGTH_SPAN: f32 = 24.0;

/// A kick that an attack asks for, by its place in the bar.
#[derive(Debug, Clone, Copy)]
struct Wish {
    at: Ticks,
    strength: f32,
    /// The metrical weight of its place: higher goes first.
    weight: u8,
    stays: bool,
    open: bool,
}

type Wishes = ArrayVec<Wish, MAX_WISHES>;

impl RiffGrid {
    /// The grid position nearest to a tick counted from a bar line.
    pub fn snap(self, at: Ticks) -> Ticks {
        let near = |step: Ticks| (at + step / 2).div_euclid(step) * step;
        let (sixteenth, triplet) = (near(TICKS_PER_QUARTER / 4), near(TICKS_PER_QUARTER / 6));
        match self {
            Self::Off => at,
            Self::Triplets => triplet,
            Self::ThirtySeconds => near(TICKS_PER_QUARTER / 8),
            Self::SixteenthsAndTriplets if (at - triplet).abs() < (at - sixteenth).abs() => triplet,
            Self::Sixteenths | Self::SixteenthsAndTriplets => sixteenth,
        }
    }
}

impl KickSource {
    /// Whether the kick uses the riff under a beat.
    pub fn heeds_riff(self, beat: &Beat) -> bool {
        self != Self::Beat || beat.follows_riff
    }

    /// Whether the riff, where it is known, stands in place of the beat's kicks.
    pub(super) fn replaces_kicks(self, beat: &Beat) -> bool {
        match self {
            Self::Beat => beat.follows_riff,
            Self::Riff => true,
            Self::Both => false,
        }
    }
}

/// What the feet have of the riff.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Followed {
    /// They play it, in place of the beat's kicks or beside them.
    pub(super) heeded: bool,
    /// They play it in place of the beat's kicks.
    pub(super) replaced: bool,
}

/// Adds the riff's kicks to the part, in place of the beat's kicks or beside them.
pub(super) fn follow(
    ctx: &Context,
    beat: &Beat,
    riff: Option<&[Attack]>,
    part: &mut Part,
) -> Followed {
    let Some(riff) = riff.filter(|_| ctx.bar_settings.kick_source.heeds_riff(beat)) else {
        return Followed::default();
    };
    let is_kick = |stroke: &Stroke| stroke.target == StrokeTarget::KICK;
    if ctx.bar_settings.kick_source.replaces_kicks(beat) {
        part.strokes.retain(|stroke| !is_kick(stroke));
        part.forget_dropped(is_kick);
    }
    let gap = gap(ctx).max(SAME);
    let bar_len = ctx.layout.bar_len;
    let mut wishes = wishes(ctx, riff);
    if ctx.bar_settings.kick_source.replaces_kicks(beat) {
        let next = wishes.iter().find(|wish| wish.stays && wish.at >= bar_len);
        part.next_kick = Some(next.map_or(bar_len + MARGIN, |wish| wish.at));
    }
    wishes.retain(|wish| (0..bar_len).contains(&wish.at));
    for wish in wishes.iter().filter(|wish| !wish.stays) {
        let tick = ctx.bar.start + wish.at;
        part.drop_stroke(Stroke {
            tick,
            play_tick: tick,
            limb: Limb::LeadFoot,
            target: StrokeTarget::KICK,
            origin: Origin::Riff,
            ..Stroke::EMPTY
        });
    }
    let own = part.strokes.len();
    for wish in wishes.iter().filter(|wish| wish.stays) {
        let tick = ctx.bar.start + wish.at;
        let near = |s: &Stroke| is_kick(s) && (s.tick - tick).abs() < gap;
        // The beat's own kick needs the foot on the next 1.
        if part.next_kick.is_none() && wish.at + gap > bar_len {
            continue;
        }
        if part.strokes[..own].iter().any(near) {
            continue;
        }
        part.push_stroke(Stroke {
            tick: wish.at,
            limb: Limb::LeadFoot,
            target: StrokeTarget::KICK,
            rank: rank(wish.strength),
            velocity_offset: velocity_offset(wish.strength),
            origin: Origin::Riff,
            ..Stroke::EMPTY
        });
    }
    Followed {
        heeded: true,
        replaced: ctx.bar_settings.kick_source.replaces_kicks(beat),
    }
}

/// The feel of the riff that the feet follow under a fill; `None` where they don't, or where it only marks counts and
/// places that both feels have. It asks the first stretch of the fill's last bar, which both bars of a fill of two know.
pub(super) fn feel_under(ctx: &Context, beat: &Beat, span: &FillSpan) -> Option<Feel> {
    let (riff, start) = ctx.riff?;
    if !ctx.bar_settings.kick_source.replaces_kicks(beat) {
        return None;
    }
    let bar_len = ctx.layout.bar_len;
    let last_bar = if span.to > bar_len { bar_len } else { 0 };
    let inside = span.from.max(last_bar)..span.to.min(last_bar + MARGIN);
    let (mut straight, mut triplets) = (0, 0);
    for attack in riff {
        let at = ctx.bar_settings.riff_grid.snap(attack.tick - start);
        if !inside.contains(&at) {
            continue;
        }
        let off = |step: Ticks| {
            let past = at.rem_euclid(step);
            past.min(step - past)
        };
        let (sixteenth, triplet) = (off(TICKS_PER_QUARTER / 4), off(TICKS_PER_QUARTER / 3));
        straight += usize::from(sixteenth < triplet);
        triplets += usize::from(triplet < sixteenth);
    }
    match straight.cmp(&triplets) {
        Ordering::Greater => Some(Feel::Straight),
        Ordering::Less => Some(Feel::Triplets),
        Ordering::Equal => None,
    }
}

/// Moves the riff's kicks to the guitar's own timing where the riff grid is off: the guitarist then determines feel
/// and swing.
pub(super) fn hold(ctx: &Context, beat: &Beat, riff: Option<&[Attack]>, part: &mut Part) {
    let source = ctx.bar_settings.kick_source;
    let Some(riff) = riff.filter(|_| source.heeds_riff(beat)) else {
        return;
    };
    if ctx.bar_settings.riff_grid != RiffGrid::Off {
        return;
    }
    for stroke in &mut part.strokes {
        let kick = stroke.target == StrokeTarget::KICK;
        if kick && riff.binary_search_by_key(&stroke.tick, |a| a.tick).is_ok() {
            stroke.play_tick = stroke.tick;
        }
    }
    part.sort();
}

/// The rank of an attack: it is left out at a density below this.
fn rank(strength: f32) -> f32 {
    WEAKEST_RANK * (1.0 - strength / CORE_STRENGTH).max(0.0)
}

fn velocity_offset(strength: f32) -> f32 {
    (strength - USUAL_STRENGTH) * STRENGTH_SPAN
}

/// The minimum gap between the riff's kicks in a bar. Without speed limits it is a 128th.
fn gap(ctx: &Context) -> Ticks {
    let most = i64::try_from(MAX_WISHES / 2).unwrap_or(1);
    ctx.ticks(ctx.limits.feet_s)
        .max(CELL)
        .max(ctx.layout.bar_len / most)
}

/// The kicks that the guitar asks for in this bar and around it, without those that no feet can play.
fn wishes(ctx: &Context, riff: &[Attack]) -> Wishes {
    let (start, bar_len) = (ctx.bar.start, ctx.layout.bar_len);
    let gap = gap(ctx);
    // Includes the margin in which neighbours' neighbours matter, but a limited number of attacks.
    let around = (gap * 9).min(MARGIN);
    let cell = CELL.max((bar_len + 2 * around) / i64::try_from(MAX_WISHES).unwrap_or(1) + 1);
    let mut wishes = Wishes::new();
    // Cells count from the start of the timeline, so that the next bar computes the same ones.
    let cell_of = |at: Ticks| (start + at).div_euclid(cell);
    for attack in riff {
        let at = ctx.bar_settings.riff_grid.snap(attack.tick - start);
        if at < -around || at >= bar_len + around {
            continue;
        }
        let wish = Wish {
            at,
            strength: attack.strength,
            weight: weight(ctx, at),
            stays: false,
            open: true,
        };
        match wishes.last_mut() {
            Some(last) if last.at == at || cell_of(last.at) == cell_of(at) => {
                if wish.strength > last.strength {
                    *last = wish;
                }
            }
            _ => {
                let _ = wishes.try_push(wish);
            }
        }
    }
    for _ in 0..ROUNDS {
        choose(&mut wishes, gap);
    }
    wishes
}

/// Accepts each open wish that outweighs all others within `gap`, and removes those too close to it.
fn choose(wishes: &mut Wishes, gap: Ticks) {
    let better = |a: &Wish, b: &Wish| {
        let by_weight = a.weight.cmp(&b.weight);
        by_weight
            .then(a.strength.total_cmp(&b.strength))
            .then(b.at.cmp(&a.at))
            .is_gt()
    };
    let mut chosen: ArrayVec<usize, MAX_WISHES> = ArrayVec::new();
    for (i, wish) in wishes.iter().enumerate().filter(|(_, wish)| wish.open) {
        let before = wishes[..i].iter().rev();
        let before = before.take_while(|other| wish.at - other.at < gap);
        let after = wishes[i + 1..].iter();
        let after = after.take_while(|other| other.at - wish.at < gap);
        if before
            .chain(after)
            .all(|other| !other.open || better(wish, other))
        {
            chosen.push(i);
        }
    }
    for i in chosen {
        let at = wishes[i].at;
        wishes[i].stays = true;
        let reach = |other: &Wish| (other.at - at).abs() < gap;
        let first = wishes[..i]
            .iter()
            .rposition(|w| !reach(w))
            .map_or(0, |k| k + 1);
        let last = wishes[i..].iter().position(|w| !reach(w));
        let last = last.map_or(wishes.len(), |k| i + k);
        for other in &mut wishes[first..last] {
            other.open = false;
        }
    }
}

/// The metrical weight of a place in the bar.
fn weight(ctx: &Context, at: Ticks) -> u8 {
    let in_bar = at.rem_euclid(ctx.layout.bar_len);
    // A tolerance of a 64th either way, since attacks off the grid are human timing.
    let on = |step: Ticks| {
        let off = in_bar.rem_euclid(step);
        off.min(step - off) <= TICKS_PER_QUARTER / 16
    };
    let count = ctx
        .layout
        .counts
        .iter()
        .any(|c| (c.start - in_bar).abs() <= TICKS_PER_QUARTER / 16);
    if count || in_bar >= ctx.layout.bar_len - TICKS_PER_QUARTER / 16 {
        3
    } else if on(TICKS_PER_QUARTER / 2) {
        2
    } else {
        u8::from(on(TICKS_PER_QUARTER / 4))
    }
}

/// The feet that play along with the live guitar. They are causal: an attack that comes too soon after a kick is
/// left out.
#[derive(Debug, Clone, Default)]
pub struct LiveFeet {
    /// When each foot last kicked, in seconds on a monotonic clock.
    last: [Option<f64>; 2],
}

const FEET: [Limb; 2] = [Limb::LeadFoot, Limb::OtherFoot];

impl LiveFeet {
    /// Resets: no foot has kicked.
    pub fn rest(&mut self) {
        self.last = [None; 2];
    }

    /// Notes a kick that was played from the part.
    pub fn played(&mut self, limb: Limb, now_s: f64) {
        self.last[usize::from(limb == Limb::OtherFoot)] = Some(now_s);
    }

    /// Seconds since any kick.
    pub fn since(&self, now_s: f64) -> f64 {
        let times = self.last.iter().flatten();
        now_s - times.copied().fold(f64::NEG_INFINITY, f64::max)
    }

    /// Kicks at an attack if a foot is free and density allows it. `bpm` in quarter notes a minute.
    pub fn kick(
        &mut self,
        attack: Attack,
        now_s: f64,
        bpm: f64,
        limits: &Limits,
        stroke_settings: &StrokeSettings,
    ) -> Option<Hit> {
        let shortest = CELL as f64 / limits::ticks(1.0, bpm).max(1) as f64;
        let since = self.since(now_s);
        // Tolerates the rounding of one sample.
        if rank(attack.strength) > stroke_settings.density
            || since + 1e-4 < limits.feet_s.max(shortest)
        {
            return None;
        }
        let rested = |foot: usize| self.last[foot].map_or(f64::INFINITY, |last| now_s - last);
        let lead_is_ready = rested(0) >= limits.foot_s.max(dynamics::FEET_AT_EASE_S);
        let foot = usize::from(!lead_is_ready && rested(1) > rested(0));
        if rested(foot) + 1e-4 < limits.foot_s {
            return None;
        }
        self.last[foot] = Some(now_s);
        let stroke = Stroke {
            tick: attack.tick,
            play_tick: attack.tick,
            limb: FEET[foot],
            target: StrokeTarget::KICK,
            kind: StrokeKind::Kick,
            velocity_offset: velocity_offset(attack.strength) + dynamics::hurry(since),
            ..Stroke::EMPTY
        };
        Some(Hit {
            tick: attack.tick,
            grid: attack.tick,
            limb: FEET[foot],
            piece: Piece::Kick,
            velocity: dynamics::velocity(&stroke, stroke_settings),
            origin: Origin::Riff,
            target: EditTarget::Piece(Piece::Kick),
            asked: false,
            grace: false,
            ghost: false,
            ring: Ring::Free,
            opening: 0,
            turn: 0,
            alternate: None,
        })
    }
}
