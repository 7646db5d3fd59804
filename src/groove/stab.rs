//! Hits of the band: the places where all stop or strike together, which the drummer plays with both hands and a foot
//! while time goes on around them.
//!
//! The songwriter marks them. They are [`Stab`]s here, since a hit is also any stroke that sounds. What is played follows
//! common practice of band drumming, no source: a crash with a kick or with the backbeat, a second crash where it is
//! loud, a set-up before it where there is room, and time on the lead hand between hits. After a short hit a hand grabs
//! the cymbal and the drums wait for the next count; a held one rings while the hand rests for an eighth.

use super::beat::Beat;
use super::by_hand::Stab;
use super::chance::{Decision, chance};
use super::context::Context;
use super::limbs::{is_free, minimum_gap};
use super::stroke::{Limb, Manner, Origin, Part, Standing, Stroke, StrokeTarget};
use super::stroke_kind::is_hand;
use crate::kit::{Piece, Ring};
use crate::time::{TICKS_PER_QUARTER, Ticks};

/// For so long a held crash is heard alone, and the drums wait at least after a short one: an eighth. Judged.
const HEARD: Ticks = TICKS_PER_QUARTER / 2;
/// A hit is set up where the last one is this far away: a quarter. Judged.
const ROOM: Ticks = TICKS_PER_QUARTER;
/// The share of hits that are set up where there is room. Judged: a drummer who sets up all of them gives them away.
const SET_UPS: f32 = 0.7;
/// From this density on they are set up.
const SET_UP_RANK: f32 = 0.1;
/// How far a set-up lies below the level, in velocity. Judged: it leads to the hit.
const SET_UP_OFFSET: f32 = -8.0;
/// Below the first intensity a hit is on the hand cymbal, and from the second on both hands crash. Judged.
const CRASHES_FROM: f32 = 0.25;
const BOTH_FROM: f32 = 0.7;

/// Plays the hits of a drafted bar.
pub(super) fn play(ctx: &Context, beat: &Beat, part: &mut Part) {
    part.silence = None;
    if ctx.by_hand.stabs.is_empty() {
        return;
    }
    let (start, end) = (part.bar.start, part.bar.end());
    rest_on(ctx, part);
    follow(ctx, part);
    for stab in ctx.by_hand.stabs_within(start, end) {
        strike(ctx, stab, part);
    }
    for stab in ctx.by_hand.stabs_within(start, end + ROOM) {
        set_up(ctx, beat, stab, part);
    }
}

/// Until when the drums wait after a short hit: for the next count that is an eighth away, or the next hit.
fn silent_until(ctx: &Context, stab: Stab) -> Ticks {
    let earliest = stab.at + HEARD;
    let (start, end) = (ctx.bar.start, ctx.bar.end());
    let counts = ctx.layout.counts.iter().map(|count| start + count.start);
    let count = counts.chain([end]).find(|count| *count >= earliest);
    let next = ctx.by_hand.stabs_within(stab.at + 1, end).next();
    let count = count.unwrap_or(end);
    next.map_or(count, |next| next.at.min(count))
}

/// Plays one hit.
fn strike(ctx: &Context, stab: Stab, part: &mut Part) {
    let at = stab.at;
    let feet = ctx.ticks(ctx.limits.feet_s);
    let is_back = |s: &Stroke| {
        let snare = matches!(
            s.target,
            StrokeTarget::Piece(Piece::Snare | Piece::SideStick)
        );
        snare && s.tick == at && s.rank == 0.0 && s.grace == 0 && s.limb == Limb::OtherHand
    };
    let has_back = part.strokes.iter().any(is_back);
    let until = if stab.held {
        at + HEARD
    } else {
        silent_until(ctx, stab)
    };
    let hits = [Limb::LeadHand, Limb::OtherHand].map(|hand| hit(stab, hand));
    // The second crash is not worth a snare of the beat, nor one of the next bar, which nobody here knows.
    let is_core = |s: &Stroke| s.rank == 0.0 && s.limb == Limb::OtherHand && s.tick != at;
    let far = ctx.ticks(ctx.limits.hand_s.max(ctx.limits.lift_s) + ctx.limits.travel_s);
    let takes_both = !has_back
        && at + far <= part.bar.end()
        && !part
            .strokes
            .iter()
            .any(|s| is_core(s) && is_too_near(ctx, &hits[1], s));
    part.strokes.retain(|s| {
        let away = (s.tick - at).abs();
        let waits = s.tick > at && s.tick < until;
        let in_way = if is_hand(s.limb) {
            let hit = &hits[usize::from(s.limb == Limb::OtherHand)];
            let near = takes_both || s.limb == Limb::LeadHand;
            near && is_too_near(ctx, hit, s) || waits && (!stab.held || s.limb == Limb::LeadHand)
        } else if s.target == StrokeTarget::KICK {
            away > 0 && away < feet || waits && !stab.held
        } else {
            waits && !stab.held
        };
        s.is_stab() || !in_way
    });
    if !stab.held {
        part.silence = Some((at, until));
    }
    let in_bar = |hit: Stroke| Stroke {
        tick: at - part.bar.start,
        ..hit
    };
    let [lead, other] = hits.map(in_bar);
    part.push_stroke(lead);
    if has_back {
        part.strokes
            .iter_mut()
            .filter(|s| is_back(s))
            .for_each(|s| s.standing = Standing::Stab);
        return;
    }
    if takes_both {
        part.push_stroke(other);
    }
    let mut kicks = part
        .strokes
        .iter_mut()
        .filter(|s| s.target == StrokeTarget::KICK && s.tick == at);
    if let Some(kick) = kicks.next() {
        (kick.standing, kick.rank, kick.min_intensity) = (Standing::Stab, 0.0, 0.0);
    } else {
        part.push_stroke(Stroke {
            limb: Limb::LeadFoot,
            target: StrokeTarget::KICK,
            ring: Ring::Free,
            min_intensity: 0.0,
            ..lead
        });
    }
}

