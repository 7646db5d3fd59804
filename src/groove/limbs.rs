//! Which hand can be where: makes the drafted strokes of a bar playable by two hands.
//!
//! Figures that are too fast have fallen as a whole before they come here (see [`super::limits`]).
//! What is left are single strokes in each other's way: a hand on its way from one piece to another,
//! or needed on the next bar's 1. Such a stroke goes to the other hand if that one is free, else the
//! less important of the two is left out: extras first, then the lead hand's weak places, never a
//! backbeat for something lesser.
//!
//! The strokes of a bar are settled at full density, so every lower density is playable too.

use super::bar::Context;
use super::beat::Hands;
use super::cymbal::HandCymbal;
use super::roles::Stress;
use super::stroke::{Limb, Part, Stroke, Voice};
use crate::kit::Piece;
use crate::kit::reach::distance;

/// The first strokes of both hands in the next bar, were the plan to stay.
pub(super) type Ahead = [Option<Stroke>; 2];

/// The hands, in the order of [`Ahead`].
const HANDS: [Limb; 2] = [Limb::LeadHand, Limb::OtherHand];

/// The first strokes of both hands among the drafted strokes of the next bar.
pub(super) fn ahead(draft: &Part) -> Ahead {
    HANDS.map(|hand| {
        let strokes = draft.strokes.iter().filter(|stroke| stroke.limb == hand);
        strokes.min_by_key(|stroke| stroke.tick).copied()
    })
}

/// Makes the hands of a drafted part playable. Its strokes are in order of time.
pub(super) fn settle(ctx: &Context, ahead: &Ahead, part: &mut Part) {
    while let Some((earlier, later)) = collision(ctx, ahead, part) {
        let pair = [Some(earlier), later];
        let swap = pair
            .into_iter()
            .flatten()
            .find(|&i| can_swap(ctx, ahead, part, i));
        if let Some(i) = swap {
            part.strokes[i].limb = other(part.strokes[i].limb);
            continue;
        }
        let weaker = match later {
            Some(later) if importance(ctx, part, later) < importance(ctx, part, earlier) => later,
            _ => earlier,
        };
        part.strokes.remove(weaker);
        part.thinned += 1;
    }
}

/// The first two strokes of one hand that are too close; `None` for the second where it is the
/// hand's first of the next bar.
fn collision(ctx: &Context, ahead: &Ahead, part: &Part) -> Option<(usize, Option<usize>)> {
    for (hand, next) in HANDS.into_iter().zip(ahead) {
        let mut last: Option<usize> = None;
        for (i, stroke) in part.strokes.iter().enumerate() {
            if stroke.limb != hand {
                continue;
            }
            if let Some(earlier) = last
                && !can_follow(ctx, &part.strokes[earlier], stroke)
            {
                return Some((earlier, Some(i)));
            }
            last = Some(i);
        }
        if let (Some(earlier), Some(next)) = (last, next)
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
    let limits = &ctx.limits;
    if gap >= ctx.ticks(limits.hand_s + limits.travel_s) {
        return true;
    }
    let freehand = ctx.plan.beat().lead.hands == Hands::LeadAndFreehand
        && earlier.voice == later.voice
        && later.voice == Voice::Piece(Piece::Snare);
    let rest = if freehand {
        limits.rebound_s
    } else {
        limits.hand_s
    };
    // No hand is in two places, whatever the drummer.
    gap > 0 && gap >= ctx.ticks(rest + limits.travel_s * way(earlier.voice, later.voice))
}

/// How far a hand goes from one voice to another, 0..=1; where the moment decides on which cymbal,
/// the farthest.
fn way(from: Voice, to: Voice) -> f64 {
    let farthest = |piece: Piece| {
        let cymbals = HandCymbal::ALL.into_iter().map(HandCymbal::piece);
        cymbals
            .map(|cymbal| distance(cymbal, piece))
            .fold(0.0, f64::max)
    };
    match (from, to) {
        (Voice::HandCymbal, Voice::HandCymbal) | (Voice::Opening, Voice::Opening) => 0.0,
        (Voice::HandCymbal, Voice::Opening) | (Voice::Opening, Voice::HandCymbal) => {
            // The china opens its own phrases.
            let others = HandCymbal::ALL
                .into_iter()
                .filter(|c| *c != HandCymbal::China);
            let ways = others.map(|c| distance(c.piece(), c.opening()));
            ways.fold(0.0, f64::max)
        }
        (Voice::HandCymbal, Voice::Piece(piece)) | (Voice::Piece(piece), Voice::HandCymbal) => {
            farthest(piece)
        }
        (Voice::Opening, Voice::Piece(piece)) | (Voice::Piece(piece), Voice::Opening) => {
            distance(piece, Piece::CrashLeft).max(distance(piece, Piece::China))
        }
        (Voice::Piece(a), Voice::Piece(b)) => distance(a, b),
    }
}

/// Whether the other hand could play a stroke, and would not be in the way of its own.
fn can_swap(ctx: &Context, ahead: &Ahead, part: &Part, i: usize) -> bool {
    let stroke = &part.strokes[i];
    if !matches!(stroke.voice, Voice::Piece(_)) {
        return false;
    }
    let hand = other(stroke.limb);
    let mine = |s: &&Stroke| s.limb == hand;
    let before = part.strokes[..i].iter().rfind(mine);
    let after = part.strokes[i + 1..].iter().find(mine);
    let next = ahead[usize::from(hand == Limb::OtherHand)];
    let clear_before = before.is_none_or(|before| can_follow(ctx, before, stroke));
    let clear_after = match (after, &next) {
        (Some(after), _) | (None, Some(after)) => can_follow(ctx, stroke, after),
        (None, None) => true,
    };
    clear_before && clear_after
}

fn other(hand: Limb) -> Limb {
    match hand {
        Limb::LeadHand => Limb::OtherHand,
        _ => Limb::LeadHand,
    }
}

/// How much a stroke of the hands matters to the beat; the order is common practice, no source.
fn importance(ctx: &Context, part: &Part, i: usize) -> f32 {
    let stroke = &part.strokes[i];
    if stroke.rank > 0.0 {
        return 1.0 - stroke.rank;
    }
    let stress = ctx.layout.stress(stroke.tick - part.bar.start);
    let in_fill = part.fill.is_some_and(|(fill, _)| stroke.tick >= fill);
    match stroke.voice {
        Voice::Opening => 6.0,
        Voice::Piece(Piece::Snare | Piece::SideStick) if !in_fill => match stress {
            Stress::Back | Stress::Strong => 7.0,
            Stress::Count => 5.0,
            Stress::Unit | Stress::Off => 4.0,
        },
        Voice::Piece(_) if in_fill => 3.0,
        Voice::HandCymbal | Voice::Piece(_) => match stress {
            Stress::Strong => 2.8,
            Stress::Back | Stress::Count => 2.5,
            Stress::Unit => 2.0,
            Stress::Off => 1.5,
        },
    }
}
