//! Velocities: the level, weight and touch of every stroke.
//!
//! velocity = level(kind, intensity) + accent x weight(place) + touch(accent) + offset. The sum is bent softly at both
//! ends, so that nothing is clipped flat. Weights average zero over the strokes of a kind in a part: accent widens
//! the spread and keeps the mean. Intensity moves the level alone, and every draw is independent of it, so it never
//! lowers a stroke.
//!
//! The orderings are common practice, no source: backbeat over other snares, ghost notes far below, counts over
//! off-beats on the cymbal, the 1 over the other kicks. Sizes are those of the Groove MIDI Dataset (Gillick et al.
//! 2019, CC BY 4.0), measured by us on 112 rock and punk performances: see [`StrokeKind`] and `evening`.

use super::beat::Beat;
use super::chance::{Decision, bits};
use super::context::Context;
use super::draws::{heavy, normal, small_normal};
use super::drift::SlowTouch;
use super::evening::Evening;
use super::roles::Stress;
use super::stroke::{Limb, Part, Stroke, StrokeTarget, Version};
use super::stroke_kind::{StrokeKind, is_hand};
use crate::kit::Piece;
use crate::settings::StrokeSettings;
use crate::time::Ticks;

/// Velocity that accent 1 adds to a stroke of weight 1.
const DEPTH: f32 = 36.0;
/// The share of the touch that accent 0 leaves.
const LEAST_TOUCH: f32 = 0.2;
/// The parts of the touch as shares of its variance: slow, a count's, all limbs' at one tick, the stroke's own.
/// Tuned on the measured memory and coupling of velocities.
const TOUCH_SHARES: [f32; 4] = [0.12, 0.12, 0.09, 0.67];

/// How far an extra kick lies below the level, and one of the other foot lower still, in velocity. Measured: kicks on
/// the last sixteenth of 2 and 4 are 12 and 11 softer than the performance's mean.
const EXTRA_KICK: f32 = -7.0;
const OTHER_FOOT: f32 = -2.0;
/// The weight of an unaccented stroke in a groove on drums.
const TAP_WEIGHT: f32 = -0.4;
/// How much softer feet are at full speed than at ease, in velocity. Then the times between kicks, in seconds, that
/// count as full speed and as ease. Judged, no source.
const FAST_FEET: f32 = 6.0;
const FEET_AT_SPEED_S: f64 = 0.060;
pub(super) const FEET_AT_EASE_S: f64 = 0.160;
/// The same for the hand on the snare: the stick has less time to rise. Judged, no source.
const FAST_SNARE: f32 = 16.0;
const SNARE_AT_SPEED_S: f64 = 0.090;
const SNARE_AT_EASE_S: f64 = 0.280;
/// The greatest time between kicks that are played as a run, evenly, in seconds. Judged.
const RUN_S: f64 = 0.160;
/// What the phrase adds, in velocity: towards the end of a phrase of four, of eight, and after a fill has landed.
/// Judged, no source.
const LEAN: f32 = 4.0;
const LEAN_OF_EIGHT: f32 = 6.0;
const SETTLE: f32 = -3.0;
/// The upper bend: velocities above the first approach the second, and 127 is the most. 147 gives 127.
const CEILING: (f32, f32) = (118.0, 130.0);
/// The lower bend: velocities below the first approach the second. Samplers' quietest layers start about here.
const FLOOR: (f32, f32) = (26.0, 11.0);

