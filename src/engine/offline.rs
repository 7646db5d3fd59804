//! Plays a whole song offline, by the same engine that plays live.

use super::sequencer::Sequencer;
use crate::groove::Hit;
use crate::kit::NoteMap;
use crate::midi::region::shorten;
use crate::midi::{NOTE_TICKS, RING_TICKS, Region, RegionNote};
use crate::song::Timeline;
use crate::transport::bars::BarGrid;

/// The region of a whole song.
pub fn render(timeline: &Timeline, map: &NoteMap) -> Region {
    let notes = notes(&play(timeline), map);
    Region {
        notes: notes.into_iter().map(|(note, _)| note).collect(),
        end: timeline.end(),
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
