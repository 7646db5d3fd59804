//! A region: the notes of a song, composed offline by the same engine that plays live.

use super::bars::BarGrid;
use super::sequencer::Sequencer;
use super::{NOTE_TICKS, RING_TICKS};
use crate::groove::Hit;
use crate::kit::{Note, NoteMap};
use crate::song::Timeline;
use crate::time::Ticks;

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
    /// Plays a whole song offline.
    pub fn render(timeline: &Timeline, map: &NoteMap) -> Self {
        let notes = notes(&play(timeline), map);
        Self {
            notes: notes.into_iter().map(|(note, _)| note).collect(),
            end: timeline.end(),
        }
    }

    /// Shortens notes that would still sound when their key is struck again, so that no two notes
    /// of a key overlap, and leaves out a second note of the same key at the same tick.
    pub fn unlap(&mut self) {
        self.notes.sort_by_key(|note| note.tick);
        shorten(self.notes.iter_mut().rev());
        self.notes.retain(|note| note.length > 0);
    }
}

/// The notes that hits become, each beside its hit, in order of time: as long as they last, and
/// un-lapped as by [`Region::unlap`].
pub fn notes(hits: &[Hit], map: &NoteMap) -> Vec<(RegionNote, Hit)> {
    let note = |hit: &Hit| RegionNote {
        tick: hit.tick,
        length: if hit.rings { RING_TICKS } else { NOTE_TICKS },
        note: map.note(hit.piece),
        velocity: hit.velocity,
    };
    let mut notes: Vec<_> = hits.iter().map(|hit| (note(hit), *hit)).collect();
    notes.sort_by_key(|(note, _)| note.tick);
    shorten(notes.iter_mut().rev().map(|(note, _)| note));
    notes.retain(|(note, _)| note.length > 0);
    notes
}

/// Ends notes where their key is struck again; nothing is left of a note whose key is struck again
/// at once. The notes come latest first.
fn shorten<'a>(latest_first: impl Iterator<Item = &'a mut RegionNote>) {
    let mut next = std::collections::BTreeMap::new();
    for note in latest_first {
        let key = (note.note.channel, note.note.key);
        if let Some(later) = next.insert(key, note.tick) {
            note.length = note.length.min(later - note.tick);
        }
    }
}

/// Every hit of a song, in order of time.
pub fn play(timeline: &Timeline) -> Vec<Hit> {
    let mut sequencer = Sequencer::new();
    sequencer.riff_mut().copy_from(timeline.riff());
    sequencer.chart_mut().clone_from(timeline.chart());
    let mut grid = BarGrid::new();
    let mut hits = Vec::new();
    let mut settings = timeline.start_settings();
    let mut changes = timeline.changes().iter().peekable();
    for (i, &bar) in timeline.bars().iter().enumerate() {
        let meter = (
            i32::from(bar.meter.numerator()),
            i32::from(bar.meter.denominator()),
        );
        let quarters = bar.start as f64 / crate::time::TICKS_PER_QUARTER as f64;
        grid.update(bar.start, Some(meter), Some(quarters), i == 0);
        let bpm = timeline.tempo().bpm_at(bar.start);
        let mut at = bar.start;
        while at < bar.end() {
            while let Some(change) = changes.next_if(|change| change.at <= at) {
                change.apply(&mut settings);
            }
            let until = changes
                .peek()
                .map_or(bar.end(), |change| change.at.min(bar.end()));
            sequencer.play(at, until, &settings, &grid, bpm, |hit| hits.push(hit));
            at = until;
        }
    }
    hits
}