/// Sets the kind, the weight, the touch and the velocity offset of every stroke of a finished part.
pub(super) fn weigh(ctx: &Context, beat: &Beat, evening: &Evening, part: &mut Part) {
    let start = part.bar.start;
    let fill = part.fill;
    let arc = Arc::new(ctx, part);
    let mut touch = Touch::new(ctx.bar_settings.take);
    let mut kicks = Rate::new(part, StrokeKind::Kick, ctx.layout.bar_len);
    let mut snares = Rate::new(part, StrokeKind::Backbeat, ctx.layout.bar_len);
    for stroke in &mut part.strokes {
        let at = stroke.tick - start;
        let hand = is_hand(stroke.limb);
        let in_fill = hand && fill.is_some_and(|fill| fill.contains(stroke.tick));
        let tap = hand && stroke.velocity_offset < 0.0 && !in_fill;
        stroke.kind = StrokeKind::of(stroke, tap, in_fill);
        stroke.touch = touch.of(ctx, evening, stroke, at);
        stroke.velocity_offset += arc.at(at);
        let stress = ctx.layout.stress(at);
        let mut runs = false;
        match stroke.kind {
            StrokeKind::Kick => {
                let gap = kicks.gap_s(ctx, stroke.tick);
                runs = gap < RUN_S;
                stroke.velocity_offset += hurry(gap);
                if stroke.limb == Limb::OtherFoot {
                    stroke.velocity_offset += OTHER_FOOT;
                }
                if stroke.rank > 0.0 {
                    stroke.velocity_offset += EXTRA_KICK;
                }
            }
            StrokeKind::Backbeat => {
                let gap = snares.gap_s(ctx, stroke.tick);
                stroke.velocity_offset -=
                    FAST_SNARE * speed(gap, SNARE_AT_SPEED_S, SNARE_AT_EASE_S);
            }
            StrokeKind::Ghost => stroke.velocity_offset += evening.ghosts(),
            _ => {}
        }
        if in_fill {
            // The fill has set its weight already.
        } else if stroke.rank > 0.0 {
            stroke.weight = 0.0;
        } else if tap {
            stroke.weight = TAP_WEIGHT;
        } else {
            stroke.weight = weight(evening, stroke, at, stress, runs);
        }
    }
    if let Some(plan) = beat.own {
        plan.weigh(ctx, part);
    }
    centre(part);
}

/// How far a single stroke of the bar deviates from what was meant, in velocity at accent 1.
pub(super) fn touch(ctx: &Context, evening: &Evening, stroke: &Stroke) -> f32 {
    let at = stroke.tick - ctx.bar.start;
    Touch::new(ctx.bar_settings.take).of(ctx, evening, stroke, at)
}

/// The kinds whose weights are told against each other: what one hand or foot plays.
const GROUPS: [&[StrokeKind]; 4] = [
    &[StrokeKind::Cymbal],
    &[StrokeKind::Kick],
    &[
        StrokeKind::Backbeat,
        StrokeKind::SideStick,
        StrokeKind::Drum,
    ],
    &[StrokeKind::Pedal],
];

/// Takes the mean weight off the core strokes of each group.
fn centre(part: &mut Part) {
    for kinds in GROUPS {
        let in_group = |s: &&mut Stroke| s.rank == 0.0 && kinds.contains(&s.kind);
        let (mut sum, mut n) = (0.0, 0_u16);
        for stroke in part.strokes.iter_mut().filter(in_group) {
            // Others don't sound at every intensity, or only in the bare beat.
            if stroke.min_intensity == 0.0 && stroke.version != Version::Bare {
                sum += stroke.weight;
                n += 1;
            }
        }
        let mean = sum / f32::from(n.max(1));
        for stroke in part.strokes.iter_mut().filter(in_group) {
            stroke.weight -= mean;
        }
    }
}

/// The time between the strokes of one kind, in the order of the grid.
struct Rate {
    last: Option<Ticks>,
}

impl Rate {
    /// Assumes that the bar before ended as this one does.
    fn new(part: &Part, kind: StrokeKind, bar_len: Ticks) -> Self {
        let piece = if kind == StrokeKind::Kick {
            Piece::Kick
        } else {
            Piece::Snare
        };
        let of_piece = |s: &&Stroke| {
            s.target == StrokeTarget::Piece(piece) && (s.rank == 0.0 || piece == Piece::Kick)
        };
        let last = part.strokes.iter().rfind(of_piece);
        Self {
            last: last.map(|s| s.tick - bar_len),
        }
    }

