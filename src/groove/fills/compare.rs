//! Compares a fill with its neighbours and with the groove.

use super::super::context::Context;
use super::super::fill_span::FillSpan;
use super::super::stroke::{Limb, Part, Stroke, StrokeTarget};
use super::last_count::MAX_COUNTS;
use crate::time::Ticks;
use arrayvec::ArrayVec;

/// What the hands strike on the drums in the groove of a bar, in ticks from its start.
pub(super) type Groove = ArrayVec<(Ticks, StrokeTarget), MAX_GROOVE>;

/// Most strokes of a groove that fills are compared with. Judged: two bars of sixteenths.
const MAX_GROOVE: usize = 64;

pub(super) fn groove_of(part: &Part) -> Groove {
    let core = part
        .strokes
        .iter()
        .filter(|s| s.rank == 0.0 && s.limb < Limb::LeadFoot);
    let drums = core.filter(|s| matches!(s.target, StrokeTarget::Piece(_)));
    drums
        .map(|s| (s.tick - part.bar.start, s.target))
        .take(MAX_GROOVE)
        .collect()
}

/// Whether a fill repeats what the hands play on the drums in the groove: in any of its counts, or in most of it.
pub(super) fn is_groove(
    ctx: &Context,
    span: &FillSpan,
    strokes: &[Stroke],
    groove: &Groove,
) -> bool {
    if groove.is_empty() {
        return false;
    }
    let mut counts: ArrayVec<Ticks, MAX_COUNTS> = span.counts(ctx).take(MAX_COUNTS).collect();
    counts.sort_unstable();
    let (mut all, mut known) = (0, 0);
    for (i, from) in counts.iter().enumerate() {
        let to = counts.get(i + 1).copied().unwrap_or(span.to);
        let (mut here, mut same) = (0, 0);
        for stroke in strokes {
            let main = stroke.grace == 0 && stroke.limb < Limb::LeadFoot;
            if main && (*from..to).contains(&stroke.tick) {
                here += 1;
                let place = (stroke.tick.rem_euclid(ctx.layout.bar_len), stroke.target);
                same += usize::from(groove.contains(&place));
            }
        }
        if here > 2 && here == same {
            return true;
        }
        all += here;
        known += same;
    }
    known * 4 >= all * 3
}

/// Most intensities at which two fills are compared.
const MAX_COMPARED: usize = 24;

/// Whether two fills strike the same in their last bar at any intensity. Each comes with the tick on which it ends.
pub(super) fn alike(ctx: &Context, a: (&[Stroke], Ticks), b: (&[Stroke], Ticks)) -> bool {
    fn struck(
        (strokes, end): (&[Stroke], Ticks),
        bar_len: Ticks,
        intensity: f32,
    ) -> impl Iterator<Item = (Ticks, StrokeTarget)> {
        let played = move |s: &&Stroke| {
            s.min_intensity <= intensity && s.grace == 0 && s.tick - end >= -bar_len
        };
        strokes
            .iter()
            .filter(played)
            .map(move |s| (s.tick - end, s.target))
    }
    // What sounds changes only at the strokes' minimum intensities.
    let mut steps: ArrayVec<f32, MAX_COMPARED> = ArrayVec::new();
    steps.push(0.0);
    for stroke in a.0.iter().chain(b.0) {
        if !steps.contains(&stroke.min_intensity) {
            let _ = steps.try_push(stroke.min_intensity);
        }
    }
    steps.into_iter().any(|intensity| {
        let of = |fill| struck(fill, ctx.layout.bar_len, intensity);
        of(a).count() == of(b).count() && of(a).all(|stroke| of(b).any(|other| other == stroke))
    })
}
