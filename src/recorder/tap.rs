//! The tap: what was played, as the audio thread tells it, for whoever keeps it ([`super::Recorder`]).
//!
//! Notes go out as they were sent, at their tick in the song, and beside them what the playhead passed
//! over. A note lands on the tick where a recording host writes it.

use crate::engine::Passing;
use crate::kit::Note;
use crate::midi::{ExpressionEvent, NoteEvent, RegionExpression};
use crate::time::TICKS_PER_QUARTER;
use crate::time::Ticks;
use crate::time::observed::{Stretch, same_tempo};
use crate::time::tempo::ticks_per_second;
use crate::transport::Span;

/// What stands on the tape.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Entry {
    /// The playhead is set down here: the transport starts, jumps or loops.
    Pass {
        /// Where, in ticks.
        at: Ticks,
        /// Whether it rolled on into it, as a loop does; else it stood before.
        rolling: bool,
    },
    /// What was passed over since the last one.
    Over(Stretch),
    /// A note begins.
    On {
        /// Where, in ticks.
        tick: Ticks,
        /// Which.
        note: Note,
        /// Its velocity, 1..=127.
        velocity: u8,
    },
    /// A note ends.
    Off {
        /// Where, in ticks.
        tick: Ticks,
        /// Which.
        note: Note,
    },
    /// Something was sent beside notes.
    Expressed(RegionExpression),
    /// The tape was full: so many beginnings of notes were lost here, perhaps none, but then something
    /// else was.
    Lost(u32),
}

/// Where entries go.
pub trait Outlet {
    /// Takes an entry, or not where there is no room; never waits.
    fn put(&mut self, entry: Entry) -> bool;
}

impl Outlet for Vec<Entry> {
    fn put(&mut self, entry: Entry) -> bool {
        self.push(entry);
        true
    }
}

/// What was passed over is told after a quarter note at the latest.
const LONGEST: Ticks = TICKS_PER_QUARTER;
/// Tempi that change faster than every sixteenth note are told as their mean. Judged: a ramp in such
/// steps keeps its time, and no step of it can be heard.
const RAMP_STEP: Ticks = TICKS_PER_QUARTER / 4;

/// What is being passed over.
#[derive(Debug, Clone, Copy)]
struct OpenStretch {
    stretch: Stretch,
    /// How long a ramp has taken.
    seconds: f64,
    /// The host has named its tempo and bar: see [`Passing::said`].
    said: bool,
    /// It began with a change of tempo.
    changed: bool,
    /// Its tempo has changed since: a ramp.
    bent: bool,
}

impl OpenStretch {
    fn len(&self) -> Ticks {
        self.stretch.to - self.stretch.from
    }

    /// Whether a further stretch belongs to it.
    fn takes(&self, next: &Stretch) -> bool {
        if !self.said {
            return true;
        }
        let (bar, other) = (self.stretch.bar, next.bar);
        let same_row = bar == other
            || bar.meter == other.meter && (other.start - bar.start) % bar.meter.bar_len() == 0;
        let steady = !self.bent && same_tempo(self.stretch.bpm, next.bpm);
        same_row && (steady || self.changed && self.len() < RAMP_STEP)
    }

    /// Whether nothing has changed since its last block.
    fn is_steady(&self, passing: &Passing) -> bool {
        self.said
            && !self.bent
            && self.stretch.bpm == passing.bpm
            && self.stretch.bar == passing.bar
    }

    fn add(&mut self, next: &Stretch, said: bool) {
        let seconds = |ticks: Ticks, bpm| ticks as f64 / ticks_per_second(bpm);
        if !self.said {
            (self.stretch.bpm, self.stretch.bar, self.said) = (next.bpm, next.bar, said);
        } else if !self.bent && !same_tempo(self.stretch.bpm, next.bpm) {
            self.bent = true;
            self.seconds = seconds(self.len(), self.stretch.bpm);
        }
        if self.bent {
            self.seconds += seconds(next.to - next.from, next.bpm);
        }
        self.stretch.to = next.to;
    }

    fn is_due(&self) -> bool {
        self.len() >= if self.bent { RAMP_STEP } else { LONGEST }
    }

    /// The stretch, a ramp at its mean tempo.
    fn told(&self) -> Stretch {
        let quarters = self.len() as f64 / TICKS_PER_QUARTER as f64;
        Stretch {
            bpm: if self.bent && self.seconds > 0.0 {
                quarters / self.seconds * 60.0
            } else {
                self.stretch.bpm
            },
            ..self.stretch
        }
    }
}

