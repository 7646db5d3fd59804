//! The sequencer: composes bar after bar and yields the hits in a span of ticks.
//!
//! Its output is a pure function of settings, bar, tempo and riff. A new sequencer that starts at any tick with the
//! same inputs yields the same hits from there on.

use super::in_force::{InForce, Inputs, Resolver};
use crate::groove::{Call, Composer, HandCymbal, Hit, Part, Request};
use crate::riff::RiffWindow;
use crate::settings::{BarSettings, Hand, StrokeSettings, SwitchAt};
use crate::time::{Bar, TICKS_PER_QUARTER, Ticks};

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
    /// The count at which the auto hand cymbal was last chosen, and the choice.
    cymbal: Option<(Ticks, HandCymbal)>,
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
    }

    /// Sets whether the feet play along with the live guitar, from the next bar on.
    pub fn set_live(&mut self, live: bool) {
        self.live = live;
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
    }

    /// Yields every hit from tick `from` up to, not including, `to`, in order of time. The inputs apply to the
    /// whole span. Each hit comes with whether the songwriter edited it.
    ///
    /// # Realtime
    /// No allocation.
    pub fn play(
        &mut self,
        from: Ticks,
        to: Ticks,
        inputs: &Inputs,
        mut hit: impl FnMut(Hit, bool),
    ) {
        let mut at = from;
        while at < to {
            let now = self.in_force(at, inputs);
            let mut until = to.min(now.until);
            if now.edited {
                self.restart();
                for edited in inputs.chart.locked(at, until) {
                    hit(*edited, true);
                }
                at = until;
                continue;
            }
            if self.latched.is_none() || self.part.bar() != now.bar {
                self.latch(&now, inputs);
            }
            if let Some(count) = self.hear_call(at, &now, inputs) {
                until = until.min(count);
            }
            if let Some(count) = self.hear_change(at, &now, inputs) {
                until = until.min(count);
            }
            self.emit(at, until, &now.settings.stroke_settings, |found| {
                hit(found, false);
            });
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
                    self.open_window(&now, inputs);
                    self.compose(None, now.settings.bar_settings, &now, inputs);
                }
                self.emit(at, until, &now.settings.stroke_settings, &mut hit);
            }
            at = until;
        }
    }

    fn latch(&mut self, now: &InForce, inputs: &Inputs) {
        let InForce { bar, settings, .. } = *now;
        let last = self.part.bar();
        let reached = self.call.fill.map(|(_, to)| last.start + to);
        let lands = self.latched.is_some() && reached == Some(bar.start) && last.end() == bar.start;
        // A fill that continues lands first and restarts on the next count: the host may report its release late at
        // the bar line.
        let at_once = (settings.fill_now || self.called) && !lands;
        self.call = Call {
            fill: at_once.then_some((0, bar.meter.bar_len())),
            lands,
        };
        self.called = false;
        self.bpm = inputs.bpm;
        self.open_window(now, inputs);
        self.compose(None, settings.bar_settings, now, inputs);
    }

    fn open_window(&mut self, now: &InForce, inputs: &Inputs) {
        if self.live {
            self.window.latch_live();
        } else {
            let own = now.here.map_or(now.bar, |here| inputs.chart.own_bar(&here));
            self.window
                .latch(inputs.riff, now.bar, own.start - now.bar.start);
        }
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
            ..
        } = self;
        let (request, home) = match &now.here {
            Some(here) => inputs
                .chart
                .request(here, *bpm, &bar_settings, inputs.panel),
            None => (Request::new(now.bar, *bpm, &bar_settings), 0),
        };
        let request = Request {
            call: *call,
            riff: window.attacks(),
            ..request
        };
        let mut anew = |part: &mut Part| {
            composer.compose(&request, part);
            part.shift(home);
        };
        match from {
            Some(at) => part.change_at(at, anew),
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
        let pressed = settings.fill_now && !std::mem::replace(&mut self.held, settings.fill_now);
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

    fn emit(
        &mut self,
        from: Ticks,
        to: Ticks,
        stroke_settings: &StrokeSettings,
        mut hit: impl FnMut(Hit),
    ) {
        let strokes = self.part.strokes();
        let mut i = match self.next {
            (tick, i) if tick == from => i,
            _ => strokes.partition_point(|stroke| stroke.play_tick < from),
        };
        while let Some(&stroke) = self.part.strokes().get(i)
            && stroke.play_tick < to
        {
            let cymbal = self.cymbal_at(stroke.tick, stroke_settings);
            if let Some(struck) = Part::perform(&stroke, stroke_settings, cymbal) {
                hit(struck);
            }
            i += 1;
        }
        self.next = (to, i);
    }

    /// The hand cymbal for a stroke. *Auto* changes only on a count, and within a bar only for a clear change of
    /// intensity. At the bar line it chooses without hysteresis, so a bar plays the same wherever playback started.
    fn cymbal_at(&mut self, tick: Ticks, stroke_settings: &StrokeSettings) -> HandCymbal {
        if stroke_settings.hand != Hand::Auto {
            self.cymbal = None;
            return self.part.cymbal(stroke_settings);
        }
        let count = count_of(&self.part, tick);
        let bar = self.part.bar().start;
        let cymbal = match self.cymbal {
            // A late stroke may follow an early one of the next count.
            Some((held_at, held)) if held_at >= count && count >= bar => return held,
            Some((held_at, held)) if held_at >= bar => {
                self.part.cymbal_after(Some(held), stroke_settings)
            }
            _ => self.part.cymbal(stroke_settings),
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

/// The first count at or after a tick of the timeline, in ticks from the start of the bar; `None` after the
/// bar's last.
fn next_count(bar: Bar, at: Ticks) -> Option<Ticks> {
    let counts = bar.meter.counts();
    let mut starts = counts.iter().map(|count| count.start);
    starts.find(|start| bar.start + start >= at)
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
