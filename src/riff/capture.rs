//! Writes what is heard into the riff while the transport runs, like punching in: from the first
//! stroke of a pass to a bar after its last one, what was there before is replaced.

use super::attacks::{Attack, Edit, Riff};
use crate::settings::Listen;
use crate::time::Ticks;
use arrayvec::ArrayVec;

#[expect(
    clippy::derivable_impls,
    reason = "the macro that declares choices derives no default"
)]
impl Default for Listen {
    fn default() -> Self {
        Self::Off
    }
}

/// A stroke of the guitar inside a block.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GuitarStroke {
    /// The sample of the block at which it is known.
    pub sample: u32,
    /// How many samples before that it happened.
    pub ago: u32,
    /// How strong, 0..=1.
    pub strength: f32,
    /// A note rather than sound.
    pub note: bool,
}

/// Most changes that wait to be handed on.
const MAX_EDITS: usize = 512;
/// Most stretches of steady time that are remembered: far more than the detector looks back.
const MAX_PACES: usize = 16;
/// What was captured before so shortly before a stroke is the same stroke: half a sixteenth.
const SAME: Ticks = 120;

/// The riff is written so many ticks behind the playhead, a sixteenth: sound is late, and the bar
/// that begins still needs what the last pass has just before its 1.
const LAG: Ticks = 240;
/// Most strokes within that time.
const MAX_PENDING: usize = 64;

/// A stretch of steady time.
#[derive(Debug, Clone, Copy)]
struct Pace {
    /// Its first sample, counted from the first block.
    sample: f64,
    tick: f64,
    samples_per_tick: f64,
}

/// The capture. Audio thread; no allocation.
#[derive(Debug, Clone, Default)]
pub struct Capture {
    paces: ArrayVec<Pace, MAX_PACES>,
    /// Samples before this block.
    played: f64,
    /// Punched in.
    pass: Option<Pass>,
    /// Written anew but not handed on yet.
    fresh: Option<(Ticks, Ticks)>,
    edits: ArrayVec<Edit, MAX_EDITS>,
}

/// A pass that is being written.
#[derive(Debug, Clone)]
struct Pass {
    /// Its last stroke.
    last: Ticks,
    /// Up to here the riff is written.
    written: Ticks,
    /// Up to here time has gone.
    head: Ticks,
    /// Strokes that are to be written.
    pending: ArrayVec<Attack, MAX_PENDING>,
}

impl Capture {
    /// The transport stands, or time starts anew: what is pending is written.
    pub fn restart(&mut self, riff: &mut Riff) {
        self.punch_out(riff);
        self.paces.clear();
    }

    /// Another riff has taken the place of the one that was written: what was not handed on is void.
    pub fn forget(&mut self) {
        self.edits.clear();
        self.fresh = None;
        self.pass = None;
    }

    /// Time goes on from tick `from`, which lies `offset` samples into the block. `jumped` where it does not
    /// follow on.
    pub fn keep_time(&mut self, from: Ticks, (offset, samples_per_tick): (f64, f64), jumped: bool) {
        let pace = Pace {
            sample: self.played + offset,
            tick: from as f64,
            samples_per_tick,
        };
        let goes_on = |last: &Pace| {
            let tick = last.tick + (pace.sample - last.sample) / last.samples_per_tick;
            !jumped
                && (tick - pace.tick).abs() < 0.05
                && (last.samples_per_tick - samples_per_tick).abs() < 1e-9 * samples_per_tick
        };
        if !self.paces.last().is_some_and(goes_on) {
            if self.paces.is_full() {
                self.paces.remove(0);
            }
            self.paces.push(pace);
        }
    }

    /// Writes on, from tick `from` to `to`. Needed only while [punched in](Self::is_punched_in), or where time has
    /// `jumped`. `bar` is the length of a bar in ticks.
    pub fn pass(&mut self, (from, to): (Ticks, Ticks), jumped: bool, bar: Ticks, riff: &mut Riff) {
        if jumped {
            self.punch_out(riff);
        }
        let Some(pass) = &mut self.pass else { return };
        pass.head = to;
        if from > pass.last + bar {
            self.punch_out(riff);
        } else {
            self.write(to - LAG, riff);
        }
    }

