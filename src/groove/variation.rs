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

use super::beat::{Arc, Beat, Feel, Figure, Hands};
use super::chance::{Decision, chance};
use super::context::Context;
use super::extras;
use super::limbs;
use super::roles::{On, Role, Stress, Sub};
use super::stroke::{Limb, Part, Stroke, StrokeTarget};
use crate::kit::Piece;
use crate::settings::Crashes;
use crate::time::{TICKS_PER_QUARTER, Ticks, Value};
use arrayvec::ArrayVec;

/// Most of the beat's own strokes that a bar's variation takes: leaves out, moves, or gives another target.
const MOST_TAKEN: usize = 3;

/// Shares of people's bars with one, two, three, and more changes: lead hand, kick, snare. How three and more divide
/// is judged.
const SHARES: [[f32; 4]; 3] = [
    [0.23, 0.15, 0.11, 0.05],
    [0.28, 0.17, 0.10, 0.06],
    [0.23, 0.12, 0.10, 0.06],
];

/// The rank of what sounds at every density above 0.
const BARELY: f32 = f32::MIN_POSITIVE;
/// Extras of a higher rank do not sound at the default density.
const DENSE: f32 = 0.45;

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

/// How often a beat of full variety lifts a stroke of the lead hand. People open the hi-hat in 34 % of the bars that
/// ride it, some of them twice.
const LIFTS: f32 = 0.34;
/// Shares of lifted strokes, for a place by its stress. 42 % of people's openings lie on an and, 10 % on the 1.
const LIFT_ON_AND: f32 = 10.0;
const LIFT_ON_COUNT: f32 = 4.0;
const LIFT_BETWEEN: f32 = 3.0;
/// The share of lifts that are a crash on the last count, and the intensity that it needs.
const PUNCTUATES: f32 = 0.12;
const PUNCTUATION_NEEDS: f32 = 0.6;

/// The velocity offset of the snare pick-up into the next bar.
const PICK_UP_SHADE: f32 = -10.0;

/// By how much the places among eight bars scale the shares; each has a mean of 1. Judged.
const GROOVE: [f32; 8] = [0.6, 0.9, 1.0, 1.4, 0.8, 1.0, 1.0, 1.3];
const STEADY: [f32; 8] = [0.0, 0.3, 0.4, 2.4, 0.2, 0.4, 0.9, 3.4];

const KICK: StrokeTarget = StrokeTarget::Piece(Piece::Kick);

/// Whose strokes change.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Voice {
    Hand,
    Kick,
    Snare,
}

/// A change that a bar could make, with its share, and its place in the bar.
#[derive(Debug, Clone, Copy)]
struct Change {
    share: f32,
    at: Ticks,
    what: What,
}

#[derive(Debug, Clone, Copy)]
enum What {
    /// Leave out the stroke with this index.
    LeaveOut(usize),
    /// Move it to a tick of the bar.
    Move(usize, Ticks),
    /// Add a stroke at a tick of the bar.
    Add(Ticks),
    /// Add the snare pick-up at a tick of the bar.
    PickUp(Ticks),
    /// Bring the extra with this index in at every density, in place of one that only a high density has: the bar
    /// differs from its groove at both.
    Bring(usize),
}

/// Most changes that a bar chooses from.
type Changes = ArrayVec<Change, 64>;

/// Most places that a bar changes: four a voice, and both ends of what moves.
const MOST_TOUCHED: usize = 24;

/// The work on a bar.
struct Bar<'a> {
    ctx: &'a Context<'a>,
    beat: &'a Beat,
    part: &'a mut Part,
    /// Whether the feet play a riff, to which nothing is added and from which nothing is taken.
    feet_follow: bool,
    /// How many of the beat's own strokes may still be taken.
    left: usize,
    /// Where the voice at hand has changed already: a change must not undo another.
    touched: ArrayVec<Ticks, MOST_TOUCHED>,
}

