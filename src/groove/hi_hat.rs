//! The hi-hat and its foot: whether it hangs loose, where it opens, what closes it, and the time that the foot keeps
//! while the hand is elsewhere.
//!
//! Places are common practice, no source. How often is based on the Groove MIDI Dataset (Gillick et al. 2019, CC BY
//! 4.0), as measured on its rock and punk performances that ride the hi-hat: an opening in 34 % of bars [7..56], 42 %
//! of the openings on an "and", 12 % on the last one. Those players had no song to serve, so grooves get about two
//! thirds of that, driving beats a quarter, and blasts none.
//!
//! An opening into the bar line is decided by the line, so that the bar that opens and the bar that closes agree
//! without memory.

use super::beat::{Beat, Breath, Feel, Figure};
use super::chance::{Decision, chance};
use super::context::{Call, Context};
use super::limits::{FOOT_TO_FOOT_BELOW_S, thin};
use super::phrases;
use super::riff_kicks::SAME;
use super::roles::{On, Role, Sub, TickList};
use super::stroke::{Limb, Manner, Origin, Part, Stroke, StrokeTarget};
use super::{hands, limbs};
use crate::kit::Piece;
use crate::settings::{HandRate, Play};
use crate::time::Ticks;

/// The shortest eighth for an opening, in seconds: 200 BPM. Faster, opened and closed run together. Judged.
const OPENS_FROM_S: f64 = 0.150;
/// The shortest count over which the foot keeps time beside the hand, in seconds: 140 BPM. Judged.
const FOOT_TIME_FROM_S: f64 = 60.0 / 140.0;
/// The shortest time between a kick of the other foot and a stroke of foot time, in seconds. Judged.
const FOOT_TIME_ROOM_S: f64 = 0.250;
/// How far foot time lies below the level, in velocity: the foot marks time and does not lead. Judged.
const FOOT_TIME_SHADE: f32 = -10.0;
/// Ranks of foot time: a player who keeps it does so from low density on.
const FOOT_TIME_RANKS: (f32, f32) = (0.1, 0.6);
/// The probability that the last count before an opening hangs loose as well.
const LEANS: f32 = 0.4;
/// The probability that the foot ends a phrase with a splash, where it is the beat's voice.
const SPLASHES: f32 = 0.5;
/// The rank of a stroke that belongs to every density but 0.
const ABOVE_NONE: f32 = f32::MIN_POSITIVE;

/// Whether the beat's own kicks need both feet at this tempo, so that no foot holds the hi-hat shut. It asks the whole
/// cycle and nothing else, so every bar of a phrase gives the same answer, whatever the riff or a fill adds.
pub(super) fn is_busy(ctx: &Context, beat: &Beat) -> bool {
    *ctx.busy.get_or_init(|| needs_both_feet(ctx, beat))
}

fn needs_both_feet(ctx: &Context, beat: &Beat) -> bool {
    let one_foot = ctx.ticks(ctx.limits.foot_s);
    let close = ctx.ticks(FOOT_TO_FOOT_BELOW_S.max(ctx.limits.foot_s));
    let bar_len = ctx.layout.bar_len;
    let mut kicks = TickList::new();
    beat.kick.bars().any(|roles| {
        kicks.clear();
        ctx.layout.resolve_into(roles, &mut kicks);
        let gap = ctx.ticks(ctx.limits.feet_s);
        thin(&mut kicks, gap, &ctx.layout.counts, bar_len);
        let gap_after = |i: usize| {
            let next = kicks.get(i + 1).copied();
            next.unwrap_or(bar_len + kicks[0]) - kicks[i]
        };
        // The other foot takes a kick that one foot can't, and its turn in a run of three.
        let taken = (0..kicks.len()).filter(|&i| {
            let before = gap_after(i.checked_sub(1).unwrap_or(kicks.len() - 1));
            let after = gap_after(i);
            after < one_foot || (after < close && before < close)
        });
        // A single kick leaves the pedal time to close.
        taken.take(2).count() == 2
    })
}

/// Whether the feet leave the pedal one of them at the bar's line, if they follow the riff. Only attacks around the line
/// matter, so the bars on both sides agree. A foot that waits for a riff which nobody knows is not free.
fn has_foot(ctx: &Context, beat: &Beat) -> bool {
    if !ctx.bar_settings.kick_source.heeds_riff(beat) {
        return true;
    }
    let Some((riff, line)) = ctx.riff else {
        return false;
    };
    // The lead foot kicks on the line. Attacks move to the grid by no more than that.
    let near = ctx.ticks(ctx.limits.foot_s) + SAME;
    riff.iter().all(|attack| {
        let away = (attack.tick - line).abs();
        away <= SAME || away >= near
    })
}

