//! Plays live: block by block, in a host's time.

use super::block::BlockInput;
use super::rest::Rest;
use super::sink::EventSink;
use super::span_player::SpanPlayer;
use crate::groove::Call;
use crate::kit::{NoteMap, Struck};
use crate::riff::{Capture, Riff};
use crate::settings::Settings;
use crate::song::Chart;
use crate::time::{Bar, Ticks};
use crate::transport::Clock;

/// Plays live. Audio thread; allocates when made.
#[derive(Debug, Clone)]
pub struct LivePlayer {
    clock: Clock,
    span_player: SpanPlayer,
    /// The tick that the last block ended on; `None` where the transport stands.
    end: Option<Ticks>,
    /// What the next block may join.
    rest: Option<Rest>,
}

impl LivePlayer {
    /// A player at rest, for a sample rate in Hz. Allocates.
    pub fn new(sample_rate: f64) -> Self {
        Self {
            clock: Clock::new(sample_rate),
            span_player: SpanPlayer::new(sample_rate),
            end: None,
            rest: None,
        }
    }

    /// Sets the sample rate in Hz and restarts the clock. Pending note-offs stay pending.
    pub fn set_sample_rate(&mut self, sample_rate: f64) {
        self.clock = Clock::new(sample_rate);
        self.span_player.set_sample_rate(sample_rate);
    }

    /// Sets the values of the host's parameters, from the next block on. While bypassed, time continues and only
    /// note-offs are sent.
    pub fn set_panel(&mut self, panel: &Settings) {
        self.span_player.set_panel(panel);
    }

    /// The values of the host's parameters.
    pub fn panel(&self) -> &Settings {
        self.span_player.panel()
    }

    /// Forgets the transport's position. The next block releases the notes that sound.
    pub fn reset(&mut self) {
        self.clock.stop();
        self.span_player.restart();
    }

    /// Plays a stroke at the start of the block that follows, for the user to hear, whether or not the transport runs.
    /// Audio thread, before [`LivePlayer::process`].
    pub fn try_stroke(&mut self, struck: &Struck, sink: &mut impl EventSink) {
        self.end_rest(sink);
        self.span_player.try_stroke(*struck, self.clock.bpm(), sink);
    }

    /// Plays one block and sends its note events to `sink`, in order of time. Does nothing in a block of 0 samples.
    ///
    /// # Realtime
    /// No allocation.
    pub fn process(&mut self, block: &BlockInput, sink: &mut impl EventSink) {
        if block.frames == 0 {
            // There is no sample to put an event on; the next block reads the host's report.
            return;
        }
        if let Some(rest) = &mut self.rest {
            if rest.takes(block, &mut self.clock, &mut self.span_player) {
                self.end = Some(rest.span.to);
                return;
            }
            self.end_rest(sink);
        }
        let was_running = self.clock.is_running();
        self.span_player.begin_block(block, was_running, sink);
        let mut last = None;
        self.clock.block(&block.host, block.frames, |span, bpm| {
            self.span_player.play(&span, block, bpm, sink);
            last = Some(span);
        });
        self.span_player.end_block(block.frames, sink);
        self.end = last.map(|span| span.to);
        self.rest = last.and_then(|span| Rest::after(block, &span, &self.clock, &self.span_player));
    }

    /// Tells everyone of the rest, as of one block.
    fn end_rest(&mut self, sink: &mut impl EventSink) {
        if let Some(rest) = self.rest.take().filter(|rest| rest.frames > 0) {
            sink.passes(&rest.span, &rest.passing);
            self.span_player.end_block(rest.frames, sink);
        }
    }

    /// The bar under the playhead and the tick that the last block ended on; `None` where the transport stands.
    pub fn playhead(&self) -> Option<(Bar, Ticks)> {
        self.end.map(|tick| (self.span_player.bar_at(tick), tick))
    }

    /// The fill that was called in the bar under the playhead.
    pub fn call(&self) -> Call {
        self.span_player.call()
    }

    /// The tempo in force, in quarter notes a minute.
    pub fn bpm(&self) -> f64 {
        self.clock.bpm()
    }

    /// Lets `exchange` replace the chart; it returns whether it did. The new chart takes effect from the next bar
    /// on, its levels at once.
    pub fn exchange_chart(&mut self, exchange: impl FnOnce(&mut Chart) -> bool) {
        self.span_player.exchange_chart(exchange);
    }

    /// Lets `exchange` replace the note map; it returns whether it did. The next stroke has the new note; what sounds
    /// ends on its own.
    pub fn exchange_map(&mut self, exchange: impl FnOnce(&mut NoteMap) -> bool) {
        self.span_player.exchange_map(exchange);
    }

    /// The chart that is played; `None` where there is none, or the panel says that none is played.
    pub fn followed(&self) -> Option<&Chart> {
        self.span_player.followed()
    }

    /// The riff that the kick may follow.
    pub fn riff(&self) -> &Riff {
        &self.span_player.riff
    }

    /// The same, mutable; changes take effect from the next bar on.
    pub fn riff_mut(&mut self) -> &mut Riff {
        &mut self.span_player.riff
    }

    /// The capture; the caller passes its changes of the riff on.
    pub fn capture_mut(&mut self) -> &mut Capture {
        &mut self.span_player.capture
    }
}