/// Varies a bar. Returns whether it took any of the beat's own strokes: then the bar without variation is another
/// than this one at density 0. `feet_follow`: the feet play a riff.
pub(super) fn vary(ctx: &Context, beat: &Beat, feet_follow: bool, part: &mut Part) -> bool {
    let mut bar = Bar {
        ctx,
        beat,
        part,
        feet_follow,
        left: MOST_TAKEN,
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
    bar.left < MOST_TAKEN
}

impl Bar<'_> {
    /// A draw of this bar and this beat.
    fn draw(&self, decision: Decision, index: u64) -> f32 {
        let index = index * 64 + self.beat.style as u64;
        chance(
            self.ctx.bar_settings.take,
            self.ctx.bar.start,
            decision,
            index,
        )
    }

    /// How many strokes of a voice change, and whether only at high density.
    fn wished(&self, voice: Voice, scale: f32) -> (u64, bool) {
        let mut left = self.draw(Decision::Changes, voice as u64);
        for dense in [false, true] {
            for (changes, share) in (1..).zip(SHARES[voice as usize]) {
                left -= share / 2.0 * scale;
                if left < 0.0 {
                    return (changes, dense);
                }
            }
        }
        (0, false)
    }

    /// The place of a tick among the sixteenths of a bar of 4/4 that the tables count.
    fn slot(&self, at: Ticks) -> usize {
        let (i, count) = self.ctx.layout.count_of(at);
        let beat = i * 4 / self.ctx.layout.counts.len().max(1);
        let sixteenth = (at - count.start) * 4 / count.len.max(1);
        beat * 4 + usize::try_from(sixteenth).unwrap_or_default().min(3)
    }

    fn share(&self, of: &[f32; 16], at: Ticks) -> f32 {
        of.get(self.slot(at)).copied().unwrap_or_default()
    }

    /// A stroke's tick in the bar.
    fn at(&self, stroke: &Stroke) -> Ticks {
        stroke.tick - self.part.bar.start
    }

    fn struck(&self, at: Ticks, target: StrokeTarget) -> bool {
        self.part
            .strokes
            .iter()
            .any(|s| s.target == target && self.at(s) == at)
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
        let total: f32 = changes.iter().map(|change| change.share).sum();
        let index = nth * 3 + voice as u64;
        let mut left = self.draw(Decision::Change, index) * total;
        let chosen = changes.iter().find(|change| {
            left -= change.share;
            left < 0.0
        });
        if let Some(change) = chosen {
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
        let add = |at| match voice {
            Voice::Hand => extras::double(at, rank),
            Voice::Kick => Stroke {
                tick: at,
                limb: Limb::LeadFoot,
                target: KICK,
                rank,
                ..Stroke::EMPTY
            },
            Voice::Snare => extras::ghost(at, rank),
        };
        match what {
            What::LeaveOut(i) => {
                let gone = self.part.strokes.remove(i);
                self.left -= usize::from(gone.rank == 0.0);
            }
            What::Move(i, to) => {
                let moved = self.part.strokes.remove(i);
                let _ = self.touched.try_push(to);
                self.left -= usize::from(moved.rank == 0.0);
                self.part.push_stroke(Stroke {
                    tick: to,
                    rank: moved.rank,
                    ..moved
                });
            }
            What::Add(at) => self.part.push_stroke(add(at)),
            What::PickUp(at) => self.part.push_stroke(Stroke {
                tick: at,
                limb: Limb::OtherHand,
                target: StrokeTarget::Piece(self.beat.snare_piece),
                rank,
                full: true,
                velocity_offset: PICK_UP_SHADE,
                ..Stroke::EMPTY
            }),
            What::Bring(i) => {
                let Some(stroke) = self.part.strokes.get_mut(i) else {
                    return;
                };
                stroke.rank = rank;
                let (target, limb) = (stroke.target, stroke.limb);
                let dense = |s: &Stroke| s.rank > DENSE && (s.target, s.limb) == (target, limb);
                if let Some(other) = self.part.strokes.iter().position(dense) {
                    let gone = self.part.strokes.remove(other);
                    let _ = self.touched.try_push(self.at(&gone));
                }
            }
        }
    }

    /// What the kick could change.
    fn of_kick(&self, dense: bool, changes: &mut Changes) {
        if self.feet_follow {
            return;
        }
        let runs = extras::runs(self.ctx, self.part);
        let pulse = self
            .ctx
            .layout
            .counts
            .iter()
            .all(|count| self.struck(count.start, KICK));
        let alone = self.core_kicks() < 2;
        let pushes = self.ctx.layout.resolve(self.beat.pushes);
        for (i, stroke) in self.part.strokes.iter().enumerate() {
            if stroke.target != KICK {
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
            } else if !dense && self.left > 0 && at > 0 && !self.carries(at) {
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
        for &at in &self.ctx.layout.resolve(&[Role::Run(Value::Sixteenth)]) {
            let near =
                |s: &&Stroke| s.target == KICK && (self.at(s) - at).abs() < TICKS_PER_QUARTER / 2;
            let alone = self.part.strokes.iter().filter(near).count() < 2;
            if alone && !pushes.contains(&at) && self.kick_fits(at, None) {
                offer(changes, at, self.share(&KICK_IN, at), What::Add(at));
            }
        }
    }

    fn core_kicks(&self) -> usize {
        let core = |s: &&Stroke| s.target == KICK && s.rank == 0.0;
        self.part.strokes.iter().filter(core).count()
    }

    /// Whether a kick could be added, or moved, to a tick of the bar where there is neither kick nor ghost note.
    fn kick_fits(&self, at: Ticks, without: Option<usize>) -> bool {
        let gap = self.ctx.ticks(self.ctx.limits.feet_s);
        let due = self.part.next_kick.unwrap_or(self.ctx.layout.bar_len);
        let mut others = (0..).zip(&self.part.strokes);
        let clear = others.all(|(i, s)| {
            let kick = s.target == KICK && (self.at(s) - at).abs() < gap;
            let ghost = s.is_ghost() && self.at(s) == at;
            Some(i) == without || !(kick || ghost)
        });
        at > 0 && at + gap <= due && clear
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
    fn of_snare(&self, dense: bool, changes: &mut Changes) {
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
        let next = layout.resolve(self.ctx.of_cycle(self.beat.snare)?);
        let landing = layout.bar_len + next.first().copied().unwrap_or(layout.bar_len);
        let subs = match self.beat.feel {
            Feel::Straight => [Sub::A, Sub::And],
            Feel::Triplets => [Sub::Let, Sub::Trip],
        };
        let places = subs.map(|sub| layout.resolve(&[Role::At(On::Last, sub)]));
        places.iter().flatten().copied().find(|&at| {
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
    fn of_hand(&self, dense: bool, changes: &mut Changes) {
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
            let between = at + step / 2;
            let fine = step / 2 >= TICKS_PER_QUARTER / 4 && self.beat.lead.hands == Hands::Lead;
            let fits = whole && fine && extras::double_fits(self.ctx, self.part, between);
            if fits {
                offer(
                    changes,
                    between,
                    self.share(&HAND_IN, between),
                    What::Add(between),
                );
            }
            if !dense && self.left > 0 && at > first && !self.gapes(at) {
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

    fn first_of_lead_hand(&self) -> Ticks {
        let mine = self
            .part
            .strokes
            .iter()
            .filter(|s| s.limb == Limb::LeadHand);
        mine.map(|s| self.at(s)).min().unwrap_or_default()
    }

    /// Whether the lead hand would be silent for two counts or more if it left out its stroke at a tick of the bar.
    fn gapes(&self, at: Ticks) -> bool {
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
        let (_, count) = self.ctx.layout.count_of(at);
        before.is_none_or(|before| after - before >= 2 * count.len)
    }

    /// Emphasises a stroke of the lead hand: a hi-hat opens, the ride is struck on its bell. Now and then the last
    /// count is a crash instead.
    fn lift(&mut self) {
        if self.left == 0 || self.beat.lead.hands != Hands::Lead || self.lead_is_roles() {
            return;
        }
        let layout = &self.ctx.layout;
        let last = layout.counts.last().map_or(0, |count| count.start);
        let first = self.first_of_lead_hand();
        let punctuates = self.beat.opens
            && last > 0
            && self.ctx.bar_settings.crashes == Crashes::Phrase
            // A crash on the last count and one on the 1 after are one too many.
            && self.ctx.phrase.left() > 1
            && self.draw(Decision::Lift, 1) < PUNCTUATES;
        let mut changes = Changes::new();
        for (i, stroke) in self.part.strokes.iter().enumerate() {
            let at = self.at(stroke);
            let rides = stroke.target == StrokeTarget::HandCymbal
                && stroke.limb == Limb::LeadHand
                && stroke.rank == 0.0
                && at > first;
            let share = match layout.stress(at) {
                _ if !rides => continue,
                _ if punctuates && at != last => continue,
                Stress::Unit if at > last => LIFT_ON_AND * 1.5,
                Stress::Unit => LIFT_ON_AND,
                Stress::Strong | Stress::Back | Stress::Count => LIFT_ON_COUNT,
                Stress::Off => LIFT_BETWEEN,
            };
            offer(&mut changes, at, share, What::LeaveOut(i));
        }
        let total: f32 = changes.iter().map(|change| change.share).sum();
        let mut left = self.draw(Decision::Lift, 2) * total;
        let chosen = changes.iter().find(|change| {
            left -= change.share;
            left < 0.0
        });
        let Some(What::LeaveOut(i)) = chosen.map(|change| change.what) else {
            return;
        };
        let carried = self.part.strokes.get(i).is_some_and(|s| {
            let drum = StrokeTarget::Piece(self.beat.snare_piece);
            self.struck(self.at(s), KICK) || self.struck(self.at(s), drum)
        });
        // The china opens on itself, so there is no other crash.
        let other = self.part.own != super::HandCymbal::China;
        if let Some(stroke) = self.part.strokes.get_mut(i) {
            if punctuates && carried && other {
                stroke.target = StrokeTarget::Opening { rides: true };
                stroke.min_intensity = PUNCTUATION_NEEDS;
            } else {
                stroke.target = StrokeTarget::Lifted;
            }
            self.left -= 1;
        }
    }

    /// Whether the lead hand has a rhythm of its own, whose strokes are all accents already.
    fn lead_is_roles(&self) -> bool {
        matches!(self.beat.lead.figure, Figure::Roles(_))
    }

    /// The shape of eight bars: of the fourth and the eighth, one leaves space and the other doubles the kick.
    fn turn(&mut self, place: usize) {
        let groove = self.ctx.groove_start();
        let take = self.ctx.bar_settings.take;
        let swapped = chance(take, groove, Decision::Turn, self.beat.style as u64) < 0.5;
        match (place, swapped) {
            (3, false) | (7, true) => self.leave_space(),
            (7, false) | (3, true) => self.double_kicks(),
            _ => {}
        }
    }

    /// The feet pause before the next 1, and the lead hand with them where it has a stroke there.
    fn leave_space(&mut self) {
        let last = self.ctx.layout.counts.last().copied();
        let Some(last) = last else { return };
        let from = self.part.bar.start + last.start + last.len / 2;
        let feet_follow = self.feet_follow;
        let first = self.part.bar.start + self.first_of_lead_hand();
        let rides = |s: &Stroke| {
            s.target == StrokeTarget::HandCymbal && s.limb == Limb::LeadHand && s.tick > first
        };
        let ridden = self.part.strokes.iter().filter(|s| rides(s));
        let late = ridden.map(|s| s.tick).max();
        // A hand that rides quarters or slower leaves out its last stroke.
        let last = self.part.bar.start + last.start;
        let hand_from = if late.is_some_and(|late| late >= from) {
            from
        } else {
            last
        };
        let goes = |s: &Stroke| {
            let kick = s.target == KICK && !feet_follow && s.tick >= from;
            kick || (rides(s) && s.tick >= hand_from)
        };
        let mut left = self.left;
        self.part.strokes.retain(|s| {
            if !goes(s) || (s.rank == 0.0 && left == 0) {
                return true;
            }
            left -= usize::from(s.rank == 0.0);
            false
        });
        self.left = left;
    }

    /// The beat's extra kicks of the last two counts at every density; where the feet run already, the lead hand
    /// leans on the last counts.
    fn double_kicks(&mut self) {
        let counts = &self.ctx.layout.counts;
        let from = counts.len().checked_sub(2).and_then(|i| counts.get(i));
        let from = from.map_or(0, |count| count.start);
        let mut doubled = false;
        if !self.feet_follow {
            for &at in &self.ctx.layout.resolve(self.beat.pushes) {
                if at < from {
                    continue;
                }
                let start = self.part.bar.start;
                let here =
                    |s: &&mut Stroke| s.target == KICK && s.rank > 0.0 && s.tick - start == at;
                if let Some(kick) = self.part.strokes.iter_mut().find(here) {
                    kick.rank = BARELY;
                    doubled = true;
                } else if self.kick_fits(at, None) {
                    self.make(Voice::Kick, What::Add(at), BARELY);
                    doubled = true;
                }
            }
        }
        if doubled {
            return;
        }
        let start = self.part.bar.start;
        let first = self.first_of_lead_hand();
        let counts = &self.ctx.layout.counts;
        for stroke in &mut self.part.strokes {
            let at = stroke.tick - start;
            let leans = stroke.target == StrokeTarget::HandCymbal
                && stroke.limb == Limb::LeadHand
                && stroke.rank == 0.0
                && at >= from
                && at > first
                && counts.iter().any(|count| count.start == at);
            if leans && self.left > 0 {
                stroke.target = StrokeTarget::Lifted;
                self.left -= 1;
            }
        }
    }
}

fn offer(changes: &mut Changes, at: Ticks, share: f32, what: What) {
    if share > 0.0 {
        let _ = changes.try_push(Change { share, at, what });
    }
}