/// Writes the tape. Audio thread; no allocation.
#[derive(Debug)]
pub struct RecorderTap<O> {
    outlet: O,
    /// The latest span, and the samples from the start of its block to that of the present one.
    span: Option<(Span, u32)>,
    running: Option<OpenStretch>,
    /// The tempo of the last span.
    bpm: f64,
    /// The transport rolled through the last block, and through this one so far.
    rolling: bool,
    rolls: bool,
    /// What could not be told since the outlet was full: beginnings of notes, and the present pass.
    lost: Option<u32>,
    untold: Option<Entry>,
}

impl<O: Outlet> RecorderTap<O> {
    /// An empty tape.
    pub fn new(outlet: O) -> Self {
        Self {
            outlet,
            span: None,
            running: None,
            bpm: 0.0,
            rolling: false,
            rolls: false,
            lost: None,
            untold: None,
        }
    }

    /// The playhead passes over a span: as the engine's sink is told.
    pub fn pass(&mut self, span: &Span, passing: &Passing) {
        if span.jumped {
            self.tell();
            self.put(Entry::Pass {
                at: span.from,
                rolling: self.rolling || self.rolls,
            });
        }
        self.rolls = true;
        self.span = Some((*span, 0));
        match &mut self.running {
            Some(running) if running.is_steady(passing) => running.stretch.to = span.to,
            _ => self.turn(span, passing),
        }
        if self.running.is_some_and(|running| running.is_due()) {
            self.tell();
        }
    }

    /// Passes on where something may have changed.
    fn turn(&mut self, span: &Span, passing: &Passing) {
        let next = Stretch {
            from: span.from,
            to: span.to,
            bpm: passing.bpm,
            bar: passing.bar,
        };
        if self.running.is_some_and(|running| !running.takes(&next)) {
            self.tell();
        }
        let changed = !span.jumped && !same_tempo(self.bpm, passing.bpm);
        let running = self.running.get_or_insert(OpenStretch {
            stretch: Stretch {
                to: next.from,
                ..next
            },
            seconds: 0.0,
            said: passing.said,
            changed,
            bent: false,
        });
        running.add(&next, passing.said);
        self.bpm = passing.bpm;
    }

    /// A note event of this block was sent.
    pub fn note(&mut self, event: &NoteEvent) {
        let Some((span, elapsed)) = &self.span else {
            return;
        };
        let tick = span.tick(elapsed.saturating_add(event.sample));
        let note = event.note;
        self.put(match event.velocity {
            Some(velocity) => Entry::On {
                tick,
                note,
                velocity,
            },
            None => Entry::Off { tick, note },
        });
    }

    /// Something of this block was sent beside notes.
    pub fn express(&mut self, event: &ExpressionEvent) {
        let Some((span, elapsed)) = &self.span else {
            return;
        };
        let tick = span.tick(elapsed.saturating_add(event.sample));
        self.put(Entry::Expressed(RegionExpression {
            tick,
            expression: event.expression,
        }));
    }

    /// Ends a block of `frames` samples. One in which nothing was passed over stands still.
    pub fn end_block(&mut self, frames: u32) {
        self.rolling = std::mem::take(&mut self.rolls);
        if !self.rolling {
            self.tell();
        } else if let Some((_, elapsed)) = &mut self.span {
            *elapsed = elapsed.saturating_add(frames);
        }
    }

    /// Where entries go.
    pub fn outlet(&self) -> &O {
        &self.outlet
    }

    /// The same, to be emptied.
    pub fn outlet_mut(&mut self) -> &mut O {
        &mut self.outlet
    }

    /// Tells what was passed over. What the host had no time to say anything of is left out.
    fn tell(&mut self) {
        let worth = |running: &OpenStretch| running.said && running.len() > 0;
        if let Some(running) = self.running.take().filter(worth) {
            self.put(Entry::Over(running.told()));
        }
    }

    fn put(&mut self, entry: Entry) {
        if !(self.catch_up() && self.outlet.put(entry)) {
            let on = matches!(entry, Entry::On { .. });
            self.lost = Some(self.lost.unwrap_or(0).saturating_add(u32::from(on)));
            if matches!(entry, Entry::Pass { .. }) {
                self.untold = Some(entry);
            }
        }
    }

    /// Tells that something was lost, and of the pass that began meanwhile; whether nothing is left to
    /// be told.
    fn catch_up(&mut self) -> bool {
        if let Some(lost) = self.lost {
            if !self.outlet.put(Entry::Lost(lost)) {
                return false;
            }
            self.lost = None;
        }
        if let Some(pass) = self.untold {
            if !self.outlet.put(pass) {
                return false;
            }
            self.untold = None;
        }
        true
    }
}
