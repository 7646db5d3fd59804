//! Makes the drafted strokes of a bar playable by two hands.
//!
//! Figures that are too fast were thinned as a whole before this step (see [`super::limits`]). What remains are
//! conflicts of single strokes: a hand still on its way from another piece, or needed on the next bar's 1. The
//! other hand takes such a stroke if it is free. Otherwise the less important of the two strokes is left out:
//! extras first, then the lead hand's weak places, and never a backbeat for a lesser stroke.
//!
//! This step runs at full density, so every lower density is playable too.

mod ways;

use super::context::{Call, Context};
use super::cymbal::HandCymbal;
use super::roles::Stress;
use super::stroke::{Limb, Part, Stroke, StrokeTarget};
use crate::kit::Piece;
use crate::time::Ticks;
pub(super) use ways::prepare;
use ways::way;

/// The minimum gap between a hand's stroke and a grace note of that hand, in either order, in seconds. Judged, no
/// source.
const GRACE_REST_S: f64 = 0.030;

/// The first strokes of both hands in the next bar, on the assumption that the plan stays.
pub(super) type Ahead = [Option<Stroke>; 2];

/// The hands, in the order of [`Ahead`].
const HANDS: [Limb; 2] = [Limb::LeadHand, Limb::OtherHand];

/// The first strokes of both hands among the drafted strokes of the next bar.
///
/// Where the next bar has another tempo, the strokes move to their places in time at this bar's tempo. `pace` is
/// this tempo divided by that one. `own` is the cymbal of this bar's beat.
pub(super) fn ahead(draft: &Part, line: Ticks, pace: f64, own: HandCymbal) -> Ahead {
    HANDS.map(|hand| {
        let strokes = draft.strokes.iter().filter(|stroke| stroke.limb == hand);
        let mut first = strokes.min_by_key(|stroke| stroke.tick).copied()?;
        if draft.own != own && first.target == StrokeTarget::HandCymbal {
            // Another section may ride on another cymbal.
            first.target = StrokeTarget::Piece(draft.own.piece());
        }
        if pace != 1.0 {
            #[expect(clippy::cast_possible_truncation)]
            let after = ((first.tick - line) as f64 * pace).floor() as Ticks;
            first.tick = line + after;
        }
        Some(first)
    })
}

/// Leaves one hand's stroke where both would strike the ridden cymbal at once: the emphasised one, else the one that sounds
/// at more densities, else the lead hand's.
pub(super) fn one_hand_rides(part: &mut Part) {
    let rides = |s: &Stroke| matches!(s.target, StrokeTarget::HandCymbal | StrokeTarget::Lifted);
    let mut i = 0;
    while let Some(&stroke) = part.strokes.get(i) {
        let weight = |s: &Stroke| {
            let is_lifted = s.target == StrokeTarget::Lifted;
            (is_lifted, -s.rank, s.limb == Limb::LeadHand)
        };
        let better = |s: &Stroke| weight(s) > weight(&stroke);
        let meets = |s: &Stroke| s.tick == stroke.tick && s.limb != stroke.limb && rides(s);
        if rides(&stroke) && part.strokes.iter().any(|s| meets(s) && better(s)) {
            part.strokes.remove(i);
        } else {
            i += 1;
        }
    }
}

/// Makes the hands of a drafted part playable. The strokes are in order of time. Strokes before a called fill, and
/// those of a released one, have been played: they stay.
pub(super) fn settle(ctx: &Context, ahead: &Ahead, call: &Call, part: &mut Part) {
    let played = call.fill.map_or(Ticks::MIN, |(from, until)| {
        let end = ctx.layout.bar_len;
        part.bar.start + if until < end { until } else { from }
    });
    while let Some((earlier, later)) = collision(ctx, ahead, part) {
        let is_open = |i: &usize| part.strokes[*i].tick >= played;
        let pair = [Some(earlier), later];
        let swap = pair
            .into_iter()
            .flatten()
            .filter(is_open)
            .find(|&i| can_swap(ctx, ahead, part, i));
        if let Some(i) = swap {
            part.strokes[i].limb = other(part.strokes[i].limb);
            continue;
        }
        let weaker = match later {
            Some(later) if !is_open(&earlier) => later,
            Some(later) if importance(ctx, part, later) < importance(ctx, part, earlier) => later,
            _ => earlier,
        };
        let gone = part.strokes.remove(weaker);
        part.drop_stroke(gone);
    }
    drop_lone_graces(part);
}

/// Removes grace notes whose main stroke is gone.
pub(super) fn drop_lone_graces(part: &mut Part) {
    let mut i = 0;
    while let Some(&grace) = part.strokes.get(i) {
        let stroke = |s: &Stroke| {
            s.tick == grace.tick + grace.grace && s.target == grace.target && s.limb != grace.limb
        };
        if grace.grace > 0 && !part.strokes.iter().any(stroke) {
            part.strokes.remove(i);
        } else {
            i += 1;
        }
    }
}

/// The first two strokes of one hand that are too close. The second is `None` where it is the hand's first of the
/// next bar.
fn collision(ctx: &Context, ahead: &Ahead, part: &Part) -> Option<(usize, Option<usize>)> {
    for (hand, next) in HANDS.into_iter().zip(ahead) {
        let mut last: Option<usize> = None;
        for (i, stroke) in part.strokes.iter().enumerate() {
            if stroke.limb != hand {
                continue;
            }
            // Two hits of the band stay, whether or not anybody can play them.
            let both_stay = |earlier: usize| stroke.is_stab() && part.strokes[earlier].is_stab();
            if let Some(earlier) = last
                && !both_stay(earlier)
                && !can_follow(ctx, &part.strokes[earlier], stroke)
            {
                return Some((earlier, Some(i)));
            }
            last = Some(i);
        }
        // The next bar makes room for a hit of the band.
        if let (Some(earlier), Some(next)) = (last.filter(|i| !part.strokes[*i].is_stab()), next)
            && !can_follow(ctx, &part.strokes[earlier], next)
        {
            return Some((earlier, None));
        }
    }
    None
}

