//! The transport of the stand-alone: its own, by the strip or by the song that is followed, or JACK's with corrections
//! of the framework's errors.

use crate::bridge::standalone_transport::{StandaloneTransport, Wishes};
use crate::song::Chart;
use crate::time::{Bar, TICKS_PER_QUARTER, Ticks};
use crate::transport::HostTime;
use nice_plug::prelude::Transport;
use std::sync::Arc;

/// The stand-alone's own time. Audio thread; no allocation.
#[expect(clippy::struct_excessive_bools, reason = "each is a fact of its own")]
pub struct StandaloneTime {
    transport: Arc<StandaloneTransport>,
    /// Position of the next block's first sample, in quarter notes.
    at: f64,
    rolling: bool,
    rewinds: u32,
    seeks: u32,
    /// Whether the position was asked for since the transport stands: it starts there, and not at the bar line.
    placed: bool,
    /// The wish for a loop that was last seen, and whether the position was asked for outside of it.
    loop_wish: (bool, (u32, u32)),
    outside: bool,
    meter: (u32, u32),
    written: bool,
}

impl StandaloneTime {
    /// At the start of the song. Main thread.
    pub fn new(transport: Arc<StandaloneTransport>) -> Self {
        let wishes = transport.wishes();
        Self {
            at: 0.0,
            rolling: false,
            rewinds: transport.rewinds(),
            seeks: transport.sought().0,
            placed: false,
            loop_wish: (wishes.looping, wishes.loop_bars),
            outside: false,
            meter: wishes.meter,
            written: false,
            transport,
        }
    }

    /// The time of a block of `frames` samples, in place of the framework's. `song` is the chart that is followed: its
    /// tempi and meters are then the transport's.
    pub fn block(&mut self, framework: &Transport, frames: u32, song: Option<&Chart>) -> HostTime {
        let wishes = self.transport.wishes();
        let time = if wishes.follow {
            self.rolling = false;
            self.written = false;
            jack(framework)
        } else {
            self.roll(&wishes, f64::from(framework.sample_rate), frames, song)
        };
        let at = time.pos_quarters.unwrap_or_default();
        self.transport.tell(tick_of(at), self.written);
        time
    }

    fn roll(
        &mut self,
        wishes: &Wishes,
        sample_rate: f64,
        frames: u32,
        song: Option<&Chart>,
    ) -> HostTime {
        let grid = song.map_or(Grid::Strip(*wishes), Grid::Song);
        let around = grid.bars(wishes.loop_bars).filter(|_| wishes.looping);
        let start = around.map_or(0.0, |(start, _)| start);
        self.move_to(wishes, song.is_some(), around);
        let mut playing = wishes.playing;
        if playing && !self.rolling {
            if self.at + ROUNDING >= grid.end() {
                self.at = start;
            } else if !self.placed {
                // Moves back to the bar line, since nobody practises from mid-bar.
                self.at = grid.bar(self.at).0;
            }
        }
        if let Some((start, end)) = around {
            let inside = (start..end).contains(&self.at);
            self.outside &= !inside;
            if !inside && !self.outside {
                self.at = start;
            }
        }
        if playing && self.at + ROUNDING >= grid.end() {
            // The song is over.
            self.transport.stop();
            playing = false;
        }
        self.rolling = playing;
        self.placed &= !playing;
        let around = around.filter(|_| !self.outside);
        let (bar, meter) = grid.bar(self.at);
        let bpm = grid.bpm(self.at);
        let time = HostTime {
            playing,
            bpm: Some(bpm),
            pos_quarters: Some(self.at),
            pos_samples: None,
            meter: Some(meter),
            bar_quarters: Some(bar),
            loop_quarters: around,
        };
        if playing {
            self.at = grid.after(self.at, f64::from(frames) / sample_rate);
            if let Some((start, end)) = around.filter(|(_, end)| self.at + ROUNDING >= *end) {
                self.at = start + (self.at - end).max(0.0).rem_euclid(end - start);
            }
        }
        time
    }

    /// Follows what was asked for since the last block: another place, another loop, another meter.
    fn move_to(&mut self, wishes: &Wishes, written: bool, around: Option<(f64, f64)>) {
        let rewinds = self.transport.rewinds();
        // The strip's bars are counted in one meter from the start, so a change of meter restarts the song.
        let restarts = wishes.meter != self.meter && !(written || self.written);
        if rewinds != self.rewinds || restarts {
            self.rewinds = rewinds;
            self.at = around.map_or(0.0, |(start, _)| start);
            self.placed = false;
        }
        self.meter = wishes.meter;
        self.written = written;
        let loop_wish = (wishes.looping, wishes.loop_bars);
        if std::mem::replace(&mut self.loop_wish, loop_wish) != loop_wish {
            self.outside = false;
        }
        let (seeks, tick) = self.transport.sought();
        if std::mem::replace(&mut self.seeks, seeks) != seeks {
            self.at = quarters(tick);
            self.placed = true;
            self.outside = true;
        }
    }
}

