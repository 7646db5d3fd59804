//! Velocities: the level, weight and offset of every stroke.
//!
//! velocity = level(intensity) + accent x weight + offset. The sum is bent softly towards 1 and 127, so that
//! nothing is clipped flat. Weights average zero over the core strokes of a part and extras have none: accent
//! widens the spread and keeps the mean. Intensity moves the level alone, so it never lowers a stroke.
//!
//! The orderings are common practice, no source: backbeat over other snares, ghost notes far below, counts over
//! off-beats on the cymbal. Their sizes are based on the Groove MIDI Dataset (Gillick et al. 2019, CC BY 4.0), as
//! measured on its 211 rock and punk performances: backbeat mean velocity 123, cymbal on the beat 20 above off the
//! beat, kick spread 14.6.

use super::chance::{Decision, chance};
use super::context::Context;
use super::roles::Stress;
use super::stroke::{Limb, Part, Stroke, StrokeTarget};
use crate::kit::Piece;
use crate::settings::StrokeSettings;

/// Velocity of an average stroke at intensity 0 and at 1.
const LEVEL: (f32, f32) = (60.0, 106.0);
/// Velocity that accent 1 adds to a stroke of weight 1.
const DEPTH: f32 = 34.0;
/// How far a ghost note lies below the level, in velocity.
const GHOST: f32 = -38.0;
/// How far an extra kick of the other foot lies below the level, in velocity.
const OTHER_FOOT_EXTRA: f32 = -4.0;
/// The weight of an unaccented stroke in a groove on drums.
const TAP_WEIGHT: f32 = -0.4;
/// How much softer feet are at full speed than at ease, in velocity. Then the times between kicks, in seconds, that
/// count as full speed and as ease. Judged, no source.
const FAST_FEET: f32 = 9.0;
const FEET_AT_SPEED_S: f64 = 0.060;
pub(super) const FEET_AT_EASE_S: f64 = 0.160;
/// The greatest random deviation of a stroke from its planned velocity, either way.
const TOUCH: f32 = 3.0;
/// The upper bend: velocities above the first approach the second and never reach it.
const CEILING: (f32, f32) = (114.0, 127.4);
/// The lower bend: velocities below the first approach the second. Samplers' quietest layers start about here.
const FLOOR: (f32, f32) = (24.0, 8.0);

/// Sets the weight and the velocity offset of every stroke of a finished part.
pub(super) fn weigh(ctx: &Context, part: &mut Part) {
    let start = part.bar.start;
    let (mut sum, mut core) = (0.0, 0_u16);
    let is_kick = |stroke: &&Stroke| stroke.target == StrokeTarget::Piece(Piece::Kick);
    // Assumes that the bar before ended as this one does.
    let last_kick = part.strokes.iter().rfind(is_kick);
    let mut last_kick = last_kick.map(|kick| kick.tick - ctx.layout.bar_len);
    for stroke in &mut part.strokes {
        if stroke.target == StrokeTarget::Piece(Piece::Kick) {
            let gap = last_kick.map_or(f64::INFINITY, |last| ctx.seconds(stroke.tick - last));
            stroke.velocity_offset += hurry(gap);
            last_kick = Some(stroke.tick);
        }
        let at = stroke.tick - start;
        let index = at.unsigned_abs() * 4 + stroke.limb as u64;
        let draw = chance(ctx.bar_settings.take, start, Decision::Touch, index);
        let tap = stroke.velocity_offset < 0.0 && stroke.limb < Limb::LeadFoot;
        stroke.velocity_offset += (draw * 2.0 - 1.0) * TOUCH;
        if stroke.rank > 0.0 {
            if stroke.target == StrokeTarget::Piece(Piece::Snare) {
                stroke.velocity_offset += GHOST;
            } else if stroke.limb == Limb::OtherFoot {
                stroke.velocity_offset += OTHER_FOOT_EXTRA;
            }
            continue;
        }
        let in_fill = part
            .fill
            .is_some_and(|fill| (fill.start..fill.end).contains(&stroke.tick));
        if in_fill && stroke.limb < Limb::LeadFoot {
            // The fill has set its weight already.
        } else if tap {
            stroke.weight = TAP_WEIGHT;
        } else {
            stroke.weight = weight(stroke, ctx.layout.stress(at));
        }
        sum += stroke.weight;
        core += 1;
    }
    if core > 0 {
        let mean = sum / f32::from(core);
        part.strokes
            .iter_mut()
            .filter(|s| s.rank == 0.0)
            .for_each(|s| s.weight -= mean);
    }
}

