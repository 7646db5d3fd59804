//! The riff as it is kept: attacks in order of time, and where on the timeline they are known.

use crate::time::Ticks;
use crate::time::spans::{MAX_SPANS, Spans};
use serde::{Deserialize, Serialize};

/// Most attacks in a riff: two hours of sixteenths at 130 BPM.
pub const MAX_ATTACKS: usize = 65_536;
/// The version of the saved form.
pub const SCHEMA: u32 = 1;
/// Strengths are saved in so many steps.
const STEPS: f32 = 127.0;

/// A stroke of the guitar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Attack {
    /// Where, in ticks on the song's timeline.
    pub tick: Ticks,
    /// How strong, 0..=1.
    pub strength: f32,
}

/// A change of a riff while it is captured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Edit {
    /// From here up to, not including, there the riff is written anew.
    Punch(Ticks, Ticks),
    /// An attack.
    Add(Attack),
}

/// The guitar's attacks, in order, at most [`MAX_ATTACKS`], with the stretches in which silence
/// means that the guitar rests. Any thread; what says so allocates.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Riff {
    attacks: Vec<Attack>,
    spans: Spans,
    /// The stretch that goes on after its end.
    repeat: Option<(Ticks, Ticks)>,
}

impl Riff {
    /// An empty riff that never allocates again. Allocates about a megabyte.
    pub fn with_room() -> Self {
        Self {
            attacks: Vec::with_capacity(MAX_ATTACKS),
            spans: Spans::with_room(),
            repeat: None,
        }
    }

    /// A riff of these attacks, known from `from` up to `to`. Allocates.
    pub fn new(attacks: impl IntoIterator<Item = Attack>, from: Ticks, to: Ticks) -> Self {
        let mut riff = Self::default();
        riff.punch(from, to);
        for attack in attacks {
            riff.add(attack);
        }
        riff
    }

    /// Becomes a copy of another one. No allocation where it was made with room.
    pub fn copy_from(&mut self, other: &Self) {
        self.attacks.clone_from(&other.attacks);
        self.spans.copy_from(&other.spans);
        self.repeat = other.repeat;
    }

    /// The attacks, in order.
    pub fn attacks(&self) -> &[Attack] {
        &self.attacks
    }

    /// Whether nothing is known anywhere.
    pub fn is_empty(&self) -> bool {
        self.spans.as_slice().is_empty()
    }

    /// The first tick that is known and the first after the last.
    pub fn extent(&self) -> Option<(Ticks, Ticks)> {
        let spans = self.spans.as_slice();
        Some((spans.first()?.0, spans.last()?.1))
    }

    /// The whole bars from tick 0 that hold the attacks; the bar after the last one does not count.
    pub fn whole_bars(&self, bar: Ticks) -> Option<(Ticks, Ticks)> {
        // A stroke just before a bar line belongs to the bar that begins.
        let near = |attack: &Attack| (attack.tick + bar / 32).div_euclid(bar) * bar;
        Some((
            near(self.attacks.first()?),
            near(self.attacks.last()?) + bar,
        ))
    }

    /// The stretch that is repeated after its end.
    pub fn repeat(&self) -> Option<(Ticks, Ticks)> {
        self.repeat
    }

    /// Repeats a stretch after its end, or nothing.
    pub fn set_repeat(&mut self, stretch: Option<(Ticks, Ticks)>) {
        self.repeat = stretch.filter(|(from, to)| from < to);
    }

    /// Forgets everything. No allocation.
    pub fn clear(&mut self) {
        self.attacks.clear();
        self.spans.clear();
        self.repeat = None;
    }

    /// Applies a change of a capture; whether it found room.
    ///
    /// # Realtime
    /// No allocation in a riff made with room; an attack moves those after it.
    pub fn apply(&mut self, edit: Edit) -> bool {
        match edit {
            Edit::Punch(from, to) => self.punch(from, to),
            Edit::Add(attack) => return self.add(attack),
        }
        true
    }

    /// Clears the attacks from `from` up to, not including, `to`: there the riff is known, and rests.
    pub fn punch(&mut self, from: Ticks, to: Ticks) {
        if from >= to {
            return;
        }
        let (first, end) = (self.place(from), self.place(to));
        self.attacks.drain(first..end);
        self.spans.add(from, to);
    }

    /// Adds an attack; false where the riff is full. Two at one tick become the stronger one.
    pub fn add(&mut self, attack: Attack) -> bool {
        let strength = attack.strength.clamp(0.0, 1.0);
        let place = self.place(attack.tick);
        if let Some(here) = self.attacks.get_mut(place)
            && here.tick == attack.tick
        {
            here.strength = here.strength.max(strength);
            return true;
        }
        let room = self.attacks.len() < MAX_ATTACKS;
        if room {
            self.attacks.insert(place, Attack { strength, ..attack });
        }
        room
    }

    /// Lays another riff over this one: where that is known, it counts. Allocates.
    pub fn lay_over(&mut self, other: &Self) {
        for &(from, to) in other.spans.as_slice() {
            self.punch(from, to);
        }
        for attack in &other.attacks {
            self.add(*attack);
        }
    }

