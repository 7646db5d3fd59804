//! What an own beat plays beyond lists of roles: other pieces, extras with ranks of their own, weights by place.

use super::model::Strikes;
use super::sheet::{Planned, Sheet};
use crate::groove::context::Context;
use crate::groove::extras::{Which, double, double_fits, ghost, ghost_fits, kick_fits};
use crate::groove::limbs;
use crate::groove::origin::Origin;
use crate::groove::stroke::{Limb, Part, Stroke, StrokeTarget};
use crate::kit::Piece;
use crate::kit::hi_hat::usual_opening;
use crate::time::Ticks;

/// Ranks of strokes whose place the bar of before has to keep free.
const FIRST: f32 = 0.08;

impl Sheet {
    /// Its strokes in a bar, each with its tick there.
    fn each(&self, ctx: &Context, mut each: impl FnMut(&Planned, Ticks)) {
        let bar = self.bars.get(ctx.in_cycle(self.bars.len()));
        for planned in bar.into_iter().flatten() {
            ctx.layout
                .each_of_own(planned.place, |tick| each(planned, tick));
        }
    }

    /// Adds the core strokes that neither the riding hand, the snare nor the feet have.
    pub(in super::super) fn play_others(&self, ctx: &Context, part: &mut Part) {
        self.each(ctx, |planned, tick| {
            let Strikes::Piece(piece) = planned.strikes else {
                return;
            };
            let listed = [Piece::Kick, Piece::HiHatFoot, self.snare_piece].contains(&piece);
            if planned.rank > 0.0 || listed {
                return;
            }
            let target = StrokeTarget::Piece(piece);
            let busy = |hand: &Limb| part.busy(*hand, tick, 1, 1);
            let hands = [planned.limb, limbs::other(planned.limb)];
            match hands.into_iter().find(|hand| !busy(hand)) {
                Some(hand) => part.push(tick, hand, target, 0.0),
                // A third hand would have to strike it.
                None => part.drop_stroke(Stroke {
                    tick: part.bar.start + tick,
                    play_tick: part.bar.start + tick,
                    limb: planned.limb,
                    target,
                    ..Stroke::EMPTY
                }),
            }
        });
    }

    /// Adds its extras wherever their limb is free. `feet_follow`: the feet play a riff, to which nothing is added.
    pub(in super::super) fn add_extras(
        &self,
        ctx: &Context,
        feet_follow: bool,
        which: Which,
        part: &mut Part,
    ) {
        self.each(ctx, |planned, tick| {
            if planned.rank <= 0.0 {
                return;
            }
            let rank = if which == Which::Any {
                FIRST
            } else {
                planned.rank
            };
            let full = |limb, target| Stroke {
                tick,
                limb,
                target,
                rank,
                full: true,
                origin: Origin::Extra,
                ..Stroke::EMPTY
            };
            let stroke = match planned.strikes {
                Strikes::Hand if double_fits(ctx, part, tick) => double(tick, rank),
                Strikes::Piece(Piece::Kick) if !feet_follow && kick_fits(ctx, part, tick) => {
                    Stroke {
                        full: false,
                        ..full(Limb::LeadFoot, StrokeTarget::KICK)
                    }
                }
                Strikes::Piece(Piece::Snare) if planned.ghost && ghost_fits(ctx, part, tick) => {
                    ghost(tick, rank)
                }
                Strikes::Hand | Strikes::Piece(Piece::Kick | Piece::HiHatFoot) => return,
                Strikes::Piece(_) if planned.ghost => return,
                Strikes::Piece(piece) => {
                    let stroke = full(planned.limb, StrokeTarget::Piece(piece));
                    let back = ctx.ticks(ctx.limits.hand_s + ctx.limits.travel_s);
                    if tick + back > ctx.layout.bar_len || !limbs::is_free(ctx, part, &stroke) {
                        return;
                    }
                    stroke
                }
            };
            part.push_stroke(stroke);
        });
    }

    /// Yields the extras of the hi-hat foot: tick and rank.
    pub(in super::super) fn each_of_foot(&self, ctx: &Context, mut each: impl FnMut(Ticks, f32)) {
        self.each(ctx, |planned, tick| {
            if planned.strikes == Strikes::Piece(Piece::HiHatFoot) && planned.rank > 0.0 {
                each(tick, planned.rank);
            }
        });
    }

    /// Gives core strokes the weights of their places.
    pub(in super::super) fn weigh(&self, ctx: &Context, part: &mut Part) {
        let start = part.bar.start;
        self.each(ctx, |planned, tick| {
            let Some(weight) = planned.weight.filter(|_| planned.rank == 0.0) else {
                return;
            };
            let is_it = |s: &Stroke| match planned.strikes {
                Strikes::Hand => {
                    s.limb < Limb::LeadFoot
                        && matches!(s.target, StrokeTarget::HandCymbal | StrokeTarget::Lifted)
                }
                Strikes::Piece(piece) => s.target == StrokeTarget::Piece(piece),
            };
            let its_own = |s: &&mut Stroke| {
                s.tick == start + tick && s.rank == 0.0 && s.origin == Origin::Beat
            };
            for stroke in part.strokes.iter_mut().filter(its_own) {
                if is_it(stroke) {
                    stroke.weight = weight;
                }
            }
        });
    }

    /// Leaves one stroke where two limbs would put the hi-hat into two states at once: of hands the riding one, unless
    /// only density brought it, and the hand before the foot.
    pub(in super::super) fn one_hi_hat(&self, part: &mut Part) {
        let hat = |s: &Stroke| match s.target {
            StrokeTarget::Piece(piece) => usual_opening(piece).is_some(),
            _ => true,
        };
        let foot = |s: &Stroke| s.target == StrokeTarget::Piece(Piece::HiHatFoot);
        let states = self.bars.iter().flatten().any(|planned| {
            matches!(
                planned.strikes,
                Strikes::Piece(Piece::HiHatClosed | Piece::HiHatLoose | Piece::HiHatOpen)
            )
        });
        if !states {
            return;
        }
        let mut i = 0;
        while let Some(&stroke) = part.strokes.get(i) {
            let stated = |s: &Stroke| matches!(s.target, StrokeTarget::Piece(_));
            // Which of two goes: the foot, the extra, the stroke that is not the riding hand's.
            let weaker = |s: &Stroke| (foot(s), s.rank > 0.0, stated(s));
            let gives_way = part.strokes.iter().enumerate().any(|(j, s)| {
                let one_is_stated = stated(s) || stated(&stroke);
                j != i
                    && s.tick == stroke.tick
                    && hat(s)
                    && one_is_stated
                    && (stated(s) || !foot(&stroke))
                    && (weaker(s), i) < (weaker(&stroke), j)
            });
            if hat(&stroke) && gives_way {
                part.strokes.remove(i);
            } else {
                i += 1;
            }
        }
    }
}
