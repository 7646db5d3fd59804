//! Chooses a fill: a family by chance, then the next fill of that family's rotation.
//!
//! A fill's number is that of the bar in which it lands. The fills of a family that suit the moment form a
//! rotation, cut into segments, one for each number. Neighbouring fills use different segments, so no fill needs to
//! remember the last.

use super::super::beat::{Beat, Feel};
use super::super::chance::{Decision, bits, chance};
use super::super::context::Context;
use super::super::fill_span::FillSpan;
use super::breaks::BREAKS;
use super::figures::{FIGURES, Family, Figure, Lies};
use super::paths::{HITS, PATHS, Path};
use super::taste::Likes;
use crate::settings::FillShape;
use crate::time::{Count, Value};
use arrayvec::ArrayVec;

/// A fill choice: what to play, before it is written as strokes.
#[derive(Debug, Clone, Copy)]
pub(super) struct FillChoice {
    pub(super) figure: &'static Figure,
    pub(super) path: &'static Path,
    pub(super) value: Value,
}

/// The longest step of a roll of eighths or triplets, of flams, and of spaced hits, in seconds. Judged: slower steps
/// no longer sound like a fill, so a slow song fills in sixteenths and faster.
const SLOWEST_S: f64 = 0.225;
const SLOWEST_FLAMS_S: f64 = 0.32;
const SLOWEST_SPARSE_S: f64 = 0.55;

/// The fills to try for a span, best first.
pub(super) fn candidates<'a>(
    ctx: &'a Context<'a>,
    beat: &'a Beat,
    span: &'a FillSpan,
) -> impl Iterator<Item = FillChoice> + 'a {
    let likes = beat.fills.likes();
    let drawn = family(ctx, span, likes);
    // Other families follow in order of preference, with the hands last.
    let mut liked: [usize; Family::DRAWN] = std::array::from_fn(|i| i);
    liked.sort_unstable_by_key(|&i| {
        let last = i == Family::Hands as usize;
        (last, u8::MAX - likes.families[i], i)
    });
    let others = liked
        .into_iter()
        .filter(move |&i| likes.families[i] > 0 || i == Family::Hands as usize)
        .map(|i| Family::ALL[i]);
    let low = span.ends_low(ctx, beat);
    // First the span's segment of the drawn family, then the whole rotation of each, at last from the other side of
    // the kit.
    [(drawn, low, false), (drawn, low, true)]
        .into_iter()
        .chain(others.map(move |family| (family, low, true)))
        .chain([(drawn, !low, true), (Family::Hands, !low, true)])
        .flat_map(move |(family, low, whole)| round(ctx, span, likes, (family, low), whole))
}

fn family(ctx: &Context, span: &FillSpan, likes: &Likes) -> Family {
    if span.shape == FillShape::Break {
        return Family::Break;
    }
    let total: u32 = likes.families.iter().copied().map(u32::from).sum();
    let draw = chance(
        ctx.bar_settings.take,
        span.place,
        Decision::FillFamily,
        u64::from(ctx.bar_settings.style) * 8 + span.index(),
    );
    let mut left = draw * total as f32;
    for (family, &share) in Family::ALL.into_iter().zip(&likes.families) {
        left -= f32::from(share);
        if left < 0.0 {
            return family;
        }
    }
    Family::Hands
}

/// The figures of a family, and of others.
fn figures(family: Family) -> &'static [Figure] {
    match family {
        Family::Break => &BREAKS,
        _ => &FIGURES,
    }
}

/// The span's segment of a family's rotation, or the whole rotation from that segment on. The rotation has the fills
/// that end on the floor toms, or the others.
fn round<'a>(
    ctx: &'a Context<'a>,
    span: &'a FillSpan,
    likes: &'a Likes,
    (family, low): (Family, bool),
    whole: bool,
) -> impl Iterator<Item = FillChoice> + 'a {
    let suiting = suiting(ctx, span, likes, (family, low));
    // Too few fills for a rotation: the next family has more.
    let all = if suiting.len() < 3 { 0 } else { suiting.len() };
    let (stretches, length) = stretches(all, family);
    let style = u64::from(ctx.bar_settings.style);
    let family_bits = bits(
        ctx.bar_settings.take,
        0,
        Decision::FillRound,
        style * 16 + family as u64,
    );
    let (offset, stride) = (
        usize::try_from(family_bits % all.max(1) as u64).unwrap_or(0),
        stride(all),
    );
    let number = i64::try_from(stretches).map_or(0, |n| span.number.rem_euclid(n));
    let number = usize::try_from(number).unwrap_or(0);
    let tries = if whole { all } else { length };
    (0..tries).map(move |i| {
        let (figure, value, path) = suiting[((number * length + i) * stride + offset) % all];
        FillChoice {
            figure: &figures(family)[usize::from(figure)],
            path: &PATHS[usize::from(path)],
            value,
        }
    })
}

