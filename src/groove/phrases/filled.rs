//! Whether and where a bar has a fill, and how the bar after it begins.
//!
//! A fill ends a phrase, or it is a small one inside a phrase. The bar line where a fill lands seeds the fill's
//! decisions, so the bars on both sides of it compute the same answer. Whether a bar may have a small fill at all
//! depends on chance alone and never on how likely fills are, so that a higher fill chance only adds fills.
//!
//! The shares are based on the Groove MIDI Dataset (Gillick et al. 2019, CC BY 4.0), as measured by us on 4,152 bars
//! of rock and punk: 16, 10, 9 and 30 % of the bars of four end in a fill; 49, 28, 13 and 6 % of the fills are 1 to 4
//! quarters long; a crash follows 45 % of them. Those drummers had no song to serve, so we place small fills more
//! rarely. Heavy music crashes more often (judged).

use super::super::beat::Beat;
use super::super::chance::{Decision, chance};
use super::super::context::{Call, Context};
use super::super::fill_span::{FillSpan, ends_low};
use super::super::riff_kicks::SAME;
use super::super::section::SectionPosition;
use super::super::stroke::{Limb, Manner, Origin, Part, Stroke, StrokeTarget};
use crate::kit::Piece;
use crate::settings::{BarSettings, FillShape, Play, SectionFill};
use crate::time::{Bar, Ticks};

/// The shortest bar of a song slow enough for fills of two bars, in seconds: 100 BPM in 4/4. Judged.
const SLOW_BAR_S: f64 = 2.4;
/// The probability that a whole-bar fill of a slow song takes two bars.
const TWO_BARS: f32 = 0.4;

/// How likely small fills are, as a share of the fill chance: after the last of four bars inside a longer phrase,
/// after the first, and after the others. A third of what people play.
const SMALL: [f32; 3] = [0.35, 0.16, 0.11];
/// The relative frequency of small fills of one count, two, and three.
const SMALL_LENGTHS: [u8; 4] = [52, 34, 14, 0];

/// How often a crash opens the bar after a fill of one count, two, and more at the end of a phrase, and after a small
/// fill. Judged: heavy music crashes more often than the players measured.
const CRASHES: [f32; 3] = [0.82, 0.92, 1.0];
const SMALL_CRASHES: f32 = 0.5;

/// Seconds that a fill's hand strokes need at least, in times of two hands in turn: three strokes and the landing.
const SHORTEST: f64 = 3.2;

/// How a bar begins after a fill: always with the kick.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in super::super) struct Landing {
    /// Whether on a crash; otherwise on the hand cymbal.
    pub(in super::super) crash: bool,
    /// Whether the fill ends on the floor toms. The lead hand then takes the crash beside them.
    pub(in super::super) low: bool,
}

/// How the bar begins if a fill leads to it.
pub(in super::super) fn landing(ctx: &Context, beat: &Beat, call: &Call) -> Option<Landing> {
    let place = ctx.bar.start;
    let low = ends_low(ctx.bar_settings, beat, place);
    if call.lands {
        return Some(Landing { crash: true, low });
    }
    if let Some(section) = ctx.section_position.filter(|section| section.index == 0) {
        return section.led.then_some(Landing {
            crash: true,
            low: section.low,
        });
    }
    let span = FillSpan {
        shape: ctx.bar_settings.fill_shape,
        ..base(ctx, beat, place, ctx.bar.index())
    };
    let share = if ctx.phrase.index > 0 {
        is_small(ctx, beat, place, ctx.phrase.index).then_some(SMALL_CRASHES)
    } else if place != 0 && is_filled(SectionFill::Auto, ctx.bar_settings, place) {
        let (counts, _) = length(ctx, beat, &span);
        CRASHES
            .get(counts.saturating_sub(1))
            .or(CRASHES.last())
            .copied()
    } else {
        None
    };
    let draw = chance(ctx.bar_settings.take, place, Decision::FillLanding, 0);
    share.map(|share| Landing {
        crash: draw < share,
        low,
    })
}

