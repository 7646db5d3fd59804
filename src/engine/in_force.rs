//! What is in force at a tick: the bar, the settings, and whether the drummer or edited strokes play. Resolved once
//! and passed down.

use crate::riff::Riff;
use crate::settings::Settings;
use crate::song::Chart;
use crate::song::chart::Here;
use crate::time::{Bar, Ticks};
use crate::transport::BarGrid;

/// The source of bar lines where no chart is followed.
pub trait BarLines {
    /// The bar that a tick falls in.
    fn bar_at(&self, tick: Ticks) -> Bar;
}

impl BarLines for BarGrid {
    fn bar_at(&self, tick: Ticks) -> Bar {
        BarGrid::bar_at(self, tick)
    }
}

/// A single bar answers for itself.
impl BarLines for Bar {
    fn bar_at(&self, _: Ticks) -> Bar {
        *self
    }
}

/// Everything that decides what is played.
#[derive(Clone, Copy)]
pub struct Inputs<'a> {
    /// The values of the host's parameters.
    pub panel: &'a Settings,
    /// The chart, followed where the panel's setting says so.
    pub chart: &'a Chart,
    /// The guitar's attacks on the timeline.
    pub riff: &'a Riff,
    /// The bar lines where no chart is followed.
    pub bars: &'a dyn BarLines,
    /// The tempo, in quarter notes a minute.
    pub bpm: f64,
}

/// What is in force from a tick on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InForce {
    /// The bar.
    pub bar: Bar,
    /// The bar's place in the chart, where it is followed.
    pub here: Option<Here>,
    /// The panel's settings, combined with the chart's where it is followed.
    pub settings: Settings,
    /// Whether a section plays only the strokes that the songwriter edited.
    pub edited: bool,
    /// The first later tick at which any of this may differ.
    pub until: Ticks,
}

impl InForce {
    /// Resolves a tick. O(log n) in the length of the chart.
    ///
    /// # Realtime
    /// No allocation.
    pub fn at(tick: Ticks, inputs: &Inputs) -> Self {
        let Inputs {
            panel, chart, bars, ..
        } = inputs;
        if !panel.follow_chart || chart.is_empty() {
            let bar = bars.bar_at(tick);
            return Self {
                bar,
                here: None,
                settings: **panel,
                edited: false,
                until: bar.end(),
            };
        }
        let here = chart.at(tick);
        let (settings, until) = chart.in_force(here.as_ref(), tick, panel);
        let (edited, turn) = chart.edited(tick);
        let bar = here.map_or_else(|| bars.bar_at(tick), |here| here.bar);
        Self {
            bar,
            here,
            settings,
            edited,
            until: until.min(bar.end()).min(turn),
        }
    }
}

/// Caches the last answer while it holds: most blocks need no look-up in the chart.
#[derive(Debug, Clone, Default)]
pub struct Resolver {
    /// The first tick that it was asked for, and the answer.
    held: Option<(Ticks, InForce)>,
}

impl Resolver {
    /// Forgets the last answer: panel, chart or bar lines have changed.
    pub fn forget(&mut self) {
        self.held = None;
    }

    /// What holds at a tick.
    ///
    /// # Realtime
    /// No allocation.
    pub fn at(&mut self, tick: Ticks, inputs: &Inputs) -> InForce {
        match &self.held {
            Some((from, held)) if (*from..held.until).contains(&tick) => *held,
            _ => {
                let now = InForce::at(tick, inputs);
                self.held = Some((tick, now));
                now
            }
        }
    }
}
