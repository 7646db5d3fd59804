//! The sequencer: composes bar after bar and yields the hits in a span of ticks.
//!
//! It holds nothing that the settings, the bar and the tempo do not give again: dropped at any
//! tick and started anew there with the same settings, it goes on with the same hits.

use crate::groove;
use crate::groove::{Call, HandCymbal, Hit, Part, Request};
use crate::riff::{Riff, RiffWindow};
use crate::settings::{BarSettings, Hand, Settings, StrokeSettings, SwitchAt};
use crate::song::Chart;
use crate::song::chart::Here;
use crate::time::{Bar, TICKS_PER_QUARTER, Ticks};
use crate::transport::bars::BarGrid;

/// A change of the plan that comes this soon after a bar line still counts for that bar: a
/// sixteenth. Hosts without sample-accurate automation deliver it up to a block late.
const GRACE_TICKS: Ticks = TICKS_PER_QUARTER / 4;

/// The sequencer. Audio thread or main thread; allocates only when made.
#[derive(Debug, Clone)]
pub struct Sequencer {
    part: Part,
    /// The plan that the part was composed from; `None` before the first bar.
    bar_settings: Option<BarSettings>,
    /// Tempo that the part was composed at, in quarter notes a minute.
    bpm: f64,
    /// The count at which the auto hand cymbal was last chosen, and the choice.
    cymbal: Option<(Ticks, HandCymbal)>,
    /// What the part was composed with.
    call: Call,
    /// Whether a fill is called that waits for the next count.
    called: bool,
    /// Whether one was called for when last heard.
    held: bool,
    guitar: Guitar,
    chart: Chart,
}

/// What is in force at a tick.
#[derive(Debug, Clone, Copy)]
struct Now {
    bar: Bar,
    /// The bar's place in the chart, where it is followed.
    here: Option<Here>,
    settings: Settings,
    /// Whether the notes of a locked section are played, and nothing else.
    edited: bool,
    /// The first tick at which to ask again.
    until: Ticks,
}

/// What the sequencer knows of the guitar.
#[derive(Debug, Clone)]
struct Guitar {
    riff: Riff,
    /// The riff's attacks around the bar in hand.
    around: RiffWindow,
    /// The guitar is played along with as it comes in: the riff stays out of new bars.
    live: bool,
}

impl Sequencer {
    /// A sequencer before its first bar.
    pub fn new() -> Self {
        Self {
            part: Part::new(),
            bar_settings: None,
            bpm: 0.0,
            cymbal: None,
            call: Call::default(),
            called: false,
            held: false,
            guitar: Guitar {
                riff: Riff::with_room(),
                around: RiffWindow::default(),
                live: false,
            },
            chart: Chart::default(),
        }
    }

    /// The chart that is followed where the settings want it.
    pub fn chart(&self) -> &Chart {
        &self.chart
    }

    /// The same, to be exchanged for another one, which counts from the next bar on, and in its levels at
    /// once.
    pub fn chart_mut(&mut self) -> &mut Chart {
        &mut self.chart
    }

    /// The bar that a tick falls in: the chart's where it is followed, else the grid's.
    pub fn bar_at(&self, tick: Ticks, settings: &Settings, grid: &BarGrid) -> Bar {
        let here = self.here(tick, settings);
        here.map_or_else(|| grid.bar_at(tick), |here| here.bar)
    }

    /// The settings in force at a tick: the panel's, or what the chart makes of them.
    pub fn settings_at(&self, tick: Ticks, panel: &Settings) -> Settings {
        if panel.follow_chart && !self.chart.is_empty() {
            self.chart.settings(tick, panel)
        } else {
            *panel
        }
    }

    fn here(&self, tick: Ticks, settings: &Settings) -> Option<Here> {
        settings.follow_chart.then(|| self.chart.at(tick))?
    }

    /// Whether the notes of a locked section are played at a tick, and nothing else, and the first tick
    /// after it at which that may differ.
    pub fn edited(&self, tick: Ticks, settings: &Settings) -> (bool, Ticks) {
        if settings.follow_chart {
            self.chart.edited(tick)
        } else {
            (false, Ticks::MAX)
        }
    }

