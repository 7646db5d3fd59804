//! What a bar without a fill changes of its groove: a stroke left out, moved or added, an opening of the hi-hat, a
//! turn at the end of a phrase.
//!
//! How often and where is measured on people (Groove MIDI Dataset, Gillick et al. 2019, CC BY 4.0, our measurement
//! of 89 rock and punk performances, 3,645 bars): against the strokes that most of eight bars share, kick, snare and
//! cymbal change 0, 1, 2, 3 or more strokes in 39, 28, 17, 16 %, 49, 23, 12, 16 % and 46, 23, 15, 16 % of bars. Those
//! players had no song to serve. So half of these shares come in just above density 0 and hold from there on, and
//! the other half changes only extras of a high rank: density 1 has people's shares. [`super::beat::Variety`] scales
//! them.
//!
//! Everything is drawn at the bar line. At most [`MOST_TAKEN`] of the beat's own strokes are left out, moved or
//! given another target, the same ones at every density above 0.

mod turns;
mod voices;
mod work;

use super::beat::{Arc, Beat};
use super::chance::Decision;
use super::context::Context;
use super::extras;
use super::stroke::{Limb, Origin, Part, Stroke, StrokeTarget};
use crate::time::Ticks;
use arrayvec::ArrayVec;
use work::{BARELY, Changes, DENSE, Voice, What, Work, choose};

/// Most of the beat's own strokes that a bar's variation takes: leaves out, moves, or gives another target.
pub(super) const MOST_TAKEN: usize = 3;

/// Shares of people's bars with one, two, three, and more changes: lead hand, kick, snare. How three and more divide
/// is judged; the kick's reach furthest, since people's kick bars are the least alike.
const SHARES: [[f32; 6]; 3] = [
    [0.23, 0.15, 0.11, 0.05, 0.0, 0.0],
    [0.28, 0.17, 0.05, 0.04, 0.04, 0.03],
    [0.23, 0.12, 0.10, 0.06, 0.0, 0.0],
];

/// Most changes of a voice that every density above 0 has: with more, a bar is another groove. Judged.
const MOST_OF_VOICE: u64 = 4;

/// How often a beat of full variety lifts a stroke of the lead hand. People open the hi-hat in 34 % of the bars that
/// ride it; the other openings are those of `hi_hat`.
const LIFTS: f32 = 0.2;

/// The velocity offset of the snare pick-up into the next bar.
const PICK_UP_SHADE: f32 = -10.0;

/// By how much the places among eight bars scale the shares; each has a mean of 1. Judged.
const GROOVE: [f32; 8] = [0.6, 0.9, 1.0, 1.4, 0.8, 1.0, 1.0, 1.3];
const STEADY: [f32; 8] = [0.0, 0.3, 0.4, 2.4, 0.2, 0.4, 0.9, 3.4];

/// Varies a bar. Returns whether it took any of the beat's own strokes: then the bar without variation is another
/// than this one at density 0. `feet_follow`: the feet play a riff. `opens`: from this tick of the bar on, the hi-hat
/// opens into the next bar, so the lead hand's strokes stay.
pub(super) fn vary(
    ctx: &Context,
    beat: &Beat,
    feet_follow: bool,
    opens: Option<Ticks>,
    part: &mut Part,
) -> bool {
    let opens = opens.map_or(Ticks::MAX, |at| part.bar.start + at);
    let held = part
        .strokes
        .iter()
        .filter(|s| s.tick >= opens && s.rank == 0.0 && s.is_ridden());
    let held = held.count().min(part.may_take);
    part.may_take -= held;
    let left = part.may_take;
    let mut bar = Work {
        ctx,
        beat,
        part,
        feet_follow,
        opens,
        origin: Origin::Turn,
        touched: ArrayVec::new(),
    };
    let place = ctx.in_eight();
    let arc = match beat.variety.arc {
        Arc::Groove => GROOVE,
        Arc::Steady | Arc::Turns => STEADY,
    };
    let arc = arc.get(place).copied().unwrap_or(1.0);
    if beat.variety.arc == Arc::Turns {
        bar.turn(place);
    }
    bar.origin = Origin::Variation;
    let variety = beat.variety;
    for (voice, scale) in [
        (Voice::Kick, variety.kick),
        (Voice::Snare, variety.snare),
        (Voice::Hand, variety.hand),
    ] {
        let (changes, dense) = bar.wished(voice, scale * arc);
        bar.touched.clear();
        for nth in 0..changes {
            bar.change(voice, dense, nth);
        }
    }
    if bar.draw(Decision::Lift, 0) < LIFTS * (variety.hand * arc).min(1.5) {
        bar.lift();
    }
    let taken = part.may_take < left;
    // For the hi-hat.
    part.may_take += held;
    taken
}