/// Whether one hand can play both strokes.
fn can_follow(ctx: &Context, earlier: &Stroke, later: &Stroke) -> bool {
    let gap = later.tick - earlier.tick;
    gap >= ctx.ticks(ctx.limits.lift_s + ctx.limits.travel_s)
        || gap >= minimum_gap(ctx, earlier, later)
}

/// The minimum gap of one hand from a stroke to another, in ticks; at least one, since a hand is in one place at a
/// time whatever its limits. Every such check uses this function.
pub(super) fn minimum_gap(ctx: &Context, earlier: &Stroke, later: &Stroke) -> Ticks {
    let limits = &ctx.limits;
    let rest = if later.bounce && earlier.target == later.target {
        limits.rebound_s
    } else if earlier.rank > 0.0 && !earlier.full {
        // After a soft stroke the stick has to be lifted.
        limits.lift_s
    } else {
        limits.hand_s
    };
    // A grace note takes a motion of its own, whatever the player's limits.
    let in_motion = later.bounce && later.grace > 0;
    let rest = if (later.grace > 0 || earlier.grace > 0) && !in_motion {
        rest.max(GRACE_REST_S)
    } else {
        rest
    };
    ctx.ticks(rest + limits.travel_s * way(earlier, later))
}

/// Whether a hand has time for a stroke that is not in the part yet. The stroke's tick is from the start of the
/// bar.
pub(super) fn is_free(ctx: &Context, part: &Part, stroke: &Stroke) -> bool {
    let limits = &ctx.limits;
    let stroke = Stroke {
        tick: part.bar.start + stroke.tick,
        ..*stroke
    };
    // No minimum gap is longer.
    let longest = limits.hand_s.max(limits.lift_s).max(GRACE_REST_S) + limits.travel_s;
    let longest = ctx.ticks(longest.max(limits.rebound_s + limits.travel_s));
    part.strokes
        .iter()
        .filter(|other| other.limb == stroke.limb && (other.tick - stroke.tick).abs() < longest)
        .all(|other| {
            let (first, second) = if other.tick <= stroke.tick {
                (other, &stroke)
            } else {
                (&stroke, other)
            };
            second.tick - first.tick >= minimum_gap(ctx, first, second)
        })
}

/// Whether the other hand could play a stroke without a conflict with its own.
fn can_swap(ctx: &Context, ahead: &Ahead, part: &Part, i: usize) -> bool {
    let stroke = &part.strokes[i];
    let in_motion = stroke.grace > 0 || stroke.bounce;
    // The bar before expects the lead hand on the crash that opens this one.
    if in_motion || opens(part, stroke) || !matches!(stroke.target, StrokeTarget::Piece(_)) {
        return false;
    }
    let hand = other(stroke.limb);
    let mine = |s: &&Stroke| s.limb == hand;
    let before = part.strokes[..i].iter().rfind(mine);
    let after = part.strokes[i + 1..].iter().find(mine);
    let next = ahead[usize::from(hand == Limb::OtherHand)];
    // Where hands have many ways to share a bar, the bar before can't know which one comes of it: it expects them to begin as
    // they were drafted.
    let way = ctx.ticks(ctx.limits.lift_s + ctx.limits.travel_s);
    let expected = !part.free || stroke.tick - part.bar.start >= way;
    let clear_before = before.map_or(expected, |before| can_follow(ctx, before, stroke));
    let clear_after = match (after, &next) {
        (Some(after), _) | (None, Some(after)) => can_follow(ctx, stroke, after),
        (None, None) => true,
    };
    clear_before && clear_after
}

/// The other hand.
pub(super) fn other(hand: Limb) -> Limb {
    match hand {
        Limb::LeadHand => Limb::OtherHand,
        _ => Limb::LeadHand,
    }
}

/// Whether a stroke is the crash that opens the bar.
fn opens(part: &Part, stroke: &Stroke) -> bool {
    let crash = matches!(
        stroke.target,
        StrokeTarget::Opening { .. }
            | StrokeTarget::Piece(Piece::CrashLeft | Piece::CrashRight | Piece::China)
    );
    crash && stroke.tick == part.bar.start
}

/// How much a stroke of the hands matters to the beat; the order is common practice, no source.
fn importance(ctx: &Context, part: &Part, i: usize) -> f32 {
    let stroke = &part.strokes[i];
    if stroke.is_stab() {
        return 9.0;
    }
    if stroke.rank > 0.0 {
        return 1.0 - stroke.rank;
    }
    if stroke.grace > 0 {
        return 0.0;
    }
    let stress = ctx.layout.stress(stroke.tick - part.bar.start);
    let in_fill = part.in_fill(stroke.tick);
    match stroke.target {
        StrokeTarget::Opening { .. } => 6.0,
        StrokeTarget::Piece(_) if opens(part, stroke) => 6.0,
        StrokeTarget::Piece(Piece::Snare | Piece::SideStick) if !in_fill => match stress {
            Stress::Back | Stress::Strong => 7.0,
            Stress::Count => 5.0,
            Stress::Unit | Stress::Off => 4.0,
        },
        StrokeTarget::Piece(_) if in_fill => 3.0,
        StrokeTarget::HandCymbal | StrokeTarget::Lifted | StrokeTarget::Piece(_) => match stress {
            Stress::Strong => 2.8,
            Stress::Back | Stress::Count => 2.5,
            Stress::Unit => 2.0,
            Stress::Off => 1.5,
        },
    }
}
