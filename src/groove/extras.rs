//! The extras that density brings in: ghost notes, extra kicks, doublings of the lead hand and second cymbals, each
//! with a rank.
//!
//! Extras are drawn once for a section, some of them once for eight bars, so that the groove repeats and neighbouring
//! bars are as alike as bars further apart. What a single bar changes of it is up to [`super::variation`].

use super::beat::{Beat, Hands};
use super::chance::{Decision, chance};
use super::context::Context;
use super::limbs;
use super::roles::TickList;
use super::stroke::{Limb, Origin, Part, Stroke, StrokeTarget};
use crate::kit::Piece;
use crate::time::Ticks;

/// The lowest rank of an extra: at density 0 a beat is bare.
const FIRST_RANK: f32 = 0.08;
/// The probability that a groove has an extra at all; where it has none, single bars may add it.
const IN_GROOVE: f32 = 0.85;
/// The share of extras that stay for the whole section; the others are drawn anew every eight bars. People's bars are
/// as alike four bars apart as one.
const STAYS: f32 = 0.7;
/// The share of places that could have a ghost note or an extra kick and then have the ghost note.
const GHOST_WINS: f32 = 0.5;

/// How far a doubling of the lead hand lies below its level, in velocity. Tuned by ear: an unaccented off-beat.
const DOUBLE_SHADE: f32 = -8.0;

/// Which extras to add.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Which {
    /// Those of the groove.
    Groove,
    /// Every one that a bar may have, whatever is drawn: what the bar before has to make room for.
    Any,
}

/// Adds the beat's extras to the part wherever their limb is free. `feet_follow`: the feet play a riff, to which
/// nothing is added. `landed`: a fill has landed on the 1, with the hands that it left there.
pub(super) fn add(
    ctx: &Context,
    beat: &Beat,
    feet_follow: bool,
    landed: bool,
    which: Which,
    part: &mut Part,
) {
    let single = matches!(beat.lead.hands, Hands::Lead);
    let (mut ghosts, mut pushes) = (TickList::new(), TickList::new());
    if single {
        ctx.layout.resolve_into(beat.ghosts, &mut ghosts);
    }
    if !feet_follow {
        ctx.layout.resolve_into(beat.pushes, &mut pushes);
    }
    let drawn = |decision, at| match which {
        Which::Groove => groove_rank(ctx, beat, decision, at),
        Which::Any => Some(FIRST_RANK),
    };
    for &at in &pushes {
        let ghost_wins = ghosts.contains(&at)
            && which == Which::Groove
            && draw(ctx, beat, Decision::GhostOrKick, at) < GHOST_WINS;
        if !ghost_wins
            && kick_fits(ctx, part, at)
            && let Some(rank) = drawn(Decision::Push, at)
        {
            part.push_stroke(Stroke {
                tick: at,
                limb: Limb::LeadFoot,
                target: StrokeTarget::KICK,
                rank,
                origin: Origin::Extra,
                ..Stroke::EMPTY
            });
        }
    }
    for &at in &ghosts {
        if (which == Which::Any || !meets_kick(ctx, part, at))
            && ghost_fits(ctx, part, at)
            && let Some(rank) = drawn(Decision::Ghost, at)
        {
            part.push_stroke(ghost(at, rank));
        }
    }
    if let Some(plan) = beat.own {
        plan.add_extras(ctx, feet_follow, which, part);
    }
    if !single {
        return;
    }
    for &at in &ctx.layout.resolve(beat.doubles) {
        if double_fits(ctx, part, at)
            && let Some(rank) = drawn(Decision::Double, at)
        {
            part.push_stroke(double(at, rank));
        }
    }
    // A second cymbal is an event: every other bar, and not beside the crash that opens one.
    let opens = |s: &Stroke| matches!(s.target, StrokeTarget::Opening { .. });
    if which == Which::Groove
        && (ctx.phrase.index.rem_euclid(2) == 1 || part.strokes.iter().any(opens))
    {
        return;
    }
    for &(role, piece) in beat.joins {
        for &at in &ctx.layout.resolve(&[role]) {
            let stroke = Stroke {
                tick: at,
                limb: Limb::OtherHand,
                target: StrokeTarget::Piece(piece),
                rank: FIRST_RANK,
                full: true,
                origin: Origin::Extra,
                ..Stroke::EMPTY
            };
            let back = ctx.ticks(ctx.limits.hand_s + ctx.limits.travel_s);
            if !(landed && at == 0)
                && at + back <= ctx.layout.bar_len
                && limbs::is_free(ctx, part, &stroke)
                && let Some(rank) = drawn(Decision::Double, at + 1)
            {
                part.push_stroke(Stroke { rank, ..stroke });
            }
        }
    }
}

