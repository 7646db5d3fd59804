//! Drags and flams of a groove: what density adds to its ghost notes and backbeats.
//!
//! A drag is a ghost note that bounces once more, a thirty-second later. A flam is a grace note of the lead hand before
//! a snare, where that hand has nothing else to do. How often is based on the Groove MIDI Dataset (Gillick et al. 2019,
//! CC BY 4.0), as measured on its rock and punk performances: 0.15 snares a bar lie 12 to 70 ms before a snare, and
//! 0.25 to 0.32 strokes a bar off the sixteenths. Beats without ghost notes have none: blasts, running feet, punk.

use super::beat::{Beat, Hands, Taste};
use super::chance::{Decision, chance};
use super::context::Context;
use super::limbs;
use super::stroke::{Limb, Origin, Part, Stroke, StrokeTarget};
use crate::kit::Piece;
use crate::time::Ticks;

const SNARE: StrokeTarget = StrokeTarget::Piece(Piece::Snare);

/// The probability of a drag in a bar, and of a flam, at full density.
const DRAGS: f32 = 0.27;
const FLAMS: f32 = 0.12;
/// The longest time from a ghost note to its bounce, in seconds. Longer, it is two strokes. Judged.
const BOUNCE_WITHIN_S: f64 = 0.100;
/// How far before its stroke a grace note falls, in seconds, as in fills.
const GRACE_S: f64 = 0.028;

/// Adds them to the part, after its ghost notes.
pub(super) fn add(ctx: &Context, beat: &Beat, part: &mut Part) {
    if beat.ghosts.is_empty() || beat.fills == Taste::Short || beat.lead.hands != Hands::Lead {
        return;
    }
    let draw = |decision, index| chance(ctx.bar_settings.take, ctx.bar.start, decision, index);
    // Half of them sound at the default density of 40 %.
    let rank = |draw: f32| 0.08 + 0.92 * draw * draw.sqrt();
    if draw(Decision::Drag, 0) < DRAGS {
        drag(ctx, rank(draw(Decision::Drag, 1)), part);
    }
    if draw(Decision::Flam, 0) < FLAMS {
        flam(ctx, beat, rank(draw(Decision::Flam, 1)), part);
    }
}

/// Lets the bar's readiest ghost note bounce.
fn drag(ctx: &Context, rank: f32, part: &mut Part) {
    let ghosts = part.strokes.iter().filter(|s| s.is_ghost());
    let Some(&ghost) = ghosts.min_by(|a, b| a.rank.total_cmp(&b.rank)) else {
        return;
    };
    let at = ghost.tick - part.bar.start;
    let (_, count) = ctx.layout.count_of(at);
    let thirds = (at - count.start) % (count.len / 4).max(1) != 0;
    let bounce: Ticks = count.len / if thirds { 6 } else { 8 };
    let seconds = ctx.seconds(bounce);
    let stroke = Stroke {
        tick: at + bounce,
        rank: rank.max(ghost.rank),
        bounce: true,
        origin: Origin::Drag,
        ..ghost
    };
    let lifts = ctx.ticks(ctx.limits.lift_s);
    let free = seconds >= ctx.limits.rebound_s
        && seconds <= BOUNCE_WITHIN_S
        && stroke.tick + lifts <= ctx.layout.bar_len
        && limbs::is_free(ctx, part, &stroke);
    if free {
        part.push_stroke(stroke);
    }
}

/// Adds a grace note of the lead hand before a snare of the beat.
fn flam(ctx: &Context, beat: &Beat, rank: f32, part: &mut Part) {
    let ahead = ctx.ticks(GRACE_S);
    let start = part.bar.start;
    let snares = part.strokes.iter().filter(|s| {
        s.target == SNARE && s.rank == 0.0 && s.limb == Limb::OtherHand && s.tick > start
    });
    let graced = snares.map(|snare| Stroke {
        tick: snare.tick - start - ahead,
        limb: Limb::LeadHand,
        target: StrokeTarget::Piece(beat.snare_piece),
        rank,
        grace: ahead,
        origin: Origin::Grace,
        ..Stroke::EMPTY
    });
    let mut free = graced.filter(|grace| grace.tick >= 0 && limbs::is_free(ctx, part, grace));
    if let Some(grace) = free.next_back() {
        part.push_stroke(grace);
    }
}
