//! Live playing as a MIDI file, with the tempi and bars of the host.

use crate::export::{Exported, What};
use crate::midi::smf_write::{Conductor, DRUMS, Format, NoteTrack, SmfError, write_tracks};
use crate::midi::{RegionExpression, RegionNote};
use crate::recorder::passes::Passage;
use crate::song::locked::EARLY;
use crate::time::{ObservedTempoMap, TICKS_PER_QUARTER, Ticks};

/// The longest run-up to a bar line, in ticks: a sixteenth. A program that is started at a bar line rolls for a block or two
/// before it (observed in one: 21 ms, a block of 1,024 samples at 48 kHz). Judged.
const RUN_UP: Ticks = TICKS_PER_QUARTER / 4;

/// Where the file of a passage begins: with the bar that it runs up to, or else with the bar that it begins in.
fn start_of(passage: &Passage, observed: &ObservedTempoMap) -> Ticks {
    let line = observed.line_after(passage.from);
    let strokes = passage.region.notes.iter();
    let first = strokes.map(|note| note.tick).min().unwrap_or(line);
    let is_run_up = line - passage.from <= RUN_UP && first > line - EARLY;
    if is_run_up && passage.region.end > line {
        line
    } else {
        observed.bar_at(passage.from).start
    }
}

/// Makes a file of a passage. It begins at the start of the passage's first bar and ends at the end of its last, so
/// that it fits on a bar line of the song. A run-up of at most a sixteenth is no bar: early strokes in it stand on the bar
/// line. Bar numbers are the host's, those before the song 0. Format 1, all drums
/// on one track. Any thread but the audio thread.
///
/// # Errors
/// [`SmfError`] where a position can't be said in the format.
pub fn file(passage: &Passage, observed: &ObservedTempoMap) -> Result<Exported, SmfError> {
    let start = start_of(passage, observed);
    // The tick before the end is the last one that was played.
    let last = (passage.region.end - 1).max(passage.from);
    let end = observed.line_after(last);
    let number = |tick| u32::try_from(observed.bar_number(tick)).unwrap_or(0);
    let bars = (number(passage.from.max(start)), number(last));
    let notes: Vec<_> = passage
        .region
        .notes
        .iter()
        .map(|note| RegionNote {
            tick: (note.tick - start).max(0),
            ..*note
        })
        .collect();
    let expressions = passage.region.expressions.iter();
    let expressions = expressions
        .map(|expression| RegionExpression {
            tick: (expression.tick - start).max(0),
            ..*expression
        })
        .collect();
    let count = notes.len();
    let conductor = Conductor {
        title: format!("Played, {}", What::Bars(bars.0, bars.1)),
        ..Conductor::observed(start..end, observed)
    };
    let drums = NoteTrack {
        name: DRUMS.to_owned(),
        notes,
        expressions,
    };
    Ok(Exported {
        bytes: write_tracks(&conductor, &[drums], Format::Parallel)?,
        notes: count,
        bars,
    })
}
