//! Fills: how a phrase ends.
//!
//! A fill is a sticking (`figures`, most of them rudiments) at a note value, spread over the kit (`paths`), with a
//! dynamic shape, and with or without kicks under it. Its last count breaks the pattern (`closings`). A break is a
//! few hits in silence (`breaks`). `taste` lists what suits the beat. `choose` picks the fill
//! from a rotation, so that neighbours differ; `chosen` keeps the latest. `place` writes it out and checks that a drummer
//! can play it and land on the crash on the next 1. `super::phrases` decides whether and where a bar has a fill.

mod breaks;
mod choose;
mod chosen;
mod closings;
mod compare;
mod enough;
mod figures;
mod growth;
mod last_count;
mod paths;
mod place;
mod taste;

use super::beat::{Beat, Feel};
use super::chance::{Decision, bits, chance};
use super::context::{Call, Context};
use super::fill_span::FillSpan;
use super::riff_kicks::{self, SAME};
use super::stroke::{Fill, Limb, Origin, Part, Stroke, StrokeTarget};
use super::{limbs, phrases};
use crate::kit::Piece::{China, CrashLeft, CrashRight, Kick, Snare};
use crate::settings::{FillShape, KickSource};
use crate::time::{Count, Ticks, Value};
use choose::FillChoice;
use chosen::{Chosen, Key};
use compare::{Groove, alike, groove_of, is_groove};
use figures::Family;
use growth::swell;
use last_count::{clashes, closing_suits, needs_closing, steps_of_counts};
pub use place::Workbench;
use place::{Strokes, Swell};
use std::cell::Cell;

/// What the feet do under a fill.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Feet {
    /// They continue the beat's kicks.
    GoOn,
    /// They continue the beat's kicks up to the last count and stop there.
    GoOnToLast,
    /// They kick the first count and rest.
    Stop,
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
    let feel = riff_kicks::feel_under(ctx, beat, span).unwrap_or(span.feel);
    let span = &FillSpan { feel, ..*span };
    let goes_on = goes_on(ctx, beat, span);
    let Workbench { own, chosen } = bench;
    let differing = differing(ctx, beat, span, part, chosen);
    let kept = chosen.get(differing);
    let (figure, path, value, feet, strokes) = if let Some(choice) = &kept.choice {
        let feet = feet(ctx, span, choice, goes_on);
        let (figure, path) = (choice.figure.name, choice.path.name);
        (figure, path, choice.value, feet, &kept.strokes)
    } else {
        let value = plain(ctx, beat, span, goes_on.is_some(), own);
        let feet = goes_on.unwrap_or(Feet::Counts);
        ("single strokes", "on the snare", value, feet, &*own)
    };
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
    // A guitarist's attack half a sixteenth beside a kick of the fill is that kick.
    let feet_gap = ctx.ticks(ctx.limits.feet_s).max(SAME);
    for stroke in strokes {
        let at = stroke.tick;
        let kick = stroke.target == StrokeTarget::KICK;
        let taken = kick && part.busy(Limb::LeadFoot, at, feet_gap, feet_gap);
        if (0..until).contains(&at) && !taken {
            part.push_stroke(*stroke);
        }
    }
    if matches!(feet, Feet::Mark | Feet::Stop | Feet::GoOnToLast) {
        let marked = |at: &Ticks| match feet {
            Feet::Stop => *at == span.from,
            Feet::GoOnToLast => *at == span.last_count(ctx),
            _ => true,
        };
        for at in span
            .counts(ctx)
            .filter(marked)
            .filter(|at| (0..until).contains(at))
        {
            if !part.busy(Limb::LeadFoot, at, feet_gap, feet_gap) {
                part.push_stroke(Stroke {
                    tick: at,
                    limb: Limb::LeadFoot,
                    target: StrokeTarget::KICK,
                    origin: Origin::Fill,
                    ..Stroke::EMPTY
                });
            }
        }
    }
    ground_crashes(start + span.from, start + until, part);
    if until < ctx.layout.bar_len {
        phrases::land(ctx, until, part);
    }
}