impl Work<'_> {
    /// How many strokes of a voice change, and whether only at high density.
    fn wished(&self, voice: Voice, scale: f32) -> (u64, bool) {
        let mut left = self.draw(Decision::Changes, voice as u64);
        for dense in [false, true] {
            for (changes, share) in (1..).zip(SHARES[voice as usize]) {
                left -= share / 2.0 * scale;
                if left < 0.0 {
                    let most = if dense { changes } else { MOST_OF_VOICE };
                    return (changes.min(most), dense);
                }
            }
        }
        (0, false)
    }

    /// Changes one stroke of a voice. With `dense`, only an extra that high density alone would bring.
    fn change(&mut self, voice: Voice, dense: bool, nth: u64) {
        let mut changes = Changes::new();
        match voice {
            Voice::Hand => self.of_hand(dense, &mut changes),
            Voice::Kick => self.of_kick(dense, &mut changes),
            Voice::Snare => self.of_snare(dense, &mut changes),
        }
        changes.retain(|change| !self.touched.contains(&change.at));
        let index = nth * 3 + voice as u64;
        if let Some(change) = choose(&changes, self.draw(Decision::Change, index)) {
            let _ = self.touched.try_push(change.at);
            let rank = if dense {
                DENSE + (1.0 - DENSE) * self.draw(Decision::Addition, index)
            } else {
                BARELY
            };
            self.make(voice, change.what, rank);
        }
    }

    fn make(&mut self, voice: Voice, what: What, rank: f32) {
        let origin = self.origin;
        let add = |at| match voice {
            Voice::Hand => extras::double(at, rank),
            Voice::Kick => Stroke {
                tick: at,
                limb: Limb::LeadFoot,
                target: StrokeTarget::KICK,
                rank,
                ..Stroke::EMPTY
            },
            Voice::Snare => extras::ghost(at, rank),
        };
        match what {
            What::LeaveOut(i) => {
                let gone = self.part.strokes.remove(i);
                self.part.may_take -= usize::from(gone.rank == 0.0);
            }
            What::Move(i, to) => {
                let moved = self.part.strokes.remove(i);
                let _ = self.touched.try_push(to);
                self.part.may_take -= usize::from(moved.rank == 0.0);
                self.part.push_stroke(Stroke {
                    tick: to,
                    origin,
                    ..moved
                });
            }
            What::Add(at) => self.part.push_stroke(Stroke { origin, ..add(at) }),
            What::PickUp(at) => self.part.push_stroke(Stroke {
                tick: at,
                limb: Limb::OtherHand,
                target: StrokeTarget::Piece(self.beat.snare_piece),
                rank,
                full: true,
                origin,
                velocity_offset: PICK_UP_SHADE,
                ..Stroke::EMPTY
            }),
            What::Bring(i) => {
                let Some(stroke) = self.part.strokes.get_mut(i) else {
                    return;
                };
                stroke.rank = rank;
                stroke.origin = origin;
                let (target, limb) = (stroke.target, stroke.limb);
                let dense = |s: &Stroke| s.rank > DENSE && (s.target, s.limb) == (target, limb);
                if let Some(other) = self.part.strokes.iter().position(dense) {
                    let gone = self.part.strokes.remove(other);
                    let _ = self.touched.try_push(self.at(&gone));
                }
            }
        }
    }
}
