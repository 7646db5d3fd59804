//! Crashes outside of fills: each stands on a kick or a snare, on the side of the hand that plays it, and does not
//! compete with the next one.
//!
//! Common practice, no source: a crash without a drum under it has no body, and a crash on 4 takes the weight from
//! the one on the next 1.

use super::beat::Beat;
use super::context::Context;
use super::limbs::{self, Ahead};
use super::stroke::{Limb, Manner, Origin, Part, Standing, Stroke, StrokeTarget};
use crate::kit::Piece;
use crate::time::Ticks;

/// Whether a stroke is a crash, at the intensity that it needs. The ridden crash is none: it is time.
fn is_crash(stroke: &Stroke) -> bool {
    matches!(
        stroke.target,
        StrokeTarget::Opening { .. }
            | StrokeTarget::Piece(Piece::CrashLeft | Piece::CrashRight | Piece::China)
    )
}

/// Whether a core kick, snare or side stick sounds with every crash at its tick.
fn is_supported(part: &Part, crash: &Stroke) -> bool {
    part.strokes.iter().any(|s| {
        let drum = matches!(
            s.target,
            StrokeTarget::Piece(Piece::Kick | Piece::Snare | Piece::SideStick)
        );
        drum && s.tick == crash.tick
            && s.rank <= crash.rank
            && s.min_intensity <= crash.min_intensity
    })
}

/// Lets a hand that is in a hurry open on a nearer cymbal, where that saves its next stroke. Runs on every draft, so
/// that the bar before knows it too.
pub(super) fn keep_near(ctx: &Context, part: &mut Part) {
    for i in 0..part.strokes.len() {
        let crash = part.strokes[i];
        if !matches!(crash.target, StrokeTarget::Opening { .. }) || crash.manner != Manner::Plain {
            continue;
        }
        let later = |s: &&Stroke| s.limb == crash.limb && s.tick > crash.tick;
        let next = part.strokes.iter().filter(later).min_by_key(|s| s.tick);
        let Some(next) = next else { continue };
        let near = Stroke {
            manner: Manner::Near,
            ..crash
        };
        let gap = next.tick - crash.tick;
        if gap < limbs::minimum_gap(ctx, &crash, next)
            && gap >= limbs::minimum_gap(ctx, &near, next)
        {
            part.strokes[i] = near;
        }
    }
}

/// Makes the crashes of a drafted bar stand: beside the next bar's, on their side, on a drum.
pub(super) fn settle(ctx: &Context, beat: &Beat, ahead: &Ahead, part: &mut Part) {
    let line = part.bar.end();
    let lead = ahead.iter().flatten();
    let next_crashes = lead
        .into_iter()
        .any(|stroke| stroke.tick == line && is_crash(stroke));
    let last = ctx.layout.counts.last().map_or(0, |count| count.start);
    let last = part.bar.start + last;
    if next_crashes && last > part.bar.start {
        // What the guitar asks for on 4 stays beside the 1.
        demote(part, |_, crash| {
            crash.tick >= last && crash.standing == Standing::Own
        });
    }
    for i in 0..part.strokes.len() {
        let crash = part.strokes[i];
        if !is_crash(&crash) || crash.is_stab() || part.in_fill(crash.tick) {
            continue;
        }
        if crash.limb == Limb::OtherHand && crash.target == StrokeTarget::Piece(Piece::CrashRight) {
            part.strokes[i].target = StrokeTarget::Piece(Piece::CrashLeft);
        }
        if !is_supported(part, &crash) {
            kick_under(ctx, beat, &crash, part);
        }
    }
    demote_unsupported(part);
}

/// Takes away crashes that have lost their drum to the limits.
pub(super) fn demote_unsupported(part: &mut Part) {
    demote(part, |part, crash| !is_supported(part, crash));
}

/// Adds a kick under a crash. A riff that the feet follow gets none, but for a crash that is stated or lands a fill.
fn kick_under(ctx: &Context, beat: &Beat, crash: &Stroke, part: &mut Part) {
    let replaced = ctx.bar_settings.kick_source.replaces_kicks(beat) && part.next_kick.is_some();
    if replaced && crash.min_intensity > 0.0 {
        return;
    }
    let gap = ctx.ticks(ctx.limits.feet_s);
    let at: Ticks = crash.tick - part.bar.start;
    let feet_free = |limb| !part.busy(limb, at, gap, gap);
    if feet_free(Limb::LeadFoot) && feet_free(Limb::OtherFoot) && at + gap <= ctx.layout.bar_len {
        part.push_stroke(Stroke {
            tick: at,
            limb: Limb::LeadFoot,
            target: StrokeTarget::KICK,
            rank: crash.rank,
            min_intensity: crash.min_intensity,
            origin: Origin::UnderCrash,
            ..Stroke::EMPTY
        });
    }
}

/// Makes strokes on the hand cymbal of the crashes outside of fills that `gone` names, where the hand rides there, and
/// removes the others.
fn demote(part: &mut Part, gone: impl Fn(&Part, &Stroke) -> bool) {
    let mut i = 0;
    while let Some(&crash) = part.strokes.get(i) {
        if !is_crash(&crash) || crash.is_stab() || part.in_fill(crash.tick) || !gone(part, &crash) {
            i += 1;
        } else if matches!(crash.target, StrokeTarget::Opening { rides: true }) {
            part.strokes[i].target = StrokeTarget::HandCymbal;
            part.strokes[i].min_intensity = 0.0;
            part.strokes[i].manner = Manner::Plain;
            part.strokes[i].origin = Origin::Beat;
            i += 1;
        } else {
            part.strokes.remove(i);
        }
    }
}
