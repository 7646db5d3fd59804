//! Roles: the places where a beat strikes, in terms that hold in every meter.
//!
//! A beat says "the and of 1", "the backbeats" or "between the eighths", never "step 5 of 16". A [`CountLayout`]
//! resolves these into ticks for a meter.

use super::own::fit::{Anchor, Fit, Place, each_tick, fit};
use crate::time::meter::{Counts, Pulses};
use crate::time::{Count, Meter, Pulse, TICKS_PER_QUARTER, Ticks, Value};
use arrayvec::ArrayVec;
use std::cell::Cell;

/// Most strokes that one role list can have in a bar: the sixteenths of 32/2, the longest bar.
pub const MAX_TICKS: usize = 256;

/// Positions inside a bar, in ticks from its start.
pub type TickList = ArrayVec<Ticks, MAX_TICKS>;

/// Which pulses of the bar.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum On {
    /// The count of this number, from 1; nothing where the bar is shorter.
    Count(u8),
    /// The bar's last count.
    Last,
    /// Every count.
    Every,
    /// Every other count: 1, 3, 5.
    Odd,
    /// The strong pulses: 1 and 3 of 4/4. See [`Meter::pairs`].
    Strong,
    /// The backbeats: 2 and 4 of 4/4. See [`Meter::pairs`].
    Back,
    /// The half-time backbeat: 3 of 4/4. See [`Meter::middle`].
    Middle,
}

/// Where within the pulse, as it is spoken: "1 e and a".
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sub {
    /// On it.
    Beat,
    /// The second sixteenth: half a unit after the pulse.
    E,
    /// The last eighth: its last unit.
    And,
    /// The last sixteenth: half a unit before the end of the pulse.
    A,
    /// The second of its three thirds.
    Trip,
    /// The last of its three thirds.
    Let,
}

/// A set of places where a beat strikes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// At these places.
    At(On, Sub),
    /// At every step of this value.
    Run(Value),
    /// Halfway between the steps of this value.
    Between(Value),
    /// At every other step of this value, for the two sides of an alternation: 0 leads, 1 answers. With an odd
    /// number of steps the last three go lead, lead, answer, so that the answer always precedes the next bar.
    /// Common practice, no source.
    Alternate(Value, u8),
    /// Three strokes spread evenly over each two counts: quarter-note triplets in n/4. A remaining single count
    /// keeps the same spacing.
    ThreeOverTwo,
    /// At this place of an own beat, wherever the bar plays its count.
    Own(Place),
}

/// The counts and pulses of one meter, computed once a bar.
#[derive(Debug, Clone)]
pub struct CountLayout {
    /// The counts.
    pub counts: Counts,
    strong: Pulses,
    back: Pulses,
    middle: Option<Pulse>,
    /// The length of the bar in ticks.
    pub bar_len: Ticks,
    meter: Meter,
    /// How the counts of an own beat fit the bar, once it was asked for: all roles of a beat ask.
    fit: Cell<Option<(Meter, Anchor, Fit)>>,
}

impl CountLayout {
    /// The layout of a meter.
    pub fn new(meter: Meter) -> Self {
        let (strong, back) = meter.pairs();
        Self {
            counts: meter.counts(),
            strong,
            back,
            middle: meter.middle(),
            bar_len: meter.bar_len(),
            meter,
            fit: Cell::new(None),
        }
    }

    /// The count that a tick of the bar falls in, and its index among the counts.
    pub fn count_of(&self, tick: Ticks) -> (usize, Count) {
        let i = self
            .counts
            .iter()
            .rposition(|count| count.start <= tick)
            .unwrap_or_default();
        (i, self.counts[i])
    }

    /// The metrical stress of a tick.
    pub fn stress(&self, tick: Ticks) -> Stress {
        let (_, count) = self.count_of(tick);
        let on_count = tick == count.start;
        // Strong pulses are counts; a backbeat may be within one.
        if on_count && self.strong.iter().any(|p| p.start == tick) {
            Stress::Strong
        } else if self.back.iter().any(|p| p.start == tick) {
            Stress::Back
        } else if on_count {
            Stress::Count
        } else if (tick - count.start) % count.unit() == 0 {
            Stress::Unit
        } else {
            Stress::Off
        }
    }

    /// The ticks of a list of roles, in order, each once.
    #[inline]
    pub fn resolve(&self, roles: &[Role]) -> TickList {
        let mut out = TickList::new();
        self.resolve_into(roles, &mut out);
        out
    }