    /// A stroke is taken down.
    pub fn stroke(&mut self, struck: &GuitarStroke, riff: &mut Riff) {
        let sample = self.played + f64::from(struck.sample) - f64::from(struck.ago);
        let found = self.paces.iter().rposition(|pace| pace.sample <= sample);
        let Some(pace) = self.paces.get(found.unwrap_or(0)).copied() else {
            return;
        };
        #[expect(clippy::cast_possible_truncation)]
        let tick = (pace.tick + (sample - pace.sample) / pace.samples_per_tick).round() as Ticks;
        let attack = Attack {
            tick,
            strength: struck.strength,
        };
        let in_this_pass = found.is_none_or(|i| i + 1 == self.paces.len());
        let pass = self.pass.get_or_insert_with(|| Pass {
            last: tick,
            written: tick - SAME,
            head: tick,
            pending: ArrayVec::new(),
        });
        // Sound from just before a jump of the transport, or later than it should be, is put in its
        // place.
        if in_this_pass && tick >= pass.written {
            pass.last = pass.last.max(tick);
            if pass.pending.try_push(attack).is_ok() {
                return;
            }
        } else if !in_this_pass && pass.pending.is_empty() && pass.head == tick {
            self.pass = None;
        }
        self.put(attack, riff);
    }

    /// Ends a block of so many samples.
    pub fn end_block(&mut self, frames: u32) {
        self.played += f64::from(frames);
    }

    /// Hands the changes of the riff on, in order; `take` returns false where it can't take one.
    pub fn drain(&mut self, mut take: impl FnMut(Edit) -> bool) {
        if self.edits.is_empty() {
            return;
        }
        let taken = self.edits.iter().take_while(|edit| take(**edit)).count();
        self.edits.drain(..taken);
    }

    /// Whether strokes are being written.
    pub fn is_punched_in(&self) -> bool {
        self.pass.is_some()
    }

    fn punch_out(&mut self, riff: &mut Riff) {
        if let Some(head) = self.pass.as_ref().map(|pass| pass.head) {
            self.write(head, riff);
            self.hand_on();
            self.pass = None;
        }
    }

    /// Writes the pass up to a tick.
    fn write(&mut self, to: Ticks, riff: &mut Riff) {
        let Some(mut pass) = self.pass.take() else {
            return;
        };
        while let Some(i) = pass.pending.iter().position(|attack| attack.tick < to) {
            let attack = pass.pending.remove(i);
            self.punch(pass.written, attack.tick + 1, riff);
            pass.written = pass.written.max(attack.tick + 1);
            self.put(attack, riff);
        }
        self.punch(pass.written, to, riff);
        pass.written = pass.written.max(to);
        self.pass = Some(pass);
    }

    /// What can't be handed on is not written either, so that both copies stay one.
    fn put(&mut self, attack: Attack, riff: &mut Riff) {
        self.hand_on();
        let add = Edit::Add(attack);
        if !self.edits.is_full() && riff.apply(add) {
            self.edits.push(add);
        }
    }

    fn punch(&mut self, from: Ticks, to: Ticks, riff: &mut Riff) {
        if from >= to || self.edits.remaining_capacity() < 2 {
            return;
        }
        riff.punch(from, to);
        match &mut self.fresh {
            Some((_, end)) if *end == from => *end = to,
            _ => {
                self.hand_on();
                self.fresh = Some((from, to));
            }
        }
        let long = |(from, to): (Ticks, Ticks)| to - from > crate::time::TICKS_PER_QUARTER;
        if self.fresh.is_some_and(long) {
            self.hand_on();
        }
    }

    fn hand_on(&mut self) {
        if let Some((from, to)) = self.fresh
            && !self.edits.is_full()
        {
            self.edits.push(Edit::Punch(from, to));
            self.fresh = None;
        }
    }
}