    /// Seconds since the last stroke; infinite for the first.
    fn gap_s(&mut self, ctx: &Context, tick: Ticks) -> f64 {
        let last = self.last.replace(tick);
        last.map_or(f64::INFINITY, |last| ctx.seconds(tick - last))
    }
}

/// The shape of the dynamics over a phrase: its last bar leans forward, and a bar settles after a fill.
struct Arc {
    bar_len: Ticks,
    lean: f32,
    settle: f32,
}

impl Arc {
    fn new(ctx: &Context, part: &Part) -> Self {
        let lean = match ctx.phrase.bars {
            _ if ctx.phrase.left() != 1 || part.fill.is_some() => 0.0,
            ..2 => 0.0,
            2..8 if ctx.bar.index().rem_euclid(8) != 7 => LEAN,
            _ => LEAN_OF_EIGHT,
        };
        let lands = |s: &Stroke| {
            matches!(s.target, StrokeTarget::Opening { .. })
                && s.tick == part.bar.start
                && s.min_intensity == 0.0
        };
        // A new section does not settle: it begins.
        let inside = ctx.section_position.is_none_or(|section| section.index > 0);
        let settle = if inside && part.strokes.iter().any(lands) {
            SETTLE
        } else {
            0.0
        };
        Self {
            bar_len: ctx.layout.bar_len,
            lean,
            settle,
        }
    }

    /// What it adds at a place in the bar, in velocity.
    fn at(&self, at: Ticks) -> f32 {
        let share = at as f32 / self.bar_len as f32;
        let settles = if at > 0 { self.settle } else { 0.0 };
        self.lean * share + settles
    }
}

/// How far strokes deviate from what was meant. It caches what neighbouring strokes share for the walk over a bar; its
/// values never depend on the cache.
struct Touch {
    take: u32,
    slow: SlowTouch,
    /// By kind: the start of the last count, and its part.
    of_count: [Option<(Ticks, f32)>; StrokeKind::ALL.len()],
    /// The last tick, and what all limbs share there.
    together: Option<(Ticks, f32)>,
}

impl Touch {
    fn new(take: u32) -> Self {
        Self {
            take,
            slow: SlowTouch::new(take),
            of_count: [None; StrokeKind::ALL.len()],
            together: None,
        }
    }

    /// The deviation of a stroke, in velocity at accent 1.
    fn of(&mut self, ctx: &Context, evening: &Evening, stroke: &Stroke, at: Ticks) -> f32 {
        let (take, kind, tick) = (self.take, stroke.kind, stroke.tick);
        let (_, count) = ctx.layout.count_of(at);
        let count_tick = tick - at + count.start;
        #[expect(clippy::cast_possible_truncation)]
        let slow = self.slow.at(kind, tick) as f32;
        let of_count = known(&mut self.of_count[kind as usize], count_tick, || {
            normal(bits(take, count_tick, Decision::TouchInCount, kind as u64))
        });
        let together = known(&mut self.together, tick, || {
            small_normal(bits(take, tick, Decision::Together, 0))
        });
        let parts = [slow, of_count, together, heavy(own_bits(take, stroke))];
        let z: f32 = parts
            .into_iter()
            .zip(TOUCH_SHARES)
            .map(|(part, share)| part * share.sqrt())
            .sum();
        z * kind.figures().touch * evening.unevenness(kind)
    }
}

/// The value at a place: the last one where it is the same place, else a new one, which is then the last.
fn known(last: &mut Option<(Ticks, f32)>, place: Ticks, value: impl FnOnce() -> f32) -> f32 {
    match *last {
        Some((at, value)) if at == place => value,
        _ => last.insert((place, value())).1,
    }
}

/// The random bits of a single stroke: the lowest 16 for its touch, the next for its timing.
pub(super) fn own_bits(take: u32, stroke: &Stroke) -> u64 {
    let index = stroke.limb as u64 + 4 * u64::from(stroke.grace > 0);
    bits(take, stroke.tick, Decision::Stroke, index)
}

