//! Fills: how a phrase ends.
//!
//! A fill is a sticking (`figures`, most of them rudiments) at a note value, spread over the kit (`paths`), with a
//! dynamic shape, and with or without kicks under it. `taste` lists what suits the beat. `choose` picks the fill
//! from a rotation, so that neighbours differ. `place` writes it out and checks that a drummer can play it and land
//! on the crash on the next 1. `super::phrases` decides whether and where a bar has a fill.

mod choose;
mod figures;
mod paths;
mod place;
mod taste;

use super::beat::Beat;
use super::chance::{Decision, chance};
use super::context::Call;
use super::context::Context;
use super::fill_span::FillSpan;
use super::roles::Role;
use super::stroke::Fill;
use super::stroke::{Limb, Part, Stroke, StrokeTarget};
use super::{limbs, phrases};
use crate::kit::Piece::{Kick, Snare};
use crate::settings::FillShape;
use crate::settings::KickSource;
use crate::time::{Ticks, Value};
use choose::FillChoice;
pub use place::Workbench;
use place::{Strokes, Swell};

/// What the feet do under a fill.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Feet {
    /// They continue the beat's kicks.
    GoOn,
    /// They keep the beat's kicks on counts only.
    Counts,
    /// They kick every count.
    Mark,
    /// They play the kicks of the fill's figure.
    Own,
}

/// Replaces the beat in the fill's span with the fill.
///
/// A released fill ends before its span does. Strokes already played stay as they were.
pub(super) fn play(
    ctx: &Context,
    beat: &Beat,
    span: &FillSpan,
    call: &Call,
    part: &mut Part,
    bench: &mut Workbench,
) {
    let (figure, path, value, feet) = if let Some(choice) = differing(ctx, beat, span, bench) {
        let feet = feet(ctx, span, &choice, goes_on(ctx, beat, span));
        (choice.figure.name, choice.path.name, choice.value, feet)
    } else {
        plain(ctx, beat, span, &mut bench.own);
        (
            "single strokes",
            "on the snare",
            Value::Sixteenth,
            Feet::Counts,
        )
    };
    let strokes = &bench.own;
    let until = match call.fill {
        Some((_, until)) if span.called => until,
        _ => span.to.min(ctx.layout.bar_len),
    };
    clear(ctx, span, until, feet, strokes, part);
    let start = part.bar.start;
    part.fill = Some(Fill {
        start: start + span.from.max(0),
        end: start + until,
        figure,
        path,
        triplets: matches!(value, Value::Triplet | Value::Sextuplet),
    });
    let feet_gap = ctx.ticks(ctx.limits.feet_s);
    for stroke in strokes {
        let at = stroke.tick;
        let kick = stroke.target == StrokeTarget::Piece(Kick);
        let taken = kick && part.busy(Limb::LeadFoot, at, feet_gap, feet_gap);
        if (0..until).contains(&at) && !taken {
            part.push_stroke(*stroke);
        }
    }
    if feet == Feet::Mark {
        for at in span.counts(ctx).filter(|at| (0..until).contains(at)) {
            if !part.busy(Limb::LeadFoot, at, feet_gap, feet_gap) {
                part.push(at, Limb::LeadFoot, StrokeTarget::Piece(Kick), 0.0);
            }
        }
    }
    if until < ctx.layout.bar_len {
        phrases::land(ctx, until, part);
    }
}

/// Chooses a fill that differs from its neighbours'. Every other phrase chooses freely. The phrases between compare
/// with both neighbours, so each choice depends on its own place alone. Writes the strokes to `bench.own`.
fn differing(
    ctx: &Context,
    beat: &Beat,
    span: &FillSpan,
    bench: &mut Workbench,
) -> Option<FillChoice> {
    let Workbench { own, neighbours } = bench;
    if span.called || ctx.phrase.number.rem_euclid(2) == 1 {
        return choose(ctx, beat, span, |_| true, own);
    }
    let mut ends = [0; 2];
    for ((bars, strokes), end) in [-ctx.phrase.bars, ctx.phrase.next]
        .into_iter()
        .zip(neighbours.iter_mut())
        .zip(&mut ends)
    {
        let other = FillSpan {
            place: span.place + bars * ctx.layout.bar_len,
            number: span.number + bars,
            ..*span
        };
        let other = phrases::at_end(ctx, beat, other);
        *end = other.to;
        if choose(ctx, beat, &other, |_| true, strokes).is_none() {
            strokes.clear();
        }
    }
    let differs = |strokes: &[Stroke]| {
        let mut others = neighbours.iter().zip(ends);
        others.all(|(other, end)| !alike(ctx, (strokes, span.to), (other, end)))
    };
    choose(ctx, beat, span, differs, own)
}

/// Intensities at which fills are compared.
const COMPARED_AT: [f32; 5] = [0.0, 0.25, 0.5, 0.75, 1.0];

/// Whether two fills strike the same in their last bar at any intensity. Each comes with the tick on which it ends.
fn alike(ctx: &Context, a: (&[Stroke], Ticks), b: (&[Stroke], Ticks)) -> bool {
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
    COMPARED_AT.into_iter().any(|intensity| {
        let of = |fill| struck(fill, ctx.layout.bar_len, intensity);
        of(a).count() == of(b).count() && of(a).all(|stroke| of(b).any(|other| other == stroke))
    })
}

