//! Plays a whole song offline, with the same engine as live play.

use super::in_force::Inputs;
use super::sequencer::Sequencer;
use crate::groove::Hit;
use crate::kit::NoteMap;
use crate::midi::region::shorten;
use crate::midi::{NOTE_TICKS, RING_TICKS, Region, RegionNote};
use crate::song::Timeline;

/// The region of a whole song.
pub fn render(timeline: &Timeline, map: &NoteMap) -> Region {
    let notes = notes(&play(timeline), map);
    Region {
        notes: notes.into_iter().map(|(note, _)| note).collect(),
        end: timeline.end(),
    }
}

/// The notes of hits, each with its hit, in order of time. They have their full length, without overlaps as after
/// [`Region::unlap`].
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
    let mut hits = Vec::new();
    let mut panel = timeline.start_settings();
    let mut changes = timeline.changes().iter().peekable();
    for bar in timeline.bars() {
        let bpm = timeline.tempo().bpm_at(bar.start);
        let mut at = bar.start;
        sequencer.inputs_changed();
        while at < bar.end() {
            while let Some(change) = changes.next_if(|change| change.at <= at) {
                change.apply(&mut panel);
                sequencer.inputs_changed();
            }
            let until = changes
                .peek()
                .map_or(bar.end(), |change| change.at.min(bar.end()));
            let inputs = Inputs {
                panel: &panel,
                chart: timeline.chart(),
                riff: timeline.riff(),
                bars: bar,
                bpm,
            };
            sequencer.play(at, until, &inputs, |hit, _| hits.push(hit));
            at = until;
        }
    }
    hits
}