/// Whether a fill lands on the phrase that starts at a tick: what the chart wants, else by chance.
fn is_filled(wanted: SectionFill, bar_settings: &BarSettings, landing: Ticks) -> bool {
    match wanted {
        SectionFill::None => false,
        SectionFill::Auto => {
            chance(bar_settings.take, landing, Decision::Fill, 0) < bar_settings.fill_chance
        }
        SectionFill::Short | SectionFill::Long | SectionFill::Break => true,
    }
}

/// Whether a section ends in a fill; its last bar is the argument. Audio thread.
pub fn ends_in_fill(
    bar: Bar,
    bar_settings: &BarSettings,
    section_position: &SectionPosition,
) -> bool {
    bar_settings.play == Play::Beat && is_filled(section_position.fill, bar_settings, bar.end())
}

/// Whether the fill at the end of a section ends on the floor toms; its last bar is the argument. Audio thread.
pub fn ends_on_floor_toms(bar: Bar, bar_settings: &BarSettings, beat: &Beat) -> bool {
    ends_low(bar_settings, beat, bar.end())
}

/// The fill that the chart wants at the end of the bar's phrase, if that is the end of the section.
fn wanted(ctx: &Context) -> SectionFill {
    ctx.section_position
        .filter(|section_position| {
            section_position.bars - section_position.index == ctx.phrase.left()
        })
        .map_or(SectionFill::Auto, |section_position| section_position.fill)
}

/// A span of the whole bar whose fill lands at a place.
fn base(ctx: &Context, beat: &Beat, place: Ticks, number: i64) -> FillSpan {
    FillSpan {
        from: 0,
        to: ctx.layout.bar_len,
        earliest: Ticks::MIN,
        place,
        number,
        shape: wanted(ctx).shape().unwrap_or(ctx.bar_settings.fill_shape),
        called: false,
        small: false,
        reluctance: beat.fills.likes_fast(),
        feel: beat.feel,
    }
}

/// The fill of the bar, if any: a called fill, or a drawn one.
pub(in super::super) fn fill(ctx: &Context, beat: &Beat, call: &Call) -> Option<FillSpan> {
    let span = base(ctx, beat, ctx.bar.end(), ctx.bar.index() + 1);
    let drawn = drawn(ctx, beat, span);
    match (call.fill, drawn) {
        (Some((from, _)), Some(drawn)) if drawn.from <= from => Some(drawn),
        (Some((from, _)), _) => Some(FillSpan {
            from,
            earliest: from,
            called: true,
            ..span
        }),
        (None, drawn) => drawn,
    }
}

/// The fill that chance draws at the end of the phrase, if it reaches into this bar, or a small one.
fn drawn(ctx: &Context, beat: &Beat, span: FillSpan) -> Option<FillSpan> {
    let wanted = wanted(ctx);
    let left = ctx.phrase.left();
    if left == 1 {
        return is_filled(wanted, ctx.bar_settings, span.place).then(|| at_end(ctx, beat, span));
    }
    if left == 2 {
        let next = next(ctx, span);
        let fill = at_end(ctx, beat, next);
        if fill.from < 0 && is_filled(wanted, ctx.bar_settings, next.place) {
            return Some(fill.moved(ctx.layout.bar_len));
        }
    }
    is_small(ctx, beat, span.place, ctx.phrase.index + 1).then(|| small(ctx, span))
}

/// The span of a fill that lands a bar later, relative to the bar after.
fn next(ctx: &Context, span: FillSpan) -> FillSpan {
    FillSpan {
        place: span.place + ctx.layout.bar_len,
        number: span.number + 1,
        ..span
    }
}

/// Whether a small fill lands on the bar with this index in the phrase, which starts at `landing`.
fn is_small(ctx: &Context, beat: &Beat, landing: Ticks, index: i64) -> bool {
    let settings = ctx.bar_settings;
    let share = |index: i64| match index.rem_euclid(4) {
        0 => SMALL[0],
        1 => SMALL[1],
        _ => SMALL[2],
    };
    let draw = |landing| chance(settings.take, landing, Decision::SmallFill, 0);
    let before = landing - ctx.layout.bar_len;
    let follows = index > 1 && draw(before) < share(index - 1);
    let is_drawn = draw(landing) < settings.fill_chance * share(index);
    let roomy = ctx.layout.counts.len() > 1 && settings.fill_shape != FillShape::Break;
    // Cheap answers first: the length of the next fill takes longest.
    roomy && is_drawn && !follows && leaves_room(ctx, beat, landing, ctx.phrase.bars - index)
}

