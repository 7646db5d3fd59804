//! Whether a fill has enough strokes, leads into the 1, and goes down the kit.

use super::super::beat::Beat;
use super::super::context::Context;
use super::super::fill_span::FillSpan;
use super::super::stroke::{Limb, Stroke, StrokeTarget};
use crate::kit::Piece::{FloorHigh, FloorLow, RackHigh, RackLow, Snare};
use crate::settings::FillShape;
use crate::time::Ticks;

/// The least number of hand strokes of a fill of one count, and of a longer one.
const LEAST: [usize; 2] = [3, 5];

/// Whether the strokes are enough for a fill, and the last of them comes after the last count has begun: less than
/// a quarter of silence precedes the landing. A break may be silent.
pub(super) fn is_enough(ctx: &Context, beat: &Beat, span: &FillSpan, strokes: &[Stroke]) -> bool {
    let hands = strokes.iter().filter(|s| is_main(s)).count();
    let last = strokes.last().map_or(Ticks::MIN, |s| s.tick);
    let full = span.may_be_thin(beat) || hands >= least(ctx, span);
    let leads_on = span.shape == FillShape::Break || last > span.last_count(ctx);
    full && leads_on
}

/// How far to the low side of the kit a drum stands; `None` for cymbals.
pub(super) fn depth(target: StrokeTarget) -> Option<f32> {
    match target {
        StrokeTarget::Piece(Snare) => Some(0.0),
        StrokeTarget::Piece(RackHigh) => Some(1.0),
        StrokeTarget::Piece(RackLow) => Some(2.0),
        StrokeTarget::Piece(FloorHigh) => Some(3.0),
        StrokeTarget::Piece(FloorLow) => Some(4.0),
        _ => None,
    }
}

/// The difference in depth from which a fill goes up: less than half the way from one drum to the next.
const UP: f32 = 0.4;

/// Whether the second half of a fill is higher on the kit than the first.
pub(super) fn goes_up(span: &FillSpan, strokes: &[Stroke]) -> bool {
    let middle = span.from + (span.to - span.from) / 2;
    let mut halves = [(0.0, 0.0); 2];
    for stroke in strokes.iter().filter(|s| is_main(s)) {
        if let Some(depth) = depth(stroke.target) {
            let half = &mut halves[usize::from(stroke.tick >= middle)];
            *half = (half.0 + depth, half.1 + 1.0);
        }
    }
    let [first, last] = halves;
    first.1 > 0.0 && last.1 > 0.0 && last.0 / last.1 < first.0 / first.1 - UP
}

/// Whether a stroke is one of the hands and no grace note.
fn is_main(stroke: &Stroke) -> bool {
    stroke.limb < Limb::LeadFoot && stroke.grace == 0
}

fn least(ctx: &Context, span: &FillSpan) -> usize {
    LEAST[usize::from(span.counts(ctx).count() > 1)]
}

/// Makes the strokes that the fill needs independent of intensity: however softly it is played, it stays a fill.
pub(super) fn keep_enough(ctx: &Context, beat: &Beat, span: &FillSpan, strokes: &mut [Stroke]) {
    let last_count = span.last_count(ctx);
    let leads_on = |s: &Stroke| s.tick > last_count && s.grace == 0;
    let needed = if span.may_be_thin(beat) {
        0
    } else {
        least(ctx, span)
    };
    let keep = |strokes: &mut [Stroke], wanted: &dyn Fn(&Stroke) -> bool| {
        let first = strokes
            .iter()
            .filter(|s| s.min_intensity > 0.0 && wanted(s));
        let Some(first) = first.min_by(|a, b| a.min_intensity.total_cmp(&b.min_intensity)) else {
            return false;
        };
        let tick = first.tick;
        let here = |s: &&mut Stroke| s.tick + s.grace == tick;
        for stroke in strokes.iter_mut().filter(here) {
            stroke.min_intensity = 0.0;
        }
        true
    };
    let always = |s: &&Stroke| s.min_intensity == 0.0;
    if span.shape != FillShape::Break && !strokes.iter().filter(always).any(leads_on) {
        keep(strokes, &leads_on);
    }
    while strokes.iter().filter(always).filter(|s| is_main(s)).count() < needed
        && keep(strokes, &is_main)
    {}
}
