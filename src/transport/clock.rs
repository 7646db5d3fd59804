//! The clock: from what a host says, block by block, to spans of ticks without gaps or overlaps.
//!
//! Hosts quantise positions (one real recording program to 1/1920 of a quarter), start before zero,
//! overshoot loops before they jump back, and tell nobody of a seek. So the clock runs on its own,
//! by samples and tempo: it starts at the host's position, lets small differences be, leans into
//! larger ones over a block, and starts anew beyond [`LEAN_TICKS`]. Loops it wraps itself. What one
//! quantised position leaves open after a change of tempo, the next ones narrow down.
//!
//! **A sample's worth of patience.** The clock lags the host by just under a sample, so that a
//! stroke sounds on the first sample at or after its exact place. Automation that a host puts at
//! the same place, rounded up, down or to the nearest sample, has then always arrived before.

mod rounding;

use super::HostTime;
use crate::time::{TICKS_PER_QUARTER, Ticks, tempo};
use rounding::Rounding;

/// A run of ticks inside a block, at one pace.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// The first tick.
    pub from: Ticks,
    /// The first tick after it.
    pub to: Ticks,
    /// Where `from` lies, in samples from the start of the block (fractions count).
    offset: f64,
    samples_per_tick: f64,
    last_sample: u32,
    /// Whether this span does not follow on from the one before.
    pub jumped: bool,
    /// The end of the loop that time runs towards: what stands there or later is not reached.
    pub turns_at: Option<Ticks>,
}

impl Span {
    /// The sample, from the start of the block, at which a tick of this span sounds.
    pub fn sample(&self, tick: Ticks) -> u32 {
        let sample = self.offset + (tick - self.from) as f64 * self.samples_per_tick;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let sample = sample.clamp(0.0, f64::from(self.last_sample)) as u32;
        sample
    }

    /// The empty span at its end, as seen from the next block, where time goes on at its pace. `frames` is the length of
    /// its own block.
    #[must_use]
    pub fn continued(&self, frames: u32) -> Self {
        let ticks = (self.to - self.from) as f64;
        Self {
            from: self.to,
            offset: self.offset + ticks * self.samples_per_tick - f64::from(frames),
            jumped: false,
            ..*self
        }
    }

    /// Where `from` lies, in samples from the start of the block (fractions count), and how many
    /// samples a tick takes.
    pub fn pace(&self) -> (f64, f64) {
        (self.offset, self.samples_per_tick)
    }

    /// The tick at which a sample of the block sounds.
    pub fn tick(&self, sample: u32) -> Ticks {
        let ticks = (f64::from(sample) - self.offset) / self.samples_per_tick;
        #[expect(clippy::cast_possible_truncation)]
        let tick = self.from + ticks.round() as Ticks;
        tick
    }
}

/// Beyond this many ticks a difference from the host is a seek. A block of 8192 samples inside a
/// steep tempo ramp strays less; the smallest seek that matters is larger.
pub const LEAN_TICKS: f64 = 48.0;
/// Positions quantised to 1/1920 of a quarter stray by half a tick; a hair more is let be.
const QUANTISED_TICKS: f64 = 0.6;
/// An exact host strays by rounding alone, in samples. More would let a change of tempo between two
/// samples stay a few of them ahead of the host's automation.
const EXACT_SAMPLES: f64 = 0.05;
/// The part of a sample by which the clock runs ahead of a full sample's lag: what a host's
/// rounding may put a position late and still be on time.
const EARLY: f64 = 1e-3;
/// Loops shorter than this are not loops but mistakes, in ticks.
const SHORTEST_LOOP: f64 = 60.0;
/// A leap forward of no more than this many samples is believed only when the next block repeats
/// it: the framework adds a sub-block's offset twice after a transport event inside a block.
const LEAP_SAMPLES: f64 = 8192.0;
/// Two claims of the same leap agree within this, in ticks.
const SAME_LEAP_TICKS: f64 = 1.0;
/// Positions beyond are nonsense, in quarter notes.
const FARTHEST: f64 = 1e10;

#[derive(Debug, Clone, Copy)]
struct Running {
    /// Where the host was at the last change of pace, in ticks.
    anchor: f64,
    /// Samples since.
    since: f64,
    /// Pace, in ticks a sample.
    pace: f64,
}

impl Running {
    fn at(self, samples: f64) -> f64 {
        self.anchor + (self.since + samples) * self.pace
    }
}

/// A host's position.
#[derive(Debug, Clone, Copy)]
struct Said {
    /// In ticks.
    pos: f64,
    /// How many ticks it may be off before that means anything.
    slack: f64,
    /// Whether it may have been rounded to the host's grid.
    rounded: bool,
}

/// The clock. Audio thread; no allocation.
#[derive(Debug, Clone)]
pub struct Clock {
    sample_rate: f64,
    bpm: f64,
    running: Option<Running>,
    /// Up to where ticks were given out, which is where the last block ended less the lag of its
    /// own tempo. A change of tempo changes the lag; no tick may be lost or doubled by that.
    given: f64,
    /// Length of the loop that was wrapped in the last block, to see whether the host did the same.
    wrapped: Option<f64>,
    /// The host was seen to run through this loop's end.
    ignored_loop: Option<(f64, f64)>,
    /// A short leap forward that the last block claimed and that is not believed yet, in ticks.
    claim: Option<f64>,
    rounding: Rounding,
}

