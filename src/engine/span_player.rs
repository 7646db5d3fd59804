//! Plays one span of a block: the sequencer's hits, live kicks, and note-offs.

use super::block::BlockInput;
use super::in_force::{InForce, Inputs};
use super::live_kicks::{LiveKicks, PlayAlong};
use super::output::Sampler;
use super::sequencer::{Played, Sequencer};
use super::sink::{EventSink, Passing};
use crate::groove::Call;
use crate::kit::{NoteMap, Struck};
use crate::riff::{Capture, GuitarStroke, Riff};
use crate::settings::{Listen, Settings};
use crate::song::Chart;
use crate::time::{Bar, Ticks, tempo};
use crate::transport::{BarGrid, Span};

/// Plays spans. Audio thread; allocates only when made.
#[derive(Debug, Clone)]
pub(super) struct SpanPlayer {
    /// Sample rate in Hz.
    sample_rate: f64,
    grid: BarGrid,
    sequencer: Sequencer,
    chart: Chart,
    /// The riff that the kick may follow.
    pub(super) riff: Riff,
    sampler: Sampler,
    live_kicks: LiveKicks,
    /// Writes the guitar into the riff.
    pub(super) capture: Capture,
    /// The values of the host's parameters.
    panel: Settings,
    /// How many spans this block had so far.
    spans: u32,
    /// Whether the clock wrapped a loop in the last block: meter and bar may then differ.
    wrapped: bool,
    /// How many of the block's guitar strokes were consumed.
    taken: usize,
}

impl SpanPlayer {
    pub(super) fn new(sample_rate: f64) -> Self {
        Self {
            sample_rate,
            grid: BarGrid::new(),
            sequencer: Sequencer::new(),
            chart: Chart::default(),
            riff: Riff::with_room(),
            sampler: Sampler::default(),
            live_kicks: LiveKicks::default(),
            capture: Capture::default(),
            panel: Settings::default(),
            spans: 0,
            wrapped: false,
            taken: 0,
        }
    }

    pub(super) fn set_sample_rate(&mut self, sample_rate: f64) {
        self.sample_rate = sample_rate;
        self.wrapped = false;
        self.restart();
    }

    pub(super) fn set_panel(&mut self, panel: &Settings) {
        if *panel != self.panel {
            self.panel = *panel;
            self.sequencer.inputs_changed();
        }
    }

    pub(super) fn panel(&self) -> &Settings {
        &self.panel
    }

    /// Forgets the current bar and the guitar's state.
    pub(super) fn restart(&mut self) {
        self.sequencer.restart();
        self.capture.restart(&mut self.riff);
        self.live_kicks.restart();
    }

    /// The chart that is played, if one is.
    pub(super) fn followed(&self) -> Option<&Chart> {
        let follows = self.panel.follow_chart && !self.chart.is_empty();
        follows.then_some(&self.chart)
    }

    /// Lets `exchange` replace the chart; it returns whether it did.
    pub(super) fn exchange_chart(&mut self, exchange: impl FnOnce(&mut Chart) -> bool) {
        if exchange(&mut self.chart) {
            self.sequencer.inputs_changed();
        }
    }

    /// Lets `exchange` replace the note map; it returns whether it did.
    pub(super) fn exchange_map(&mut self, exchange: impl FnOnce(&mut NoteMap) -> bool) {
        if self.sampler.exchange(exchange) {
            // A rest would go on without what the foot has to do now.
            self.sequencer.inputs_changed();
        }
    }

    /// The called fill of the current bar.
    pub(super) fn call(&self) -> Call {
        self.sequencer.call()
    }

    /// The bar that a tick falls in.
    pub(super) fn bar_at(&self, tick: Ticks) -> Bar {
        InForce::at(tick, &self.inputs(tempo::DEFAULT_BPM)).bar
    }