    /// Adds the ticks to an empty list. Apart from [`Self::resolve`], so that the list is filled where it is kept: it
    /// is large to move.
    pub(super) fn resolve_into(&self, roles: &[Role], out: &mut TickList) {
        for role in roles {
            self.resolve_one(*role, out);
        }
        let in_order = out.windows(2).all(|pair| pair[0] < pair[1]);
        let inside = |tick: Option<&Ticks>| tick.is_none_or(|t| (0..self.bar_len).contains(t));
        if in_order && inside(out.first()) && inside(out.last()) {
            return;
        }
        out.retain(|tick| (0..self.bar_len).contains(tick));
        out.sort_unstable();
        let mut last = None;
        out.retain(|tick| last.replace(*tick) != Some(*tick));
    }

    /// Yields the ticks of a place of an own beat, in order.
    pub(super) fn each_of_own(&self, place: Place, tick: impl FnMut(Ticks)) {
        let fit = match self.fit.get() {
            Some((meter, anchor, fit)) if (meter, anchor) == (place.meter, place.anchor) => fit,
            _ => {
                let fit = fit(place.meter, place.anchor, self.meter);
                self.fit.set(Some((place.meter, place.anchor, fit)));
                fit
            }
        };
        each_tick(place, &fit, &self.counts, tick);
    }

    fn resolve_one(&self, role: Role, out: &mut TickList) {
        match role {
            Role::Own(place) => self.each_of_own(place, |tick| push(out, tick)),
            Role::At(on, sub) => {
                self.pulses(on, |pulse| push(out, place(pulse, sub)));
            }
            Role::Run(value) => self.steps(value, |_, tick| push(out, tick)),
            Role::Between(value) => self.steps(value, |count, tick| {
                let middle = tick + value.step(count) / 2;
                if middle < count.start + count.len {
                    push(out, middle);
                }
            }),
            Role::Alternate(value, side) => {
                let mut steps = TickList::new();
                self.steps(value, |_, tick| push(&mut steps, tick));
                let odd = steps.len() % 2 == 1;
                for (i, &tick) in steps.iter().enumerate() {
                    let answers = if odd && i + 2 >= steps.len() {
                        i + 1 == steps.len()
                    } else {
                        i % 2 == 1
                    };
                    if answers == (side == 1) {
                        push(out, tick);
                    }
                }
            }
            Role::ThreeOverTwo => {
                for pair in self.counts.chunks(2) {
                    let step = match *pair {
                        [a, b] => (a.len + b.len) / 3,
                        // At this pace the long group of 7/8 has no thirds; its halves are closest.
                        [a] if a.units == 3 && self.counts[0].units == 2 => a.len / 2,
                        [a] => a.len * 2 / 3,
                        _ => continue,
                    };
                    let len: Ticks = pair.iter().map(|c| c.len).sum();
                    (0..3)
                        .map(|i| i * step)
                        .take_while(|at| *at < len)
                        .for_each(|at| push(out, pair[0].start + at));
                }
            }
        }
    }

    /// The steps of a value in the bar, in order: what [`Self::resolve`] makes of [`Role::Run`].
    pub(super) fn run(&self, value: Value) -> impl Iterator<Item = Ticks> + '_ {
        let steps = self.counts.iter().flat_map(move |count| {
            let step = value.step(*count).max(1);
            let end = count.start + count.len;
            std::iter::successors(Some(count.start), move |tick| Some(tick + step))
                .take_while(move |tick| *tick < end)
        });
        steps.take(MAX_TICKS)
    }

    fn pulses(&self, on: On, mut each: impl FnMut(Pulse)) {
        match on {
            On::Count(n) => self
                .counts
                .get(usize::from(n).wrapping_sub(1))
                .copied()
                .map(each),
            On::Last => self.counts.last().copied().map(each),
            On::Middle => self.middle.map(each),
            On::Every => {
                self.counts.iter().copied().for_each(&mut each);
                None
            }
            On::Odd => {
                self.counts.iter().copied().step_by(2).for_each(&mut each);
                None
            }
            On::Strong => {
                self.strong.iter().copied().for_each(&mut each);
                None
            }
            On::Back => {
                self.back.iter().copied().for_each(&mut each);
                None
            }
        };
    }

    fn steps(&self, value: Value, mut each: impl FnMut(Count, Ticks)) {
        for &count in &self.counts {
            let step = value.step(count).max(1);
            let mut tick = count.start;
            while tick < count.start + count.len {
                each(count, tick);
                tick += step;
            }
        }
    }
}

