//! The two feet: the kick, and which foot plays which. What the hi-hat foot adds stands in [`super::hi_hat`].

use super::beat::Beat;
use super::context::Context;
use super::limits::{FOOT_TO_FOOT_BELOW_S, thin};
use super::phrases::Opening;
use super::roles::Stress;
use super::stroke::{Limb, MAX_STROKES, Origin, Part, Standing, Stroke, StrokeTarget};
use crate::time::Ticks;
use arrayvec::ArrayVec;

/// The kicks of a bar, in ticks from its start. It has room for every stroke of a part, extras and fill included.
type Kicks = ArrayVec<Ticks, MAX_STROKES>;

/// One foot for each kick.
type Feet = ArrayVec<Limb, MAX_STROKES>;

/// Adds the beat's kicks to the part, all on the lead foot until [`assign`] runs.
pub(super) fn play(ctx: &Context, beat: &Beat, opens: Option<Opening>, part: &mut Part) {
    let mut kicks = ctx.layout.resolve(ctx.of_cycle(beat.kick));
    let gap = ctx.ticks(ctx.limits.feet_s);
    part.thin(
        (&mut kicks, gap),
        &ctx.layout,
        Limb::LeadFoot,
        StrokeTarget::KICK,
    );
    if let Some(Opening { min_intensity, .. }) = opens
        && kicks.first().is_none_or(|&first| first >= gap)
    {
        // A kick supports the crash.
        part.push_stroke(Stroke {
            limb: Limb::LeadFoot,
            target: StrokeTarget::KICK,
            min_intensity,
            origin: Origin::UnderCrash,
            ..Stroke::EMPTY
        });
    }
    kicks
        .iter()
        .for_each(|&tick| part.push(tick, Limb::LeadFoot, StrokeTarget::KICK, 0.0));
}

/// Assigns every kick of the finished part, extras and fill included, to a foot: see [`Kicking::assign`]. Where the
/// other foot is then busy the pedal rests.
///
/// A bar does not know the next one's kicks, so it assumes that the lead foot kicks on the next 1. A kick that no
/// foot can reach is left out.
pub(super) fn assign(ctx: &Context, beat: &Beat, part: &mut Part) {
    part.strokes.sort_unstable_by_key(|stroke| stroke.tick);
    let start = ctx.bar.start;
    // Kicks too close for one foot alternate, even where the comfort limit would allow one foot.
    let close = ctx.ticks(FOOT_TO_FOOT_BELOW_S.max(ctx.limits.foot_s));
    let foot_gap = ctx.ticks(ctx.limits.foot_s);
    let mut pedal = ctx.layout.resolve(ctx.of_cycle(beat.pedal));
    thin(&mut pedal, foot_gap, &ctx.layout.counts, ctx.layout.bar_len);
    let bar_len = ctx.layout.bar_len;
    // Filled in place, as are the feet: both are large to move.
    let mut kicks = Kicks::new();
    let of_part = part
        .strokes
        .iter()
        .filter(|s| s.target == StrokeTarget::KICK);
    kicks.extend(of_part.map(|s| s.tick - start));
    let next = part.next_kick.unwrap_or(bar_len);
    let feet_gap = ctx.ticks(ctx.limits.feet_s);
    // Too late for either foot to be back.
    while let Some(&late) = kicks.last().filter(|at| **at + feet_gap > next) {
        kicks.pop();
        leave_out(part, start + late, true);
    }
    // The bar before may have ended with the other foot's kick on the 1 or just before it.
    let late = part.next_kick.map_or(foot_gap / 2, |_| foot_gap).max(1);
    let mut feet = Feet::new();
    while !kicks.is_empty() {
        let kicking = Kicking {
            ctx,
            kicks: &kicks,
            close,
            foot_gap,
            due: next,
            late,
        };
        let (gone, told) = if kicking.assign(&mut feet).is_some() {
            // An extra of the other foot gives way to the beat's own pedal; nobody misses it.
            let Some(gone) = in_the_way(part, &feet, &pedal, foot_gap) else {
                break;
            };
            (gone, false)
        } else {
            // An odd number of kicks without a pause: leave out the last extra, else the beat's last, else the last.
            let of_part = || {
                part.strokes
                    .iter()
                    .filter(|s| s.target == StrokeTarget::KICK)
            };
            let extra = of_part().rfind(|s| s.rank > 0.0);
            let gone = extra.or_else(|| of_part().rfind(|s| s.standing == Standing::Own));
            (
                gone.map_or(kicks[kicks.len() - 1], |s| s.tick - start),
                true,
            )
        };
        kicks.retain(|tick| *tick != gone);
        leave_out(part, start + gone, told);
    }
    let strokes = part
        .strokes
        .iter_mut()
        .filter(|s| s.target == StrokeTarget::KICK);
    for (stroke, &foot) in strokes.zip(&feet) {
        stroke.limb = foot;
    }
}