/// The first fill of the span's rotation that suits, is playable and is `wanted`. Writes its strokes to `strokes`.
fn choose(
    ctx: &Context,
    beat: &Beat,
    span: &FillSpan,
    wanted: impl Fn(&[Stroke]) -> bool,
    strokes: &mut Strokes,
) -> Option<FillChoice> {
    let swell = swell(ctx, span);
    let goes_on = goes_on(ctx, beat, span);
    choose::candidates(ctx, beat, span)
        .filter(|choice| !(goes_on && choice.figure.has_kicks()))
        .find(|choice| through(ctx, beat, span, choice, swell, strokes) && wanted(strokes))
}

/// Writes a choice in the first playable way, from either hand; false where none is playable.
fn through(
    ctx: &Context,
    beat: &Beat,
    span: &FillSpan,
    choice: &FillChoice,
    swell: Swell,
    strokes: &mut Strokes,
) -> bool {
    // First complete, from either hand. Then without the last strokes that leave a hand no time to land.
    let ways = [(false, false), (true, false), (false, true), (true, true)];
    ways.into_iter().any(|(mirrored, cut)| {
        let written = place::write(ctx, choice, span, swell, mirrored, strokes).is_some();
        if cut {
            place::cut_short(ctx, beat, span, strokes);
        }
        written && place::playable(ctx, beat, span, strokes)
    })
}

/// Writes single strokes on the snare, as fast as this drummer can play at this tempo. Writes none where even slow
/// ones are too fast.
fn plain(ctx: &Context, beat: &Beat, span: &FillSpan, strokes: &mut Strokes) {
    for value in [
        Value::Sixteenth,
        Value::Triplet,
        Value::Eighth,
        Value::Quarter,
    ] {
        let run = ctx.layout.resolve(&[Role::Run(value)]);
        for (mirrored, every) in [(false, 1), (true, 1), (false, 2), (true, 2), (false, 4)] {
            strokes.clear();
            let inside = run.iter().filter(|at| (span.from..span.to).contains(*at));
            let steps = inside.step_by(every).take(place::MAX_FILL);
            strokes.extend(steps.enumerate().map(|(i, &tick)| {
                let lead = (i % 2 == 0) != mirrored;
                Stroke {
                    tick,
                    play_tick: tick,
                    limb: [Limb::OtherHand, Limb::LeadHand][usize::from(lead)],
                    target: StrokeTarget::Piece(Snare),
                    weight: 0.4,
                    ..Stroke::EMPTY
                }
            }));
            if place::playable(ctx, beat, span, strokes) {
                return;
            }
        }
    }
    strokes.clear();
}

fn swell(ctx: &Context, span: &FillSpan) -> Swell {
    let draw = chance(
        ctx.bar_settings.take,
        span.place,
        Decision::FillSwell,
        span.index(),
    );
    match draw {
        ..0.55 => Swell::Grows,
        ..0.8 => Swell::Even,
        _ => Swell::Answers,
    }
}

/// Whether the feet continue the beat: always where the kick follows the riff, often where kicks run.
fn goes_on(ctx: &Context, beat: &Beat, span: &FillSpan) -> bool {
    let draw = chance(
        ctx.bar_settings.take,
        span.place,
        Decision::FillFeet,
        span.index(),
    );
    // A fill of two bars decides once, so it uses the last bar of the phrase, which is the last of the cycle.
    let kicks = ctx
        .layout
        .resolve(beat.kick.last().copied().unwrap_or_default());
    let runs = kicks.len() >= ctx.layout.counts.len() * 3;
    let riff = beat.follows_riff || ctx.bar_settings.kick_source == KickSource::Riff;
    span.shape != FillShape::Break && (riff || (runs && draw < 0.6))
}

fn feet(ctx: &Context, span: &FillSpan, choice: &FillChoice, goes_on: bool) -> Feet {
    use figures::Family;
    let draw = chance(
        ctx.bar_settings.take,
        span.place,
        Decision::FillFeet,
        2 + span.index(),
    );
    match choice.figure.family {
        _ if goes_on => Feet::GoOn,
        Family::Hands | Family::Flams if draw < 0.5 => Feet::Mark,
        Family::Hands | Family::Flams => Feet::Counts,
        Family::Feet | Family::Hits | Family::Space | Family::Roll | Family::Break => Feet::Own,
    }
}

/// Removes the strokes that the fill replaces, and those that obstruct its first strokes.
fn clear(
    ctx: &Context,
    span: &FillSpan,
    until: Ticks,
    feet: Feet,
    strokes: &[Stroke],
    part: &mut Part,
) {
    let start = part.bar.start;
    let inside = |tick: Ticks| (span.from..until).contains(&(tick - start));
    let on_count = |tick: Ticks| span.counts(ctx).any(|at| at == tick - start);
    part.strokes.retain(|stroke| {
        let kick = stroke.target == StrokeTarget::Piece(Kick);
        !inside(stroke.tick)
            || (kick && feet == Feet::GoOn)
            || (kick && feet == Feet::Counts && stroke.rank == 0.0 && on_count(stroke.tick))
    });
    for limb in [Limb::LeadHand, Limb::OtherHand] {
        let first = strokes.iter().find(|s| s.limb == limb && s.tick >= 0);
        let Some(first) = first else { continue };
        // The beat before a called fill has been played, so the fill adapts to it.
        if span.called {
            continue;
        }
        part.strokes.retain(|s| {
            let at = s.tick - start;
            let mine = s.limb == limb && at < span.from;
            !(mine && first.tick - at < limbs::minimum_gap(ctx, s, first))
        });
    }
}
