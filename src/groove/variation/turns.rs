//! What leans, breathes or turns: openings of the hi-hat, and the ends of phrases.

use super::work::{BARELY, Changes, Voice, What, Work, choose, offer};
use crate::groove::HandCymbal;
use crate::groove::beat::{Figure, Hands};
use crate::groove::chance::{Decision, chance};
use crate::groove::hi_hat;
use crate::groove::roles::Stress;
use crate::groove::stroke::{Limb, Manner, Stroke, StrokeTarget};
use crate::settings::Crashes;
use crate::time::Ticks;

/// Shares of lifted strokes, for a place by its stress, and for the last off-beat, where the hi-hat opens into the line
/// already. 42 % of people's openings lie on an and, 12 % on the last one, 10 % on the 1.
const LIFT_ON_AND: f32 = 9.0;
const LIFT_ON_LAST: f32 = 3.0;
const LIFT_ON_COUNT: f32 = 8.0;
const LIFT_BETWEEN: f32 = 5.0;
/// The share of lifts that are a crash on the last count, and the intensity that it needs.
const PUNCTUATES: f32 = 0.12;
const PUNCTUATION_NEEDS: f32 = 0.6;

impl Work<'_> {
    /// Emphasises a stroke of the lead hand: a hi-hat opens, the ride is struck on its bell. Now and then the last
    /// count is a crash instead.
    pub(super) fn lift(&mut self) {
        if self.part.may_take == 0 || self.beat.lead.hands != Hands::Lead || self.lead_is_roles() {
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
            && self.ctx.phrase.index > 0
            && self.draw(Decision::Lift, 1) < PUNCTUATES;
        let crashes = self.part.own >= HandCymbal::HiHatOpen;
        // The foot shuts the hi-hat there.
        let pedal = layout.resolve(self.ctx.of_cycle(self.beat.pedal));
        let mut changes = Changes::new();
        for (i, stroke) in self.part.strokes.iter().enumerate() {
            let at = self.at(stroke);
            let rides = stroke.target == StrokeTarget::HandCymbal
                && stroke.limb == Limb::LeadHand
                && stroke.rank == 0.0
                && at > first
                && !pedal.contains(&at)
                && stroke.tick < self.opens;
            let share = match layout.stress(at) {
                _ if !rides => continue,
                _ if punctuates && at != last => continue,
                // A stroke that becomes a crash needs a drum under it.
                _ if crashes && !self.carried(at) => continue,
                Stress::Unit if at > last => LIFT_ON_LAST,
                Stress::Unit => LIFT_ON_AND,
                Stress::Strong | Stress::Back | Stress::Count => LIFT_ON_COUNT,
                Stress::Off => LIFT_BETWEEN,
            };
            offer(&mut changes, at, share, What::LeaveOut(i));
        }
        let chosen = choose(&changes, self.draw(Decision::Lift, 2));
        let Some(What::LeaveOut(i)) = chosen.map(|change| change.what) else {
            return;
        };
        let carried = self
            .part
            .strokes
            .get(i)
            .is_some_and(|s| self.carried(self.at(s)));
        let lifted = self.lifted();
        // The china opens on itself, so there is no other crash.
        let other = self.part.own != HandCymbal::China;
        if let Some(stroke) = self.part.strokes.get_mut(i) {
            if punctuates && carried && other {
                stroke.target = StrokeTarget::Opening { rides: true };
                stroke.min_intensity = PUNCTUATION_NEEDS;
            } else {
                stroke.target = StrokeTarget::Lifted;
                stroke.manner = lifted;
            }
            stroke.origin = self.origin;
            self.part.may_take -= 1;
        }
    }

    /// How an emphasised stroke of the hand is played.
    fn lifted(&self) -> Manner {
        if hi_hat::is_busy(self.ctx, self.beat) {
            Manner::Shut
        } else {
            Manner::Plain
        }
    }

    /// Whether a kick or the snare is struck at a tick of the bar.
    fn carried(&self, at: Ticks) -> bool {
        self.struck(at, StrokeTarget::KICK)
            || self.struck(at, StrokeTarget::Piece(self.beat.snare_piece))
    }

    /// Whether the lead hand has a rhythm of its own, whose strokes are all accents already.
    fn lead_is_roles(&self) -> bool {
        matches!(self.beat.lead.figure, Figure::Roles(_))
    }

    /// The shape of eight bars: of the fourth and the eighth, one leaves space and the other doubles the kick.
    pub(super) fn turn(&mut self, place: usize) {
        let groove = self.ctx.groove_start();
        let take = self.ctx.bar_settings.take;
        let swapped = chance(take, groove, Decision::Turn, self.beat.seed()) < 0.5;
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
        let opens = self.opens;
        let goes = |s: &Stroke| {
            let kick = s.target == StrokeTarget::KICK && !feet_follow && s.tick >= from;
            kick || (rides(s) && (hand_from..opens).contains(&s.tick))
        };
        let mut left = self.part.may_take;
        self.part.strokes.retain(|s| {
            if !goes(s) || (s.rank == 0.0 && left == 0) {
                return true;
            }
            left -= usize::from(s.rank == 0.0);
            false
        });
        self.part.may_take = left;
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
                let here = |s: &&mut Stroke| {
                    s.target == StrokeTarget::KICK && s.rank > 0.0 && s.tick - start == at
                };
                if let Some(kick) = self.part.strokes.iter_mut().find(here) {
                    kick.rank = BARELY;
                    kick.origin = self.origin;
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
        let lifted = self.lifted();
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
            if leans && self.part.may_take > 0 {
                stroke.target = StrokeTarget::Lifted;
                stroke.manner = lifted;
                stroke.origin = self.origin;
                self.part.may_take -= 1;
            }
        }
    }
}
