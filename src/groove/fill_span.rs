//! The span of a fill.

use super::context::Context;
use crate::settings::FillShape;
use crate::time::Ticks;

/// The span of a fill and the inputs of its decisions. Ticks are from the start of the current bar; a fill of two
/// bars extends beyond it.
#[derive(Debug, Clone, Copy)]
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
    /// Whether the user called it. Otherwise chance drew it at the end of a phrase.
    pub(super) called: bool,
    /// Scales the minimum intensity of its fast strokes; 1 is the usual.
    pub(super) reluctance: f32,
}

impl FillSpan {
    /// Separates the random decisions of called fills from those of drawn ones.
    pub(super) fn index(&self) -> u64 {
        u64::from(self.called)
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
        [-1, 0, 1]
            .into_iter()
            .flat_map(move |bar| {
                let starts = ctx.layout.counts.iter().map(|count| count.start);
                starts.map(move |start| start + bar * ctx.layout.bar_len)
            })
            .filter(move |at| (from..to).contains(at))
    }
}
