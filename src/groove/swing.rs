//! Swing: lengthens the first note of a pair and shortens the second.
//!
//! Pairs are eighths, or sixteenths where the core of the beat has strokes between its eighths. The beat and the
//! hand rate decide this once, not each bar, so neither a fill nor the other bar of a cycle changes the swing. Only
//! straight beats swing, and only in counts of two units. Time between is warped piecewise linearly, so the order
//! of strokes stays.

use super::beat::{Beat, Feel, Figure};
use super::context::Context;
use super::limbs::other;
use super::minimum_gaps::Gaps;
use super::roles::Role;
use super::stroke::{Limb, Part, Stroke, StrokeTarget};
use crate::settings::HandRate;
use crate::time::{Count, Ticks};

/// Swings the strokes of a part, which are in order of the grid. Where a limb could not reach its next core stroke
/// from a swung one, all limbs at that tick swing less; an extra is left out.
pub(super) fn place(ctx: &Context, beat: &Beat, gaps: &Gaps, part: &mut Part) {
    if ctx.bar_settings.swing <= 0.5 || beat.feel != Feel::Straight {
        return;
    }
    let fine = swings_sixteenths(ctx, beat);
    let (start, end) = (part.bar.start, part.bar.end());
    // By version: bare, varied.
    let mut next: [[Option<Stroke>; Limb::ALL.len()]; 2] = [[None; Limb::ALL.len()]; 2];
    let mut until = part.strokes.len();
    while until > 0 {
        let tick = part.strokes[until - 1].tick;
        let n = part.strokes[..until]
            .iter()
            .rev()
            .take_while(|s| s.tick == tick)
            .count();
        let group = &mut part.strokes[until - n..until];
        let (_, count) = ctx.layout.count_of(tick - start);
        let first = group[0];
        let of_stroke = next
            .iter()
            .filter_map(|next| next[other(first.limb) as usize])
            .find(|s| s.tick == tick + first.grace);
        let mut play_tick = match of_stroke {
            // A grace note keeps its distance to its main stroke.
            Some(stroke) if first.grace > 0 => stroke.play_tick - first.grace,
            _ if part.fill.is_some_and(|fill| fill.is_unswung(tick)) => tick,
            _ => start + swung(tick - start, count, ctx.bar_settings.swing, fine),
        };
        for stroke in group.iter().filter(|stroke| stroke.rank == 0.0) {
            for (next, bare) in next.iter().zip([true, false]) {
                if !stroke.is_in(bare) {
                    continue;
                }
                let mine = next[stroke.limb as usize].as_ref();
                let latest = mine.map_or(end, |next| next.play_tick);
                play_tick = play_tick.min(latest - gaps.between(Some(stroke), mine, end - tick));
                let kick = |s: &&Stroke| s.target == StrokeTarget::KICK;
                let feet =
                    [Limb::LeadFoot, Limb::OtherFoot].map(|foot| next[foot as usize].as_ref());
                for kick in feet.into_iter().flatten().filter(kick) {
                    if stroke.target == kick.target {
                        let gap = gaps.between(Some(stroke), Some(kick), 0);
                        play_tick = play_tick.min(kick.play_tick - gap);
                    }
                }
            }
        }
        for stroke in group {
            stroke.play_tick = play_tick;
            for (next, bare) in next.iter_mut().zip([true, false]) {
                if stroke.rank == 0.0 && stroke.is_in(bare) {
                    next[stroke.limb as usize] = Some(*stroke);
                }
            }
        }
        until -= n;
    }
    drop_hurried(gaps, part);
}

/// Where a tick of the timeline lies with the bar's swing.
pub(super) fn swung_tick(ctx: &Context, beat: &Beat, tick: Ticks) -> Ticks {
    if ctx.bar_settings.swing <= 0.5 || beat.feel != Feel::Straight {
        return tick;
    }
    let at = tick - ctx.bar.start;
    let (_, count) = ctx.layout.count_of(at);
    let fine = swings_sixteenths(ctx, beat);
    ctx.bar.start + swung(at, count, ctx.bar_settings.swing, fine)
}

/// Removes extras that swing moves too close to another stroke of their limb, or to a kick of the other foot: the groove keeps its swing and the
/// ghost note goes.
fn drop_hurried(gaps: &Gaps, part: &mut Part) {
    let end = part.bar.end();
    let mut i = part.strokes.len();
    while i > 0 {
        i -= 1;
        let stroke = part.strokes[i];
        if stroke.rank == 0.0 {
            continue;
        }
        let kick = |s: &Stroke| s.target == StrokeTarget::KICK;
        let mine = |s: &&Stroke| s.limb == stroke.limb && s.sounds_with(&stroke);
        let other = |s: &&Stroke| {
            kick(s) && kick(&stroke) && s.limb != stroke.limb && s.sounds_with(&stroke)
        };
        let (before, after) = (&part.strokes[..i], &part.strokes[i + 1..]);
        let comes = |last: Option<&Stroke>| {
            last.is_none_or(|last| {
                let gap = gaps.between(Some(last), Some(&stroke), 0);
                stroke.play_tick - last.play_tick >= gap
            })
        };
        let leaves = |next: Option<&Stroke>| {
            let gap = gaps.between(Some(&stroke), next, end - stroke.tick);
            next.map_or(end, |next| next.play_tick) - stroke.play_tick >= gap
        };
        let has_time = comes(before.iter().rfind(mine))
            && comes(before.iter().rfind(other))
            && leaves(after.iter().find(mine))
            && after
                .iter()
                .find(other)
                .is_none_or(|next| leaves(Some(next)));
        if !has_time {
            part.strokes.remove(i);
            part.drop_stroke(stroke);
        }
    }
}

/// The swung position of a tick of the bar.
fn swung(at: Ticks, count: Count, swing: f32, fine: bool) -> Ticks {
    if count.units != 2 {
        return at;
    }
    let pair = if fine { count.len / 2 } else { count.len };
    let half = pair / 2;
    let from = at - (at - count.start) % pair;
    let x = at - from;
    #[expect(clippy::cast_possible_truncation)]
    let long = (f64::from(swing.min(0.75)) * pair as f64).round() as Ticks;
    from + if x <= half {
        x * long / half
    } else {
        long + (x - half) * (pair - long) / (pair - half)
    }
}

/// Whether the core of the beat, at this hand rate, has strokes halfway between its eighths.
fn swings_sixteenths(ctx: &Context, beat: &Beat) -> bool {
    let between = |roles: &[Role]| {
        ctx.layout.resolve(roles).iter().any(|&tick| {
            let (_, count) = ctx.layout.count_of(tick);
            let quarter = count.len / 4;
            count.units == 2 && (tick - count.start) % (2 * quarter) == quarter
        })
    };
    let hand = match (ctx.bar_settings.hand_rate, beat.lead.figure) {
        (HandRate::Auto, Figure::Roles(bars)) => bars.bars().any(between),
        (HandRate::Auto, Figure::Rate(rate)) | (rate, _) => rate == HandRate::Sixteenths,
    };
    hand || beat.kick.bars().chain(beat.snare.bars()).any(between)
}
