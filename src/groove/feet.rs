//! The two feet: kick, pedal, and which foot plays which.

use super::bar::Context;
use super::beat::Beat;
use super::limits::{self, thin};
use super::stroke::{Limb, Part, Voice};
use crate::kit::Piece;

const KICK: Voice = Voice::Piece(Piece::Kick);

/// Kicks closer than this go foot to foot: 150 ms, sixteenths at 100 BPM. In seconds. Judged: a
/// comfortable single foot, no peer-reviewed source.
const FOOT_TO_FOOT_BELOW_S: f64 = 0.150;

/// Plays the beat's kicks into the part, all on the lead foot for the time being.
pub(super) fn play(ctx: &Context, beat: &Beat, opens: bool, part: &mut Part) {
    let mut kicks = ctx
        .layout
        .resolve(ctx.of_cycle(beat.kick).unwrap_or_default());
    let gap = limits::ticks(limits::FEET_S, ctx.bpm);
    thin(&mut kicks, gap, &ctx.layout.counts, ctx.layout.bar_len);
    if opens && kicks.first().is_none_or(|&first| first >= gap) {
        // A crash without a kick has no bottom.
        part.push(0, Limb::LeadFoot, KICK, 0.0);
    }
    kicks
        .iter()
        .for_each(|&tick| part.push(tick, Limb::LeadFoot, KICK, 0.0));
}

/// Hands every kick of the finished part, extras and fill included, to a foot: close ones go foot
/// to foot, and where the other foot is then busy the pedal rests.
pub(super) fn assign(ctx: &Context, beat: &Beat, part: &mut Part) {
    part.strokes.sort_unstable_by_key(|stroke| stroke.tick);
    let close = limits::ticks(FOOT_TO_FOOT_BELOW_S, ctx.bpm);
    let mut last: Option<(crate::time::Ticks, Limb)> = None;
    for stroke in part.strokes.iter_mut().filter(|s| s.voice == KICK) {
        stroke.limb = match last {
            Some((tick, Limb::LeadFoot)) if stroke.tick - tick < close => Limb::OtherFoot,
            _ => Limb::LeadFoot,
        };
        last = Some((stroke.tick, stroke.limb));
    }
    let pedal = ctx.layout.resolve(beat.pedal);
    let gap = limits::ticks(limits::FOOT_S, ctx.bpm);
    for &tick in &pedal {
        let in_fill = part
            .fill
            .is_some_and(|(start, _)| part.bar.start + tick >= start);
        if !in_fill && !part.busy(Limb::OtherFoot, tick, gap, gap) {
            part.push(tick, Limb::OtherFoot, Voice::Piece(Piece::HiHatFoot), 0.0);
        }
    }
}
