//! The two feet: the kick, and which foot plays which. What the hi-hat foot adds stands in [`super::hi_hat`].

use super::beat::Beat;
use super::context::Context;
use super::stroke::{Limb, MAX_STROKES, Part, Stroke, StrokeTarget};
use crate::kit::Piece;
use crate::time::Ticks;
use arrayvec::ArrayVec;

/// The kicks of a bar, in ticks from its start. It has room for every stroke of a part, extras and fill included.
type Kicks = ArrayVec<Ticks, MAX_STROKES>;

/// One foot for each kick.
type Feet = ArrayVec<Limb, MAX_STROKES>;

const KICK: StrokeTarget = StrokeTarget::Piece(Piece::Kick);

/// Kicks closer than this alternate between the feet, whatever the player's limits: 150 ms, sixteenths at 100 BPM.
/// In seconds. Judged: a comfortable single foot, no peer-reviewed source.
const FOOT_TO_FOOT_BELOW_S: f64 = 0.150;

/// Adds the beat's kicks to the part, all on the lead foot until [`assign`] runs.
pub(super) fn play(ctx: &Context, beat: &Beat, opens: Option<f32>, part: &mut Part) {
    let mut kicks = ctx
        .layout
        .resolve(ctx.of_cycle(beat.kick).unwrap_or_default());
    let gap = ctx.ticks(ctx.limits.feet_s);
    part.thin((&mut kicks, gap), &ctx.layout, Limb::LeadFoot, KICK);
    if let Some(min_intensity) = opens
        && kicks.first().is_none_or(|&first| first >= gap)
    {
        // A kick supports the crash.
        part.push_stroke(Stroke {
            limb: Limb::LeadFoot,
            target: KICK,
            min_intensity,
            ..Stroke::EMPTY
        });
    }
    kicks
        .iter()
        .for_each(|&tick| part.push(tick, Limb::LeadFoot, KICK, 0.0));
}

/// Assigns every kick of the finished part, extras and fill included, to a foot. Close kicks alternate.
///
/// A bar does not know the next one's kicks, so it assumes that the lead foot kicks on the next 1. Kicks that run
/// into it alternate backwards from the other foot. A kick that no foot can reach is left out.
pub(super) fn assign(ctx: &Context, part: &mut Part) {
    part.strokes.sort_unstable_by_key(|stroke| stroke.tick);
    let start = ctx.bar.start;
    // Kicks too close for one foot alternate, even where the comfort limit would allow one foot.
    let close = ctx.ticks(FOOT_TO_FOOT_BELOW_S.max(ctx.limits.foot_s));
    let foot_gap = ctx.ticks(ctx.limits.foot_s);
    let bar_len = ctx.layout.bar_len;
    let mut kicks: Kicks = part
        .strokes
        .iter()
        .filter(|s| s.target == KICK)
        .map(|s| s.tick - start)
        .collect();
    let next = part.next_kick.unwrap_or(bar_len);
    // The bar before may have ended with the other foot's kick on the 1 or just before it.
    let late = part.next_kick.map_or(foot_gap / 2, |_| foot_gap).max(1);
    let mut feet = alternate(&kicks, close, foot_gap, next, late);
    while !kicks.is_empty() && !reach(&kicks, &feet, foot_gap, next) {
        // An odd number of kicks without a pause: leave out the last extra, else the last kick.
        let is_extra = |s: &&Stroke| s.target == KICK && s.rank > 0.0;
        let extra = part.strokes.iter().rfind(is_extra);
        let gone = extra.map_or(kicks[kicks.len() - 1], |s| s.tick - start);
        kicks.retain(|tick| *tick != gone);
        let is_gone = |s: &Stroke| s.target == KICK && s.tick - start == gone;
        if let Some(i) = part.strokes.iter().position(is_gone) {
            part.drop_stroke(part.strokes[i]);
        }
        part.strokes.retain(|s| !is_gone(s));
        feet = alternate(&kicks, close, foot_gap, next, late);
    }
    let strokes = part.strokes.iter_mut().filter(|s| s.target == KICK);
    for (stroke, &foot) in strokes.zip(&feet) {
        stroke.limb = foot;
    }
}

/// Assigns a foot to each kick of a bar. A run of three or more close kicks alternates and begins on the lead foot.
/// A run into the bar line ends on the other foot. Where one run would have to do both, one foot plays twice in a
/// row across the longest gap. The lead foot is next due at `due`, after the bar. From `late` on a run may begin on
/// the other foot.
fn alternate(kicks: &[Ticks], close: Ticks, foot_gap: Ticks, due: Ticks, late: Ticks) -> Feet {
    let mut feet = Feet::new();
    let mut run = 0;
    for (i, &tick) in kicks.iter().enumerate() {
        let next = kicks.get(i + 1).copied().unwrap_or(due);
        let breath = next - tick >= close;
        if !breath && i + 1 < kicks.len() {
            continue;
        }
        // One foot plays two kicks, or one before the next 1, if it can.
        let two = usize::from(!breath) + i - run == 1;
        let first_gap = kicks.get(run + 1).copied().unwrap_or(due) - kicks[run];
        if two && first_gap >= foot_gap {
            feet.extend((run..=i).map(|_| Limb::LeadFoot));
            run = i + 1;
            continue;
        }
        let odd = (i - run) % 2 == 0;
        let twice = (!breath && odd)
            .then(|| (run..=i).max_by_key(|&k| kicks.get(k + 1).unwrap_or(&due) - kicks[k]));
        let late_start = twice.is_some() && kicks[run] >= late;
        let mut lead = !late_start;
        for k in run..=i {
            feet.push(if lead {
                Limb::LeadFoot
            } else {
                Limb::OtherFoot
            });
            lead ^= late_start || twice.flatten() != Some(k);
        }
        run = i + 1;
    }
    feet
}

/// Whether each foot keeps its minimum gap, up to the lead foot's kick on the next 1.
fn reach(kicks: &[Ticks], feet: &Feet, gap: Ticks, bar_len: Ticks) -> bool {
    [Limb::LeadFoot, Limb::OtherFoot].into_iter().all(|foot| {
        let of = |(&tick, &limb): (&Ticks, &Limb)| (limb == foot).then_some(tick);
        let next = (foot == Limb::LeadFoot).then_some(bar_len);
        let mut last = None;
        kicks
            .iter()
            .zip(feet)
            .filter_map(of)
            .chain(next)
            .all(|tick| last.replace(tick).is_none_or(|last| tick - last >= gap))
    })
}