/// Removes the kick at a tick of the timeline; `told`: the listener learns of it.
fn leave_out(part: &mut Part, tick: Ticks, told: bool) {
    let is_gone = |s: &Stroke| s.target == StrokeTarget::KICK && s.tick == tick;
    if let Some(i) = part.strokes.iter().position(is_gone).filter(|_| told) {
        part.drop_stroke(part.strokes[i]);
    }
    part.strokes.retain(|s| !is_gone(s));
}

/// The place in the bar of an extra kick that keeps the other foot from a pedal stroke of the beat.
fn in_the_way(part: &Part, feet: &Feet, pedal: &[Ticks], foot_gap: Ticks) -> Option<Ticks> {
    let kicks = part
        .strokes
        .iter()
        .filter(|s| s.target == StrokeTarget::KICK);
    let mut extras = kicks
        .zip(feet)
        .filter(|(s, foot)| s.rank > 0.0 && **foot == Limb::OtherFoot)
        .map(|(s, _)| s.tick - part.bar.start);
    extras.find(|at| pedal.iter().any(|tick| (tick - at).abs() < foot_gap))
}

/// What is against a foot for a kick: the other foot on a count, on a unit of one, and on a pick-up between; the lead
/// foot on a pick-up. Then the same foot twice in a run of three or more, across the run's longer gaps and elsewhere,
/// and twice in a pair. Then the other foot in a pair, and alone. Ranked by common practice, no source.
const OTHER_ON_COUNT: u32 = 6;
const OTHER_ON_UNIT: u32 = 2;
const LEAD_ON_PICK_UP: u32 = 3;
const TWICE_LONG: u32 = 2;
const TWICE: u32 = 40;
const TWICE_IN_PAIR: u32 = 1;
const OTHER_IN_PAIR: u32 = 5;
const OTHER_ALONE: u32 = 60;

/// The costs of the ways to each state: lead foot, lead foot again, other foot, other foot again. `None` where a foot
/// can't. A foot that has kicked again leaves the other one rested for longer than any limit.
type Ways = [Option<u32>; 4];

/// For each kick, the state before it by which each of its states is reached: two bits for each.
type Steps = ArrayVec<u8, MAX_STROKES>;

/// The kicks of a bar, and when the lead foot is due after it.
struct Kicking<'a> {
    ctx: &'a Context<'a>,
    kicks: &'a [Ticks],
    /// Kicks closer than this belong to one run.
    close: Ticks,
    foot_gap: Ticks,
    due: Ticks,
    /// From here on the other foot may have the first kick: before, it may be on its way back from the bar before.
    late: Ticks,
}

/// Kicks that follow each other closely, by their numbers.
#[derive(Debug, Clone, Copy, Default)]
struct Run {
    start: usize,
    /// The first after it.
    end: usize,
    /// The shortest gap between two of them.
    shortest: Option<Ticks>,
}

