//! What a bar plays because of its place in the phrase: the crash that opens it, the fill that ends it, count-ins
//! and endings.
//!
//! Common practice, no source. No decision depends on earlier output. The bar line where a fill lands seeds the
//! fill's decisions, so the bars on both sides of it compute the same answer.

use super::beat::Beat;
use super::chance::{Decision, chance};
use super::context::{Call, Context};
use super::fill_span::FillSpan;
use super::section::SectionPosition;
use super::stroke::{Limb, Part, Stroke, StrokeTarget};
use crate::kit::Piece;
use crate::settings::{BarSettings, Crashes, FillShape, Play};
use crate::settings::{SectionFill, Start};
use crate::time::{Bar, Ticks};

/// The minimum intensity for the crash that opens a phrase, by the bars that divide the phrase's start: every
/// eighth bar, every fourth, every second. Tuned by ear: a quiet part has few crashes.
const CRASH_NEEDS: [(i64, f32); 3] = [(8, 0.2), (4, 0.4), (2, 0.75)];

/// The shortest bar of a song slow enough for fills of two bars, in seconds: 100 BPM in 4/4. Judged.
const SLOW_BAR_S: f64 = 2.4;
/// The probability that a whole-bar fill of a slow song takes two bars.
const TWO_BARS: f32 = 0.4;