/// What a hand plays of a hit, in the bar's own time.
fn hit(stab: Stab, hand: Limb) -> Stroke {
    let (target, manner, min_intensity) = match hand {
        Limb::LeadHand => (
            StrokeTarget::Opening { rides: true },
            Manner::Low,
            CRASHES_FROM,
        ),
        _ => (
            StrokeTarget::Piece(Piece::CrashLeft),
            Manner::Plain,
            BOTH_FROM,
        ),
    };
    Stroke {
        tick: stab.at,
        play_tick: stab.at,
        limb: hand,
        target,
        manner,
        min_intensity,
        standing: Standing::Stab,
        origin: Origin::Stab,
        ring: if stab.held { Ring::Free } else { Ring::Grabbed },
        ..Stroke::EMPTY
    }
}

/// Whether a hand that plays a hit can't play another stroke of its own before or after it.
fn is_too_near(ctx: &Context, hit: &Stroke, stroke: &Stroke) -> bool {
    let (earlier, later) = if stroke.tick < hit.tick {
        (stroke, hit)
    } else {
        (hit, stroke)
    };
    later.tick - earlier.tick < minimum_gap(ctx, earlier, later)
}

/// Leaves out what the lead hand can't play right after a hit of the bar before.
fn follow(ctx: &Context, part: &mut Part) {
    let start = part.bar.start;
    let far = ctx.ticks(ctx.limits.hand_s.max(ctx.limits.lift_s) + ctx.limits.travel_s);
    for stab in ctx.by_hand.stabs_within(start - far, start) {
        let hit = hit(stab, Limb::LeadHand);
        part.strokes
            .retain(|s| s.limb != Limb::LeadHand || !is_too_near(ctx, &hit, s));
    }
}

/// Keeps silent at the start of the bar where a short hit of the bar before says so.
fn rest_on(ctx: &Context, part: &mut Part) {
    let start = part.bar.start;
    let before = ctx.by_hand.stabs_within(start - HEARD, start).last();
    let Some(stab) = before.filter(|stab| !stab.held) else {
        return;
    };
    // The 1 is a count: only a hit less than an eighth before it reaches on, up to the next count.
    let counts = ctx.layout.counts.iter().map(|count| start + count.start);
    let mut counts = counts.filter(|count| *count >= stab.at + HEARD);
    let until = counts.next().unwrap_or(start);
    part.strokes
        .retain(|s| s.tick >= until || s.tick == start && !is_hand(s.limb));
    part.silence = Some((start, until));
}

/// Sets a hit up: before one on a count with a pick-up, before one between counts with the count.
fn set_up(ctx: &Context, beat: &Beat, stab: Stab, part: &mut Part) {
    let (start, end) = (part.bar.start, part.bar.end());
    let is_near = ctx
        .by_hand
        .stabs_within(stab.at - ROOM, stab.at)
        .next()
        .is_some();
    let drawn = chance(ctx.bar_settings.take, stab.at, Decision::SetUp, 0);
    if is_near || drawn >= SET_UPS {
        return;
    }
    let counts = ctx.layout.counts.iter().map(|count| start + count.start);
    let mut counts = counts.chain([end]);
    let on_count = counts.clone().any(|count| count == stab.at);
    let tick = if on_count {
        stab.at - HEARD
    } else {
        let before = counts.rfind(|count| *count < stab.at);
        before.unwrap_or(start)
    };
    let snare = beat.snare_piece;
    let stroke = Stroke {
        tick: tick - start,
        limb: Limb::OtherHand,
        target: StrokeTarget::Piece(snare),
        rank: SET_UP_RANK,
        full: true,
        velocity_offset: SET_UP_OFFSET,
        origin: Origin::SetUp,
        ..Stroke::EMPTY
    };
    let is_struck = |s: &Stroke| s.target == stroke.target && (s.tick - tick).abs() < HEARD / 2;
    let free = !part.busy(Limb::OtherHand, tick - start, HEARD / 2, HEARD / 2)
        && !part.strokes.iter().any(is_struck);
    if (start..end).contains(&tick)
        && free
        && !part.in_fill(tick)
        && !part.is_silent(tick)
        && is_free(ctx, part, &stroke)
    {
        part.push_stroke(stroke);
    }
}
