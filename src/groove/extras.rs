//! The extras that density brings in: ghost notes and extra kicks, each with a rank.
//!
//! Extras are drawn once a phrase, so that the groove repeats: bars 1 and 3 share theirs, as do bars 2 and 4. The
//! last bar of a phrase draws its own.

use super::beat::{Beat, Hands};
use super::chance::{Decision, chance};
use super::context::Context;
use super::roles::Role;
use super::stroke::{Limb, Part, StrokeTarget};
use crate::kit::Piece;
use crate::time::Ticks;

/// The lowest rank of an extra: at density 0 a beat is bare.
const FIRST_RANK: f32 = 0.08;

/// A kind of extra: the limb, the target, and the gaps that the limb needs around it, in ticks.
struct Extra {
    decision: Decision,
    limb: Limb,
    piece: Piece,
    /// The least gap after the limb's previous stroke.
    before: Ticks,
    /// The least gap before the limb's next stroke.
    after: Ticks,
}

/// Adds the beat's extras to the part wherever their limb is free.
pub(super) fn add(ctx: &Context, beat: &Beat, part: &mut Part) {
    if beat.lead.hands == Hands::Lead {
        let ghost = Extra {
            decision: Decision::Ghost,
            limb: Limb::OtherHand,
            piece: Piece::Snare,
            before: ctx.ticks(ctx.limits.hand_s),
            after: ctx.ticks(ctx.limits.lift_s),
        };
        draw(ctx, beat.ghosts, &ghost, part);
    }
    let gap = ctx.ticks(ctx.limits.feet_s);
    let push = Extra {
        decision: Decision::Push,
        limb: Limb::LeadFoot,
        piece: Piece::Kick,
        before: gap,
        after: gap,
    };
    draw(ctx, beat.pushes, &push, part);
}

fn draw(ctx: &Context, places: &[Role], extra: &Extra, part: &mut Part) {
    let (owner, variant) = if ctx.is_last_of_phrase() {
        (ctx.bar.start, 2)
    } else {
        (ctx.phrase_start(), ctx.phrase.index.rem_euclid(2))
    };
    for &tick in &ctx.layout.resolve(places) {
        // The next bar's 1 may need the limb.
        let crosses = tick + extra.after > ctx.layout.bar_len;
        if crosses || part.busy(extra.limb, tick, extra.before, extra.after) {
            continue;
        }
        let index = (tick * 3 + variant).unsigned_abs();
        let draw = chance(ctx.bar_settings.take, owner, extra.decision, index);
        let rank = FIRST_RANK + (1.0 - FIRST_RANK) * draw;
        part.push(tick, extra.limb, StrokeTarget::Piece(extra.piece), rank);
    }
}
