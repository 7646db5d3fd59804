//! What density brings in: ghost notes and extra kicks, each with a rank.
//!
//! Extras are drawn once a phrase, so that a groove is a groove: bars 1 and 3 share theirs, and
//! bars 2 and 4; the last bar of a phrase draws its own.

use super::bar::Context;
use super::beat::{Beat, Hands};
use super::chance::{Decision, chance};
use super::limits;
use super::roles::Role;
use super::stroke::{Limb, Part, Voice};
use crate::kit::Piece;
use crate::time::Ticks;

/// The lowest rank of an extra: at density 0 a beat is bare.
const FIRST_RANK: f32 = 0.08;

/// Adds the beat's extras to the part, wherever a limb is free for them.
pub(super) fn add(ctx: &Context, beat: &Beat, part: &mut Part) {
    if beat.lead.hands == Hands::Lead {
        let gap = limits::ticks(limits::HAND_S, ctx.bpm);
        let ghost = Voice::Piece(Piece::Snare);
        draw(
            ctx,
            beat.ghosts,
            Decision::Ghost,
            gap,
            Limb::OtherHand,
            ghost,
            part,
        );
    }
    let gap = limits::ticks(limits::FEET_S, ctx.bpm);
    let kick = Voice::Piece(Piece::Kick);
    draw(
        ctx,
        beat.pushes,
        Decision::Push,
        gap,
        Limb::LeadFoot,
        kick,
        part,
    );
}

fn draw(
    ctx: &Context,
    places: &[Role],
    decision: Decision,
    gap: Ticks,
    limb: Limb,
    voice: Voice,
    part: &mut Part,
) {
    let (owner, variant) = if ctx.is_last_of_phrase() {
        (ctx.bar.start, 2)
    } else {
        (ctx.phrase_start(), ctx.in_phrase.rem_euclid(2))
    };
    for &tick in &ctx.layout.resolve(places) {
        // The next bar's 1 may need the limb.
        if tick + gap > ctx.layout.bar_len || part.busy(&[limb], tick, gap) {
            continue;
        }
        let index = (tick * 3 + variant).unsigned_abs();
        let draw = chance(ctx.plan.take, owner, decision, index);
        part.push(tick, limb, voice, FIRST_RANK + (1.0 - FIRST_RANK) * draw);
    }
}
