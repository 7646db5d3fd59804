//! The sequencer: composes bar after bar and yields the hits in a span of ticks.
//!
//! It holds nothing that the settings, the bar and the tempo do not give again: dropped at any
//! tick and started anew there with the same settings, it goes on with the same hits.

use super::bars::BarGrid;
use crate::groove::{self, Hand, HandCymbal, Hit, Moment, Part, Plan, Settings, SwitchAt};
use crate::time::{TICKS_PER_QUARTER, Ticks};

/// A change of the plan that comes this soon after a bar line still counts for that bar: a
/// sixteenth. Hosts without sample-accurate automation deliver it up to a block late.
const GRACE_TICKS: Ticks = TICKS_PER_QUARTER / 4;

/// The sequencer. Audio thread or main thread; allocates only when made.
#[derive(Debug, Clone)]
pub struct Sequencer {
    part: Part,
    /// The plan that the part was composed from; `None` before the first bar.
    plan: Option<Plan>,
    /// Tempo that the part was composed at, in quarter notes a minute.
    bpm: f64,
    /// The count at which the auto hand cymbal was last chosen, and the choice.
    cymbal: Option<(Ticks, HandCymbal)>,
}

impl Sequencer {
    /// A sequencer before its first bar.
    pub fn new() -> Self {
        Self {
            part: Part::new(),
            plan: None,
            bpm: 0.0,
            cymbal: None,
        }
    }

    /// The part of the bar that was last played from.
    pub fn part(&self) -> &Part {
        &self.part
    }

    /// Forgets the bar in hand, as after a jump of the transport.
    pub fn restart(&mut self) {
        self.plan = None;
        self.cymbal = None;
    }

    /// Yields every hit from tick `from` up to, not including, `to`, in order of time, with
    /// `settings` in force throughout.
    pub fn play(
        &mut self,
        from: Ticks,
        to: Ticks,
        settings: &Settings,
        grid: &BarGrid,
        bpm: f64,
        mut hit: impl FnMut(Hit),
    ) {
        let mut at = from;
        while at < to {
            let bar = grid.bar_at(at);
            if self.plan.is_none() || self.part.bar() != bar {
                self.bpm = bpm;
                self.latch(bar, settings.plan);
            }
            let mut until = to.min(bar.end());
            if let Some(plan) = self.plan.filter(|plan| *plan != settings.plan) {
                if at - bar.start < GRACE_TICKS {
                    self.relatch(at, settings.plan);
                } else if settings.switch_at == SwitchAt::Count {
                    let Plan {
                        style, hand_rate, ..
                    } = settings.plan;
                    let wished = Plan {
                        style,
                        hand_rate,
                        ..plan
                    };
                    match next_count(bar, at) {
                        Some(count) if count == at => self.relatch(at, wished),
                        Some(count) if wished != plan => until = until.min(count),
                        _ => {}
                    }
                }
            }
            self.emit(at, until, settings, &mut hit);
            at = until;
        }
    }

    fn latch(&mut self, bar: crate::time::Bar, plan: Plan) {
        groove::compose(bar, self.bpm, &plan, &mut self.part);
        self.plan = Some(plan);
    }

    /// Takes up another plan inside the bar in hand.
    fn relatch(&mut self, at: Ticks, plan: Plan) {
        let (bar, bpm) = (self.part.bar(), self.bpm);
        self.part
            .change_at(at, |part| groove::compose(bar, bpm, &plan, part));
        self.plan = Some(plan);
    }

    fn emit(&mut self, from: Ticks, to: Ticks, settings: &Settings, hit: &mut impl FnMut(Hit)) {
        let moment = &settings.moment;
        let strokes = self.part.strokes();
        let first = strokes.partition_point(|stroke| stroke.sounds < from);
        for i in first..strokes.len() {
            let stroke = self.part.strokes()[i];
            if stroke.sounds >= to {
                break;
            }
            let cymbal = self.cymbal_at(stroke.tick, moment);
            if let Some(struck) = Part::perform(&stroke, moment, cymbal) {
                hit(struck);
            }
        }
    }

    /// The hand cymbal for a stroke. Auto moves on a count alone, and within a bar only for a clear
    /// change of intensity; at the bar line it looks afresh, so that a bar is played the same
    /// wherever playing began.
    fn cymbal_at(&mut self, tick: Ticks, moment: &Moment) -> HandCymbal {
        if moment.hand != Hand::Auto {
            self.cymbal = None;
            return self.part.cymbal(moment);
        }
        let count = count_of(&self.part, tick);
        let bar = self.part.bar().start;
        let cymbal = match self.cymbal {
            // A late stroke may come after an early one of the next count.
            Some((held_at, held)) if held_at >= count && count >= bar => return held,
            Some((held_at, held)) if held_at >= bar => self.part.cymbal_after(Some(held), moment),
            _ => self.part.cymbal(moment),
        };
        self.cymbal = Some((count, cymbal));
        cymbal
    }
}

impl Default for Sequencer {
    fn default() -> Self {
        Self::new()
    }
}

/// The first count of the bar at or after a tick.
fn next_count(bar: crate::time::Bar, at: Ticks) -> Option<Ticks> {
    bar.meter
        .counts()
        .iter()
        .map(|count| bar.start + count.start)
        .find(|start| *start >= at)
}

/// The tick of the count that a tick of the part falls in.
fn count_of(part: &Part, tick: Ticks) -> Ticks {
    let bar = part.bar();
    let at = tick - bar.start;
    let counts = bar.meter.counts();
    bar.start
        + counts
            .iter()
            .rev()
            .find(|count| count.start <= at)
            .map_or(0, |count| count.start)
}
