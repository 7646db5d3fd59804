//! The sequencer: composes bar after bar and yields the hits in a span of ticks.
//!
//! Its output is a pure function of settings, bar, tempo and riff. A new sequencer that starts at any tick with the
//! same inputs yields the same hits from there on.

mod ahead;
mod foot;
mod request;

use super::in_force::{InForce, Inputs, Resolver};
use crate::groove::{Call, Composer, HandCymbal, Hit, Limb, Part};
use crate::riff::RiffWindow;
use crate::settings::{BarSettings, Hand, StrokeSettings, SwitchAt};
use crate::time::{Bar, TICKS_PER_QUARTER, Ticks};
use ahead::Ahead;
pub use foot::Foot;
use foot::{Moves, yield_before};
use request::{next_count, open_window, request};

/// The grace period after a bar line in which a change of the bar's settings still applies to that bar: a
/// sixteenth. Hosts without sample-accurate automation deliver changes up to a block late.
const GRACE_TICKS: Ticks = TICKS_PER_QUARTER / 4;

/// The sequencer. Audio thread or main thread; allocates only when made.
#[derive(Debug, Clone)]
pub struct Sequencer {
    resolver: Resolver,
    composer: Composer,
    part: Part,
    /// The settings that the part was composed from; `None` before the first bar.
    latched: Option<BarSettings>,
    /// Tempo that the part was composed at, in quarter notes a minute.
    bpm: f64,
    /// The auto hand cymbal that holds.
    cymbal: Option<HeldCymbal>,
    /// The live request that the part was composed with.
    call: Call,
    /// Whether a called fill waits for the next count.
    called: bool,
    /// Whether the fill switch was on at the last check.
    held: bool,
    /// The riff's attacks around the current bar.
    window: RiffWindow,
    /// Whether the feet play along with the live guitar. New bars then leave the riff out.
    live: bool,
    /// The index of the next stroke of the part, valid if the next span begins at this tick.
    next: (Ticks, usize),
    /// Until this tick no stroke sounds and nothing is decided, unless the inputs change.
    rests_until: Ticks,
    /// The place on the grid of each limb's last stroke since playback began.
    struck: [Ticks; Limb::ALL.len()],
    /// What of the next bar sounds before its bar line.
    ahead: Ahead,
    /// Where time turns back, at the end of a loop: nothing from there on sounds early.
    turns_at: Option<Ticks>,
    /// What the foot of a sampler's hi-hat has to do.
    foot: Foot,
    /// When the hi-hat was struck last.
    hi_hat: Ticks,
}

/// What a sequencer yields.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Played {
    /// A hit.
    Hit(Hit),
    /// From this tick on the foot holds the hi-hat as for a hit to come.
    Foot(Ticks, Hit),
}

impl Sequencer {
    /// A sequencer before its first bar.
    pub fn new() -> Self {
        Self {
            resolver: Resolver::default(),
            composer: Composer::new(),
            part: Part::new(),
            latched: None,
            bpm: 0.0,
            cymbal: None,
            call: Call::default(),
            called: false,
            held: false,
            window: RiffWindow::default(),
            live: false,
            next: (Ticks::MIN, 0),
            rests_until: Ticks::MIN,
            struck: [Ticks::MIN; Limb::ALL.len()],
            ahead: Ahead::new(),
            turns_at: None,
            foot: Foot::default(),
            hi_hat: Ticks::MIN,
        }
    }

    /// What is in force at a tick.
    pub fn in_force(&mut self, tick: Ticks, inputs: &Inputs) -> InForce {
        self.resolver.at(tick, inputs)
    }

    /// The panel, the chart or the bar lines are others than when last asked. The bar in hand goes on as it was composed;
    /// levels follow at once.
    pub fn inputs_changed(&mut self) {
        self.resolver.forget();
        self.rests_until = Ticks::MIN;
    }

    /// Sets whether the feet play along with the live guitar, from the next bar on.
    pub fn set_live(&mut self, live: bool) {
        self.live = live;
    }

    /// Sets where time turns back: the end of the loop that it runs towards.
    pub fn set_turn(&mut self, turns_at: Option<Ticks>) {
        self.turns_at = turns_at;
    }

    /// Sets what the foot of a sampler's hi-hat has to do.
    pub fn set_foot(&mut self, foot: Foot) {
        self.foot = foot;
    }

    /// Whether the current bar's part contains the riff.
    pub fn follows_riff(&self) -> bool {
        self.window.is_known() && !self.live
    }

