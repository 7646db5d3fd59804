//! Where a fill goes.

use super::context::Context;
use crate::settings::FillShape;
use crate::time::Ticks;

/// Where a fill goes, and what decides about it. Ticks are from the start of the bar in hand; a fill of two
/// bars reaches beyond it.
#[derive(Debug, Clone, Copy)]
pub(super) struct FillSpan {
    pub(super) from: Ticks,
    pub(super) to: Ticks,
    /// The earliest tick for a grace note.
    pub(super) earliest: Ticks,
    /// The tick that owns its decisions: where it lands, on the timeline.
    pub(super) place: Ticks,
    /// The bar that it leads to, by its place in the row of bars.
    pub(super) number: i64,
    /// What is wished for.
    pub(super) shape: FillShape,
    /// Whether it was called, rather than drawn at the end of a phrase.
    pub(super) called: bool,
    /// How much intensity its fast strokes need, beside others.
    pub(super) reluctance: f32,
}

impl FillSpan {
    /// Tells the decisions of called fills from those of drawn ones.
    pub(super) fn index(&self) -> u64 {
        u64::from(self.called)
    }

    /// The same, seen from so many ticks earlier.
    pub(super) fn moved(self, by: Ticks) -> Self {
        Self {
            from: self.from + by,
            to: self.to + by,
            ..self
        }
    }

    /// The counts that it goes over.
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
