//! Stretches of the timeline, apart and in order: where something is known.

use super::Ticks;

/// Most stretches; beyond, the two that lie nearest to each other join.
pub const MAX_SPANS: usize = 256;

/// Stretches of the timeline, each from a tick up to, not including, another; no two touch.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Spans(Vec<(Ticks, Ticks)>);

impl Spans {
    /// None, and never allocates again. Allocates.
    pub fn with_room() -> Self {
        Self(Vec::with_capacity(MAX_SPANS + 1))
    }

    /// The stretches, in order.
    pub fn as_slice(&self) -> &[(Ticks, Ticks)] {
        &self.0
    }

    /// Becomes a copy of others. No allocation where it was made with room.
    pub fn copy_from(&mut self, other: &Self) {
        self.0.clone_from(&other.0);
    }

    /// Forgets them all. No allocation.
    pub fn clear(&mut self) {
        self.0.clear();
    }

    /// Adds a stretch; what it touches it joins. Nothing where it is empty.
    ///
    /// # Realtime
    /// No allocation where they were made with room.
    pub fn add(&mut self, from: Ticks, to: Ticks) {
        if from >= to {
            return;
        }
        let first = self.0.partition_point(|span| span.1 < from);
        let end = self.0.partition_point(|span| span.0 <= to).max(first);
        let touched = &self.0[first..end];
        let from = touched.first().map_or(from, |span| span.0.min(from));
        let to = touched.last().map_or(to, |span| span.1.max(to));
        self.0.drain(first..end);
        self.0.insert(first, (from, to));
        if self.0.len() > MAX_SPANS {
            let gap = |i: &usize| self.0[i + 1].0 - self.0[*i].1;
            if let Some(i) = (0..self.0.len() - 1).min_by_key(gap) {
                let (_, to) = self.0.remove(i + 1);
                self.0[i].1 = to;
            }
        }
    }

    /// Moves them all by so many ticks.
    pub fn shift(&mut self, by: Ticks) {
        for (from, to) in &mut self.0 {
            *from += by;
            *to += by;
        }
    }

    /// How many ticks of a stretch lie in them.
    pub fn covered(&self, from: Ticks, to: Ticks) -> Ticks {
        let first = self.0.partition_point(|span| span.1 <= from);
        let spans = self.0[first..].iter().take_while(|span| span.0 < to);
        spans.map(|s| s.1.min(to) - s.0.max(from)).sum()
    }

    /// The stretch that holds a tick, or the first one after it.
    pub fn at_or_after(&self, tick: Ticks) -> Option<(Ticks, Ticks)> {
        let i = self.0.partition_point(|span| span.1 <= tick);
        self.0.get(i).copied()
    }
}
