//! Catching the guitar: the lead hand follows the riff's strongest strokes with crashes, as far as *catch* says.
//!
//! The strokes have an order of their own, by strength and by the silence after them. A greater *catch* takes more of that
//! order, so the caught strokes only grow with it.

use super::context::Context;
use super::stroke::{Limb, Manner, Origin, Part, Standing, Stroke, StrokeTarget};
use crate::kit::Piece;
use crate::riff::Attack;
use crate::riff::weight::weight;
use crate::time::{TICKS_PER_QUARTER, Ticks};
use arrayvec::ArrayVec;

/// Most strokes of the guitar that are considered for a bar.
const MOST: usize = 256;
/// No two caught strokes are nearer than an eighth. Judged: nearer ones are a run, which is the kick's.
const APART: Ticks = TICKS_PER_QUARTER / 2;
/// The least weight of a stroke that *catch* 1 takes. Judged.
const LEAST: f32 = 0.25;
/// Below this intensity a caught stroke stays on the hand cymbal. Judged.
const CRASHES_FROM: f32 = 0.2;

/// A stroke of the guitar that may be caught.
#[derive(Debug, Clone, Copy)]
struct Candidate {
    /// Its place, in ticks from the start of the bar.
    at: Ticks,
    weight: f32,
}

type Candidates = ArrayVec<Candidate, MOST>;

/// Lets the lead hand of a drafted bar catch strokes of the guitar.
pub(super) fn play(ctx: &Context, part: &mut Part) {
    let Some((riff, start)) = ctx.riff.filter(|_| ctx.bar_settings.catch > 0.0) else {
        return;
    };
    let bar_len = ctx.layout.bar_len;
    let least = 1.0 - (1.0 - LEAST) * ctx.bar_settings.catch;
    for candidate in candidates(ctx, riff, start) {
        if candidate.weight >= least && (0..bar_len).contains(&candidate.at) {
            strike(ctx, candidate.at, part);
        }
    }
}

/// The guitar's strokes that may be caught, the weightiest first and none too near to a weightier one. Strokes beside the
/// bar count too, so that both bars at a line agree.
fn candidates(ctx: &Context, riff: &[Attack], start: Ticks) -> Candidates {
    let beside = TICKS_PER_QUARTER;
    let mut all = Candidates::new();
    for (i, attack) in riff.iter().enumerate() {
        let at = ctx.bar_settings.riff_grid.snap(attack.tick - start);
        if at < -beside || at >= ctx.layout.bar_len + beside {
            continue;
        }
        let weight = weight(riff, i);
        let _ = all.try_push(Candidate { at, weight });
    }
    all.sort_unstable_by(|a, b| b.weight.total_cmp(&a.weight).then(a.at.cmp(&b.at)));
    let mut apart = Candidates::new();
    for candidate in all {
        let near = |other: &Candidate| (other.at - candidate.at).abs() < APART;
        if !apart.iter().any(near) {
            apart.push(candidate);
        }
    }
    apart
}

/// Crashes with the guitar at a tick of the bar, in place of what the lead hand rides there and just after.
fn strike(ctx: &Context, at: Ticks, part: &mut Part) {
    let tick = part.bar.start + at;
    let room = ctx.ticks(ctx.limits.hand_s + ctx.limits.travel_s);
    let is_near = |s: &Stroke| s.limb == Limb::LeadHand && (s.tick - tick).abs() < room;
    let gives_way =
        |s: &Stroke| matches!(s.target, StrokeTarget::HandCymbal | StrokeTarget::Lifted);
    // Never the backbeat, and no crash that is there already.
    let stays = |s: &Stroke| is_near(s) && !gives_way(s);
    if part.in_fill(tick) || part.is_silent(tick) || part.strokes.iter().any(stays) {
        return;
    }
    let on_snare = |s: &Stroke| {
        s.tick == tick && s.rank == 0.0 && s.target == StrokeTarget::Piece(Piece::Snare)
    };
    let kicks = |s: &Stroke| s.tick == tick && s.target == StrokeTarget::KICK;
    part.strokes.retain(|s| !is_near(s));
    // A kick that waits for density would leave the crash without a drum.
    let is_carried = part.strokes.iter().any(on_snare);
    if let Some(kick) = part.strokes.iter_mut().find(|s| kicks(s) && !is_carried) {
        kick.rank = 0.0;
    }
    part.push_stroke(Stroke {
        tick: at,
        limb: Limb::LeadHand,
        target: StrokeTarget::Opening { rides: true },
        manner: Manner::Plain,
        min_intensity: CRASHES_FROM,
        origin: Origin::Catch,
        standing: Standing::Caught,
        ..Stroke::EMPTY
    });
}
