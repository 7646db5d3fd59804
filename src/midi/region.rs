//! A region: notes on the timeline, as a recording program holds them.

use crate::kit::Note;
use crate::time::Ticks;

/// The length of a note, in ticks: a thirty-second, long enough to see and grab in a piano roll. Drum samplers
/// ignore it.
pub const NOTE_TICKS: Ticks = crate::time::TICKS_PER_QUARTER / 8;

/// The length of a ringing note, in ticks: four quarters, for the last hit of an ending.
pub const RING_TICKS: Ticks = crate::time::TICKS_PER_QUARTER * 4;

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
    /// The first tick after the region.
    pub end: Ticks,
}

impl Region {
    /// Shortens notes that would still sound when their key is struck again, so that no two notes of a key overlap.
    /// Removes a second note of the same key at the same tick.
    pub fn unlap(&mut self) {
        self.notes.sort_by_key(|note| note.tick);
        shorten(self.notes.iter_mut().rev());
        self.notes.retain(|note| note.length > 0);
    }
}

/// Ends notes where their key is struck again. A note whose key is struck again at once gets length 0. The notes
/// come latest first.
pub fn shorten<'a>(latest_first: impl Iterator<Item = &'a mut RegionNote>) {
    let mut next = std::collections::BTreeMap::new();
    for note in latest_first {
        let key = (note.note.channel, note.note.key);
        if let Some(later) = next.insert(key, note.tick) {
            note.length = note.length.min(later - note.tick);
        }
    }
}
