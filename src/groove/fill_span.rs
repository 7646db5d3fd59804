//! The span of a fill.

use super::beat::{Beat, Feel, Taste};
use super::chance::{Decision, chance};
use super::context::Context;
use crate::settings::{BarSettings, FillShape};
use crate::time::Ticks;

/// The span of a fill and the inputs of its decisions. Ticks are from the start of the current bar; a fill of two
/// bars extends beyond it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct FillSpan {
    pub(super) from: Ticks,
    pub(super) to: Ticks,
    /// The earliest tick for a grace note.
    pub(super) earliest: Ticks,
    /// The tick that seeds its decisions: where the fill lands, on the timeline.
    pub(super) place: Ticks,
    /// The number of the bar in which the fill lands.
    pub(super) number: i64,
    /// The fill shape setting.
    pub(super) shape: FillShape,
    /// Whether the user called it. Otherwise chance drew it.
    pub(super) called: bool,
    /// Whether it is a small fill inside a phrase.
    pub(super) small: bool,
    /// Scales the minimum intensity of its fast strokes; 1 is the usual.
    pub(super) reluctance: f32,
    /// What its hands play in: the beat's feel, or that of the riff which the feet follow under it.
    pub(super) feel: Feel,
}

impl FillSpan {
    /// Separates the random decisions of called fills, of small ones, and of those that end a phrase.
    pub(super) fn index(&self) -> u64 {
        match (self.called, self.small) {
            (true, _) => 1,
            (false, true) => 4,
            (false, false) => 0,
        }
    }

    /// Whether it ends on the floor toms.
    pub(super) fn ends_low(&self, ctx: &Context, beat: &Beat) -> bool {
        ends_low(ctx.bar_settings, beat, self.place)
    }

    /// Whether a fill of its length and shape may have only a few strokes.
    pub(super) fn may_be_thin(&self, beat: &Beat) -> bool {
        let short = matches!(self.shape, FillShape::Short | FillShape::Break);
        short || beat.fills == Taste::Space
    }

    /// The start of its last count.
    pub(super) fn last_count(&self, ctx: &Context) -> Ticks {
        self.counts(ctx).max().unwrap_or(self.from)
    }

    /// The same span relative to a bar that starts `by` ticks earlier.
    pub(super) fn moved(self, by: Ticks) -> Self {
        Self {
            from: self.from + by,
            to: self.to + by,
            ..self
        }
    }

    /// The counts in the span.
    pub(super) fn counts<'a>(&self, ctx: &'a Context) -> impl Iterator<Item = Ticks> + 'a {
        let (from, to) = (self.from, self.to);
        let bars = Ticks::from(from >= 0) - 1..=Ticks::from(to > ctx.layout.bar_len);
        bars.flat_map(move |bar| {
            let starts = ctx.layout.counts.iter().map(|count| count.start);
            starts.map(move |start| start + bar * ctx.layout.bar_len)
        })
        .filter(move |at| (from..to).contains(at))
    }
}

/// Whether the fill that lands at a tick ends on the floor toms. The bar before and the bar after compute the same
/// answer: the lead hand then lands on the crash on that side.
pub(super) fn ends_low(bar_settings: &BarSettings, beat: &Beat, landing: Ticks) -> bool {
    chance(bar_settings.take, landing, Decision::FillSide, 0) < beat.fills.ends_low()
}