impl Kicking<'_> {
    /// Assigns a foot to each kick: the lead foot takes the counts, the other foot the pick-ups between them, and a
    /// run of three or more alternates. Replaces the contents of `feet`. `None`, and no feet, where no two feet can
    /// play them.
    fn assign(&self, feet: &mut Feet) -> Option<()> {
        feet.clear();
        let mut steps = Steps::new();
        let mut ways: Ways = [None; 4];
        let mut run = Run::default();
        for i in 0..self.kicks.len() {
            if i >= run.end {
                run = self.run_from(i);
            }
            let step;
            (ways, step) = if i == 0 {
                (self.first(&run), 0)
            } else {
                self.next(i, &ways, &run)
            };
            steps.push(step);
        }
        let last = *self.kicks.last()?;
        let gap = self.due - last;
        let ends = ways.iter().enumerate();
        let ends = ends.filter_map(|(state, way)| {
            let cost = (*way)?;
            match state {
                0 | 1 if gap < self.foot_gap => None,
                0 | 1 if gap < self.close => Some((cost + twice(gap, &run), state)),
                // The lead foot kicked before that, perhaps too late.
                2 if self.kicks.len() > 1
                    && self.due - self.kicks[self.kicks.len() - 2] < self.foot_gap =>
                {
                    None
                }
                _ => Some((cost, state)),
            }
        });
        let mut state = ends.min().map(|(_, state)| state)?;
        for step in steps.iter().rev() {
            feet.push(if state < 2 {
                Limb::LeadFoot
            } else {
                Limb::OtherFoot
            });
            state = usize::from(step >> (2 * state) & 3);
        }
        feet.reverse();
        Some(())
    }

    /// The run that begins at a kick. It ends where the feet breathe.
    fn run_from(&self, start: usize) -> Run {
        let gap = |i: usize| self.kicks.get(i + 1).copied().unwrap_or(self.due) - self.kicks[i];
        let end = (start..self.kicks.len())
            .find(|&i| gap(i) >= self.close)
            .map_or(self.kicks.len(), |i| i + 1);
        let of_run = self.kicks.get(start..end).unwrap_or_default();
        Run {
            start,
            end,
            shortest: of_run.windows(2).map(|w| w[1] - w[0]).min(),
        }
    }

    fn first(&self, run: &Run) -> Ways {
        let [lead, other] = self.costs(0, run);
        let other = (self.kicks[0] >= self.late).then_some(other);
        [Some(lead), None, other, None]
    }

    fn next(&self, i: usize, last: &Ways, run: &Run) -> (Ways, u8) {
        let gap = self.kicks[i] - self.kicks[i - 1];
        let (mut ways, mut step): (Ways, u8) = ([None; 4], 0);
        // What does not depend on the way.
        let feet = [Limb::LeadFoot, Limb::OtherFoot];
        let costs = self.costs(i, run);
        let again = if i > run.start { twice(gap, run) } else { 0 };
        for (from, way) in (0_u8..).zip(last) {
            let Some(cost) = way else { continue };
            for (foot, own) in feet.into_iter().zip(costs) {
                let same = (from < 2) == (foot == Limb::LeadFoot);
                // A foot that changed last time leaves the kick before that to the other one.
                let rest = if same {
                    gap
                } else if from % 2 == 0 && i >= 2 {
                    self.kicks[i] - self.kicks[i - 2]
                } else {
                    Ticks::MAX
                };
                if rest < self.foot_gap {
                    continue;
                }
                let cost = cost + own + if same { again } else { 0 };
                let state = usize::from(same) + if foot == Limb::LeadFoot { 0 } else { 2 };
                if ways[state].is_none_or(|best| cost < best) {
                    ways[state] = Some(cost);
                    step = step & !(3 << (2 * state)) | from << (2 * state);
                }
            }
        }
        (ways, step)
    }

    /// The costs of the lead and the other foot for a kick by its place.
    fn costs(&self, i: usize, run: &Run) -> [u32; 2] {
        let at = self.kicks[i];
        let goes_on = run.end == self.kicks.len() && self.due - at < self.close;
        let size = run.end - run.start + usize::from(goes_on);
        let stress = self
            .ctx
            .layout
            .stress(at.rem_euclid(self.ctx.layout.bar_len));
        let (lead, other) = match stress {
            Stress::Count | Stress::Back | Stress::Strong => (0, OTHER_ON_COUNT),
            Stress::Unit => (0, OTHER_ON_UNIT),
            Stress::Off if size >= 3 => (LEAD_ON_PICK_UP, 0),
            Stress::Off => (0, 0),
        };
        let rare = match size {
            1 => OTHER_ALONE,
            2 => OTHER_IN_PAIR,
            _ => 0,
        };
        [lead, other + rare]
    }
}

/// The cost of one foot twice in a row, `gap` apart, in a run.
fn twice(gap: Ticks, run: &Run) -> u32 {
    if run.end - run.start < 3 {
        TWICE_IN_PAIR
    } else if run.shortest.is_some_and(|shortest| gap * 2 >= shortest * 3) {
        TWICE_LONG
    } else {
        TWICE
    }
}
