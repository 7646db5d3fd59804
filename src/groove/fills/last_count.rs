//! Whether the last count of a fill breaks its pattern, and which closing suits it.

use super::choose::FillChoice;
use super::closings::{self, Closing};
use super::figures::{self, Family};
use crate::groove::beat::{Beat, Feel, Taste};
use crate::groove::chance::{Decision, chance};
use crate::groove::context::Context;
use crate::groove::fill_span::FillSpan;
use crate::time::Value;
use arrayvec::ArrayVec;

/// The steps of a figure in each count of a span: the number of the first, and how many.
pub(super) fn steps_of_counts(
    ctx: &Context,
    span: &FillSpan,
    value: Value,
) -> ArrayVec<(usize, usize), MAX_COUNTS> {
    let mut first = 0;
    let counts = span.counts(ctx).map(|at| {
        let (_, count) = ctx.layout.count_of(at.rem_euclid(ctx.layout.bar_len));
        let steps = usize::try_from(count.len / value.step(count).max(1)).unwrap_or(0);
        first += steps;
        (first - steps, steps)
    });
    counts.take(MAX_COUNTS).collect()
}

/// Most counts of a fill that are compared.
pub(super) const MAX_COUNTS: usize = 16;
/// How often a fill of two counts breaks its pattern. Longer ones always do. Judged.
const TWO_COUNTS_BREAK: f32 = 0.65;

/// Whether the last count of a fill would repeat an earlier one, or be silent.
pub(super) fn needs_closing(
    ctx: &Context,
    beat: &Beat,
    span: &FillSpan,
    choice: &FillChoice,
    steps: &[figures::Step],
) -> bool {
    if choice.figure.family == Family::Break || span.counts(ctx).count() < 2 || steps.is_empty() {
        return false;
    }
    let counts = steps_of_counts(ctx, span, choice.value);
    let Some((&(last, len), before)) = counts.split_last() else {
        return false;
    };
    let row = |first: usize| steps.iter().cycle().skip(first % steps.len()).take(len);
    let repeats = |&(first, other): &(usize, usize)| {
        other == len && closings::sound_alike(row(first), row(last))
    };
    let silent = row(last)
        .skip(1)
        .all(|step| step.blow == figures::Blow::Rest);
    let draw = chance(
        ctx.bar_settings.take,
        span.place,
        Decision::FillClosing,
        span.index() + 8,
    );
    let breaks = before.len() > 1 || draw < TWO_COUNTS_BREAK || beat.fills == Taste::Space;
    silent || (breaks && before.iter().any(repeats))
}

/// Whether a closing suits a choice: it fills the last count and shares the fill's feel.
pub(super) fn closing_suits(
    ctx: &Context,
    beat: &Beat,
    span: &FillSpan,
    choice: &FillChoice,
    closing: &Closing,
    goes_on: bool,
) -> bool {
    let last = span.last_count(ctx).rem_euclid(ctx.layout.bar_len);
    let (_, count) = ctx.layout.count_of(last);
    if closing.len() * closing.value.step(count) != count.len {
        return false;
    }
    let triple = |value| matches!(value, Value::Triplet | Value::Sextuplet);
    let (closes, leads) = (triple(closing.value), triple(choice.value));
    let even = (closes || !leads)
        && (!closes || leads || span.feel == Feel::Triplets || beat.fills.likes().triplets)
        && !(goes_on && clashes(ctx, span, closing.value));
    (count.units == 3 || even) && closing.suits(choice.figure) && !(goes_on && closing.has_kicks())
}

/// Whether the hands would play triplets over feet that run straight, or the other way round.
pub(super) fn clashes(ctx: &Context, span: &FillSpan, value: Value) -> bool {
    let triple = matches!(value, Value::Triplet | Value::Sextuplet);
    let even = ctx.layout.counts.iter().all(|count| count.units != 3);
    even && triple != (span.feel == Feel::Triplets)
}