    /// The part of the bar last played.
    pub fn part(&self) -> &Part {
        &self.part
    }

    /// The live request of the bar last played, beyond its plan.
    pub fn call(&self) -> Call {
        self.call
    }

    /// Forgets the current bar, as after a jump of the transport.
    pub fn restart(&mut self) {
        self.latched = None;
        self.cymbal = None;
        self.call = Call::default();
        self.called = false;
        self.held = false;
        self.rests_until = Ticks::MIN;
        self.ahead.of = None;
        self.struck = [Ticks::MIN; Limb::ALL.len()];
        self.hi_hat = Ticks::MIN;
    }

    /// Whether a span that goes on where the last one ended can be passed over: [`Sequencer::play`] would yield
    /// nothing and decide nothing in it. If so, it is passed over. Most blocks are such, unless the foot moves ahead.
    pub fn rests(&mut self, from: Ticks, to: Ticks) -> bool {
        let rests = from == self.next.0 && to <= self.rests_until && self.foot.lead == 0;
        if rests {
            self.next.0 = to;
        }
        rests
    }

    /// Yields every hit from tick `from` up to, not including, `to`, in order of time, and where there is a lead, what
    /// the foot does. The inputs apply to the whole span.
    ///
    /// # Realtime
    /// No allocation.
    pub fn play(
        &mut self,
        from: Ticks,
        to: Ticks,
        inputs: &Inputs,
        mut yields: impl FnMut(Played),
    ) {
        let mut at = from;
        while at < to {
            let now = self.in_force(at, inputs);
            if now.edited {
                let until = to.min(now.until);
                self.restart();
                let edited = inputs.chart.locked(at, until + self.foot.lead);
                let here = edited.partition_point(|hit| hit.tick < until);
                let mut moves = self.moves(edited.iter().copied(), (at, until), now.bar);
                for edited in &edited[..here] {
                    yield_before(&mut moves, edited.tick, |due, hit| {
                        yields(Played::Foot(due, hit));
                    });
                    self.strike(edited);
                    yields(Played::Hit(*edited));
                }
                yield_before(&mut moves, until, |due, hit| yields(Played::Foot(due, hit)));
                at = until;
                continue;
            }
            if self.latched.is_none() || self.part.bar() != now.bar {
                self.latch(at, &now, inputs);
            }
            let called = self.hear_call(at, &now, inputs).unwrap_or(now.until);
            let changed = self.hear_change(at, &now, inputs).unwrap_or(now.until);
            let early = self.hear_ahead(at, &now, inputs, |found| {
                yields(Played::Hit(found));
            });
            let decided = now.until.min(called).min(changed).min(early);
            let until = to.min(decided);
            let settings = &now.settings.stroke_settings;
            let mut moves = self.foresee(at, until, inputs);
            let stroke = self.emit(at, until, settings, |found| {
                yield_before(&mut moves, found.tick, |due, hit| {
                    yields(Played::Foot(due, hit));
                });
                yields(Played::Hit(found));
            });
            yield_before(&mut moves, until, |due, hit| yields(Played::Foot(due, hit)));
            self.rests_until = stroke.map_or(decided, |stroke| decided.min(stroke));
            at = until;
        }
    }

    /// Yields the hits of a whole bar as it would be played with `call`, for callers that look ahead. The current
    /// bar does not matter.
    pub fn look_at(&mut self, bar: Bar, call: Call, inputs: &Inputs, mut hit: impl FnMut(Hit)) {
        self.inputs_changed();
        self.restart();
        self.call = call;
        let mut at = bar.start;
        while at < bar.end() {
            let now = self.in_force(at, inputs);
            let until = now.until.min(bar.end());
            if now.edited {
                let edited = inputs.chart.locked(at, until);
                edited.iter().copied().for_each(&mut hit);
            } else {
                if self.latched.is_none() {
                    self.bpm = inputs.bpm;
                    open_window(&mut self.window, self.live, &now, inputs);
                    self.compose(None, now.settings.bar_settings, &now, inputs);
                }
                // What sounds before the bar line belongs to the bar, too.
                let from = if at == bar.start { Ticks::MIN } else { at };
                self.emit(from, until, &now.settings.stroke_settings, &mut hit);
            }
            at = until;
        }
    }

