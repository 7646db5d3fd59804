//! What a bar plays because of its place in the phrase: the crash that opens it, small variations every fourth and
//! eighth bar, count-ins and endings. `filled` has the fills.
//!
//! Common practice, no source. No decision depends on earlier output.

mod filled;

use super::beat::{Beat, Hands};
use super::chance::{Decision, bits};
use super::context::{Call, Context};
use super::limbs;
use super::roles::{On, Role, Stress, Sub};
use super::stroke::{Limb, Part, Stroke, StrokeTarget};
use crate::kit::Piece;
use crate::settings::{Play, Start};
pub(super) use filled::{at_end, come_home, fill, ground, land, landing};
pub use filled::{ends_in_fill, ends_on_floor_toms};

/// The minimum intensity for the crash that opens a phrase, by the bars that divide the phrase's start: every
/// eighth bar, every fourth, every second. Tuned by ear: a quiet part has few crashes.
const CRASH_NEEDS: [(i64, f32); 3] = [(8, 0.2), (4, 0.4), (2, 0.75)];

/// The velocity offset of the snare pick-up into the next bar.
const PICK_UP_SHADE: f32 = -10.0;
/// The minimum intensity for a crash on the last count of a four-bar group.
const PUNCTUATION_NEEDS: f32 = 0.6;

/// The minimum intensity of the bar's opening crash; `None` where the bar has no crash.
pub(super) fn opening(ctx: &Context, beat: &Beat, call: &Call) -> Option<f32> {
    let starts = ctx.phrase.index == 0;
    let start = ctx
        .section_position
        .filter(|section_position| section_position.index == 0)
        .map(|section_position| section_position.start);
    match start {
        Some(Start::Crash | Start::China) => return Some(0.0),
        Some(Start::Nothing) => return None,
        Some(Start::Auto | Start::CountIn) | None => {}
    }
    if landing(ctx, beat, call).is_some_and(|landing| landing.crash) {
        return Some(0.0);
    }
    let index = ctx.bar.index();
    let row = CRASH_NEEDS
        .iter()
        .find(|(bars, _)| index.rem_euclid(*bars) == 0);
    (beat.opens && starts).then(|| row.map_or(1.0, |(_, min_intensity)| *min_intensity))
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

/// The last hit: kick and crashes together on the 1, ringing.
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
        StrokeTarget::Opening { rides: false },
        0.0,
    ));
    part.push_stroke(hit(
        Limb::OtherHand,
        StrokeTarget::Piece(Piece::CrashRight),
        0.5,
    ));
    part.push_stroke(hit(Limb::LeadFoot, StrokeTarget::Piece(Piece::Kick), 0.0));
}

/// Varies the last bar of every four, and the last of every eight more, unless a fill does. The groove stays the
/// same without repeating one bar sixteen times.
pub(super) fn vary(ctx: &Context, beat: &Beat, part: &mut Part) {
    let wished = match ctx.bar.index().rem_euclid(8) {
        7 => 2,
        3 => 1,
        _ => return,
    };
    let draw = bits(ctx.bar_settings.take, ctx.bar.start, Decision::Variation, 0);
    let ways: [fn(&Context, &Beat, &mut Part) -> bool; 4] = [lift, push, pick_up, punctuate];
    #[expect(clippy::cast_possible_truncation)]
    let first = draw as usize % ways.len();
    let in_turn = (0..ways.len()).map(|i| ways[(first + i) % ways.len()]);
    let mut done = 0;
    for way in in_turn.chain([join as fn(&Context, &Beat, &mut Part) -> bool, breathe]) {
        if done < wished && way(ctx, beat, part) {
            done += 1;
        }
    }
}

/// Emphasises the lead hand's last off-beat stroke, or its last stroke where it has none.
fn lift(ctx: &Context, beat: &Beat, part: &mut Part) -> bool {
    let start = part.bar.start;
    let off = |s: &Stroke| {
        let stress = ctx.layout.stress(s.tick - start);
        matches!(stress, Stress::Unit | Stress::Off)
    };
    let rides = |s: &&mut Stroke| s.target == StrokeTarget::HandCymbal;
    let strokes = part.strokes.iter_mut().filter(rides);
    let last = strokes.max_by_key(|s| (off(s), s.tick));
    match last {
        Some(stroke) if beat.lead.hands == Hands::Lead => {
            stroke.target = StrokeTarget::Lifted;
            true
        }
        _ => false,
    }
}