/// The metrical stress of a place in the bar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stress {
    /// Between the units: the e's and a's.
    Off,
    /// A unit of a count: the ands.
    Unit,
    /// A count.
    Count,
    /// A backbeat.
    Back,
    /// A strong pulse.
    Strong,
}

const SIXTEENTH: Ticks = TICKS_PER_QUARTER / 4;

fn place(pulse: Pulse, sub: Sub) -> Ticks {
    let (unit, end) = (pulse.unit(), pulse.start + pulse.len);
    // Never finer than a sixteenth: in a pulse of a single eighth, "e", "and" and "a" coincide.
    let half = (unit / 2).max(SIXTEENTH).min(pulse.len / 2);
    match sub {
        Sub::Beat => pulse.start,
        Sub::E => pulse.start + half,
        Sub::And => end - unit,
        Sub::A => end - half,
        Sub::Trip => pulse.start + pulse.len / 3,
        Sub::Let => pulse.start + pulse.len / 3 * 2,
    }
}

/// Adds a tick where there is room. A list holds the sixteenths of the longest bar; no beat is finer.
fn push(out: &mut TickList, tick: Ticks) {
    let _ = out.try_push(tick);
}

#[cfg(test)]
mod tests {
    use super::*;
    use Role::{Alternate, At, Between, Run, ThreeOverTwo};

    /// Roles in a meter, as sixteenths (240 ticks) from the start of the bar.
    fn check(meter: &str, roles: &[Role], sixteenths: &[f64]) {
        let found = CountLayout::new(meter.parse().unwrap()).resolve(roles);
        let found: Vec<f64> = found.iter().map(|&t| t as f64 / 240.0).collect();
        assert_eq!(found, sixteenths, "{roles:?} in {meter}");
    }

    #[test]
    fn spoken_places() {
        check(
            "4/4",
            &[At(On::Count(1), Sub::E), At(On::Last, Sub::And)],
            &[1.0, 14.0],
        );
        check("4/4", &[At(On::Every, Sub::A)], &[3.0, 7.0, 11.0, 15.0]);
        check("6/8", &[At(On::Every, Sub::And)], &[4.0, 10.0]);
        check("6/8", &[At(On::Every, Sub::A)], &[5.0, 11.0]);
        // The long group's backbeat is its last eighth.
        check("7/8", &[At(On::Back, Sub::E)], &[5.0, 13.0]);
        check("7/8", &[At(On::Back, Sub::A)], &[7.0, 13.0]);
        check("12/8", &[At(On::Odd, Sub::Let)], &[4.0, 16.0]);
        check("3/4", &[At(On::Count(4), Sub::Beat)], &[]);
    }

    #[test]
    fn runs_and_alternations() {
        check("2/4", &[Run(Value::Eighth)], &[0.0, 2.0, 4.0, 6.0]);
        check("2/4", &[Between(Value::Eighth)], &[1.0, 3.0, 5.0, 7.0]);
        check(
            "6/8",
            &[Run(Value::Triplet)],
            &[0.0, 2.0, 4.0, 6.0, 8.0, 10.0],
        );
        check("6/8", &[Alternate(Value::Eighth, 1)], &[2.0, 6.0, 10.0]);
        check(
            "7/8",
            &[Alternate(Value::Eighth, 0)],
            &[0.0, 4.0, 8.0, 10.0],
        );
        check("7/8", &[Alternate(Value::Eighth, 1)], &[2.0, 6.0, 12.0]);
        check("1/8", &[Alternate(Value::Eighth, 0)], &[]);
    }

    #[test]
    fn three_over_two() {
        let expected: Vec<f64> = (0..6).map(|i| f64::from(i * 640) / 240.0).collect();
        check("4/4", &[ThreeOverTwo], &expected);
        check("6/8", &[ThreeOverTwo], &[0.0, 4.0, 8.0]);
        check("9/8", &[ThreeOverTwo], &[0.0, 4.0, 8.0, 12.0, 16.0]);
        let seven: Vec<f64> = [0, 640, 1280, 1920, 2640]
            .map(|t| f64::from(t) / 240.0)
            .into();
        check("7/8", &[ThreeOverTwo], &seven);
    }

    #[test]
    fn a_place_wished_for_twice_is_struck_once() {
        check(
            "4/4",
            &[At(On::Every, Sub::Beat), Run(Value::Quarter)],
            &[0.0, 4.0, 8.0, 12.0],
        );
    }
}