    /// The live request of a bar, as it is where it begins. `follows`: after the current bar, without a jump.
    fn call_at(&self, then: &InForce, follows: bool) -> Call {
        let InForce { bar, settings, .. } = *then;
        let last = self.part.bar();
        let reached = self.call.fill.map(|(_, to)| last.start + to);
        let lands = follows && reached == Some(bar.start) && last.end() == bar.start;
        // A fill that continues lands first and restarts on the next count: the host may report its release late at
        // the bar line.
        let at_once = (settings.fill_now || self.called) && !lands;
        Call {
            fill: at_once.then_some((0, bar.meter.bar_len())),
            lands,
        }
    }

    fn latch(&mut self, at: Ticks, now: &InForce, inputs: &Inputs) {
        self.call = self.call_at(now, self.latched.is_some());
        self.called = false;
        self.bpm = inputs.bpm;
        open_window(&mut self.window, self.live, now, inputs);
        self.compose(None, now.settings.bar_settings, now, inputs);
        // What lies here on the grid and would have sounded just before sounds at once, unless its limb has struck.
        self.part.not_before(at, &self.struck);
        self.ahead.of = None;
    }

    /// Applies a change of the bar's settings within the bar, where allowed. Returns the tick of the next check.
    fn hear_change(&mut self, at: Ticks, now: &InForce, inputs: &Inputs) -> Option<Ticks> {
        let settings = &now.settings;
        let latched = self
            .latched
            .filter(|latched| *latched != settings.bar_settings)?;
        if at - now.bar.start < GRACE_TICKS {
            self.compose(Some(at), settings.bar_settings, now, inputs);
            return None;
        }
        if settings.switch_at != SwitchAt::Count {
            return None;
        }
        let BarSettings {
            style, hand_rate, ..
        } = settings.bar_settings;
        let wished = BarSettings {
            style,
            hand_rate,
            ..latched
        };
        let count = now.bar.start + next_count(now.bar, at)?;
        if count == at {
            self.compose(Some(at), wished, now, inputs);
            return None;
        }
        (wished != latched).then_some(count)
    }

    /// Composes the current bar, completely or from a tick on.
    fn compose(
        &mut self,
        from: Option<Ticks>,
        bar_settings: BarSettings,
        now: &InForce,
        inputs: &Inputs,
    ) {
        let Self {
            window,
            call,
            bpm,
            part,
            composer,
            struck,
            ..
        } = self;
        let (request, home) = request(window, *call, *bpm, &bar_settings, now, inputs);
        let mut anew = |part: &mut Part| {
            composer.compose(&request, part);
            part.shift(home);
        };
        if from.is_some() && self.latched.map(|latched| latched.style) != Some(bar_settings.style) {
            // Another beat, another hand.
            self.cymbal = None;
        }
        match from {
            Some(at) => part.change_at(at, struck, anew),
            None => anew(part),
        }
        self.latched = Some(bar_settings);
        self.next = (Ticks::MIN, 0);
    }

    /// Starts a waiting fill on its count, and ends a released one on the next count. Returns the tick of the next
    /// check.
    fn hear_call(&mut self, at: Ticks, now: &InForce, inputs: &Inputs) -> Option<Ticks> {
        let InForce {
            bar, ref settings, ..
        } = *now;
        let end = bar.meter.bar_len();
        // A call just after a count applies to that count.
        let heard = at - GRACE_TICKS + 1;
        let open = self.call.fill.filter(|(_, to)| *to == end);
        let held = std::mem::replace(&mut self.held, settings.fill_now);
        let pressed = settings.fill_now && !held;
        let (fill, turn) = match open {
            None if settings.fill_now || self.called => {
                self.called |= pressed;
                let landed = Ticks::from(self.call.lands);
                let count = next_count(bar, heard.max(bar.start + landed))?;
                // The beat has struck the count: the fill begins at the next place where the hands can be.
                let struck = bar.start + count < at;
                let from = if struck { count + GRACE_TICKS } else { count };
                if from >= end {
                    return None;
                }
                ((from, end), count)
            }
            Some((from, _)) if !settings.fill_now => {
                let count = next_count(bar, heard.max(bar.start + from + 1))?;
                ((from, count), count)
            }
            _ => return None,
        };
        if bar.start + turn > at {
            return Some(bar.start + turn);
        }
        self.called = false;
        self.call.fill = Some(fill);
        let latched = self.latched.unwrap_or(settings.bar_settings);
        self.compose(Some(at), latched, now, inputs);
        // A fill that was only tapped ends with the count on which it began.
        let touched = open.is_none() && !settings.fill_now;
        let next = next_count(bar, bar.start + fill.0 + 1).filter(|_| touched)?;
        Some((bar.start + next).max(at + 1))
    }