    /// Moves everything by so many ticks.
    pub fn nudge(&mut self, by: Ticks) {
        self.attacks.iter_mut().for_each(|a| a.tick += by);
        let moved = |(from, to): (Ticks, Ticks)| (from + by, to + by);
        self.spans.shift(by);
        self.repeat = self.repeat.map(moved);
    }

    /// Keeps the attacks that are at least this strong.
    pub fn thin(&mut self, least: f32) {
        self.attacks.retain(|attack| attack.strength >= least);
    }

    /// Whether most of a stretch is known, by itself or repeated.
    pub fn knows(&self, from: Ticks, to: Ticks) -> bool {
        let mut known = 0;
        self.pieces(from, to, |from, to, _| {
            known += self.spans.covered(from, to);
        });
        known * 2 > to - from
    }

    /// Puts the attacks from `from` up to `to`, repeated ones too, into `into`, in order, as far as
    /// it has room.
    ///
    /// # Realtime
    /// No allocation. O(log n) in the riff.
    pub fn gather(&self, from: Ticks, to: Ticks, into: &mut Vec<Attack>) {
        into.clear();
        self.pieces(from, to, |from, to, later| {
            let room = into.capacity() - into.len();
            let attacks = &self.attacks[self.place(from)..self.place(to)];
            let moved = attacks.iter().map(|attack| Attack {
                tick: attack.tick + later,
                ..*attack
            });
            into.extend(moved.take(room));
        });
    }

    /// Cuts a stretch into pieces of what was captured: `piece` gets where each lies in the riff, and
    /// how much later it is played.
    fn pieces(&self, from: Ticks, to: Ticks, mut piece: impl FnMut(Ticks, Ticks, Ticks)) {
        let Some((first, end)) = self.repeat else {
            return piece(from, to, 0);
        };
        if from < end {
            piece(from, to.min(end), 0);
        }
        let mut at = from.max(end);
        while at < to {
            let round = (at - first).div_euclid(end - first);
            let later = round * (end - first);
            let until = to.min(end + later);
            piece(at - later, until - later, later);
            at = until;
        }
    }

    fn place(&self, tick: Ticks) -> usize {
        self.attacks.partition_point(|attack| attack.tick < tick)
    }

    /// The riff in its saved form. Allocates.
    pub fn save(&self) -> RiffData {
        let mut last = 0;
        let mut row = Vec::with_capacity(self.attacks.len() * 2);
        for attack in &self.attacks {
            row.push(attack.tick - last);
            last = attack.tick;
            #[expect(clippy::cast_possible_truncation)]
            row.push((attack.strength * STEPS).round() as i64);
        }
        RiffData {
            schema: SCHEMA,
            spans: self.spans.as_slice().to_vec(),
            repeat: self.repeat,
            attacks: row,
        }
    }

    /// Reads a saved riff. Allocates.
    ///
    /// # Errors
    /// [`RiffError`] says what is wrong with it.
    pub fn load(saved: &RiffData) -> Result<Self, RiffError> {
        if saved.schema == 0 || saved.schema > SCHEMA {
            return Err(RiffError::Schema(saved.schema));
        }
        let far = |tick: &Ticks| tick.unsigned_abs() > FARTHEST.unsigned_abs();
        let mut riff = Self::default();
        for &(from, to) in saved.spans.iter().take(MAX_SPANS) {
            if from >= to || far(&from) || far(&to) {
                return Err(RiffError::Damaged);
            }
            riff.punch(from, to);
        }
        let pairs = saved.attacks.chunks_exact(2);
        if !pairs.remainder().is_empty() || pairs.len() > MAX_ATTACKS {
            return Err(RiffError::Damaged);
        }
        let mut tick: Ticks = 0;
        for pair in pairs {
            tick = tick
                .checked_add(pair[0])
                .filter(|t| !far(t))
                .ok_or(RiffError::Damaged)?;
            let strength = u8::try_from(pair[1]).map_err(|_| RiffError::Damaged)?;
            riff.add(Attack {
                tick,
                strength: f32::from(strength) / STEPS,
            });
        }
        riff.set_repeat(saved.repeat.filter(|(a, b)| !far(a) && !far(b)));
        Ok(riff)
    }
}

/// Ticks beyond are no place in a song.
pub(super) const FARTHEST: Ticks = 1 << 40;

/// The saved form: plain numbers, so that it can be read by anyone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RiffData {
    /// The version of this form.
    pub schema: u32,
    /// Where the riff is known: from a tick up to another.
    #[serde(default)]
    pub spans: Vec<(Ticks, Ticks)>,
    /// The stretch that is repeated after its end.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repeat: Option<(Ticks, Ticks)>,
    /// The attacks: ticks since the one before (960 a quarter note), and strength 0..=127, in turn.
    #[serde(default)]
    pub attacks: Vec<i64>,
}

impl Default for RiffData {
    fn default() -> Self {
        Riff::default().save()
    }
}

/// A saved riff that can't be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum RiffError {
    /// From a later version.
    #[error("the riff is of version {0}: open it with a newer Fourlimb")]
    Schema(u32),
    /// Numbers that make no riff.
    #[error("the riff is damaged: capture it again")]
    Damaged,
}