/// The velocity change of a kick that comes `gap_s` seconds after the last one: 0 or less.
pub(super) fn hurry(gap_s: f64) -> f32 {
    -FAST_FEET * speed(gap_s)
}

/// The speed of feet that kick every `gap_s` seconds, 0 (at ease) to 1 (full speed).
fn speed(gap_s: f64) -> f32 {
    let share = (FEET_AT_EASE_S - gap_s) / (FEET_AT_EASE_S - FEET_AT_SPEED_S);
    #[expect(clippy::cast_possible_truncation)]
    let share = share.clamp(0.0, 1.0) as f32;
    share
}

/// The accent pattern: the weight of a core stroke by its place, limb and piece.
fn weight(stroke: &Stroke, stress: Stress) -> f32 {
    let second_limb = if stroke.limb == Limb::OtherFoot {
        0.12
    } else {
        0.0
    };
    match stroke.target {
        StrokeTarget::Opening { .. } => 0.9,
        StrokeTarget::Piece(Piece::CrashLeft | Piece::CrashRight | Piece::China)
            if stress == Stress::Strong => 0.9,
        StrokeTarget::Lifted => 0.3,
        StrokeTarget::HandCymbal => match stress {
            Stress::Strong => 0.2,
            Stress::Back | Stress::Count => 0.1,
            Stress::Unit => -0.45,
            Stress::Off => -0.6,
        },
        StrokeTarget::Piece(Piece::Kick) => match stress {
            Stress::Strong => 0.4,
            Stress::Back | Stress::Count => 0.2,
            Stress::Unit => 0.05 - second_limb,
            Stress::Off => -0.15 - second_limb,
        },
        StrokeTarget::Piece(Piece::Snare | Piece::SideStick) => match stress {
            Stress::Back | Stress::Strong => 0.95,
            Stress::Count => 0.65,
            Stress::Unit | Stress::Off => 0.45,
        },
        StrokeTarget::Piece(Piece::HiHatFoot) => -0.4,
        StrokeTarget::Piece(_) => match stress {
            Stress::Strong | Stress::Back | Stress::Count => 0.3,
            Stress::Unit | Stress::Off => -0.2,
        },
    }
}

/// The velocity steps by which a change of intensity moves the level.
pub(super) fn level_step(change: f32) -> f32 {
    (LEVEL.1 - LEVEL.0) * change
}

/// The MIDI velocity of a stroke with the settings of its moment, 1..=127.
pub(super) fn velocity(stroke: &Stroke, stroke_settings: &StrokeSettings) -> u8 {
    let level = LEVEL.0 + (LEVEL.1 - LEVEL.0) * stroke_settings.intensity;
    let wished = level + stroke_settings.accent * DEPTH * stroke.weight + stroke.velocity_offset;
    let bend = |v: f32, (knee, end): (f32, f32)| {
        let room = end - knee;
        knee + room * (1.0 - (-(v - knee) / room).exp())
    };
    let bent = if wished > CEILING.0 {
        bend(wished, CEILING)
    } else if wished < FLOOR.0 {
        bend(wished, FLOOR)
    } else {
        wished
    };
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let velocity = bent.round().clamp(1.0, 127.0) as u8;
    velocity
}
