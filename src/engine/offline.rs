//! Plays a whole song offline, with the same engine as live play.

use super::in_force::Inputs;
use super::sequencer::{Played, Sequencer};
use crate::groove::{Fill, Hit};
use crate::kit::note_map::Choke;
use crate::kit::{Note, NoteMap, Ring, Sent};
use crate::midi::region::{CHOKES_AT, note_ticks, shorten};
use crate::midi::{Expression, NOTE_TICKS, Region, RegionExpression, RegionNote};
use crate::song::Timeline;
use crate::time::Ticks;
use crate::time::tempo::ticks_per_second;

/// What a note map sends for hits.
#[derive(Debug, Clone, Default)]
pub struct Notes {
    /// The notes, each with its hit, in order of time. They have their full length, without overlaps as after
    /// [`Region::unlap`].
    pub notes: Vec<(RegionNote, Hit)>,
    /// What is sent beside them, each with the hit that asks for it, in order of time.
    pub expressions: Vec<(RegionExpression, Hit)>,
}

/// The region of a whole song.
pub fn render(timeline: &Timeline, map: &NoteMap) -> Region {
    let Notes { notes, expressions } = notes(&play(timeline), timeline, map);
    Region {
        notes: notes.into_iter().map(|(note, _)| note).collect(),
        expressions: expressions.into_iter().map(|(e, _)| e).collect(),
        end: timeline.end(),
    }
}

/// What a map sends for hits of a song, which are in order of time.
pub fn notes(hits: &[Hit], timeline: &Timeline, map: &NoteMap) -> Notes {
    let sent: Vec<(Hit, Sent)> = hits
        .iter()
        .filter_map(|hit| Some((*hit, map.send(&hit.struck())?)))
        .collect();
    let note = |(hit, sent): &(Hit, Sent)| RegionNote {
        tick: hit.tick,
        length: note_ticks(sent.length, hit.ring),
        note: sent.note,
        velocity: sent.velocity,
    };
    let mut notes: Vec<_> = sent.iter().map(|one| (note(one), one.0)).collect();
    notes.sort_by_key(|(note, _)| note.tick);
    shorten(notes.iter_mut().rev().map(|(note, _)| note));
    notes.retain(|(note, _)| note.length > 0);
    let mut expressions = openings(&sent, timeline);
    choke(&mut notes, &mut expressions, map);
    expressions.sort_by_key(|(expression, _)| expression.tick);
    Notes { notes, expressions }
}

/// When a map sends which notes to choke what rings, where it has keys for that.
pub fn chokes(hits: &[Hit], timeline: &Timeline, map: &NoteMap) -> Vec<(Ticks, Note)> {
    let notes = notes(hits, timeline, map).notes.into_iter();
    // A stroke's own note begins with it, and its choke later.
    let later = notes.filter(|(note, hit)| note.tick != hit.tick);
    later.map(|(note, _)| (note.tick, note.note)).collect()
}

/// The values of the hi-hat's controller. A value comes ahead of its note by the controller's lead, but after the
/// stroke on the hi-hat before, and not before the bar line: what a bar plays is known from there on.
fn openings(sent: &[(Hit, Sent)], timeline: &Timeline) -> Vec<(RegionExpression, Hit)> {
    // A stroke wants its value, and the foot moves there before. Of a stroke and a move at one tick the stroke is first.
    let mut wanted = Vec::new();
    let mut last = Ticks::MIN;
    for (hit, sent) in sent {
        let Some(opened) = sent.opening else {
            continue;
        };
        let bars = timeline.bars();
        let bar = bars.partition_point(|bar| bar.start <= hit.grid).max(1) - 1;
        let line = bars.get(bar).map_or(0, |bar| bar.start);
        let lead = opened
            .controller
            .lead(ticks_per_second(timeline.tempo().bpm_at(hit.tick)));
        let due = (hit.tick - lead).max(line).max(last.saturating_add(1));
        if due < hit.tick {
            wanted.push((due, 1, opened, *hit));
        }
        wanted.push((hit.tick, 0, opened, *hit));
        last = hit.tick;
    }
    wanted.sort_by_key(|(tick, order, ..)| (*tick, *order));
    wanted.dedup_by_key(|(_, _, opened, _)| *opened);
    let expressed = |(tick, _, opened, hit)| {
        let expression = Expression::hi_hat(opened);
        (RegionExpression { tick, expression }, hit)
    };
    wanted.into_iter().map(expressed).collect()
}

/// Chokes what rings on at its end, unless it was struck again before.
fn choke(
    notes: &mut Vec<(RegionNote, Hit)>,
    expressions: &mut Vec<(RegionExpression, Hit)>,
    map: &NoteMap,
) {
    let ringing: Vec<_> = notes
        .iter()
        .filter(|(_, hit)| hit.ring != Ring::Free)
        .copied()
        .collect();
    for (note, hit) in ringing {
        let sent = map.send(&hit.struck());
        let whole = |sent: &Sent| {
            note.length > NOTE_TICKS && note.length == note_ticks(sent.length, hit.ring)
        };
        let Some(sent) = sent.filter(whole) else {
            continue;
        };
        let tick = note.tick + note.length;
        match sent.choke {
            Choke::NoteOff => {}
            Choke::Aftertouch => {
                for value in [127, 0] {
                    let note = note.note;
                    let expression = Expression::Pressure { note, value };
                    expressions.push((RegionExpression { tick, expression }, hit));
                }
            }
            Choke::Key(grab) => {
                let sounds = |other: &RegionNote| {
                    other.note == grab && (other.tick..other.tick + other.length).contains(&tick)
                };
                if !notes.iter().any(|(other, _)| sounds(other)) {
                    let grabbed = RegionNote {
                        tick,
                        length: NOTE_TICKS,
                        note: grab,
                        velocity: CHOKES_AT,
                    };
                    notes.push((grabbed, hit));
                }
            }
        }
    }
    notes.sort_by_key(|(note, _)| note.tick);
}

/// Every hit of a song, in order of time.
pub fn play(timeline: &Timeline) -> Vec<Hit> {
    play_with_fills(timeline).0
}

/// Every hit of a song and every fill of its drummer, in order of time. What was edited by hand has no fills.
pub fn play_with_fills(timeline: &Timeline) -> (Vec<Hit>, Vec<Fill>) {
    let mut fills = Vec::new();
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
            sequencer.play(at, until, &inputs, |played| {
                if let Played::Hit(hit) = played {
                    hits.push(hit);
                }
            });
            at = until;
        }
        let part = sequencer.part();
        fills.extend(part.fill().filter(|_| part.bar() == *bar));
    }
    (hits, fills)
}
