//! What a note that came back means where several pieces have it: what the song plays there tells them apart.

use crate::groove::Hit;
use crate::kit::hi_hat::usual_opening;
use crate::kit::{Note, NoteMap, Struck};
use crate::midi::smf_read::ReadNote;
use crate::song::locked::{EARLY, Row};
use crate::time::Ticks;

/// How far a recording program that counts 240 ticks a quarter or more moves a note, in our ticks.
const MOVED_BY_ROUNDING: Ticks = 2;

/// Leaves out the notes with which the song chokes a cymbal, where a piece has the same key. `start` is the first tick of
/// the section.
pub(super) fn leave_out_chokes(
    read: &mut Vec<(Row, ReadNote)>,
    chokes: &[(Ticks, Note)],
    start: Ticks,
) {
    read.retain(|(row, note)| {
        let tick = start + row.tick;
        let is_here = |(at, choke): &(Ticks, Note)| {
            *choke == note.note && (at - tick).abs() <= MOVED_BY_ROUNDING
        };
        !chokes.iter().any(is_here)
    });
}

/// Corrects rows whose note sounds several pieces, as with General MIDI's loose and open hi-hat. Each becomes the
/// piece that the section plays nearest to it with that note, at most [`EARLY`] away, and is then clear. `hits` are the
/// song's, in order; `start` is the first tick of the section. A row says how far the hi-hat was open where its piece would
/// go to another note without that.
pub(super) fn name_pieces(read: &mut [(Row, ReadNote)], hits: &[Hit], start: Ticks, map: &NoteMap) {
    for (row, note) in read {
        let tick = start + row.tick;
        let from = hits.partition_point(|hit| hit.tick <= tick - EARLY);
        let near = hits[from..]
            .iter()
            .take_while(|hit| hit.tick < tick + EARLY);
        let sent = |hit: &&Hit| map.send(&hit.struck()).map(|sent| (sent.piece, sent.note));
        let same = near.filter(|hit| {
            sent(hit).is_some_and(|(piece, sent)| {
                sent == note.note || note.candidates.contains(&piece) && piece == row.piece
            })
        });
        if let Some(hit) = same.min_by_key(|hit| (hit.tick - tick).abs()) {
            row.piece = hit.piece;
            let sounding = sent(&hit).map_or(hit.piece, |(piece, _)| piece);
            row.velocity = map.get(sounding).response.played(note.sent);
            let opening = usual_opening(hit.piece).unwrap_or(0);
            let usual = map.send(&Struck {
                opening,
                ..hit.struck()
            });
            if usual.is_none_or(|usual| usual.note != note.note) {
                row.opening = row.opening.or(Some(hit.opening));
            }
            note.candidates = [hit.piece].into_iter().collect();
        }
    }
}
