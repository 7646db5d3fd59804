//! Which bars are on show: the phrase, or so many from a bar on; while the song is played, where the playhead is.

use crate::editor::snapshot::Snapshot;
use crate::groove::place_in_phrase;
use crate::time::Bar;
use egui::{Event, EventFilter, Key, Response, Ui};
use std::ops::Range;

/// So many bars can be shown.
pub(super) const COUNTS: [usize; 5] = [1, 2, 4, 8, 16];
/// How far the wheel turns for a step, in points.
const WHEEL: f32 = 40.0;
/// How far two fingers part for a step, as a factor.
const PINCH: f32 = 1.25;

/// Which bars are on show.
#[derive(Debug)]
pub(super) struct Window {
    /// So many bars; `None` for the phrase.
    pub(super) count: Option<usize>,
    /// The bar, from 0, at which to look, as it was asked for from outside.
    from: i64,
    /// The bar, from 0, at which it looks.
    at: i64,
    /// The bars that are on show, from 0.
    shown: Range<i64>,
    /// What the wheel has turned since the last step.
    turned: f32,
    /// How far two fingers have parted since the last step.
    parted: f32,
}

impl Default for Window {
    fn default() -> Self {
        Self {
            count: None,
            from: 0,
            at: 0,
            shown: 0..0,
            turned: 0.0,
            parted: 1.0,
        }
    }
}

impl Window {
    pub(super) fn look_from(&mut self, bar: i64) {
        if self.from != bar {
            self.from = bar;
            self.look_at(bar);
        }
    }

    pub(super) fn look_at(&mut self, bar: i64) {
        self.at = bar.max(0);
        self.shown = 0..0;
    }

    pub(super) fn at(&self) -> i64 {
        self.at
    }

    pub(super) fn shown(&self) -> Range<usize> {
        let bar = |bar: i64| usize::try_from(bar).unwrap_or(0);
        bar(self.shown.start)..bar(self.shown.end)
    }

    /// The bars on show, in order, and the first one's number in the song, from 0.
    pub(super) fn bars(&mut self, snapshot: &Snapshot) -> (i64, Vec<Bar>) {
        let playing = snapshot.at.map(|(bar, _)| number(snapshot, bar));
        let (first, phrase) = phrase(snapshot, snapshot.bar(self.at));
        let first = first - 1;
        let Some(count) = self.count else {
            let end = first + i64::try_from(phrase.len()).unwrap_or(1);
            self.shown = first..end;
            return (first, phrase);
        };
        let wide = i64::try_from(count).unwrap_or(4);
        let wanted = playing.unwrap_or(self.at);
        // The playhead goes over what is on show before the next bars are.
        if playing.is_some() && !self.shown.contains(&wanted)
            || playing.is_none() && !(self.shown.contains(&wanted) && self.shown.start == wanted)
        {
            let into = (wanted - first).max(0);
            let start = if playing.is_none() {
                wanted
            } else if i64::try_from(phrase.len()).is_ok_and(|phrase| wide >= phrase) {
                first
            } else {
                first + into - into % wide
            };
            self.shown = start..start + wide;
        }
        self.shown.end = self.shown.start + wide;
        let bars: Vec<Bar> = (self.shown.clone())
            .map_while(|bar| nth(snapshot, bar))
            .collect();
        self.shown.end = self.shown.start + i64::try_from(bars.len()).unwrap_or(1);
        (self.shown.start, bars)
    }

    /// Shows another number of bars.
    pub(super) fn set(&mut self, count: Option<usize>) {
        self.count = count;
        self.at = self.shown.start;
        self.shown = 0..0;
    }

    fn zoom(&mut self, closer: bool) {
        let now = self.count.unwrap_or_else(|| self.shown().len());
        let to = if closer {
            COUNTS.into_iter().rev().find(|count| *count < now)
        } else {
            COUNTS.into_iter().find(|count| *count > now)
        };
        if let Some(to) = to {
            self.set(Some(to));
        }
    }

    /// Looks at the bars before those on show, or at those after them.
    pub(super) fn page(&mut self, snapshot: &Snapshot, forward: bool) {
        let to = if forward {
            self.shown.end
        } else if let Some(count) = self.count {
            self.shown.start - i64::try_from(count).unwrap_or(1)
        } else {
            // Back by a bar is in the phrase before, of which the first bar is shown.
            let (first, _) = phrase(snapshot, snapshot.bar((self.shown.start - 1).max(0)));
            first - 1
        };
        self.step_to(snapshot, to);
    }

    /// Whether there are bars before those on show, and after them.
    pub(super) fn can_page(&self, snapshot: &Snapshot) -> [bool; 2] {
        let after = nth(snapshot, self.shown.end).is_some();
        [self.shown.start > 0, after]
    }