/// How the hi-hat of the beat breathes at this tempo.
fn breath(ctx: &Context, beat: &Beat) -> Breath {
    let unit = ctx.layout.counts.first().map_or(0, |count| count.unit());
    let rests = ctx.bar_settings.play != Play::Beat;
    if rests || ctx.seconds(unit) < OPENS_FROM_S || is_busy(ctx, beat) {
        Breath::Steady
    } else {
        beat.breath
    }
}

/// Whether the hand of the beat strikes the counts alone. Openings then add a stroke, which has a rank.
fn rides_counts(ctx: &Context, beat: &Beat) -> bool {
    matches!(
        hands::rate(ctx, beat),
        Some(HandRate::Quarters | HandRate::Halves)
    )
}

fn draw(ctx: &Context, decision: Decision, index: u64) -> f32 {
    let style = u64::from(ctx.bar_settings.style);
    let index = style * 16 + index;
    chance(ctx.bar_settings.take, ctx.bar.start, decision, index)
}

/// How dense the part has to be for an added opening: half of them sound at the default density of 40 %.
fn rank(draw: f32) -> f32 {
    0.08 + 0.92 * draw * draw.sqrt()
}

/// The rank of the opening into the bar's 1, where the bar before opens. Where the hand rides counts, the opening is a
/// stroke that density adds: rarer at low density, so that more of them are drawn.
pub(super) fn opening_into(ctx: &Context, beat: &Beat, call: &Call) -> Option<f32> {
    let added = rides_counts(ctx, beat);
    let more = if added { 1.6 } else { 1.0 };
    let turns = ctx.phrase.index == 0;
    let share = match breath(ctx, beat) {
        Breath::Steady => return None,
        Breath::Little if turns => 0.10,
        Breath::Little => 0.015,
        Breath::Much if turns => 0.14,
        Breath::Much => 0.02,
    };
    let follows_other = ctx.section_position.is_some_and(|at| at.index == 0);
    let lands = || {
        let opening = phrases::opening(ctx, beat, call, false);
        opening.is_some_and(|opening| opening.min_intensity == 0.0)
    };
    // A beat's last kick may need the foot on the pedal.
    let foot_gap = ctx.ticks(ctx.limits.foot_s);
    let kicks_late = || {
        let last = |roles| ctx.layout.resolve(roles).last().copied();
        let mut last = beat.kick.bars().filter_map(last);
        last.any(|tick| tick + foot_gap > ctx.layout.bar_len)
    };
    let drawn = draw(ctx, Decision::HatLine, 0) < share * more;
    if !drawn || follows_other || lands() || kicks_late() || !has_foot(ctx, beat) {
        return None;
    }
    Some(if added {
        rank(draw(ctx, Decision::HatLine, 1))
    } else {
        ABOVE_NONE
    })
}

/// The off-beats of some counts, in ticks from the start of the bar.
fn off_beats(ctx: &Context, beat: &Beat, on: On) -> TickList {
    let off = match beat.feel {
        Feel::Straight => Sub::And,
        Feel::Triplets => Sub::Let,
    };
    ctx.layout.resolve(&[Role::At(on, off)])
}

/// The last off-beat of the bar, where the hi-hat opens into the next one.
pub(super) fn last_off_beat(ctx: &Context, beat: &Beat) -> Ticks {
    let last = off_beats(ctx, beat, On::Last);
    last.first().copied().unwrap_or_default()
}

/// Opens the hi-hat of a drafted bar: into the next bar, whose opening has the rank `into`, or at an off-beat within.
pub(super) fn open(ctx: &Context, beat: &Beat, into: Option<f32>, part: &mut Part) {
    let last = last_off_beat(ctx, beat);
    if let Some(rank) = into {
        opens(ctx, beat, last, rank, part);
        if ctx.phrase.left() == 1 && draw(ctx, Decision::HatLine, 2) < LEANS {
            lean(ctx, part);
        }
        return;
    }
    let share = match breath(ctx, beat) {
        Breath::Steady => return,
        Breath::Little => 0.07,
        Breath::Much => 0.20,
    };
    let more = if rides_counts(ctx, beat) { 1.35 } else { 1.0 };
    if draw(ctx, Decision::HatLean, 0) >= share * more {
        return;
    }
    let mut places = off_beats(ctx, beat, On::Every);
    places.retain(|tick| *tick != last && *tick > 0);
    // The hi-hat opens with a kick that pushes, if there is one.
    let start = part.bar.start;
    let kicks = |tick: &Ticks| {
        let here =
            |s: &Stroke| s.tick == start + tick && s.target == StrokeTarget::KICK && s.rank == 0.0;
        part.strokes.iter().any(here)
    };
    let pushed: TickList = places.iter().copied().filter(kicks).collect();
    let places = if pushed.is_empty() { places } else { pushed };
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let pick = (draw(ctx, Decision::HatLean, 1) * places.len() as f32) as usize;
    if let Some(&tick) = places.get(pick) {
        let rank = rank(draw(ctx, Decision::HatLean, 2));
        opens(ctx, beat, tick, rank, part);
    }
}