/// Whether the fill at the end of the phrase, should there be one, leaves the first half of the bar that starts at
/// `landing` to the beat. The phrase ends `left` bars after that line.
fn leaves_room(ctx: &Context, beat: &Beat, landing: Ticks, left: i64) -> bool {
    let bar_len = ctx.layout.bar_len;
    let place = landing + left * bar_len;
    let number = place.div_euclid(bar_len);
    let from = || at_end(ctx, beat, base(ctx, beat, place, number)).from;
    match left {
        1 => from() * 2 >= bar_len,
        2 => from() >= 0,
        _ => true,
    }
}

/// The small fill at the end of a bar.
fn small(ctx: &Context, span: FillSpan) -> FillSpan {
    let draw = chance(
        ctx.bar_settings.take,
        span.place,
        Decision::FillLength,
        u64::MAX - u64::from(ctx.bar_settings.style),
    );
    let most = ctx.layout.counts.len() - 1;
    let counts = drawn_length(SMALL_LENGTHS, draw).max(least(ctx));
    let shape = match ctx.bar_settings.fill_shape {
        FillShape::Short => FillShape::Short,
        _ => FillShape::Auto,
    };
    FillSpan {
        small: true,
        shape,
        ..last_counts(ctx, span, counts.min(most))
    }
}

/// The span of the bar's last counts.
fn last_counts(ctx: &Context, span: FillSpan, counts: usize) -> FillSpan {
    let all = ctx.layout.counts.len();
    let first = ctx.layout.counts.get(all - counts.min(all));
    FillSpan {
        from: first.map_or(0, |count| count.start),
        ..span
    }
}

/// The fill that a phrase would have at its end, seen from its last bar.
pub(in super::super) fn at_end(ctx: &Context, beat: &Beat, span: FillSpan) -> FillSpan {
    let (counts, two_bars) = length(ctx, beat, &span);
    let span = FillSpan {
        to: ctx.layout.bar_len,
        ..last_counts(ctx, span, counts)
    };
    if two_bars {
        FillSpan {
            from: -ctx.layout.bar_len,
            ..span
        }
    } else {
        span
    }
}

/// The length of a phrase's fill in counts, and whether it takes two bars.
fn length(ctx: &Context, beat: &Beat, span: &FillSpan) -> (usize, bool) {
    let (lengths, slow) = beat.fills.lengths();
    let weights = match span.shape {
        FillShape::Auto => lengths,
        FillShape::Short => [6, 4, 0, 0],
        FillShape::Long => [0, 0, 0, 1],
        FillShape::Break => [0, 4, 0, 6],
    };
    let style = u64::from(ctx.bar_settings.style);
    let draw = |index| {
        chance(
            ctx.bar_settings.take,
            span.place,
            Decision::FillLength,
            style * 2 + index,
        )
    };
    let counts = drawn_length(weights, draw(0)).max(least(ctx));
    let slow = slow || span.shape == FillShape::Long;
    let two_bars = slow
        && counts == 4
        && span.shape != FillShape::Break
        && ctx.phrase.bars >= 4
        && ctx.seconds(ctx.layout.bar_len) >= SLOW_BAR_S
        && draw(1) < TWO_BARS;
    (counts, two_bars)
}

/// A number of counts by their relative frequency and a draw (0..1).
fn drawn_length(weights: [u8; 4], draw: f32) -> usize {
    let total: f32 = weights.iter().map(|&w| f32::from(w)).sum();
    let mut left = draw * total;
    for (counts, weight) in (1..).zip(weights) {
        left -= f32::from(weight);
        if left < 0.0 {
            return counts;
        }
    }
    4
}