/// The velocity change of a kick that comes `gap_s` seconds after the last one: 0 or less.
pub(super) fn hurry(gap_s: f64) -> f32 {
    -FAST_FEET * speed(gap_s, FEET_AT_SPEED_S, FEET_AT_EASE_S)
}

/// The speed of strokes that come every `gap_s` seconds, 0 (at ease) to 1 (full speed).
fn speed(gap_s: f64, at_speed_s: f64, at_ease_s: f64) -> f32 {
    let share = (at_ease_s - gap_s) / (at_ease_s - at_speed_s);
    #[expect(clippy::cast_possible_truncation)]
    let share = share.clamp(0.0, 1.0) as f32;
    share
}

/// The accent pattern: the weight of a core stroke by its place and kind, before the mean is taken off. `runs` for a
/// kick in a run, which is played evenly.
fn weight(evening: &Evening, stroke: &Stroke, at: Ticks, stress: Stress, runs: bool) -> f32 {
    match stroke.kind {
        StrokeKind::Cymbal if stroke.target == StrokeTarget::Lifted => 0.3,
        StrokeKind::Cymbal => evening.cymbal_weight(at, stress) / DEPTH,
        // Measured: +9 on the 1, 0 on the other counts and the eighths, -12 and -11 on the last sixteenths of 2 and 4.
        StrokeKind::Kick => match stress {
            _ if at == 0 => 0.55,
            Stress::Strong => 0.25,
            Stress::Back | Stress::Count => 0.1,
            Stress::Unit => -0.1,
            Stress::Off if runs => -0.16,
            Stress::Off => -0.4,
        },
        StrokeKind::Backbeat | StrokeKind::SideStick => match stress {
            Stress::Back => 0.6,
            Stress::Strong | Stress::Count => 0.5,
            Stress::Unit | Stress::Off => 0.4,
        },
        // The crash that opens a bar is as loud at every accent.
        StrokeKind::Crash | StrokeKind::Ghost => 0.0,
        StrokeKind::Pedal => -0.2,
        StrokeKind::Drum => match stress {
            Stress::Strong | Stress::Back | Stress::Count => 0.3,
            Stress::Unit | Stress::Off => -0.2,
        },
    }
}

/// The velocity steps by which a change of intensity moves the strokes of a fill.
pub(super) fn level_step(change: f32) -> f32 {
    let (softest, loudest) = StrokeKind::Drum.figures().level;
    (loudest - softest) * change
}

/// How much of the accent pattern there is room for at a level, 0..=1. Near either end loud and soft strokes come
/// nearer to the level together, so that accent keeps the mean. A weight moves a stroke by less than the widths of
/// these ramps, so intensity still never lowers one.
fn headroom(level: f32) -> f32 {
    const FROM_TOP: (f32, f32) = (145.0, 70.0);
    const FROM_BOTTOM: (f32, f32) = (4.0, 64.0);
    let top = (FROM_TOP.0 - level) / FROM_TOP.1;
    let bottom = (level - FROM_BOTTOM.0) / FROM_BOTTOM.1;
    top.min(bottom).clamp(0.0, 1.0)
}

/// The MIDI velocity of a stroke with the settings of its moment, 1..=127.
pub(super) fn velocity(stroke: &Stroke, stroke_settings: &StrokeSettings) -> u8 {
    let StrokeSettings {
        intensity, accent, ..
    } = *stroke_settings;
    let (softest, loudest) = stroke.kind.figures().level;
    let level = softest + (loudest - softest) * intensity;
    let touch = (LEAST_TOUCH + (1.0 - LEAST_TOUCH) * accent) * stroke.touch;
    let weight = accent * DEPTH * stroke.weight * headroom(level);
    let wished = level + weight + touch + stroke.velocity_offset;
    // Sums and quotients alone, so that every machine plays the same velocity.
    let bend = |v: f32, (knee, end): (f32, f32)| {
        let (room, past) = (end - knee, v - knee);
        knee + room * past / (room + past)
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