impl Clock {
    /// A clock at rest, for a sample rate in Hz.
    pub fn new(sample_rate: f64) -> Self {
        Self {
            sample_rate,
            bpm: tempo::DEFAULT_BPM,
            running: None,
            given: 0.0,
            wrapped: None,
            ignored_loop: None,
            claim: None,
            rounding: Rounding::default(),
        }
    }

    /// The tempo in force, in quarter notes a minute: the host's last sane one, at first 120.
    pub fn bpm(&self) -> f64 {
        self.bpm
    }

    /// Forgets where it was; the next block starts at the host's position.
    pub fn stop(&mut self) {
        self.running = None;
        self.wrapped = None;
        self.ignored_loop = None;
        self.claim = None;
    }

    /// Whether the last block was part of a running transport.
    pub fn is_running(&self) -> bool {
        self.running.is_some()
    }

    /// Whether the last block went at the pace of its tempo and left nothing open: no lean, no leap to be confirmed.
    pub fn is_settled(&self) -> bool {
        let pace = self.pace();
        self.claim.is_none() && self.running.is_some_and(|running| running.pace == pace)
    }

    /// The tick that a block of `frames` samples reaches where the host goes on as it did, the same as
    /// [`Clock::block`] finds; `None` where the position says otherwise. Holds for a clock that [is
    /// settled](Self::is_settled), a report that differs from the last one only in its position, and short of a loop's
    /// end.
    pub fn foresee(&mut self, host: &HostTime, frames: u32) -> Option<Ticks> {
        let running = self.running?;
        if let Some(said) = Self::host_position(host, running.pace) {
            let error = said.pos - running.at(0.0);
            let stays = error.abs() <= said.slack
                && self.rounding.narrow(error, said.rounded, running.pace) == 0.0;
            if !stays {
                return None;
            }
        }
        Some(whole(self.end(running, f64::from(frames))))
    }

    /// Goes on by `frames` samples, as [foreseen](Self::foresee).
    pub fn go_on(&mut self, frames: u32) {
        if let Some(running) = &mut self.running {
            running.since += f64::from(frames);
            let running = *running;
            self.given = self.end(running, 0.0);
        }
    }

    /// The place up to which ticks are given out so many samples from now, in ticks. Never goes back.
    fn end(&self, running: Running, samples: f64) -> f64 {
        (running.at(samples) - lag(running.pace)).max(self.given)
    }

    /// The pace of the tempo, in ticks a sample.
    fn pace(&self) -> f64 {
        tempo::ticks_per_second(self.bpm) / self.sample_rate
    }

    /// Moves on by a block of `frames` samples and tells `each` which ticks lie in it and at which
    /// tempo, in quarter notes a minute: one span, or several where a loop ends inside. A host that
    /// stands still stops the clock. A host that plays and gives no position starts from 0.
    pub fn block(&mut self, host: &HostTime, frames: u32, mut each: impl FnMut(Span, f64)) {
        self.bpm = tempo::sane_bpm(host.bpm, self.bpm);
        if !host.playing {
            self.stop();
            return;
        }
        let pace = self.pace();
        let lag = lag(pace);
        let said = Self::host_position(host, pace);
        let around = self.loop_ticks(host);
        let (mut running, mut jumped) = self.follow(said, pace, lag, around, f64::from(frames));

        self.wrapped = None;
        let mut done = 0.0;
        let mut from = if jumped {
            running.at(0.0) - lag
        } else {
            self.given
        };
        let last_sample = frames.saturating_sub(1);
        let bpm = self.bpm;
        let mut emit = |from: f64, to: f64, sample: f64, running: Running, jumped: bool| {
            let first = whole(from);
            let here = running.at(0.0) - lag;
            let span = Span {
                from: first,
                to: whole(to),
                offset: sample + (first as f64 - here) / running.pace,
                samples_per_tick: 1.0 / running.pace,
                last_sample,
                jumped,
                turns_at: around.map(|(_, end)| whole(end)).filter(|end| first < *end),
            };
            each(span, bpm);
        };
        loop {
            let here = running.at(0.0) - lag;
            let to = (running.at(f64::from(frames) - done) - lag).max(from);
            match around {
                Some((start, end)) if from < end && to >= end => {
                    emit(from, end, done, running, jumped);
                    done += ((end - here) / running.pace).max(0.0);
                    from = start;
                    running = Running {
                        anchor: start + lag,
                        since: 0.0,
                        pace: running.pace,
                    };
                    self.wrapped = Some(end - start);
                    jumped = true;
                }
                _ => {
                    emit(from, to, done, running, jumped);
                    running.since += f64::from(frames) - done;
                    self.given = to;
                    break;
                }
            }
        }
        self.running = Some(running);
    }