/// Moves crashes of the fill that have neither kick nor snare under them to the snare: where the feet follow the
/// riff, they may not be free for the kick.
fn ground_crashes(from: Ticks, until: Ticks, part: &mut Part) {
    for i in 0..part.strokes.len() {
        let crash = part.strokes[i];
        let is_crash = matches!(
            crash.target,
            StrokeTarget::Piece(CrashLeft | CrashRight | China)
        );
        let under = |s: &Stroke| {
            let low = matches!(s.target, StrokeTarget::Piece(Kick | Snare));
            low && s.tick == crash.tick && s.rank == 0.0 && s.min_intensity <= crash.min_intensity
        };
        let inside = (from..until).contains(&crash.tick);
        if is_crash && inside && !part.strokes.iter().any(under) {
            part.strokes[i].target = StrokeTarget::Piece(Snare);
        }
    }
}

/// Chooses a fill that differs from its neighbours'. Every other phrase chooses freely. The phrases between compare
/// with both neighbours, so each choice depends on its own place alone. Returns which of `chosen` it is.
fn differing(
    ctx: &Context,
    beat: &Beat,
    span: &FillSpan,
    part: &Part,
    chosen: &mut Chosen,
) -> usize {
    let groove = groove_of(part);
    if span.called || span.small || ctx.phrase.number.rem_euclid(2) == 1 {
        return freely(ctx, beat, span, &groove, chosen);
    }
    let beside = [-ctx.phrase.bars, ctx.phrase.next, ctx.phrase.bars];
    let key = Key::new(ctx, beat, span, &groove, Some(beside));
    let (own, known) = chosen.find(&key);
    if known {
        return own;
    }
    let [before, _, _] = beside;
    let others = [before, ctx.phrase.next].map(|bars| {
        let other = FillSpan {
            place: span.place + bars * ctx.layout.bar_len,
            number: span.number + bars,
            ..*span
        };
        let other = phrases::at_end(ctx, beat, other);
        (freely(ctx, beat, &other, &groove, chosen), other.to)
    });
    let mut strokes = chosen.take(own);
    let differs = |strokes: &[Stroke]| {
        let mut others = others.iter();
        let alone = others.all(|&(other, end)| {
            let other = &chosen.get(other).strokes;
            !alike(ctx, (strokes, span.to), (other, end))
        });
        alone && !is_groove(ctx, span, strokes, &groove)
    };
    let choice = choose(ctx, beat, span, differs, &mut strokes);
    chosen.put(own, key, choice, strokes);
    own
}

/// Chooses a fill that is not what the groove plays, whatever its neighbours are. Returns which of `chosen` it is.
fn freely(
    ctx: &Context,
    beat: &Beat,
    span: &FillSpan,
    groove: &Groove,
    chosen: &mut Chosen,
) -> usize {
    let key = Key::new(ctx, beat, span, groove, None);
    let (i, known) = chosen.find(&key);
    if !known {
        let mut strokes = chosen.take(i);
        let new = |strokes: &[Stroke]| !is_groove(ctx, span, strokes, groove);
        let choice = choose(ctx, beat, span, new, &mut strokes);
        chosen.put(i, key, choice, strokes);
    }
    i
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
    let goes_on = goes_on(ctx, beat, span).is_some();
    let suits = |choice: &FillChoice| {
        !(goes_on && (choice.figure.has_kicks() || clashes(ctx, span, choice.value)))
    };
    let draw = chance(
        ctx.bar_settings.take,
        span.place,
        Decision::FillSide,
        1 + span.index(),
    );
    // Mostly along the kit or down it. Where no choice goes so, the first one of any way.
    let any_way = draw < GOES_UP || span.shape == FillShape::Break;
    let mut first_up = None;
    let mut candidates = choose::candidates(ctx, beat, span)
        .filter(suits)
        .take(TRIES);
    let found = candidates.find(|choice| {
        let goes_up = Cell::new(false);
        let wanted = |strokes: &[Stroke]| {
            let up = !any_way && enough::goes_up(span, strokes);
            if up && first_up.is_none() && !goes_up.get() {
                goes_up.set(wanted(strokes));
            }
            !up && wanted(strokes)
        };
        let found = through(ctx, beat, span, choice, (swell, goes_on), &wanted, strokes);
        if goes_up.get() {
            first_up.get_or_insert(*choice);
        }
        found
    });
    found.or_else(|| {
        first_up
            .filter(|choice| through(ctx, beat, span, choice, (swell, goes_on), &wanted, strokes))
    })
}

