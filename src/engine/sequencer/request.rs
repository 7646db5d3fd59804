//! What is asked of the drummer for a bar.

use crate::engine::in_force::{InForce, Inputs};
use crate::groove::{Call, Request};
use crate::riff::RiffWindow;
use crate::settings::BarSettings;
use crate::time::{Bar, Ticks};

/// Takes up the riff around a bar.
pub(super) fn open_window(window: &mut RiffWindow, live: bool, now: &InForce, inputs: &Inputs) {
    if live {
        window.latch_live();
    } else {
        let own = now.here.map_or(now.bar, |here| inputs.chart.own_bar(&here));
        window.latch(inputs.riff, now.bar, own.start - now.bar.start);
    }
}

/// What is asked of the drummer for a bar, in its section's own time, and by how many ticks its part is to be moved
/// from there.
pub(super) fn request<'a>(
    window: &'a RiffWindow,
    call: Call,
    bpm: f64,
    bar_settings: &BarSettings,
    now: &InForce,
    inputs: &Inputs<'a>,
) -> (Request<'a>, Ticks) {
    let (request, home) = if let Some(here) = &now.here {
        inputs.chart.request(here, bpm, bar_settings, inputs.panel)
    } else {
        let request = Request {
            by_hand: inputs.chart.beside(),
            ..Request::new(now.bar, bpm, bar_settings)
        };
        (request, 0)
    };
    let own_beats = inputs.chart.own_beats();
    let riff = window.attacks();
    let request = Request {
        call,
        riff,
        own_beats,
        ..request
    };
    (request, home)
}

/// The first count at or after a tick of the timeline, in ticks from the start of the bar; `None` after the
/// bar's last.
pub(super) fn next_count(bar: Bar, at: Ticks) -> Option<Ticks> {
    let counts = bar.meter.counts();
    let mut starts = counts.iter().map(|count| count.start);
    starts.find(|start| bar.start + start >= at)
}