/// The minimum intensity of the bar's opening crash; `None` where the bar has no crash. `bare`: at density 0.
///
/// A crash that a section states, or on which a fill lands, is played whatever the setting of the crashes. At
/// density 0 without fills, the beat is bare: only the section's own start has a crash.
pub(super) fn opening(ctx: &Context, beat: &Beat, call: &Call, bare: bool) -> Option<f32> {
    let starts = ctx.phrase.index == 0;
    let led = match ctx
        .section_position
        .filter(|section_position| section_position.index == 0)
    {
        Some(section_position) => match section_position.start {
            Start::Crash | Start::China => return Some(0.0),
            Start::Nothing => return None,
            Start::Auto | Start::CountIn => section_position.led,
        },
        None => {
            starts
                && ctx.bar.start != 0
                && is_filled(SectionFill::Auto, ctx.bar_settings, ctx.bar.start)
        }
    };
    if call.lands || led {
        return Some(0.0);
    }
    let no_fills = ctx.bar_settings.fill_chance <= 0.0;
    let wanted = match ctx.bar_settings.crashes {
        Crashes::Phrase => ctx.starts_section() || !(bare && no_fills),
        Crashes::Section => ctx.starts_section(),
        Crashes::None => false,
    };
    let index = ctx.bar.index();
    let row = CRASH_NEEDS
        .iter()
        .find(|(bars, _)| index.rem_euclid(*bars) == 0);
    (beat.opens && starts && wanted).then(|| row.map_or(1.0, |(_, min_intensity)| *min_intensity))
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

/// The fill that the chart wants at the end of the bar's phrase, if that is the end of the section.
fn wanted(ctx: &Context) -> SectionFill {
    ctx.section_position
        .filter(|section_position| {
            section_position.bars - section_position.index == ctx.phrase.left()
        })
        .map_or(SectionFill::Auto, |section_position| section_position.fill)
}

/// The fill of the bar, if any: a called fill, or the phrase's.
pub(super) fn fill(ctx: &Context, beat: &Beat, call: &Call) -> Option<FillSpan> {
    let bar_len = ctx.layout.bar_len;
    let span = FillSpan {
        from: 0,
        to: bar_len,
        earliest: Ticks::MIN,
        place: ctx.bar.end(),
        number: ctx.bar.index() + 1,
        shape: wanted(ctx).shape().unwrap_or(ctx.bar_settings.fill_shape),
        called: false,
        reluctance: beat.fills.likes_fast(),
    };
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

/// The fill that chance draws at the end of the phrase, if it reaches into this bar.
fn drawn(ctx: &Context, beat: &Beat, span: FillSpan) -> Option<FillSpan> {
    let wanted = wanted(ctx);
    match ctx.phrase.left() {
        1 if is_filled(wanted, ctx.bar_settings, span.place) => Some(at_end(ctx, beat, span)),
        2 => {
            let next = FillSpan {
                place: span.place + ctx.layout.bar_len,
                number: span.number + 1,
                ..span
            };
            let fill = at_end(ctx, beat, next);
            let reaches = fill.from < 0 && is_filled(wanted, ctx.bar_settings, next.place);
            reaches.then(|| fill.moved(ctx.layout.bar_len))
        }
        _ => None,
    }
}

/// The fill that a phrase would have at its end, seen from its last bar.
pub(super) fn at_end(ctx: &Context, beat: &Beat, span: FillSpan) -> FillSpan {
    let (counts, two_bars) = length(ctx, beat, &span);
    let all = ctx.layout.counts.len();
    let first = ctx.layout.counts[all - counts.min(all)].start;
    let bar_len = ctx.layout.bar_len;
    FillSpan {
        from: if two_bars { -bar_len } else { first },
        to: bar_len,
        ..span
    }
}

/// The length of a phrase's fill in counts, and whether it takes two bars.
fn length(ctx: &Context, beat: &Beat, span: &FillSpan) -> (usize, bool) {
    let (lengths, slow) = beat.fills.lengths();
    let weights = match span.shape {
        FillShape::Auto => lengths,
        FillShape::Short => [6, 4, 0],
        FillShape::Long => [0, 0, 1],
        FillShape::Break => [0, 5, 5],
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
    let total: f32 = weights.iter().map(|&w| f32::from(w)).sum();
    let mut left = draw(0) * total;
    let mut counts = 4;
    for (n, weight) in [1, 2, 4].into_iter().zip(weights) {
        left -= f32::from(weight);
        if left < 0.0 {
            counts = n;
            break;
        }
    }
    let slow = slow || span.shape == FillShape::Long;
    let two_bars = slow
        && counts == 4
        && span.shape != FillShape::Break
        && ctx.phrase.bars >= 4
        && ctx.seconds(ctx.layout.bar_len) >= SLOW_BAR_S
        && draw(1) < TWO_BARS;
    (counts, two_bars)
}

/// Resumes the beat where the user released a called fill, and lands there.
pub(super) fn land(ctx: &Context, at: Ticks, part: &mut Part) {
    let gap = ctx.ticks(ctx.limits.hand_s);
    let tick = part.bar.start + at;
    part.strokes
        .retain(|s| s.limb != Limb::LeadHand || !(tick..tick + gap).contains(&s.tick));
    part.push(
        at,
        Limb::LeadHand,
        StrokeTarget::Opening { rides: true },
        0.0,
    );
    // Keeps a kick under the crash at every density.
    let feet = ctx.ticks(ctx.limits.feet_s);
    let kick = StrokeTarget::Piece(Piece::Kick);
    let near = |s: &Stroke| s.target == kick && (s.tick - tick).abs() < feet;
    let stays = |s: &Stroke| s.tick == tick && s.rank == 0.0;
    part.strokes.retain(|s| !near(s) || stays(s));
    if !part.busy(Limb::LeadFoot, at, feet, feet) {
        part.push(at, Limb::LeadFoot, kick, 0.0);
    }
}

/// Plays what replaces the beat (count-in, ending, rest); false where the bar plays the beat.
pub(super) fn instead(ctx: &Context, part: &mut Part) -> bool {
    let counts = &ctx.layout.counts;
    let sticks = match ctx.bar_settings.play {
        Play::Beat => return false,
        Play::Rest => 0,
        Play::CountIn => 4,
        Play::ShortCountIn => 2,
        Play::Ending => {
            end(part);
            return true;
        }
    };
    for count in counts.iter().rev().take(sticks) {
        part.push(
            count.start,
            Limb::LeadHand,
            StrokeTarget::Piece(Piece::Sticks),
            0.0,
        );
    }
    true
}

/// The last hit: kick and crashes together on the 1, ringing. Each hand strikes the crash on its own side.
fn end(part: &mut Part) {
    let hit = |limb, target, min_intensity| Stroke {
        limb,
        target,
        min_intensity,
        rings: true,
        ..Stroke::EMPTY
    };
    part.push_stroke(hit(
        Limb::LeadHand,
        StrokeTarget::Piece(Piece::CrashRight),
        0.0,
    ));
    part.push_stroke(hit(
        Limb::OtherHand,
        StrokeTarget::Piece(Piece::CrashLeft),
        0.5,
    ));
    part.push_stroke(hit(Limb::LeadFoot, StrokeTarget::Piece(Piece::Kick), 0.0));
}
