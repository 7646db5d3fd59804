//! Clock, bars, sequencer and gate together, block by block.

use crate::engine::along::{Along, Edited, Live};
use crate::engine::sequencer::Sequencer;
use crate::engine::{EventSink, Passing};
use crate::groove::{Call, Hit};
use crate::kit::NoteMap;
use crate::midi::NoteOffTracker;
use crate::riff::{Capture, Riff, Struck};
use crate::settings::Listen;
use crate::settings::Settings;
use crate::song::Chart;
use crate::time::{Bar, Ticks};
use crate::transport::bars::BarGrid;
use crate::transport::clock::{Clock, HostTime, Span};

/// The guitar in one block.
#[derive(Debug, Clone, Copy, Default)]
pub struct Guitar<'a> {
    /// Its strokes, in the order in which they became known.
    pub struck: &'a [Struck],
    /// Which of them are written into the riff.
    pub listen: Listen,
}

impl Guitar<'_> {
    fn captures(&self, struck: &Struck) -> bool {
        match self.listen {
            Listen::Off => false,
            Listen::Notes => struck.note,
            Listen::SideChain => !struck.note,
        }
    }
}

/// What plays: from host time and settings to note events. Audio thread; allocates when made.
#[derive(Debug, Clone)]
pub struct Performer {
    sample_rate: f64,
    clock: Clock,
    grid: BarGrid,
    sequencer: Sequencer,
    gate: NoteOffTracker,
    map: NoteMap,
    live: Live,
    capture: Capture,
    /// Whether the clock wrapped a loop in the last block, so that meter and bar may differ now.
    wrapped: bool,
    playhead: Option<(Bar, Ticks)>,
}

impl Performer {
    /// A performer at rest, for a sample rate in Hz. Allocates.
    pub fn new(sample_rate: f64) -> Self {
        Self {
            sample_rate,
            clock: Clock::new(sample_rate),
            grid: BarGrid::new(),
            sequencer: Sequencer::new(),
            gate: NoteOffTracker::default(),
            map: NoteMap::default(),
            live: Live::default(),
            capture: Capture::default(),
            wrapped: false,
            playhead: None,
        }
    }

    /// Sets the sample rate in Hz; the clock starts anew. Note-offs that are due stay due.
    pub fn set_sample_rate(&mut self, sample_rate: f64) {
        self.sample_rate = sample_rate;
        self.clock = Clock::new(sample_rate);
        self.wrapped = false;
        self.sequencer.restart();
        self.capture.restart(self.sequencer.riff_mut());
        self.live.restart();
    }

    /// Forgets where the transport was. Notes that sound are released in the next block.
    pub fn reset(&mut self) {
        self.clock.stop();
        self.sequencer.restart();
        self.capture.restart(self.sequencer.riff_mut());
        self.live.restart();
    }

    /// The bar under the playhead and the tick that the last block ended on; `None` at rest.
    pub fn playhead(&self) -> Option<(Bar, Ticks)> {
        self.playhead
    }

    /// The fill that was called in the bar under the playhead.
    pub fn call(&self) -> Call {
        self.sequencer.call()
    }

    /// The tempo in force, in quarter notes a minute.
    pub fn bpm(&self) -> f64 {
        self.clock.bpm()
    }

    /// The chart, to be exchanged for another one: see [`Sequencer::chart_mut`].
    pub fn chart_mut(&mut self) -> &mut Chart {
        self.sequencer.chart_mut()
    }

    /// The riff that the kick may follow.
    pub fn riff(&self) -> &Riff {
        self.sequencer.riff()
    }

    /// The same, to be changed; what is changed counts from the next bar on.
    pub fn riff_mut(&mut self) -> &mut Riff {
        self.sequencer.riff_mut()
    }

    /// The capture, whose changes of the riff are to be handed on.
    pub fn capture_mut(&mut self) -> &mut Capture {
        &mut self.capture
    }

    /// Plays one block without a guitar: see [`Performer::process_with`].
    pub fn process(
        &mut self,
        host: &HostTime,
        settings: &Settings,
        frames: u32,
        silent: bool,
        sink: &mut impl EventSink,
    ) {
        let guitar = Guitar::default();
        self.process_with(host, settings, &guitar, frames, silent, sink);
    }