/// Most choices that a fill tries before it falls back to single strokes: this bounds the cost of a bar.
const TRIES: usize = 64;
/// How often a fill may go up the kit. Judged.
const GOES_UP: f32 = 0.25;

/// Most closings that a figure tries.
const CLOSINGS: usize = 4;

/// Writes a choice in the first playable way, with a closing where its pattern needs one, from either hand; false
/// where none is playable, enough and wanted.
fn through(
    ctx: &Context,
    beat: &Beat,
    span: &FillSpan,
    choice: &FillChoice,
    (swell, goes_on): (Swell, bool),
    wanted: &impl Fn(&[Stroke]) -> bool,
    strokes: &mut Strokes,
) -> bool {
    let steps = &choice.figure.steps;
    let closes = needs_closing(ctx, beat, span, choice, steps);
    let first = bits(
        ctx.bar_settings.take,
        span.place,
        Decision::FillClosing,
        span.index(),
    );
    let first = (first >> 8) as usize % closings::NUMBERS.len();
    let in_turn = closings::NUMBERS.filter_map(move |i| closings::numbered(first + i));
    let last = steps_of_counts(ctx, span, choice.value).last().copied();
    let row = last.map(|(first, len)| (first % steps.len().max(1), len));
    let suiting = in_turn
        .filter(|closing| closing_suits(ctx, beat, span, choice, closing, goes_on))
        .filter(|closing| {
            row.is_none_or(|(first, len)| {
                let row = steps.iter().cycle().skip(first).take(len);
                !closings::sound_alike(row, closing.steps.iter())
            })
        })
        .take(if closes { CLOSINGS } else { 0 })
        .map(Some);
    let bare = (!closes).then_some(None);
    // First complete, from either hand. Then without the last strokes that leave a hand no time to land.
    let all = [(false, false), (true, false), (false, true), (true, true)];
    // A break is played as it is written: with a hit less it may be another one.
    let ways = if choice.figure.family == Family::Break {
        &all[..1]
    } else {
        &all[..]
    };
    let landing = place::landing(ctx, beat, span);
    suiting.chain(bare).any(|closing| {
        // Whether the fill has too few strokes, which no other way changes, and by the hand that begins, whether a cut
        // would leave out any.
        let mut thin = false;
        let mut cuts = [true; 2];
        ways.iter().any(|&(mirrored, cut)| {
            if thin || (cut && !cuts[usize::from(mirrored)]) {
                return false;
            }
            let written =
                place::write(ctx, choice, closing, span, swell, mirrored, strokes).is_some();
            if cut {
                place::cut_short(ctx, &landing, strokes);
            } else {
                cuts[usize::from(mirrored)] = written && place::is_late(ctx, &landing, strokes);
            }
            let enough = written && enough::is_enough(ctx, beat, span, strokes);
            thin |= written && !enough && !cut;
            let plays = enough && place::playable(ctx, span, &landing, strokes);
            if plays {
                enough::keep_enough(ctx, beat, span, strokes);
            }
            plays && wanted(strokes)
        })
    })
}