    /// The host's position.
    fn host_position(host: &HostTime, pace: f64) -> Option<Said> {
        let quarters = host
            .pos_quarters
            .filter(|q| q.is_finite() && q.abs() < FARTHEST)?;
        let ticks = quarters * TICKS_PER_QUARTER as f64;
        // On a grid of half ticks: exact by luck or, more likely, quantised.
        let past = ticks * 2.0 - (floor(ticks * 2.0) as f64);
        let quantised = !(1e-3..=1.0 - 1e-3).contains(&past);
        if !quantised {
            return Some(Said {
                pos: ticks,
                slack: EXACT_SAMPLES * pace,
                rounded: false,
            });
        }
        // Where one tempo has held since 0, samples tell the place exactly.
        let by_samples = host.pos_samples.map(|samples| samples as f64 * pace);
        let exact = by_samples.filter(|exact| (exact - ticks).abs() <= QUANTISED_TICKS);
        Some(Said {
            pos: exact.unwrap_or(ticks),
            slack: QUANTISED_TICKS,
            rounded: exact.is_none(),
        })
    }

    /// The loop to wrap, in ticks.
    fn loop_ticks(&mut self, host: &HostTime) -> Option<(f64, f64)> {
        let ticks = host
            .loop_quarters
            .map(|(a, b)| (a * TICKS_PER_QUARTER as f64, b * TICKS_PER_QUARTER as f64))
            .filter(|(a, b)| a.abs().max(b.abs()) < FARTHEST * 1e3 && b - a >= SHORTEST_LOOP);
        if ticks.is_none() || ticks != self.ignored_loop {
            self.ignored_loop = None;
        }
        ticks.filter(|range| self.ignored_loop != Some(*range))
    }

    /// Where the clock is at the start of the block, at which pace it goes on, and whether it
    /// jumped there.
    fn follow(
        &mut self,
        said: Option<Said>,
        pace: f64,
        lag: f64,
        around: Option<(f64, f64)>,
        frames: f64,
    ) -> (Running, bool) {
        let start_at = |anchor| Running {
            anchor,
            since: 0.0,
            pace,
        };
        let Some(running) = self.running else {
            let rounded = said.is_some_and(|said| said.rounded);
            self.rounding.taken(rounded, 0.0, pace);
            return (start_at(said.map_or(0.0, |said| said.pos)), true);
        };
        let here = running.at(0.0);
        let steady = if running.pace == pace {
            running
        } else {
            start_at(here)
        };
        let Some(Said {
            mut pos,
            slack,
            rounded,
        }) = said
        else {
            return (steady, false);
        };
        if let Some((start, end)) = around {
            let len = end - start;
            if here - lag < end && (pos + len - here).abs() <= LEAN_TICKS {
                // The host has wrapped; our lag has not.
                pos += len;
            } else if pos <= end + QUANTISED_TICKS && (pos - len - here).abs() <= LEAN_TICKS {
                // We have wrapped; the host is a hair behind.
                pos -= len;
            }
        }
        let error = pos - here;
        let claim = self.claim.take();
        // Moves by a difference over this block, never backwards; also how far it then moved.
        let lean = |difference: f64| {
            let step = (frames * pace + difference).max(0.25 * frames * pace);
            let running = Running {
                anchor: here,
                since: 0.0,
                pace: step / frames,
            };
            (running, step - frames * pace)
        };
        if frames == 0.0 {
            (steady, false)
        } else if error.abs() <= slack {
            let difference = self.rounding.narrow(error, rounded, pace);
            if difference == 0.0 {
                return (steady, false);
            }
            let (running, moved) = lean(difference);
            self.rounding.moved(moved);
            (running, false)
        } else if error > 0.0
            && error <= LEAP_SAMPLES * pace
            && claim.is_none_or(|claim| (claim - error).abs() > SAME_LEAP_TICKS)
        {
            self.claim = Some(error);
            (steady, false)
        } else if error.abs() <= LEAN_TICKS {
            let (running, moved) = lean(error);
            self.rounding.taken(rounded, error - moved, pace);
            (running, false)
        } else {
            if self
                .wrapped
                .is_some_and(|len| (error - len).abs() <= LEAN_TICKS)
            {
                self.ignored_loop = around;
            }
            self.rounding.taken(rounded, 0.0, pace);
            (start_at(pos), true)
        }
    }
}

/// How far the clock lags the host at a pace, in ticks.
fn lag(pace: f64) -> f64 {
    pace * (1.0 - EARLY)
}

/// The first whole tick at or after a position. A host's rounding may put a bar line a billionth
/// late; a millionth of a tick is on time.
fn whole(ticks: f64) -> Ticks {
    let ticks = ticks - 1e-6;
    let below = floor(ticks);
    below + Ticks::from((below as f64) < ticks)
}

/// The whole number at or below `x`. Without SSE 4.1, `f64::floor` is a call into the C library, and this runs several
/// times a block.
#[expect(clippy::cast_possible_truncation)]
fn floor(x: f64) -> Ticks {
    let cut = x as Ticks;
    cut - Ticks::from(cut as f64 > x)
}