/// The number of segments of a rotation, and the fills in each. The number is odd, so that phrases of 2, 4 and 8
/// bars go through all segments. All breaks can be played, so none needs another beside it.
fn stretches(all: usize, family: Family) -> (usize, usize) {
    let wished = match family {
        Family::Break => all.max(1),
        _ => (all / 3).max(all.min(7)).max(1),
    };
    let odd = if wished.is_multiple_of(2) {
        wished - 1
    } else {
        wished
    };
    (odd.max(1), all / odd.max(1))
}

/// A stride that visits every place of a rotation and keeps neighbouring places apart.
fn stride(all: usize) -> usize {
    let gcd = |mut a: usize, mut b: usize| {
        while b > 0 {
            (a, b) = (b, a % b);
        }
        a
    };
    // A stride near the golden ratio spreads best.
    (all * 5 / 8..all)
        .find(|&stride| gcd(stride, all) == 1)
        .unwrap_or(1)
}

/// The most fills that one family can have.
const MOST: usize = 320;

/// A fill as indices into the lists. Small, since a whole rotation is on the audio thread's stack.
type Entry = (u8, Value, u8);

/// The fills of a family that suit the beat, the meter, the tempo and the length of the span.
fn suiting(
    ctx: &Context,
    span: &FillSpan,
    likes: &Likes,
    (family, low): (Family, bool),
) -> ArrayVec<Entry, MOST> {
    let mut found = ArrayVec::new();
    // A bit for each path.
    let suits = |&path: &u8| PATHS[usize::from(path)].ends_low() == low;
    let bit = |&path: &u8| 1_u32 << path;
    let suiting = if family == Family::Break {
        HITS
    } else {
        likes.paths
    };
    let suiting = suiting.iter().filter(|path| suits(path));
    let suiting = suiting.fold(0, |bits, path| bits | bit(path));
    let of_family = figures(family).iter();
    for (number, figure) in (0..).zip(of_family).filter(|(_, f)| f.family == family) {
        let least = figure.least;
        for &value in figure.values {
            let first = ctx.layout.counts[0];
            let steps = (span.to - span.from) / value.step(first);
            // Limits slow flams: a whole bar of them does not sound like a fill.
            let most = match (family, value) {
                (_, Value::Quarter) => 2,
                (Family::Flams, Value::Eighth) => 4,
                _ => usize::MAX,
            };
            // A break of a bar would lose its beginning in two counts.
            let whole = |steps: usize| {
                figure.lies == Lies::Repeated || (steps > 8) == (figure.steps.len() > 8)
            };
            let fits = usize::try_from(steps)
                .is_ok_and(|steps| (least..=most).contains(&steps) && whole(steps));
            if !fits || !fits_time(ctx, span, likes, figure, value) {
                continue;
            }
            let suits = |path: &&u8| suiting & bit(path) != 0;
            let room = found.remaining_capacity();
            let paths = figure.paths.iter().filter(suits).take(room);
            found.extend(paths.map(|&path| (number, value, path)));
        }
    }
    found
}

/// Whether a figure at a note value belongs to this meter, feel and tempo.
fn fits_time(ctx: &Context, span: &FillSpan, likes: &Likes, figure: &Figure, value: Value) -> bool {
    let counts = &ctx.layout.counts;
    let long = |count: &Count| count.units == 3;
    let triple = matches!(value, Value::Triplet | Value::Sextuplet);
    let feels = if counts.iter().all(long) {
        // In these meters eighths already divide the count in three, so the triplet value would repeat a figure.
        match value {
            Value::Triplet => !figure.values.contains(&Value::Eighth),
            Value::Sextuplet => !figure.values.contains(&Value::Sixteenth),
            _ => true,
        }
    } else if counts.iter().any(long) {
        !triple
    } else if span.feel == Feel::Triplets {
        triple || figure.family == Family::Break
    } else {
        !triple || likes.triplets
    };
    let slowest = match figure.family {
        Family::Hits | Family::Space => SLOWEST_SPARSE_S,
        Family::Flams => SLOWEST_FLAMS_S,
        Family::Hands | Family::Feet | Family::Roll | Family::Break => SLOWEST_S,
    };
    let step = ctx.seconds(value.step(counts[0]));
    // Sixteenths, and breaks, may be as slow as the song.
    let fine = matches!(
        value,
        Value::Sixteenth | Value::Sextuplet | Value::ThirtySecond
    );
    // Figures of the hands have no rests to speak of, so the hands need the time for every step.
    let fast = figure.family == Family::Hands && step < ctx.limits.hands_s;
    feels && !fast && (step <= slowest || fine)
}
