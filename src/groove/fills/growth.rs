//! How a fill grows.

use super::super::chance::{Decision, chance};
use super::super::context::Context;
use super::super::dynamics;
use super::super::fill_span::FillSpan;
use super::place::Swell;

/// Velocity steps that a fill grows by, from start to end, for one count, two, three, and more. Judged.
const GROWTH: [f32; 4] = [7.0, 12.0, 16.0, 20.0];
/// How much more intensity the next bar has where a fill leads up to it, 0..=1.
const RISES_FROM: f32 = 0.02;
/// The share of the way to a softer level that a fill goes: it never dies away.
const DOWN: f32 = 0.4;

/// The dynamic shape of a fill: most grow. Where a chart says that the next bar is louder, all do, and end at its
/// level.
pub(super) fn swell(ctx: &Context, span: &FillSpan) -> Swell {
    let draw = chance(
        ctx.bar_settings.take,
        span.place,
        Decision::FillSwell,
        span.index(),
    );
    let counts = span.counts(ctx).count().clamp(1, GROWTH.len());
    let whole = GROWTH[counts - 1];
    // A fill of two bars knows the level after it in its second bar only.
    let rise = if span.to <= ctx.layout.bar_len {
        ctx.rise
    } else {
        0.0
    };
    let aims = dynamics::level_step(rise) * if rise < 0.0 { DOWN } else { 1.0 };
    let (answers, share) = match draw {
        _ if rise >= RISES_FROM => (false, 1.0),
        ..0.68 => (false, 1.0),
        ..0.82 => (false, 0.3),
        _ => (true, 0.5),
    };
    Swell {
        answers,
        grows: whole * share * if rise < 0.0 { 0.5 } else { 1.0 },
        aims,
    }
}
