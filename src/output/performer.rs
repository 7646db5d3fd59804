//! Clock, bars, sequencer and gate together, block by block.

use super::bars::BarGrid;
use super::clock::{Clock, HostTime};
use super::gate::{Gate, NoteSink};
use super::sequencer::Sequencer;
use crate::groove::{Call, Hit, Settings};
use crate::kit::NoteMap;
use crate::time::{Bar, Ticks};

/// What plays: from host time and settings to note events. Audio thread; allocates when made.
#[derive(Debug, Clone)]
pub struct Performer {
    sample_rate: f64,
    clock: Clock,
    grid: BarGrid,
    sequencer: Sequencer,
    gate: Gate,
    map: NoteMap,
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
            gate: Gate::default(),
            map: NoteMap::default(),
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
    }

    /// Forgets where the transport was. Notes that sound are released in the next block.
    pub fn reset(&mut self) {
        self.clock.stop();
        self.sequencer.restart();
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

    /// Plays one block of `frames` samples: sends its note events to `sink`, in order of time.
    /// Where `silent` (bypass), time goes on and only note-offs are sent. Nothing happens in a block
    /// of 0 samples.
    pub fn process(
        &mut self,
        host: &HostTime,
        settings: &Settings,
        frames: u32,
        silent: bool,
        sink: &mut impl NoteSink,
    ) {
        if frames == 0 {
            // There is no sample to put an event on; the next block hears what the host says.
            return;
        }
        let was_running = self.clock.is_running();
        if silent || !host.playing || !was_running {
            self.gate.release_all(0, sink);
        }
        let Self {
            clock,
            grid,
            sequencer,
            gate,
            map,
            wrapped,
            playhead,
            ..
        } = self;
        let bpm = clock.hear_tempo(host);
        let [length, ring] = [false, true].map(|rings| Gate::length(rings, bpm, self.sample_rate));
        let (mut first, mut end) = (true, None);
        clock.block(host, frames, |span| {
            if span.jumped {
                sequencer.restart();
                gate.release_all(span.sample(span.from), sink);
            }
            if first {
                let jumped = span.jumped || *wrapped;
                grid.update(span.from, host.meter, host.bar_quarters, jumped);
            }
            *wrapped = !first;
            first = false;
            let strike = |hit: Hit| {
                if !silent {
                    let at = span.sample(hit.tick);
                    sink.struck(at, &hit);
                    let length = if hit.rings { ring } else { length };
                    gate.strike(at, map.note(hit.piece), hit.velocity, length, sink);
                }
            };
            sequencer.play(span.from, span.to, settings, grid, bpm, strike);
            end = Some(span.to);
        });
        gate.end_block(frames, sink);
        *playhead = end.map(|tick| (grid.bar_at(tick), tick));
    }
}