/// Plays one of the beat's extra kicks, late in the bar, at every density.
fn push(ctx: &Context, beat: &Beat, part: &mut Part) -> bool {
    let start = part.bar.start;
    let gap = ctx.ticks(ctx.limits.feet_s);
    for &at in ctx.layout.resolve(beat.pushes).iter().rev() {
        let here = |s: &&mut Stroke| {
            s.tick == start + at && s.target == StrokeTarget::Piece(Piece::Kick) && s.rank > 0.0
        };
        if let Some(kick) = part.strokes.iter_mut().find(here) {
            kick.rank = 0.0;
            return true;
        }
    }
    let at = ctx.layout.resolve(&[Role::At(On::Last, Sub::And)])[0];
    let free = at + gap <= ctx.layout.bar_len && !part.busy(Limb::LeadFoot, at, gap, gap);
    if free && beat.lead.hands == Hands::Lead {
        part.push(at, Limb::LeadFoot, StrokeTarget::Piece(Piece::Kick), 0.0);
    }
    free
}

/// Adds a snare pick-up into the next bar.
fn pick_up(ctx: &Context, beat: &Beat, part: &mut Part) -> bool {
    let gap = ctx.ticks(ctx.limits.hand_s);
    let Some(&first) = ctx.layout.resolve(beat.snare[0]).first() else {
        return false;
    };
    let landing = ctx.layout.bar_len + first;
    for sub in [Sub::A, Sub::And] {
        for &tick in &ctx.layout.resolve(&[Role::At(On::Last, sub)]) {
            let stroke = Stroke {
                tick,
                limb: Limb::OtherHand,
                target: StrokeTarget::Piece(beat.snare_piece),
                velocity_offset: PICK_UP_SHADE,
                ..Stroke::EMPTY
            };
            let free = landing - tick >= gap && limbs::is_free(ctx, part, &stroke);
            if free && beat.lead.hands == Hands::Lead {
                part.push_stroke(stroke);
                return true;
            }
        }
    }
    false
}

/// Adds the other hand on the second crash on the last count.
fn join(ctx: &Context, beat: &Beat, part: &mut Part) -> bool {
    let last = ctx.layout.counts[ctx.layout.counts.len() - 1].start;
    let stroke = Stroke {
        tick: last,
        limb: Limb::OtherHand,
        target: StrokeTarget::Piece(Piece::CrashRight),
        min_intensity: PUNCTUATION_NEEDS,
        ..Stroke::EMPTY
    };
    let back = last + ctx.ticks(ctx.limits.hand_s + ctx.limits.travel_s) <= ctx.layout.bar_len;
    let tick = part.bar.start + last;
    let lifted = |s: &Stroke| s.tick == tick && s.target == StrokeTarget::Lifted;
    let alone = !part.strokes.iter().any(lifted);
    let joins = beat.opens && last > 0 && back && alone && limbs::is_free(ctx, part, &stroke);
    if joins {
        part.push_stroke(stroke);
    }
    joins
}

/// Pauses running kicks before the next 1.
fn breathe(ctx: &Context, beat: &Beat, part: &mut Part) -> bool {
    let kicks = part
        .strokes
        .iter()
        .filter(|s| s.target == StrokeTarget::Piece(Piece::Kick));
    let runs = kicks.count() >= ctx.layout.counts.len() * 3;
    let last = ctx.layout.counts[ctx.layout.counts.len() - 1];
    let from = part.bar.start + last.start + last.len / 2;
    if runs && !beat.follows_riff {
        part.strokes
            .retain(|s| s.target != StrokeTarget::Piece(Piece::Kick) || s.tick < from);
    }
    runs && !beat.follows_riff
}

/// Crashes the last count.
fn punctuate(ctx: &Context, beat: &Beat, part: &mut Part) -> bool {
    let start = part.bar.start;
    let last = ctx.layout.counts[ctx.layout.counts.len() - 1].start;
    let here = |s: &&mut Stroke| s.tick == start + last && s.target == StrokeTarget::HandCymbal;
    // The china opens on itself, so there is no other crash.
    let other = part.own != super::HandCymbal::China;
    match part.strokes.iter_mut().find(here) {
        Some(stroke) if other && beat.opens && last > 0 && stroke.limb == Limb::LeadHand => {
            stroke.target = StrokeTarget::Opening { rides: true };
            stroke.min_intensity = PUNCTUATION_NEEDS;
            true
        }
        _ => false,
    }
}