    fn now(&self, tick: Ticks, panel: &Settings, grid: &BarGrid) -> Now {
        let here = self.here(tick, panel);
        let (settings, until) = if panel.follow_chart && !self.chart.is_empty() {
            self.chart.in_force(here.as_ref(), tick, panel)
        } else {
            (*panel, Ticks::MAX)
        };
        let (edited, turn) = self.edited(tick, panel);
        let bar = here.map_or_else(|| grid.bar_at(tick), |here| here.bar);
        Now {
            bar,
            here,
            settings,
            edited,
            until: until.min(bar.end()).min(turn),
        }
    }

    /// The riff that the kick may follow.
    pub fn riff(&self) -> &Riff {
        &self.guitar.riff
    }

    /// The same, to be changed; what is changed counts from the next bar on.
    pub fn riff_mut(&mut self) -> &mut Riff {
        &mut self.guitar.riff
    }

    /// Whether the guitar is played along with as it comes in; counts from the next bar on.
    pub fn set_live(&mut self, live: bool) {
        self.guitar.live = live;
    }

    /// Whether the riff is in the part of the bar in hand.
    pub fn follows_riff(&self) -> bool {
        self.guitar.around.is_known() && !self.guitar.live
    }

    /// The part of the bar that was last played from.
    pub fn part(&self) -> &Part {
        &self.part
    }

    /// What was asked of the bar that was last played from, beyond its plan.
    pub fn call(&self) -> Call {
        self.call
    }

    /// Forgets the bar in hand, as after a jump of the transport.
    pub fn restart(&mut self) {
        self.bar_settings = None;
        self.cymbal = None;
        self.call = Call::default();
        self.called = false;
        self.held = false;
    }

    /// Yields every hit from tick `from` up to, not including, `to`, in order of time, with `panel` in
    /// force throughout; where it follows the chart, that one says what is in force.
    pub fn play(
        &mut self,
        from: Ticks,
        to: Ticks,
        panel: &Settings,
        grid: &BarGrid,
        bpm: f64,
        mut hit: impl FnMut(Hit),
    ) {
        let mut at = from;
        while at < to {
            let now = self.now(at, panel, grid);
            let (bar, settings) = (now.bar, &now.settings);
            let mut until = to.min(now.until);
            if now.edited {
                self.restart();
                let edited = self.chart.locked(at, until);
                edited.iter().copied().for_each(&mut hit);
                at = until;
                continue;
            }
            if self.bar_settings.is_none() || self.part.bar() != bar {
                self.bpm = bpm;
                self.latch(&now, panel);
            }
            if let Some(count) = self.hear_call(at, &now, panel) {
                until = until.min(count);
            }
            if let Some(bar_settings) = self
                .bar_settings
                .filter(|bar_settings| *bar_settings != settings.bar_settings)
            {
                if at - bar.start < GRACE_TICKS {
                    self.compose(Some(at), settings.bar_settings, &now, panel);
                } else if settings.switch_at == SwitchAt::Count {
                    let BarSettings {
                        style, hand_rate, ..
                    } = settings.bar_settings;
                    let wished = BarSettings {
                        style,
                        hand_rate,
                        ..bar_settings
                    };
                    match next_count(bar, at).map(|count| bar.start + count) {
                        Some(count) if count == at => self.compose(Some(at), wished, &now, panel),
                        Some(count) if wished != bar_settings => until = until.min(count),
                        _ => {}
                    }
                }
            }
            self.emit(at, until, settings, &mut hit);
            at = until;
        }
    }