    fn step_to(&mut self, snapshot: &Snapshot, bar: i64) {
        let bar = bar.max(0);
        if nth(snapshot, bar).is_some() {
            self.look_at(bar);
        }
    }

    /// The wheel and two fingers: with the key of commands they zoom, else they go on and back. Arrow keys page, plus and
    /// minus zoom, while the lanes have the keys; where `taken`, arrows are for strokes.
    pub(super) fn heed(&mut self, ui: &Ui, ground: &Response, snapshot: &Snapshot, taken: bool) {
        let (page, step) = keys(ui, ground, taken);
        if let Some(forward) = page {
            self.page(snapshot, forward);
        }
        if let Some(closer) = step {
            self.zoom(closer);
        }
        if !ground.contains_pointer() {
            return;
        }
        let (zoom, scroll) = ui.input(|input| (input.zoom_delta(), input.smooth_scroll_delta()));
        self.parted *= zoom;
        if self.parted > PINCH || self.parted < 1.0 / PINCH {
            self.zoom(self.parted > 1.0);
            self.parted = 1.0;
        }
        if snapshot.at.is_some() {
            return;
        }
        self.turned -= scroll.x + scroll.y;
        if self.turned.abs() >= WHEEL {
            let by = if self.turned > 0.0 { 1 } else { -1 };
            self.turned = 0.0;
            if self.count.is_none() {
                self.page(snapshot, by > 0);
            } else {
                self.step_to(snapshot, self.shown.start + by);
            }
        }
    }
}

/// The page and the zoom that keys ask for.
fn keys(ui: &Ui, ground: &Response, taken: bool) -> (Option<bool>, Option<bool>) {
    if !ground.has_focus() {
        return (None, None);
    }
    let filter = EventFilter {
        horizontal_arrows: true,
        vertical_arrows: taken,
        escape: taken,
        ..EventFilter::default()
    };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(ground.id, filter));
    // What was held with the key, and not what is held at the end of the frame: a quick hand has let Ctrl go by then.
    let is_one_of = |event: &Event, keys: &[Key]| match event {
        Event::Key {
            key,
            pressed: true,
            modifiers,
            ..
        } => keys.contains(key) && (modifiers.is_none() || modifiers.shift_only()),
        _ => false,
    };
    let pressed =
        |keys: &[Key]| ui.input(|input| input.events.iter().any(|event| is_one_of(event, keys)));
    let one_of = |yes: &[Key], no: &[Key]| {
        let (yes, no) = (pressed(yes), pressed(no));
        (yes != no).then_some(yes)
    };
    (
        one_of(&[Key::ArrowRight], &[Key::ArrowLeft]).filter(|_| !taken),
        one_of(&[Key::Plus, Key::Equals], &[Key::Minus]),
    )
}

/// A bar's place in the song, from 0.
fn number(snapshot: &Snapshot, bar: Bar) -> i64 {
    let of_chart = || {
        let chart = snapshot.followed()?.timeline.chart();
        i64::try_from(chart.at(bar.start)?.number).ok()
    };
    of_chart().unwrap_or_else(|| bar.index())
}

/// The bar at a place in the song, from 0; `None` behind the end of a chart that is played.
fn nth(snapshot: &Snapshot, number: i64) -> Option<Bar> {
    match snapshot.followed() {
        Some(song) => {
            let bars = song.timeline.bars();
            bars.get(usize::try_from(number).ok()?).copied()
        }
        None => (number >= 0).then_some(Bar {
            start: number * snapshot.meter.bar_len(),
            meter: snapshot.meter,
        }),
    }
}

/// The bars of the phrase that a bar lies in, in order, and the first one's number in the song, from 1.
pub(super) fn phrase(snapshot: &Snapshot, bar: Bar) -> (i64, Vec<Bar>) {
    let panel = &snapshot.values.settings;
    let of_chart = || {
        let chart = snapshot.followed()?.timeline.chart();
        let here = chart.at(bar.start)?;
        let bar_settings = chart.settings(bar.start, panel).bar_settings;
        let section_position = chart.section_position(&here, panel);
        let (index, count) = place_in_phrase(
            chart.own_bar(&here).index(),
            Some(&section_position),
            &bar_settings,
        );
        let first = here.number - usize::try_from(index).ok()?;
        let last = first + usize::try_from(count).ok()?;
        let bars = (first..last).filter_map(|number| chart.here(number));
        let number = i64::try_from(first).ok()? + 1;
        Some((number, bars.map(|here| here.bar).collect()))
    };
    of_chart().unwrap_or_else(|| {
        let (index, count) = place_in_phrase(bar.index(), None, &panel.bar_settings);
        let length = bar.meter.bar_len();
        let start = |i: i64| Bar {
            start: bar.start + (i - index) * length,
            ..bar
        };
        (bar.index() - index + 1, (0..count).map(start).collect())
    })
}
