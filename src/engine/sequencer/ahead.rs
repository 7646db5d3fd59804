//! What of the next bar sounds before its bar line.
//!
//! Within a section of the chart the 1 strays like any stroke. The sequencer composes the next bar a little ahead, beside
//! the one in hand, and plays what of it is early.

use super::Sequencer;
use super::request::{open_window, request};
use crate::engine::in_force::{InForce, Inputs};
use crate::groove::{Hit, Part, feel};
use crate::riff::RiffWindow;
use crate::settings::StrokeSettings;
use crate::time::{Bar, Ticks};

/// The next bar, where its first strokes may sound before the bar line.
#[derive(Debug, Clone)]
pub(super) struct Ahead {
    pub(super) part: Part,
    /// The bar that the part is of, and the settings of its strokes; `None` while nothing is known.
    pub(super) of: Option<(Bar, StrokeSettings)>,
    /// The index of the next stroke that may sound early.
    pub(super) next: usize,
    pub(super) window: RiffWindow,
}

impl Ahead {
    /// Nothing ahead. Allocates.
    pub(super) fn new() -> Self {
        Self {
            part: Part::new(),
            of: None,
            next: 0,
            window: RiffWindow::default(),
        }
    }
}

impl Sequencer {
    /// Plays what of the next bar sounds at `at`, before its bar line. Returns the tick of the next check.
    ///
    /// Only within a section: its first 1 is never early, so that regions can be cut there. Without a chart no bar is
    /// early, since the host's values for it begin at its line.
    pub(super) fn hear_ahead(
        &mut self,
        at: Ticks,
        now: &InForce,
        inputs: &Inputs,
        mut hit: impl FnMut(Hit),
    ) -> Ticks {
        let line = now.bar.end();
        let turns = self.turns_at.is_some_and(|turn| turn <= line);
        let goes_on = |here| inputs.chart.section_goes_on(&here);
        if turns || !now.here.is_some_and(goes_on) {
            return Ticks::MAX;
        }
        let from = line - feel::earliest(now.settings.bar_settings.feel, inputs.bpm);
        if at < from {
            return from;
        }
        if self.ahead.of.is_none_or(|(bar, _)| bar.start != line) && !self.look_ahead(line, inputs)
        {
            return Ticks::MAX;
        }
        let Ahead { part, of, next, .. } = &mut self.ahead;
        let Some((_, stroke_settings)) = of else {
            return Ticks::MAX;
        };
        let cymbal = part.cymbal(stroke_settings);
        while let Some(stroke) = part.strokes().get(*next)
            && stroke.play_tick < line
        {
            if stroke.play_tick > at {
                return stroke.play_tick;
            }
            *next += 1;
            if let Some(found) = Part::perform(stroke, stroke_settings, cymbal) {
                self.struck[stroke.limb as usize] = stroke.tick;
                let found = Hit { tick: at, ..found };
                if self.foot.moves_for(found.piece) {
                    self.hi_hat = at;
                }
                hit(found);
            }
        }
        Ticks::MAX
    }

    /// Composes the bar that begins at a line, apart from the current bar. False where it is not the drummer's.
    fn look_ahead(&mut self, line: Ticks, inputs: &Inputs) -> bool {
        // Not through the resolver, whose answer for the current bar stays.
        let then = InForce::at(line, inputs);
        if then.edited {
            return false;
        }
        let call = self.call_at(&then, true);
        let Ahead {
            part,
            of,
            next,
            window,
        } = &mut self.ahead;
        open_window(window, self.live, &then, inputs);
        let bar_settings = then.settings.bar_settings;
        let (request, home) = request(window, call, inputs.bpm, &bar_settings, &then, inputs);
        self.composer.compose(&request, part);
        part.shift(home);
        (*of, *next) = (Some((then.bar, then.settings.stroke_settings)), 0);
        true
    }
}
