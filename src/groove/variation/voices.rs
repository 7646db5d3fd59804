//! What the voices of a bar could change, and how likely people do.

use super::work::{Changes, DENSE, What, Work, offer};
use crate::groove::beat::{Arc, Feel, Hands};
use crate::groove::roles::{On, Role, Stress, Sub};
use crate::groove::stroke::{Limb, Stroke, StrokeTarget};
use crate::groove::{extras, limbs};
use crate::kit::Piece;
use crate::time::{TICKS_PER_QUARTER, Ticks, Value};
use arrayvec::ArrayVec;

/// How often people leave out a stroke where their groove has one, and add one where it has none, by sixteenths of
/// the bar: percent of bars, the first divided by how often the place is struck. The kick on the 1 stays.
const KICK_OUT: [f32; 16] = [
    0.0, 5.0, 35.0, 23.0, 21.0, 10.0, 18.0, 9.0, 16.0, 22.0, 19.0, 23.0, 11.0, 34.0, 26.0, 29.0,
];
const KICK_IN: [f32; 16] = [
    1.0, 2.1, 5.6, 3.7, 2.9, 1.4, 3.7, 3.9, 3.8, 2.9, 5.8, 5.6, 3.6, 3.3, 5.5, 3.9,
];
const SNARE_OUT: [f32; 16] = [
    20.0, 22.0, 11.0, 8.0, 5.0, 18.0, 8.0, 23.0, 18.0, 16.0, 10.0, 21.0, 8.0, 19.0, 13.0, 18.0,
];
const SNARE_IN: [f32; 16] = [
    4.5, 2.9, 2.5, 2.7, 2.2, 2.9, 3.9, 4.8, 5.0, 5.3, 5.9, 3.8, 1.5, 4.9, 6.3, 7.5,
];
const HAND_OUT: [f32; 16] = [
    5.6, 3.0, 13.2, 3.0, 4.6, 3.0, 8.0, 3.0, 4.3, 6.0, 7.0, 5.0, 8.8, 12.0, 15.6, 3.0,
];
const HAND_IN: [f32; 16] = [
    0.5, 1.5, 0.8, 2.8, 2.4, 2.4, 1.0, 2.9, 2.1, 1.1, 1.5, 2.9, 1.4, 2.3, 1.9, 4.4,
];

