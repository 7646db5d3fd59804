//! Fills: how a phrase ends.
//!
//! A fill is a sticking over the last counts of the bar, hand to hand, on a path over the kit. It
//! lands on the next phrase's opening crash.

use super::bar::Context;
use super::beat::Beat;
use super::chance::{Decision, chance};
use super::roles::{Layout, Role, TickList};
use super::stroke::{Limb, Part, Voice};
use crate::kit::Piece::{self, CrashRight, FloorHigh, FloorLow, Kick, RackHigh, RackLow, Snare};
use crate::time::{TICKS_PER_QUARTER, Ticks, Value};

/// One fill, as data.
#[derive(Debug)]
pub struct Fill {
    /// Its name.
    pub name: &'static str,
    /// How many counts it takes; the whole bar where the bar is shorter.
    pub counts: usize,
    /// One letter a step, repeated to the end of the bar: `o` the next hand, `b` both hands
    /// together, the other on the snare (so not over the snare itself, and followed by a
    /// step without hands), `k` kick, `x` crash and kick, `.` rest.
    pub sticking: &'static str,
    /// The pieces that it moves over, in even shares of its length.
    pub path: &'static [Piece],
    /// Three or six to a count rather than four.
    pub triplets: bool,
}

const fn fill(
    counts: usize,
    name: &'static str,
    sticking: &'static str,
    path: &'static [Piece],
) -> Fill {
    Fill {
        name,
        counts,
        sticking,
        path,
        triplets: false,
    }
}

const DOWN_THE_TOMS: &[Piece] = &[Snare, RackHigh, RackLow, FloorLow];

/// The fills to choose from. Common practice, no source.
pub static FILLS: [Fill; 14] = [
    fill(1, "snare pick-up", "oooo", &[Snare]),
    fill(1, "snare to floor", "oooo", &[Snare, FloorLow]),
    fill(1, "two rack, two floor", "oooo", &[RackHigh, FloorLow]),
    fill(1, "unison hits", "b.b.", &[FloorLow]),
    fill(2, "down the toms", "oooo", DOWN_THE_TOMS),
    fill(2, "broken sixteenths", "o.oo", &[Snare, RackLow, FloorLow]),
    fill(2, "hands and feet", "ookk", &[Snare, FloorLow]),
    fill(
        2,
        "snare roll into floor",
        "oooo",
        &[Snare, Snare, Snare, FloorLow],
    ),
    fill(2, "stabs", "x..oo...", &[Snare]),
    fill(
        4,
        "long way down",
        "oooo",
        &[Snare, RackHigh, RackLow, FloorHigh, FloorLow],
    ),
    fill(4, "hands and feet around the kit", "ookk", DOWN_THE_TOMS),
    fill(
        4,
        "accents and rolls",
        "b.oob.oo",
        &[RackHigh, RackLow, FloorLow],
    ),
    Fill {
        triplets: true,
        ..fill(2, "triplets down", "ooo", DOWN_THE_TOMS)
    },
    Fill {
        triplets: true,
        ..fill(2, "hand, hand, foot", "ook", &[Snare, RackLow, FloorLow])
    },
];

/// Plays a fill over the end of the part.
pub(super) fn play(ctx: &Context, beat: &Beat, part: &mut Part) {
    let counts = ctx.layout.counts.len();
    let mut fitting: arrayvec::ArrayVec<&Fill, { FILLS.len() }> = arrayvec::ArrayVec::new();
    let feels = |fill: &&Fill| fill.triplets == (beat.feel == super::beat::Feel::Triplets);
    fitting.extend(
        FILLS
            .iter()
            .filter(|fill| fill.counts <= counts)
            .filter(feels),
    );
    // Two beats draw different fills at the same place.
    let style = u64::from(ctx.plan.style);
    let draw = chance(ctx.plan.take, ctx.bar.start, Decision::FillShape, style);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let pick = (draw * fitting.len() as f32) as usize;
    let fill = fitting.get(pick).copied().unwrap_or(&FILLS[0]);

    let first = ctx.layout.counts[counts.saturating_sub(fill.counts)].start;
    let steps = steps(ctx, fill, first);
    clear(ctx, fill, first, part);
    part.fill = Some((ctx.bar.start + first, fill.name));
    stick(ctx, beat, fill, first, &steps, part);
}

