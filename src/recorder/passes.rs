//! What was played and is kept for a while, in passes: "that was good" comes after the playing.
//!
//! A pass goes from where the playhead was set down (the transport started, jumped or looped) to where
//! it was taken up. Only the last [`MOST_SECONDS`] of playing are kept; what is older is forgotten from
//! its beginning on.

use crate::kit::Note;
use crate::midi::{NOTE_TICKS, Region, RegionExpression, RegionNote};
use crate::recorder::tap::Entry;
use crate::time::observed::Stretch;
use crate::time::tempo::ticks_per_second;
use crate::time::{TICKS_PER_QUARTER, Ticks};
use std::collections::VecDeque;

/// How much playing is kept, in seconds. Judged: a long song, or a loop that was tried for a while.
pub const MOST_SECONDS: f64 = 600.0;
/// How many notes are kept at most: twice as many as four limbs play in that time, all in sixteenths at
/// 300 BPM.
pub const MOST_NOTES: usize = 100_000;
/// How many passes are kept at most. Judged: a loop of a seventh of a second for all that time.
pub const MOST_PASSES: usize = 4096;
/// A round that lacks no more than this is a whole one: hosts that wrap a loop themselves do so at the
/// end of a block. Judged.
const WHOLE: Ticks = TICKS_PER_QUARTER / 4;

/// What one pass played.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Passage {
    /// Its notes, at their places in the song, and where it ends.
    pub region: Region,
    /// Where it begins, in ticks.
    pub from: Ticks,
    /// How many notes are missing in it, since they came faster than they were kept.
    pub lost: u32,
}

#[derive(Debug, Clone, Default)]
struct Pass {
    from: Ticks,
    to: Ticks,
    rolling: bool,
    lost: u32,
    /// In order of time.
    notes: VecDeque<RegionNote>,
    /// In order of time.
    expressions: VecDeque<RegionExpression>,
    /// What was passed over: where each stretch ends, in ticks, and how long it took, in seconds.
    over: VecDeque<(Ticks, f64)>,
}

/// Keeps what the tape tells. Any thread but the audio thread.
#[derive(Debug, Clone, Default)]
pub struct Recorder {
    passes: VecDeque<Pass>,
    /// Notes of the last pass that have not ended, and where they began.
    open: Vec<(Note, Ticks)>,
    seconds: f64,
    notes: usize,
}

impl Recorder {
    /// Takes up an entry of the tape.
    pub fn take(&mut self, entry: &Entry) {
        match *entry {
            Entry::Pass { at, rolling } => self.begin(at, rolling),
            Entry::Over(stretch) => self.pass_over(&stretch),
            Entry::On {
                tick,
                note,
                velocity,
            } => self.note_on(tick, note, velocity),
            Entry::Off { tick, note } => self.note_off(tick, note),
            Entry::Expressed(expression) => {
                if let Some(pass) = self.passes.back_mut() {
                    pass.expressions.push_back(expression);
                }
            }
            Entry::Lost(notes) => {
                // The ends of these may be among what is lost.
                self.open.clear();
                if let Some(pass) = self.passes.back_mut() {
                    pass.lost = pass.lost.saturating_add(notes);
                }
            }
        }
        self.forget();
    }

    /// How many notes are kept, and how much playing, in seconds.
    pub fn amount(&self) -> (usize, f64) {
        (self.notes, self.seconds)
    }

    /// What is worth keeping of what was played last: the latest pass in which a note was played. Where
    /// the playhead jumped back without stopping, as in a loop, and has not come as far again, the pass
    /// before it is whole and this one is not: then that one.
    pub fn latest(&self) -> Option<Passage> {
        let last = self.passes.iter().rposition(|p| !p.notes.is_empty())?;
        let mut best = &self.passes[last];
        let mut rolling = best.rolling;
        for pass in self.passes.range(..last).rev() {
            if !rolling {
                break;
            }
            let whole = pass.from <= best.from + WHOLE && pass.to > best.to + WHOLE;
            if whole && !pass.notes.is_empty() {
                best = pass;
            }
            rolling = pass.rolling;
        }
        let mut region = Region {
            notes: best.notes.iter().copied().collect(),
            expressions: best.expressions.iter().copied().collect(),
            end: best.to,
        };
        region.unlap();
        Some(Passage {
            region,
            from: best.from,
            lost: best.lost,
        })
    }

    fn begin(&mut self, at: Ticks, mut rolling: bool) {
        self.open.clear();
        let is_empty = |pass: &mut Pass| pass.notes.is_empty() && pass.over.is_empty();
        if let Some(empty) = self.passes.pop_back_if(is_empty) {
            rolling &= empty.rolling;
        }
        self.passes.push_back(Pass {
            from: at,
            to: at,
            rolling,
            ..Pass::default()
        });
    }

    fn pass_over(&mut self, stretch: &Stretch) {
        let Some(pass) = self.passes.back_mut() else {
            return;
        };
        let seconds = (stretch.to - stretch.from) as f64 / ticks_per_second(stretch.bpm);
        pass.to = stretch.to;
        pass.over.push_back((stretch.to, seconds));
        self.seconds += seconds;
    }

    fn note_on(&mut self, tick: Ticks, note: Note, velocity: u8) {
        let Some(pass) = self.passes.back_mut() else {
            return;
        };
        pass.notes.push_back(RegionNote {
            tick,
            length: NOTE_TICKS,
            note,
            velocity,
        });
        self.notes += 1;
        self.open.retain(|open| open.0 != note);
        self.open.push((note, tick));
    }

    fn note_off(&mut self, tick: Ticks, note: Note) {
        let Some(i) = self.open.iter().position(|open| open.0 == note) else {
            return;
        };
        let (_, began) = self.open.swap_remove(i);
        let notes = self.passes.back_mut().map(|pass| pass.notes.iter_mut());
        let ends = |n: &&mut RegionNote| n.note == note && n.tick == began;
        if let Some(ended) = notes.and_then(|notes| notes.rev().find(ends)) {
            ended.length = (tick - began).max(1);
        }
    }

    /// Forgets the oldest, a stretch at a time.
    fn forget(&mut self) {
        while self.seconds > MOST_SECONDS
            || self.notes > MOST_NOTES
            || self.passes.len() > MOST_PASSES
        {
            let Some(oldest) = self.passes.front_mut() else {
                return;
            };
            let Some((to, seconds)) = oldest.over.pop_front() else {
                self.notes -= oldest.notes.len();
                self.passes.pop_front();
                continue;
            };
            self.seconds -= seconds;
            oldest.from = to;
            let is_over = |expression: &mut RegionExpression| expression.tick < to;
            while oldest.expressions.pop_front_if(is_over).is_some() {}
            while oldest.notes.pop_front_if(|note| note.tick < to).is_some() {
                self.notes -= 1;
            }
        }
    }
}