/// A ghost note at a tick of the bar.
pub(super) fn ghost(at: Ticks, rank: f32) -> Stroke {
    Stroke {
        tick: at,
        limb: Limb::OtherHand,
        target: StrokeTarget::Piece(Piece::Snare),
        rank,
        origin: Origin::Ghost,
        ..Stroke::EMPTY
    }
}

/// A stroke that the lead hand adds on its cymbal at a tick of the bar.
pub(super) fn double(at: Ticks, rank: f32) -> Stroke {
    Stroke {
        tick: at,
        rank,
        full: true,
        origin: Origin::Extra,
        velocity_offset: DOUBLE_SHADE,
        ..Stroke::EMPTY
    }
}

/// Whether the feet have time for a kick at a tick of the bar, the next bar's 1 included.
pub(super) fn kick_fits(ctx: &Context, part: &Part, at: Ticks) -> bool {
    let gap = ctx.ticks(ctx.limits.feet_s);
    let due = part.next_kick.unwrap_or(ctx.layout.bar_len);
    let kick =
        |s: &Stroke| s.target == StrokeTarget::KICK && (s.tick - part.bar.start - at).abs() < gap;
    at + gap <= due && !part.strokes.iter().any(kick)
}

/// Whether the other hand has time for a ghost note at a tick of the bar and is back for its next stroke.
pub(super) fn ghost_fits(ctx: &Context, part: &Part, at: Ticks) -> bool {
    let lift = ctx.ticks(ctx.limits.lift_s);
    at + lift <= ctx.layout.bar_len
        && !part.busy(Limb::OtherHand, at, ctx.ticks(ctx.limits.hand_s), lift)
}

/// Whether the lead hand has time to strike its cymbal once more at a tick of the bar.
pub(super) fn double_fits(ctx: &Context, part: &Part, at: Ticks) -> bool {
    at + ctx.ticks(ctx.limits.hand_s + ctx.limits.travel_s) <= ctx.layout.bar_len
        && limbs::is_free(ctx, part, &double(at, FIRST_RANK))
}

/// Whether a ghost note at a tick of the bar would only double a kick. Where the feet run, every place has one, and
/// ghost notes lie on kicks.
pub(super) fn meets_kick(ctx: &Context, part: &Part, at: Ticks) -> bool {
    let here = |s: &Stroke| s.target == StrokeTarget::KICK && s.tick - part.bar.start == at;
    !runs(ctx, part) && part.strokes.iter().any(here)
}

/// Whether the beat's kicks run: three or more a count.
pub(super) fn runs(ctx: &Context, part: &Part) -> bool {
    let core = |s: &&Stroke| s.target == StrokeTarget::KICK && s.rank == 0.0;
    part.strokes.iter().filter(core).count() >= ctx.layout.counts.len() * 3
}

/// The rank that an extra has in the groove of these eight bars; `None` where the groove does without it.
fn groove_rank(ctx: &Context, beat: &Beat, decision: Decision, at: Ticks) -> Option<f32> {
    let draw = draw(ctx, beat, decision, at) / IN_GROOVE;
    (draw < 1.0).then_some(FIRST_RANK + (1.0 - FIRST_RANK) * draw)
}

/// A draw for a place in the groove. Beats differ, and so do the two bars of a cycle.
fn draw(ctx: &Context, beat: &Beat, decision: Decision, at: Ticks) -> f32 {
    let bars = [beat.kick.len(), beat.snare.len()];
    let cycle = if bars.contains(&2) {
        ctx.in_cycle(2)
    } else {
        0
    };
    let index = (at.unsigned_abs() * 2 + cycle as u64) * 64 + beat.seed();
    let draw = |place, decision, index| chance(ctx.bar_settings.take, place, decision, index);
    let whole = ctx.section_start();
    let stays = draw(whole, Decision::Stays, index * 8 + decision as u64 % 8) < STAYS;
    let place = if stays { whole } else { ctx.groove_start() };
    draw(place, decision, index)
}