    /// The moves of the foot in a span, for strokes of the part, each as it will be struck: by the settings that are in
    /// force then, and with the cymbal that the hand will have.
    fn foresee(&mut self, from: Ticks, to: Ticks, inputs: &Inputs) -> Moves {
        let foot = self.foot;
        if foot.lead == 0 {
            return Moves::new();
        }
        let (bar, last, held) = (self.part.bar(), self.hi_hat, self.cymbal);
        let strokes = self.part.strokes();
        let mut i = strokes.partition_point(|stroke| stroke.play_tick < from);
        let hits = std::iter::from_fn(|| {
            loop {
                let stroke = *self.part.strokes().get(i)?;
                i += 1;
                let then = self.in_force(stroke.play_tick, inputs).settings;
                let cymbal = self.cymbal_at(stroke.tick, &then.stroke_settings);
                let hit = Part::perform(&stroke, &then.stroke_settings, cymbal);
                if hit.is_some() {
                    return hit;
                }
            }
        });
        let moves = foot::moves(hits, (from, to), bar, foot, last);
        self.cymbal = held;
        moves
    }

    fn moves(&self, hits: impl Iterator<Item = Hit>, span: (Ticks, Ticks), bar: Bar) -> Moves {
        if self.foot.lead == 0 {
            return Moves::new();
        }
        foot::moves(hits, span, bar, self.foot, self.hi_hat)
    }

    /// Takes note of a hit.
    fn strike(&mut self, hit: &Hit) {
        if self.foot.moves_for(hit.piece) {
            self.hi_hat = hit.tick;
        }
    }

    /// Yields the strokes of the part in a span. Returns the tick of the next one.
    fn emit(
        &mut self,
        from: Ticks,
        to: Ticks,
        stroke_settings: &StrokeSettings,
        mut hit: impl FnMut(Hit),
    ) -> Option<Ticks> {
        let strokes = self.part.strokes();
        let mut i = match self.next {
            (tick, i) if tick == from => i,
            _ => strokes.partition_point(|stroke| stroke.play_tick < from),
        };
        while let Some(&stroke) = self.part.strokes().get(i)
            && stroke.play_tick < to
        {
            let cymbal = self.cymbal_at(stroke.tick, stroke_settings);
            if let Some(found) = Part::perform(&stroke, stroke_settings, cymbal) {
                let struck = &mut self.struck[stroke.limb as usize];
                *struck = stroke.tick.max(*struck);
                self.strike(&found);
                hit(found);
            }
            i += 1;
        }
        self.next = (to, i);
        self.part.strokes().get(i).map(|stroke| stroke.play_tick)
    }

    /// The hand cymbal for a stroke. *Auto* changes on a bar line. On a ramp it also changes on a backbeat, once a bar,
    /// and only for a clear change of intensity. At the bar line it chooses without hysteresis, so a bar plays the same
    /// wherever playback started.
    fn cymbal_at(&mut self, tick: Ticks, stroke_settings: &StrokeSettings) -> HandCymbal {
        if stroke_settings.hand != Hand::Auto {
            self.cymbal = None;
            return self.part.cymbal(stroke_settings);
        }
        let turn = self.part.cymbal_turn(tick);
        let bar = self.part.bar().start;
        let chosen = match self.cymbal {
            // A late stroke may follow an early one of the next turn.
            Some(held) if held.since >= turn && turn >= bar => return held.cymbal,
            Some(held) if held.since >= bar && held.moved => HeldCymbal {
                since: turn,
                ..held
            },
            Some(held) if held.since >= bar => {
                let cymbal = self.part.cymbal_after(Some(held.cymbal), stroke_settings);
                HeldCymbal {
                    since: turn,
                    cymbal,
                    moved: cymbal != held.cymbal,
                }
            }
            _ => HeldCymbal {
                since: turn,
                cymbal: self.part.cymbal(stroke_settings),
                moved: false,
            },
        };
        self.cymbal = Some(chosen);
        chosen.cymbal
    }
}

/// A choice of the auto hand cymbal.
#[derive(Debug, Clone, Copy)]
struct HeldCymbal {
    /// The bar line or backbeat from which it holds.
    since: Ticks,
    cymbal: HandCymbal,
    /// Whether it moved within its bar.
    moved: bool,
}

impl Default for Sequencer {
    fn default() -> Self {
        Self::new()
    }
}