/// Writes single strokes on the snare, as fast as this drummer can play at this tempo. Writes none where even slow
/// ones are too fast. Returns their note value.
fn plain(
    ctx: &Context,
    beat: &Beat,
    span: &FillSpan,
    goes_on: bool,
    strokes: &mut Strokes,
) -> Value {
    for value in [
        Value::Sixteenth,
        Value::Triplet,
        Value::Eighth,
        Value::Quarter,
    ] {
        if goes_on && value != Value::Quarter && clashes(ctx, span, value) {
            continue;
        }
        let landing = place::landing(ctx, beat, span);
        for (mirrored, every) in [(false, 1), (true, 1), (false, 2), (true, 2), (false, 4)] {
            strokes.clear();
            let run = ctx.layout.run(value);
            let inside = run.filter(|at| (span.from..span.to).contains(at));
            let steps = inside.step_by(every).take(place::MAX_FILL);
            strokes.extend(steps.enumerate().map(|(i, tick)| {
                let lead = (i % 2 == 0) != mirrored;
                Stroke {
                    tick,
                    play_tick: tick,
                    limb: [Limb::OtherHand, Limb::LeadHand][usize::from(lead)],
                    target: StrokeTarget::Piece(Snare),
                    weight: 0.4,
                    origin: Origin::Fill,
                    ..Stroke::EMPTY
                }
            }));
            if place::playable(ctx, span, &landing, strokes) {
                return value;
            }
        }
    }
    strokes.clear();
    Value::Sixteenth
}

/// How the feet continue the beat, if they do: always where the kick follows the riff, often where kicks run.
fn goes_on(ctx: &Context, beat: &Beat, span: &FillSpan) -> Option<Feet> {
    if span.shape == FillShape::Break {
        return None;
    }
    if beat.follows_riff || ctx.bar_settings.kick_source == KickSource::Riff {
        return Some(Feet::GoOn);
    }
    let draw = chance(
        ctx.bar_settings.take,
        span.place,
        Decision::FillFeet,
        span.index(),
    );
    // A fill of two bars decides once, so it uses the last bar of the phrase, which is the last of the cycle.
    let last = beat.kick.len().saturating_sub(1);
    let kicks = ctx.layout.resolve(beat.kick.bar(last));
    // In a meter of long and short counts the hands play no triplets, so the feet don't either.
    let long = |count: &Count| count.units == 3;
    let counts = &ctx.layout.counts;
    let mixed = counts.iter().any(long) && !counts.iter().all(long);
    let suits = beat.feel == Feel::Straight || !mixed;
    let runs = kicks.len() >= counts.len() * 3 && suits;
    let long = span.counts(ctx).count() > 1;
    match draw {
        _ if !runs => None,
        ..0.4 => Some(Feet::GoOn),
        ..0.6 if long => Some(Feet::GoOnToLast),
        ..0.5 => Some(Feet::GoOn),
        _ => None,
    }
}

fn feet(ctx: &Context, span: &FillSpan, choice: &FillChoice, goes_on: Option<Feet>) -> Feet {
    let draw = chance(
        ctx.bar_settings.take,
        span.place,
        Decision::FillFeet,
        2 + span.index(),
    );
    match choice.figure.family {
        Family::Hits if choice.figure.is_for_hands() => goes_on.unwrap_or(Feet::Mark),
        Family::Feet | Family::Hits | Family::Space | Family::Roll | Family::Break => {
            goes_on.unwrap_or(Feet::Own)
        }
        Family::Hands | Family::Flams => goes_on.unwrap_or(match draw {
            ..0.45 => Feet::Mark,
            ..0.65 => Feet::Stop,
            _ => Feet::Counts,
        }),
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
    let last_count = span.last_count(ctx);
    part.strokes.retain(|stroke| {
        let kick = stroke.target == StrokeTarget::KICK;
        !inside(stroke.tick)
            || (kick && feet == Feet::GoOn)
            || (kick && feet == Feet::GoOnToLast && stroke.tick - start < last_count)
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
