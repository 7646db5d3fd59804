//! What was played as a MIDI file, at the tempi and in the bars of the host that played it.

use crate::export::{Exported, What};
use crate::midi::RegionNote;
use crate::midi::smf_write::{Conductor, DRUMS, Format, NoteTrack, SmfError, write_tracks};
use crate::recorder::passes::Passage;
use crate::time::ObservedTempoMap;

/// Makes a file of a passage. It begins with the bar in which the passage does, and ends with the bar in
/// which that ends, so that it can be put on a bar line of the song; its bars are counted as the host
/// would, those before the song as 0. Format 1, all drums on one track. Any thread but the audio thread.
///
/// # Errors
/// [`SmfError`] where a position can't be said in the format.
pub fn file(passage: &Passage, observed: &ObservedTempoMap) -> Result<Exported, SmfError> {
    let start = observed.bar_at(passage.from).start;
    // The tick before the end is the last one that was played.
    let last = (passage.region.end - 1).max(passage.from);
    let end = observed.line_after(last);
    let number = |tick| u32::try_from(observed.bar_number(tick)).unwrap_or(0);
    let bars = (number(passage.from), number(last));
    let notes: Vec<_> = passage
        .region
        .notes
        .iter()
        .map(|note| RegionNote {
            tick: note.tick - start,
            ..*note
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
    };
    Ok(Exported {
        bytes: write_tracks(&conductor, &[drums], Format::Parallel)?,
        notes: count,
        bars,
    })
}