/// By how much a place may be short of a line by rounding, in quarter notes: a thousandth of a sample, and more than
/// an hour of blocks adds up to.
const ROUNDING: f64 = 1e-8;

/// What tempi and bars are counted by. Places are in quarter notes.
enum Grid<'a> {
    /// One tempo and one meter, as the strip says.
    Strip(Wishes),
    /// Those of the song that is followed.
    Song(&'a Chart),
}

impl Grid<'_> {
    /// The start of the bar that a place falls in, and its meter. After the song it is the song's last bar.
    fn bar(&self, at: f64) -> (f64, (i32, i32)) {
        match self {
            Self::Strip(wishes) => {
                let (counts, unit) = wishes.meter;
                let bar = bar_of(wishes);
                let start = (at / bar).floor() * bar;
                (start, (counts.cast_signed(), unit.cast_signed()))
            }
            Self::Song(song) => {
                let Some(bar) = song.bar_at(tick_of(at)) else {
                    return (0.0, (4, 4));
                };
                let [counts, unit] =
                    [bar.meter.numerator(), bar.meter.denominator()].map(i32::from);
                (quarters(bar.start), (counts, unit))
            }
        }
    }

    /// The tempo at a place, in quarter notes a minute.
    fn bpm(&self, at: f64) -> f64 {
        match self {
            Self::Strip(wishes) => wishes.bpm,
            Self::Song(song) => song.tempo().bpm_at(tick_of(at)),
        }
    }

    /// The place so many seconds after another one.
    fn after(&self, at: f64, seconds: f64) -> f64 {
        match self {
            Self::Strip(wishes) => at + seconds * wishes.bpm / 60.0,
            Self::Song(song) => {
                let from = song.tempo().seconds(at * TICKS_PER_QUARTER as f64);
                song.tempo().ticks(from + seconds) / TICKS_PER_QUARTER as f64
            }
        }
    }

    /// Where bars begin and end, counted from 1, both included; `None` where the song has no such bars.
    fn bars(&self, (first, last): (u32, u32)) -> Option<(f64, f64)> {
        match self {
            Self::Strip(wishes) => {
                let bar = bar_of(wishes);
                Some((f64::from(first - 1) * bar, f64::from(last) * bar))
            }
            Self::Song(song) => {
                let start = song.bar(first)?.start;
                let end = song.bar(last).map_or(song.end(), Bar::end);
                Some((quarters(start), quarters(end)))
            }
        }
    }

    /// Where the song ends.
    fn end(&self) -> f64 {
        match self {
            Self::Strip(_) => f64::INFINITY,
            Self::Song(song) => quarters(song.end()),
        }
    }
}

/// The length of the strip's bars, in quarter notes.
fn bar_of(wishes: &Wishes) -> f64 {
    f64::from(wishes.meter.0) * 4.0 / f64::from(wishes.meter.1)
}

fn quarters(tick: Ticks) -> f64 {
    tick as f64 / TICKS_PER_QUARTER as f64
}

/// The tick that a place falls in. What is short of a tick by rounding alone is on it.
fn tick_of(at: f64) -> Ticks {
    #[expect(clippy::cast_possible_truncation)]
    let tick =
        (at * TICKS_PER_QUARTER as f64 + ROUNDING * TICKS_PER_QUARTER as f64).floor() as Ticks;
    tick
}

/// JACK's transport. The framework (0.4.2, `standalone/backend/jack.rs`) counts one bar and one count too many,
/// takes every bar as four quarters, and takes a count's ticks as a quarter's. Where counts are quarters, this
/// function corrects that. Otherwise, and without a timebase master, it computes the position from the frame and
/// the tempo.
fn jack(framework: &Transport) -> HostTime {
    let meter = framework
        .time_sig_numerator
        .zip(framework.time_sig_denominator)
        .filter(|(counts, unit)| *counts > 0 && *unit > 0);
    let bpm = framework.tempo.filter(|bpm| *bpm > 0.0);
    let counted = match (framework.bar_number, framework.pos_beats(), meter) {
        (Some(number), Some(said), Some((counts, 4))) => {
            let (number, counts) = (f64::from(number), f64::from(counts));
            Some((number - 1.0) * counts + said - number * 4.0 - 1.0)
        }
        _ => None,
    };
    let by_frames = || {
        let seconds = framework.pos_samples? as f64 / f64::from(framework.sample_rate);
        Some(seconds * bpm? / 60.0)
    };
    HostTime {
        playing: framework.playing,
        bpm,
        pos_quarters: counted.or_else(by_frames),
        pos_samples: None,
        meter,
        bar_quarters: None,
        loop_quarters: None,
    }
}

#[cfg(test)]
mod tests;