/// The fill's steps: as fine as two hands can go at this tempo.
fn steps(ctx: &Context, fill: &Fill, first: Ticks) -> TickList {
    let finest = if fill.triplets {
        Value::Triplet
    } else {
        Value::Sixteenth
    };
    let gap = ctx.ticks(ctx.limits.hands_s);
    // Hand to hand, every other step is one hand's, on its way around the kit.
    let hand_gap = ctx.ticks(ctx.limits.hand_s + ctx.limits.travel_s);
    let mut steps = TickList::new();
    for value in [finest, Value::Eighth, Value::Quarter] {
        steps = ctx.layout.resolve(&[Role::Run(value)]);
        let playable = |w: &[Ticks]| w[1] - w[0] >= gap && (w[1] - w[0]) * 2 >= hand_gap;
        if steps.windows(2).all(playable) {
            break;
        }
    }
    steps.retain(|tick| *tick >= first);
    steps
}

/// Takes away what the fill replaces: the hands, and the kicks but those on counts.
fn clear(ctx: &Context, fill: &Fill, first: Ticks, part: &mut Part) {
    let (start, layout): (_, &Layout) = (ctx.bar.start, &ctx.layout);
    let own_kicks = fill.sticking.contains(['k', 'x']);
    part.strokes.retain(|stroke| {
        let at = stroke.tick - start;
        let on_count = layout.counts.iter().any(|count| count.start == at);
        at < first
            || (stroke.voice == Voice::Piece(Kick) && stroke.rank == 0.0 && on_count && !own_kicks)
    });
}

fn stick(ctx: &Context, beat: &Beat, fill: &Fill, first: Ticks, steps: &TickList, part: &mut Part) {
    let len = ctx.layout.bar_len - first;
    let hand_gap = ctx.ticks(ctx.limits.hand_s);
    let letter = |i: usize| fill.sticking.as_bytes()[i % fill.sticking.len()];
    let is_hand = |i: usize| letter(i) == b'o';
    let mut used = steps.len();
    // The last strokes must leave the other hand free for its first of the next phrase.
    let bar_len = ctx.layout.bar_len;
    let first_of = |roles| ctx.layout.resolve(roles).first().copied();
    let (snare, ghost) = (first_of(beat.snare[0]), first_of(beat.ghosts));
    let landing = bar_len + snare.into_iter().chain(ghost).min().unwrap_or(bar_len);
    used -= steps
        .iter()
        .rev()
        .take_while(|&&tick| landing - tick < hand_gap)
        .count();
    // The last of the hands' strokes goes to the other hand, so that the lead hand can land.
    let strokes = (0..used).filter(|&i| is_hand(i)).count();
    let mut turn = strokes % 2;
    // A fill from the 1 on begins with the lead hand: the other may come from the bar before.
    if first == 0 && turn == 1 {
        turn = 0;
        used = (0..used).rev().find(|&i| is_hand(i)).unwrap_or(used);
    }
    for (i, &at) in steps[..used].iter().enumerate() {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let share = ((at - first) as f64 / len as f64 * fill.path.len() as f64) as usize;
        let piece = Voice::Piece(fill.path[share.min(fill.path.len() - 1)]);
        match letter(i) {
            b'o' => {
                strike(
                    part,
                    at,
                    [Limb::LeadHand, Limb::OtherHand][turn],
                    piece,
                    hand_gap,
                );
                turn = 1 - turn;
            }
            b'b' => {
                strike(part, at, Limb::LeadHand, piece, hand_gap);
                strike(part, at, Limb::OtherHand, Voice::Piece(Snare), hand_gap);
            }
            b'k' => part.push(at, Limb::LeadFoot, Voice::Piece(Kick), 0.0),
            b'x' => {
                strike(part, at, Limb::LeadHand, Voice::Piece(CrashRight), hand_gap);
                part.push(at, Limb::LeadFoot, Voice::Piece(Kick), 0.0);
            }
            _ => {}
        }
    }
}

/// Strikes with a hand if it can be there and, the lead hand, on the next 1 again: a stroke of the
/// beat that is in its way before the fill is given up, one of the fill's own is kept and this one
/// left out.
fn strike(part: &mut Part, at: Ticks, limb: Limb, voice: Voice, gap: Ticks) {
    let (tick, fill) = (
        part.bar.start + at,
        part.fill.map_or(part.bar.start, |(start, _)| start),
    );
    part.strokes
        .retain(|s| !(s.limb == limb && s.tick < fill && tick - s.tick < gap));
    // Where the fill takes the whole bar, the other hand may come from the last sixteenth before.
    let comes = limb != Limb::OtherHand || at > 0 || gap <= TICKS_PER_QUARTER / 4;
    let lands = limb != Limb::LeadHand || tick + gap <= part.bar.end();
    if comes && lands && !part.busy(limb, at, gap, gap) {
        part.push(at, limb, voice, 0.0);
    }
}