/// Opens the hi-hat at a tick of the bar, where the hand rides it or has time to.
fn opens(ctx: &Context, beat: &Beat, at: Ticks, rank: f32, part: &mut Part) {
    let tick = part.bar.start + at;
    if part.in_fill(tick) {
        return;
    }
    let (_, count) = ctx.layout.count_of(at);
    // In sixteenths it stays open up to the next count. The foot is then back on the pedal, so it has no kick of the
    // beat or the riff; an extra one is light enough to be between.
    let until = part.bar.start + count.start + count.len;
    let kicks =
        |s: &Stroke| s.limb == Limb::OtherFoot && s.rank == 0.0 && (tick..until).contains(&s.tick);
    if part.strokes.iter().any(kicks) {
        return;
    }
    let ridden = |s: &Stroke| s.is_ridden() && (tick..until).contains(&s.tick);
    let found = part.strokes.iter().any(ridden);
    if !give(part, Manner::Opens, ridden) {
        return;
    }
    let stroke = Stroke {
        tick: at,
        limb: Limb::LeadHand,
        target: StrokeTarget::HandCymbal,
        rank,
        origin: Origin::HiHat,
        manner: Manner::Opens,
        ..Stroke::EMPTY
    };
    if !found
        && !part.is_silent(tick)
        && rides_counts(ctx, beat)
        && limbs::is_free(ctx, part, &stroke)
    {
        part.push_stroke(stroke);
    }
}

/// Lets the hi-hat hang loose on the last count: the bar leans into the next phrase.
fn lean(ctx: &Context, part: &mut Part) {
    let last = ctx.layout.counts.last().map_or(0, |count| count.start);
    let from = part.bar.start + last;
    give(part, Manner::Leans, |s| s.is_ridden() && s.tick >= from);
}

/// Gives strokes of the hand another manner, if the bar's variation may still take as many of the beat's. Returns
/// whether it did.
fn give(part: &mut Part, manner: Manner, to: impl Fn(&Stroke) -> bool) -> bool {
    let core = part.strokes.iter().filter(|s| s.rank == 0.0 && to(s));
    let Some(left) = part.may_take.checked_sub(core.count()) else {
        return false;
    };
    part.may_take = left;
    for stroke in part.strokes.iter_mut().filter(|s| to(s)) {
        stroke.manner = manner;
    }
    true
}

/// Leaves the hi-hat foot time for the next bar's 1, where it is due there: kicks that would then need both feet go.
pub(super) fn make_room(ctx: &Context, beat: &Beat, closes: bool, part: &mut Part) {
    let first = |roles| ctx.layout.resolve(roles).first().copied();
    let first = beat.pedal.bars().filter_map(first).min();
    // An own beat may have its foot shortly after the line.
    let first = first.filter(|at| *at == 0 || beat.own.is_some());
    if let Some(first) = if closes { Some(0) } else { first } {
        let (end, gap) = (part.bar.end(), ctx.ticks(ctx.limits.foot_s));
        part.strokes
            .retain(|s| s.target != StrokeTarget::KICK || s.tick + gap <= end + first);
    }
}