impl Work<'_> {
    /// What the kick could change.
    pub(super) fn of_kick(&self, dense: bool, changes: &mut Changes) {
        if self.feet_follow {
            return;
        }
        let runs = extras::runs(self.ctx, self.part);
        let pulse = self
            .ctx
            .layout
            .counts
            .iter()
            .all(|count| self.struck(count.start, StrokeTarget::KICK));
        let alone = self.core_kicks() < 2;
        let pushes = self.ctx.layout.resolve(self.beat.pushes);
        for (i, stroke) in self.part.strokes.iter().enumerate() {
            if stroke.target != StrokeTarget::KICK {
                continue;
            }
            let at = self.at(stroke);
            let share = self.share(&KICK_OUT, at);
            if stroke.rank > 0.0 {
                if (stroke.rank > DENSE) == dense {
                    offer(changes, at, share, What::LeaveOut(i));
                }
                if stroke.rank > DENSE && !dense {
                    offer(changes, at, 2.0 * self.share(&KICK_IN, at), What::Bring(i));
                }
            } else if !dense && self.part.may_take > 0 && at > 0 && !self.carries(at) {
                // A pulse and a run go on, and no bar loses its only kick.
                let on_count = self.ctx.layout.stress(at) > Stress::Unit;
                if runs || alone || (pulse && on_count) {
                    continue;
                }
                offer(changes, at, share / 2.0, What::LeaveOut(i));
                for &to in &pushes {
                    let near = (to - at).abs() <= TICKS_PER_QUARTER / 2;
                    if near && self.kick_fits(to, Some(i)) {
                        offer(changes, at, share / 4.0, What::Move(i, to));
                    }
                }
            }
        }
        for &at in &pushes {
            if self.kick_fits(at, None) {
                offer(changes, at, 4.0 * self.share(&KICK_IN, at), What::Add(at));
            }
        }
        if self.beat.variety.arc != Arc::Groove || self.beat.feel != Feel::Straight {
            return;
        }
        // Grooves go beyond the places of their extras, but never into a run of three.
        for at in self.ctx.layout.run(Value::Sixteenth) {
            let near = |s: &&Stroke| {
                s.target == StrokeTarget::KICK && (self.at(s) - at).abs() < TICKS_PER_QUARTER / 2
            };
            let alone = || self.part.strokes.iter().filter(near).count() < 2;
            if !pushes.contains(&at) && self.kick_fits(at, None) && alone() {
                offer(changes, at, self.share(&KICK_IN, at), What::Add(at));
            }
        }
    }

    fn core_kicks(&self) -> usize {
        let core = |s: &&Stroke| s.target == StrokeTarget::KICK && s.rank == 0.0;
        self.part.strokes.iter().filter(core).count()
    }

    /// Whether a kick could be added, or moved, to a tick of the bar where there is neither kick nor ghost note.
    pub(super) fn kick_fits(&self, at: Ticks, without: Option<usize>) -> bool {
        let gap = self.ctx.ticks(self.ctx.limits.feet_s);
        let due = self.part.next_kick.unwrap_or(self.ctx.layout.bar_len);
        if at <= 0 || at + gap > due {
            return false;
        }
        let mut others = (0..).zip(&self.part.strokes);
        others.all(|(i, s)| {
            let kick = s.target == StrokeTarget::KICK && (self.at(s) - at).abs() < gap;
            let ghost = s.is_ghost() && self.at(s) == at;
            Some(i) == without || !(kick || ghost)
        })
    }

    /// Whether a kick at a tick of the bar carries a crash.
    fn carries(&self, at: Ticks) -> bool {
        self.part.strokes.iter().any(|s| {
            let crash = matches!(
                s.target,
                StrokeTarget::Opening { .. }
                    | StrokeTarget::Lifted
                    | StrokeTarget::Piece(Piece::CrashLeft | Piece::CrashRight | Piece::China)
            );
            crash && self.at(s) == at
        })
    }

    /// What the snare hand could change, beside the backbeat and the other strokes of the beat, which stay.
    pub(super) fn of_snare(&self, dense: bool, changes: &mut Changes) {
        if self.beat.lead.hands != Hands::Lead {
            return;
        }
        for (i, stroke) in self.part.strokes.iter().enumerate() {
            if !stroke.is_ghost() {
                continue;
            }
            let at = self.at(stroke);
            if (stroke.rank > DENSE) == dense {
                offer(changes, at, self.share(&SNARE_OUT, at), What::LeaveOut(i));
            }
            if stroke.rank > DENSE && !dense {
                offer(changes, at, 2.0 * self.share(&SNARE_IN, at), What::Bring(i));
            }
        }
        for &at in &self.ctx.layout.resolve(self.beat.ghosts) {
            if !extras::meets_kick(self.ctx, self.part, at)
                && extras::ghost_fits(self.ctx, self.part, at)
            {
                offer(changes, at, 4.0 * self.share(&SNARE_IN, at), What::Add(at));
            }
        }
        if let Some(at) = self.pick_up() {
            offer(
                changes,
                at,
                2.0 * self.share(&SNARE_IN, at),
                What::PickUp(at),
            );
        }
    }

    /// Where a snare stroke can lead into the next bar.
    fn pick_up(&self) -> Option<Ticks> {
        let hand = self.ctx.ticks(self.ctx.limits.hand_s);
        let layout = &self.ctx.layout;
        let next = layout.resolve(self.ctx.of_cycle(self.beat.snare));
        let landing = layout.bar_len + next.first().copied().unwrap_or(layout.bar_len);
        let subs = match self.beat.feel {
            Feel::Straight => [Sub::A, Sub::And],
            Feel::Triplets => [Sub::Let, Sub::Trip],
        };
        let places = subs.into_iter().filter_map(|sub| {
            let found = layout.resolve(&[Role::At(On::Last, sub)]);
            found.first().copied()
        });
        places.into_iter().find(|&at| {
            let stroke = Stroke {
                tick: at,
                limb: Limb::OtherHand,
                target: StrokeTarget::Piece(self.beat.snare_piece),
                ..Stroke::EMPTY
            };
            landing - at >= hand && limbs::is_free(self.ctx, self.part, &stroke)
        })
    }

    /// What the lead hand could change. It keeps its first stroke, for which the bar before has made room.
    pub(super) fn of_hand(&self, dense: bool, changes: &mut Changes) {
        let ridden: ArrayVec<(usize, Ticks), 64> = (0..)
            .zip(&self.part.strokes)
            .filter(|(_, s)| {
                s.limb == Limb::LeadHand && s.target == StrokeTarget::HandCymbal && s.rank == 0.0
            })
            .map(|(i, s)| (i, self.at(s)))
            .take(64)
            .collect();
        let first = self.first_of_lead_hand();
        for (i, stroke) in self.part.strokes.iter().enumerate() {
            let at = self.at(stroke);
            if stroke.limb != Limb::LeadHand || stroke.rank == 0.0 {
                continue;
            }
            if (stroke.rank > DENSE) == dense {
                offer(changes, at, self.share(&HAND_OUT, at), What::LeaveOut(i));
            }
            if stroke.rank > DENSE && !dense {
                offer(changes, at, 2.0 * self.share(&HAND_IN, at), What::Bring(i));
            }
        }
        // Only neighbours at the figure's own distance have a place between them: the others have changed already.
        let steps = || ridden.windows(2).map(|pair| pair[1].1 - pair[0].1);
        let step = steps().min().unwrap_or_default();
        for (nth, &(i, at)) in ridden.iter().enumerate() {
            let next = ridden.get(nth + 1).map(|next| next.1);
            let whole = next.is_some_and(|next| next - at == step);
            let between = match self.beat.feel {
                Feel::Straight => at + step / 2,
                // The last third, as in a shuffle.
                Feel::Triplets => at + step * 2 / 3,
            };
            let fine =
                at + step - between >= TICKS_PER_QUARTER / 4 && self.beat.lead.hands == Hands::Lead;
            let fits = whole && fine && extras::double_fits(self.ctx, self.part, between);
            if fits {
                offer(
                    changes,
                    between,
                    self.share(&HAND_IN, between),
                    What::Add(between),
                );
            }
            let stays = at <= first || self.part.bar.start + at >= self.opens;
            if !dense && self.part.may_take > 0 && !stays && !self.gapes(at, step) {
                offer(changes, at, self.share(&HAND_OUT, at), What::LeaveOut(i));
                if fits && steps().all(|gap| gap == step) {
                    offer(
                        changes,
                        at,
                        self.share(&HAND_OUT, at) / 4.0,
                        What::Move(i, between),
                    );
                }
            }
        }
    }

    /// Whether the lead hand would be silent for two counts, or for two of its strokes, which are `step` apart, if it left
    /// out its stroke at a tick of the bar.
    fn gapes(&self, at: Ticks, step: Ticks) -> bool {
        let mine = || {
            self.part
                .strokes
                .iter()
                .filter(|s| s.limb == Limb::LeadHand)
        };
        let core = || mine().filter(|s| s.rank == 0.0).map(|s| self.at(s));
        let before = core().filter(|&other| other < at).max();
        let after = core().filter(|&other| other > at).min();
        let after = after.unwrap_or(self.ctx.layout.bar_len);
        let counts = self.ctx.layout.counts.iter();
        let count = counts.map(|count| count.len).min().unwrap_or_default();
        before.is_none_or(|before| after - before >= (2 * count).min(3 * step))
    }
}