    fn latch(&mut self, now: &Now, panel: &Settings) {
        let Now { bar, settings, .. } = *now;
        let last = self.part.bar();
        let reached = self.call.fill.map(|(_, to)| last.start + to);
        let lands =
            self.bar_settings.is_some() && reached == Some(bar.start) && last.end() == bar.start;
        // One that goes on lands first, and begins anew on the next count: a host may be late with
        // letting it go at the bar line.
        let at_once = (settings.fill_now || self.called) && !lands;
        self.call = Call {
            fill: at_once.then_some((0, bar.meter.bar_len())),
            lands,
        };
        self.called = false;
        let Guitar { riff, around, live } = &mut self.guitar;
        if *live {
            around.latch_live();
        } else {
            let own = now.here.map_or(bar, |here| self.chart.own_bar(&here));
            around.latch(riff, bar, own.start - bar.start);
        }
        self.compose(None, settings.bar_settings, now, panel);
    }

    /// Composes the bar in hand by a plan: all of it, or from a tick on.
    fn compose(
        &mut self,
        from: Option<Ticks>,
        bar_settings: BarSettings,
        now: &Now,
        panel: &Settings,
    ) {
        let Self {
            chart,
            guitar,
            call,
            bpm,
            part,
            ..
        } = self;
        let (request, home) = match &now.here {
            Some(here) => chart.request(here, *bpm, &bar_settings, panel),
            None => (Request::new(now.bar, *bpm, &bar_settings), 0),
        };
        let request = Request {
            call: *call,
            riff: guitar.around.attacks(),
            ..request
        };
        let anew = |part: &mut Part| {
            groove::compose_with(&request, part);
            part.shift(home);
        };
        match from {
            Some(at) => part.change_at(at, anew),
            None => anew(part),
        }
        self.bar_settings = Some(bar_settings);
    }

    /// Begins a fill that is called on the count that it waits for, and ends one that was let go of on
    /// the next. Returns the tick at which to ask again.
    fn hear_call(&mut self, at: Ticks, now: &Now, panel: &Settings) -> Option<Ticks> {
        let Now { bar, settings, .. } = now;
        let bar = *bar;
        let end = bar.meter.bar_len();
        // A call counts for the count that it comes just after.
        let heard = at - GRACE_TICKS + 1;
        let open = self.call.fill.filter(|(_, to)| *to == end);
        let pressed = settings.fill_now && !std::mem::replace(&mut self.held, settings.fill_now);
        let (fill, turn) = match open {
            None if settings.fill_now || self.called => {
                self.called |= pressed;
                let landed = Ticks::from(self.call.lands);
                let count = next_count(bar, heard.max(bar.start + landed))?;
                ((count, end), count)
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
        self.compose(
            Some(at),
            self.bar_settings.unwrap_or(settings.bar_settings),
            now,
            panel,
        );
        // One that was only touched ends with the count that it began on.
        let touched = open.is_none() && !settings.fill_now;
        let next = next_count(bar, bar.start + fill.0 + 1).filter(|_| touched)?;
        Some((bar.start + next).max(at + 1))
    }

    fn emit(&mut self, from: Ticks, to: Ticks, settings: &Settings, hit: &mut impl FnMut(Hit)) {
        let stroke_settings = &settings.stroke_settings;
        let strokes = self.part.strokes();
        let first = strokes.partition_point(|stroke| stroke.play_tick < from);
        for i in first..strokes.len() {
            let stroke = self.part.strokes()[i];
            if stroke.play_tick >= to {
                break;
            }
            let cymbal = self.cymbal_at(stroke.tick, stroke_settings);
            if let Some(struck) = Part::perform(&stroke, stroke_settings, cymbal) {
                hit(struck);
            }
        }
    }

    /// The hand cymbal for a stroke. Auto moves on a count alone, and within a bar only for a clear
    /// change of intensity; at the bar line it looks afresh, so that a bar is played the same
    /// wherever playing began.
    fn cymbal_at(&mut self, tick: Ticks, stroke_settings: &StrokeSettings) -> HandCymbal {
        if stroke_settings.hand != Hand::Auto {
            self.cymbal = None;
            return self.part.cymbal(stroke_settings);
        }
        let count = count_of(&self.part, tick);
        let bar = self.part.bar().start;
        let cymbal = match self.cymbal {
            // A late stroke may come after an early one of the next count.
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