    /// Plays one block of `frames` samples: sends its note events to `sink`, in order of time.
    /// Where `silent` (bypass), time goes on and only note-offs are sent. Nothing happens in a block
    /// of 0 samples.
    pub fn process_with(
        &mut self,
        host: &HostTime,
        settings: &Settings,
        guitar: &Guitar,
        frames: u32,
        silent: bool,
        sink: &mut impl EventSink,
    ) {
        if frames == 0 {
            // There is no sample to put an event on; the next block hears what the host says.
            return;
        }
        let was_running = self.clock.is_running();
        if silent || !host.playing || !was_running {
            self.gate.release_all(0, sink);
        }
        if !host.playing && was_running {
            self.capture.restart(self.sequencer.riff_mut());
        }
        let Self {
            clock,
            grid,
            sequencer,
            gate,
            map,
            live,
            capture,
            wrapped,
            playhead,
            sample_rate,
        } = self;
        let sample_rate = *sample_rate;
        let bpm = clock.hear_tempo(host);
        let (mut first, mut end, mut taken) = (true, None, 0);
        clock.block(host, frames, |span| {
            if span.jumped {
                sequencer.restart();
                gate.release_all(span.sample(span.from), sink);
            }
            if first {
                let jumped = span.jumped || *wrapped;
                grid.update(span.from, host.meter, host.bar_quarters, jumped);
            }
            let passing = Passing {
                bpm,
                bar: grid.bar_at(span.from),
                said: first,
            };
            sink.passes(&span, &passing);
            *wrapped = !first;
            first = false;
            let here = sequencer.bar_at(span.from, settings, grid);
            let bar = here.meter.bar_len();
            if span.jumped {
                live.jump();
            }
            let time = (span.from, span.to);
            let (offset, samples_per_tick) = span.pace();
            capture.pass(
                time,
                offset,
                samples_per_tick,
                span.jumped,
                bar,
                sequencer.riff_mut(),
            );
            // Strokes that became known in this span, and those before that no span took.
            let until = span.sample(span.to);
            let due = guitar.struck[taken..].partition_point(|struck| struck.sample <= until);
            let strokes = &guitar.struck[taken..taken + due];
            taken += due;
            for struck in strokes {
                live.hear(struck, span.tick(struck.sample));
                if guitar.captures(struck) {
                    capture.stroke(struck, sequencer.riff_mut());
                }
            }
            sequencer.set_live(live.leads(span.from, bar));
            let follows = sequencer.follows_riff();
            let mut along = Along {
                live: &mut *live,
                strokes,
                span: &span,
                settings: sequencer.settings_at(span.from, settings),
                turn: here.end(),
                after: sequencer.settings_at(here.end(), settings),
                follows,
                edited: edited(sequencer, &span, settings),
                sample_rate,
                bpm,
            };
            let mut strike = |hit: Hit, at: u32| {
                if !silent {
                    sink.struck(at, &hit);
                    let length = NoteOffTracker::length(hit.rings, bpm, sample_rate);
                    gate.strike(at, map.note(hit.piece), hit.velocity, length, sink);
                }
            };
            sequencer.play(span.from, span.to, settings, grid, bpm, |hit| {
                let at = span.sample(hit.tick);
                along.until(at, &mut strike);
                if along.has_room(&hit) {
                    strike(hit, at);
                }
            });
            along.until(u32::MAX, &mut strike);
            end = Some(span.to);
        });
        live.end_block(frames, sample_rate);
        capture.end_block(frames);
        gate.end_block(frames, sink);
        *playhead = end.map(|tick| (sequencer.bar_at(tick, settings, grid), tick));
    }
}

/// Where a locked section is played in a span.
fn edited(sequencer: &Sequencer, span: &Span, settings: &Settings) -> Edited {
    let (mut stretches, mut at) = (Edited::new(), span.from);
    while at < span.to {
        let (is_edited, until) = sequencer.edited(at, settings);
        if is_edited && stretches.try_push((at, until)).is_err() {
            break;
        }
        at = until;
    }
    stretches
}