    fn inputs(&self, bpm: f64) -> Inputs<'_> {
        Inputs {
            panel: &self.panel,
            chart: &self.chart,
            riff: &self.riff,
            bars: &self.grid,
            bpm,
        }
    }

    /// Releases notes that must not continue, before the first span.
    pub(super) fn begin_block(
        &mut self,
        block: &BlockInput,
        was_running: bool,
        sink: &mut impl EventSink,
    ) {
        (self.spans, self.taken) = (0, 0);
        let playing = block.host.playing;
        let silent = self.panel.bypass || !playing || !was_running;
        self.sampler.begin_block(silent, sink);
        if !playing && was_running {
            self.capture.restart(&mut self.riff);
        }
    }

    /// Plays a stroke at the start of the block, for the user to hear.
    pub(super) fn try_stroke(&mut self, struck: Struck, bpm: f64, sink: &mut impl EventSink) {
        let time = (bpm, self.sample_rate);
        self.sampler.output(sink, time, false).try_stroke(struck);
    }

    /// Plays a span.
    pub(super) fn play(
        &mut self,
        span: &Span,
        block: &BlockInput,
        bpm: f64,
        sink: &mut impl EventSink,
    ) {
        let is_first = self.spans == 0;
        self.spans += 1;
        if span.jumped {
            self.sequencer.restart();
            let at = span.sample(span.from);
            self.sampler.note_offs.release_all(at, sink);
            self.live_kicks.jump();
        }
        if is_first {
            let jumped = span.jumped || self.wrapped;
            let host = &block.host;
            if self
                .grid
                .update(span.from, host.meter, host.bar_quarters, jumped)
            {
                self.sequencer.inputs_changed();
            }
        }
        self.wrapped = !is_first;
        self.sequencer.set_turn(span.turns_at);
        let passing = Passing {
            bpm,
            bar: self.grid.bar_at(span.from),
            said: is_first,
        };
        sink.passes(span, &passing);
        self.capture.keep_time(span.from, span.pace(), span.jumped);
        let guitar = self.taken < block.guitar.len() || self.capture.is_punched_in();
        self.sequencer.set_foot(self.sampler.foot(bpm));
        if !guitar && self.sequencer.rests(span.from, span.to) {
            return;
        }
        let inputs = Inputs {
            panel: &self.panel,
            chart: &self.chart,
            riff: &self.riff,
            bars: &self.grid,
            bpm,
        };
        let here = self.sequencer.in_force(span.from, &inputs);
        let strokes = self.hear_guitar(span, block, here.bar.meter.bar_len());
        let inputs = Inputs {
            panel: &self.panel,
            chart: &self.chart,
            riff: &self.riff,
            bars: &self.grid,
            bpm,
        };
        let time = (bpm, self.sample_rate);
        let mut output = self.sampler.output(sink, time, self.panel.bypass);
        let mut along = PlayAlong {
            live_kicks: &mut self.live_kicks,
            strokes,
            span,
            here: &here,
            inputs,
            follows: self.sequencer.follows_riff(),
            sample_rate: self.sample_rate,
        };
        self.sequencer
            .play(span.from, span.to, &inputs, |played| match played {
                Played::Hit(hit) => {
                    let at = span.sample(hit.tick);
                    along.until(at, &mut |hit, at| output.strike(&hit, at));
                    if along.has_room(&hit) {
                        output.strike(&hit, at);
                    }
                }
                Played::Foot(tick, hit) => {
                    let at = span.sample(tick);
                    along.until(at, &mut |hit, at| output.strike(&hit, at));
                    output.move_foot(&hit, at);
                }
            });
        along.until(u32::MAX, &mut |hit, at| output.strike(&hit, at));
    }

    /// Hears the strokes of the guitar that became known in a span, and those before that no span took; writes
    /// them into the riff where they are to be. Returns them. `bar` is the length of a bar in ticks.
    fn hear_guitar<'a>(
        &mut self,
        span: &Span,
        block: &BlockInput<'a>,
        bar: Ticks,
    ) -> &'a [GuitarStroke] {
        let time = (span.from, span.to);
        self.capture.pass(time, span.jumped, bar, &mut self.riff);
        let until = span.sample(span.to);
        let rest = &block.guitar[self.taken..];
        let due = rest.partition_point(|struck| struck.sample <= until);
        self.taken += due;
        let strokes = &rest[..due];
        for struck in strokes {
            self.live_kicks.hear(struck, span.tick(struck.sample));
            if captures(self.panel.listen, struck) {
                self.capture.stroke(struck, &mut self.riff);
            }
        }
        self.sequencer
            .set_live(self.live_kicks.leads(span.from, bar));
        strokes
    }

    /// Ends a block: sends the note-offs that fall into it.
    pub(super) fn end_block(&mut self, frames: u32, sink: &mut impl EventSink) {
        self.live_kicks.end_block(frames);
        self.capture.end_block(frames);
        self.sampler.note_offs.end_block(frames, sink);
        sink.ends(frames);
    }

    /// What bounds a rest that follows on the block's last span, if only the sequencer and the note-offs have something
    /// to do in it: the host's bar, and the samples until the first note-off. `None` where others have.
    pub(super) fn bounds_of_rest(&self) -> Option<(Bar, Option<i64>)> {
        let is_calm = self.spans == 1 && !self.panel.bypass && !self.capture.is_punched_in();
        let bar = self.grid.agreed().filter(|_| is_calm)?;
        Some((bar, self.sampler.note_offs.due()))
    }

    /// Whether the sequencer rests in a span, see [`Sequencer::rests`].
    pub(super) fn rests(&mut self, from: Ticks, to: Ticks) -> bool {
        self.sequencer.rests(from, to)
    }
}

/// Whether a stroke of the guitar is written into the riff.
fn captures(listen: Listen, struck: &GuitarStroke) -> bool {
    match listen {
        Listen::Off => false,
        Listen::Notes => struck.note,
        Listen::SideChain => !struck.note,
    }
}
