//! Passes over blocks in which nothing can happen. Most blocks are such.
//!
//! While the host repeats its report and its position is where the clock expects it, the guitar is silent, no note is due
//! to end and the sequencer rests, only the clock goes on. All else hears of the rest when it is over, as of one long
//! block without notes. Since the block size is invisible, no note depends on it (`tests/core/resting.rs`).

use super::block::BlockInput;
use super::sink::Passing;
use super::span_player::SpanPlayer;
use crate::time::{TICKS_PER_QUARTER, Ticks};
use crate::transport::{Clock, HostTime, Span};

/// The recorder hears of a rest after a sixteenth at the latest, the step in which it tells of tempi.
const LONGEST: Ticks = TICKS_PER_QUARTER / 4;

/// A rest that goes on, or may begin with the next block.
#[derive(Debug, Clone)]
pub(super) struct Rest {
    /// The report that the host must repeat.
    host: HostTime,
    /// What was passed over, as seen from the first block.
    pub(super) span: Span,
    /// What was in force throughout.
    pub(super) passing: Passing,
    /// The length of the blocks that were passed over, in samples.
    pub(super) frames: u32,
    /// It goes no further than this tick, and takes no more samples than that.
    until: (Ticks, i64),
}

impl Rest {
    /// The rest that may follow on a block, given its last span. `None` where something else than the sequencer and the
    /// note-offs may do something.
    pub(super) fn after(
        block: &BlockInput,
        last: &Span,
        clock: &Clock,
        player: &SpanPlayer,
    ) -> Option<Self> {
        if !clock.is_settled() {
            return None;
        }
        let (bar, note_off) = player.bounds_of_rest()?;
        let span = last.continued(block.frames);
        // Between a loop's last tick and its end a span knows no end any more, and the clock is about to turn.
        let turns = block.host.loop_quarters.is_some() && span.turns_at.is_none();
        if turns || !(bar.start..bar.end()).contains(&span.from) {
            return None;
        }
        // A span that reaches the end of a loop is more than one.
        let turn = span.turns_at.map_or(Ticks::MAX, |end| end - 1);
        let until = bar.end().min(turn).min(span.from + LONGEST);
        Some(Self {
            host: block.host,
            span,
            passing: Passing {
                bpm: clock.bpm(),
                bar,
                said: true,
            },
            frames: 0,
            until: (until, note_off.unwrap_or(i64::MAX)),
        })
    }

    /// Passes over a block, and returns whether it did.
    pub(super) fn takes(
        &mut self,
        block: &BlockInput,
        clock: &mut Clock,
        player: &mut SpanPlayer,
    ) -> bool {
        let frames = self.frames.saturating_add(block.frames);
        let (until, note_off) = self.until;
        let goes_on = block.guitar.is_empty()
            && i64::from(frames) <= note_off
            && self.host.is_repeated_by(&block.host);
        let reached = goes_on
            .then(|| clock.foresee(&block.host, block.frames))
            .flatten()
            .filter(|&to| to <= until && player.rests(self.span.to, to));
        let Some(to) = reached else { return false };
        clock.go_on(block.frames);
        (self.span.to, self.frames) = (to, frames);
        true
    }
}
