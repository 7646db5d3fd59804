//! How the beats of the list suit the guitar where the lanes look.

use crate::editor::snapshot::Snapshot;
use crate::engine::fit::Fit;
use crate::riff::Riff;
use crate::settings::{Settings, Style};
use crate::time::Bar;
use std::sync::Arc;

/// How the beats suit the guitar where the lanes look, while the list is open.
#[derive(Debug, Default)]
pub(super) struct Fits {
    /// What they were counted on.
    of: Option<(Arc<Riff>, Vec<Bar>, Settings, f64)>,
    /// One for each beat; empty where no riff is known there.
    all: Vec<Fit>,
}

/// Most bars that are counted: two phrases of eight. A riff repeats by then.
const MOST_BARS: usize = 16;

impl Fits {
    /// Counts anew where what they depend on has changed. `look` is the bar at which the lanes look, from 0.
    pub(super) fn count(&mut self, snapshot: &Snapshot, look: i64) {
        let bar = snapshot.bar(look);
        let (bars, settings) = stretch(snapshot, bar);
        let known = self.of.as_ref().is_some_and(|(riff, old, with, bpm)| {
            Arc::ptr_eq(riff, &snapshot.attacks)
                && (old, with, *bpm) == (&bars, &settings, snapshot.bpm)
        });
        if known {
            return;
        }
        let fit =
            |style: &Style| Fit::of(*style, &bars, snapshot.bpm, &settings, &snapshot.attacks);
        self.all = Style::ALL.iter().map_while(fit).collect();
        self.of = Some((snapshot.attacks.clone(), bars, settings, snapshot.bpm));
    }

    /// How a beat suits, by its place.
    pub(super) fn get(&self, place: usize) -> Option<&Fit> {
        self.all.get(place)
    }
}

/// The bars that a beat is tried on: those of the section, else four from this bar on; and the settings there.
fn stretch(snapshot: &Snapshot, bar: Bar) -> (Vec<Bar>, Settings) {
    let panel = snapshot.values.settings;
    let of_section = || {
        let timeline = &snapshot.followed()?.timeline;
        let place = timeline.section_at(bar.start)?;
        let (first, last) = timeline.bars_of_section(place)?;
        let bars = timeline.bars().get(first as usize - 1..last as usize)?;
        let settings = timeline.chart().settings(bar.start, &panel);
        Some((bars.iter().take(MOST_BARS).copied().collect(), settings))
    };
    of_section().unwrap_or_else(|| {
        let nth = |i: i64| Bar {
            start: bar.start + i * bar.meter.bar_len(),
            ..bar
        };
        ((0..4).map(nth).collect(), panel)
    })
}