/// The counts that a fill needs so that the hands have time for it.
fn least(ctx: &Context) -> usize {
    let count = ctx.layout.counts.last().map_or(0, |count| count.len);
    let room = |counts: &Ticks| ctx.seconds(count * counts) >= ctx.limits.hands_s * SHORTEST;
    let counts = (1..4).find(room).unwrap_or(4);
    usize::try_from(counts).unwrap_or(1)
}

/// Lands a fill in the bar: on the crash beside the floor toms where the fill ended there, on a kick where the beat
/// has none at the 1.
pub(in super::super) fn come_home(ctx: &Context, landing: Landing, part: &mut Part) {
    let start = part.bar.start;
    let on_1 = |s: &&mut Stroke| s.tick == start;
    for stroke in part.strokes.iter_mut().filter(on_1) {
        if !landing.low || !matches!(stroke.target, StrokeTarget::Opening { .. }) {
            continue;
        }
        if stroke.min_intensity > 0.0 {
            // Below the intensity of the phrase's crash the hand rides.
            stroke.manner = Manner::Low;
        } else {
            stroke.target = StrokeTarget::Piece(Piece::CrashRight);
        }
    }
    support(ctx, 0, part);
}

/// Takes back the crash on which a fill lands where the riff, which the feet follow, rests: nobody crashes without a
/// kick or a snare. A soft attack of the riff under the crash sounds at every density.
pub(in super::super) fn ground(part: &mut Part) {
    let start = part.bar.start;
    let kick = StrokeTarget::KICK;
    let low = |s: &Stroke| s.tick == start && matches!(s.target, StrokeTarget::Piece(Piece::Snare));
    if let Some(kick) = part
        .strokes
        .iter_mut()
        .find(|s| s.tick == start && s.target == kick)
    {
        kick.rank = 0.0;
    } else if !part.strokes.iter().any(low) {
        part.strokes
            .retain(|s| s.tick != start || s.target != StrokeTarget::Opening { rides: false });
        let opening = StrokeTarget::Opening { rides: true };
        let crash = StrokeTarget::Piece(Piece::CrashRight);
        for stroke in part.strokes.iter_mut().filter(|s| s.tick == start) {
            if stroke.target == opening || stroke.target == crash {
                stroke.target = StrokeTarget::HandCymbal;
                stroke.manner = Manner::Plain;
                stroke.origin = Origin::Beat;
            }
        }
    }
}

/// Puts a kick at a tick of the bar that sounds at every density, in place of any near it.
fn support(ctx: &Context, at: Ticks, part: &mut Part) {
    let tick = part.bar.start + at;
    // An attack of the guitar half a sixteenth beside the landing is the landing.
    let feet = ctx.ticks(ctx.limits.feet_s).max(SAME);
    let kick = StrokeTarget::KICK;
    let near = |s: &Stroke| s.target == kick && (s.tick - tick).abs() < feet;
    let stays = |s: &Stroke| s.tick == tick && s.rank == 0.0 && s.min_intensity == 0.0;
    part.strokes.retain(|s| !near(s) || stays(s));
    if !part.busy(Limb::LeadFoot, at, feet, feet) {
        part.push(at, Limb::LeadFoot, kick, 0.0);
    }
    let here = |s: &&mut Stroke| s.tick == tick && s.target == kick;
    for stroke in part.strokes.iter_mut().filter(here) {
        stroke.origin = Origin::Landing;
    }
}

/// Resumes the beat where the user released a called fill, and lands there.
pub(in super::super) fn land(ctx: &Context, at: Ticks, part: &mut Part) {
    let gap = ctx.ticks(ctx.limits.hand_s);
    let tick = part.bar.start + at;
    part.strokes
        .retain(|s| s.limb != Limb::LeadHand || !(tick..tick + gap).contains(&s.tick));
    part.push_stroke(Stroke {
        tick: at,
        limb: Limb::LeadHand,
        target: StrokeTarget::Opening { rides: true },
        origin: Origin::Landing,
        ..Stroke::EMPTY
    });
    support(ctx, at, part);
}
