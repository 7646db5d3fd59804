//! A region: notes on the timeline, as a recording program holds them.

use crate::kit::hi_hat::Opened;
use crate::kit::note_map::Length;
use crate::kit::{Note, Ring};
use crate::time::Ticks;
use std::collections::BTreeMap;

/// The length of a note, in ticks: a thirty-second, long enough to see and grab in a piano roll. Drum samplers
/// ignore it.
pub const NOTE_TICKS: Ticks = crate::time::TICKS_PER_QUARTER / 8;

/// The length of a ringing note, in ticks: four quarters, for the last hit of an ending.
pub const RING_TICKS: Ticks = crate::time::TICKS_PER_QUARTER * 4;

/// The length of a note that lasts until its piece is struck again, at most, in ticks: sixteen quarters.
pub const HOLD_TICKS: Ticks = crate::time::TICKS_PER_QUARTER * 16;

/// The length of the note of a stroke whose cymbal is grabbed, in ticks: an eighth. Judged: longer than the stroke's
/// attack, and short enough to leave the band's silence.
pub const GRAB_TICKS: Ticks = crate::time::TICKS_PER_QUARTER / 2;

/// The length of the note of a stroke, in ticks, where nothing ends it before.
pub fn note_ticks(length: Length, ring: Ring) -> Ticks {
    match (length, ring) {
        (Length::Rings | Length::UntilNext, Ring::On) => RING_TICKS,
        (Length::Rings | Length::UntilNext, Ring::Grabbed) => GRAB_TICKS,
        (Length::Short, _) | (Length::Rings, Ring::Free) => NOTE_TICKS,
        (Length::UntilNext, Ring::Free) => HOLD_TICKS,
    }
}

/// The velocity of a note that chokes. Judged: samplers choke at any.
pub const CHOKES_AT: u8 = 100;

/// What is sent beside notes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Expression {
    /// A control change.
    Control {
        /// 0..=15.
        channel: u8,
        /// Its number, 0..=119.
        number: u8,
        /// Its value, 0..=127.
        value: u8,
    },
    /// Polyphonic aftertouch: the pressure on a sounding key.
    Pressure {
        /// Which note.
        note: Note,
        /// 0..=127.
        value: u8,
    },
}

impl Expression {
    /// What a controller of the hi-hat is given.
    pub fn hi_hat(opened: Opened) -> Self {
        let Opened { controller, value } = opened;
        Self::Control {
            channel: controller.channel,
            number: controller.number,
            value,
        }
    }
}

/// What is sent beside the notes of a region.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RegionExpression {
    /// When, in ticks.
    pub tick: Ticks,
    /// What.
    pub expression: Expression,
}

/// One note of a region.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RegionNote {
    /// Where it starts, in ticks.
    pub tick: Ticks,
    /// How long it lasts, in ticks.
    pub length: Ticks,
    /// Its channel and key.
    pub note: Note,
    /// Its velocity, 1..=127.
    pub velocity: u8,
}

/// Notes in order of time.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Region {
    /// The notes.
    pub notes: Vec<RegionNote>,
    /// What is sent beside them, in order of time.
    pub expressions: Vec<RegionExpression>,
    /// The first tick after the region.
    pub end: Ticks,
}

impl Region {
    /// Shortens notes that would still sound when their key is struck again, so that no two notes of a key overlap.
    /// Removes every further note of the same key at the same tick.
    pub fn unlap(&mut self) {
        self.notes.sort_by_key(|note| note.tick);
        shorten(self.notes.iter_mut().rev());
        self.notes.retain(|note| note.length > 0);
    }
}

/// Ends notes where their key is struck again. Of several notes of a key at one tick the first one stays, and the others
/// get length 0. The notes come latest first.
pub fn shorten<'a>(latest_first: impl Iterator<Item = &'a mut RegionNote>) {
    let mut next: BTreeMap<Note, (Ticks, &mut RegionNote)> = BTreeMap::new();
    for note in latest_first {
        let (key, tick) = (note.note, note.tick);
        let until = match next.remove(&key) {
            Some((until, second)) if second.tick == tick => {
                second.length = 0;
                until
            }
            Some((_, later)) => later.tick,
            None => Ticks::MAX,
        };
        note.length = note.length.min(until.saturating_sub(tick));
        next.insert(key, (until, note));
    }
}