/// Adds what the hi-hat foot plays, once every kick has its foot: the beat's own, the stroke that closes an opening of
/// the bar before (`closes`: its rank), and foot time. Where the foot is busy the pedal rests.
pub(super) fn play_foot(ctx: &Context, beat: &Beat, closes: Option<f32>, part: &mut Part) {
    if ctx.bar_settings.play != Play::Beat {
        return;
    }
    let gap = ctx.ticks(ctx.limits.foot_s);
    let mut own = ctx.layout.resolve(ctx.of_cycle(beat.pedal));
    thin(&mut own, gap, &ctx.layout.counts, ctx.layout.bar_len);
    if beat.own.is_some() {
        // Another bar of its cycle may begin with the foot.
        let first = |roles| ctx.layout.resolve(roles).first().copied();
        let first = beat.pedal.bars().filter_map(first).min();
        let line = ctx.layout.bar_len + first.unwrap_or(gap);
        own.retain(|tick| *tick + gap <= line);
    }
    let last = own.last().copied();
    let start = part.bar.start;
    let rides = |s: &Stroke| {
        matches!(
            s.target,
            StrokeTarget::HandCymbal | StrokeTarget::Opening { .. }
        )
    };
    for &at in &own {
        let ends = ctx.phrase.left() == 1 && Some(at) == last;
        let hand = ctx.ticks(ctx.limits.hand_s + ctx.limits.travel_s);
        // Its sound is the open hi-hat's; whoever reads the region may give it to a hand.
        let splash = ends
            && part.may_take > 0
            && matches!(beat.lead.figure, Figure::Rate(_))
            && draw(ctx, Decision::FootSplash, 0) < SPLASHES
            && (beat.own.is_none() || at + hand <= ctx.layout.bar_len)
            && !part.busy(Limb::OtherHand, at, hand, hand);
        let manner = if splash {
            part.may_take -= 1;
            Manner::FootSplash
        } else if part
            .strokes
            .iter()
            .any(|s| s.tick == start + at && rides(s))
        {
            Manner::Under
        } else {
            Manner::Plain
        };
        pedal(
            ctx,
            Stroke {
                tick: at,
                manner,
                ..Stroke::EMPTY
            },
            part,
        );
    }
    if let Some(rank) = closes {
        let manner = Manner::Closes;
        pedal(
            ctx,
            Stroke {
                rank,
                origin: Origin::HiHat,
                manner,
                ..Stroke::EMPTY
            },
            part,
        );
    }
    if let Some(plan) = beat.own {
        plan.each_of_foot(ctx, |tick, rank| {
            // The bar before may need the foot up to the 1.
            let lifted = |s: &Stroke| s.tick == start + tick && s.target == StrokeTarget::Lifted;
            if tick < gap || part.strokes.iter().any(lifted) {
                return;
            }
            let under = part
                .strokes
                .iter()
                .any(|s| s.tick == start + tick && rides(s));
            let manner = if under { Manner::Under } else { Manner::Plain };
            let stroke = Stroke {
                tick,
                rank,
                origin: Origin::Extra,
                manner,
                ..Stroke::EMPTY
            };
            pedal(ctx, stroke, part);
        });
    }
    let count = ctx.layout.counts.first().map_or(0, |count| count.len);
    if !own.is_empty() || ctx.seconds(count) < FOOT_TIME_FROM_S || is_busy(ctx, beat) {
        return;
    }
    let rank = foot_time_rank(ctx);
    for &tick in &ctx.layout.resolve(beat.foot_time) {
        let stroke = Stroke {
            tick,
            rank,
            origin: Origin::FootTime,
            velocity_offset: FOOT_TIME_SHADE,
            manner: Manner::FootTime,
            ..Stroke::EMPTY
        };
        // The bar before may need the foot up to the 1. A foot between kicks of its own has other things to do.
        let room = ctx.ticks(FOOT_TIME_ROOM_S);
        if tick >= gap && !part.busy(Limb::OtherFoot, tick, room, room) {
            pedal(ctx, stroke, part);
        }
    }
}

/// A section has foot time or not; without a chart a song has.
fn foot_time_rank(ctx: &Context) -> f32 {
    let section = ctx
        .section_position
        .map_or(0, |at| ctx.bar.start - at.index * ctx.layout.bar_len);
    let style = u64::from(ctx.bar_settings.style);
    let draw = chance(ctx.bar_settings.take, section, Decision::FootTime, style);
    FOOT_TIME_RANKS.0 + (FOOT_TIME_RANKS.1 - FOOT_TIME_RANKS.0) * draw
}

/// Adds a stroke of the hi-hat foot where no fill is and the foot is free.
fn pedal(ctx: &Context, stroke: Stroke, part: &mut Part) {
    let gap = ctx.ticks(ctx.limits.foot_s);
    let tick = part.bar.start + stroke.tick;
    if !part.in_fill(tick)
        && !part.is_silent(tick)
        && !part.busy(Limb::OtherFoot, stroke.tick, gap, gap)
    {
        part.push_stroke(Stroke {
            limb: Limb::OtherFoot,
            target: StrokeTarget::Piece(Piece::HiHatFoot),
            ..stroke
        });
    }
}
