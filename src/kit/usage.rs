//! Reading a region of drums whose keys nobody knows: which key may be which piece, by how it is used.
//!
//! No key's number says anything here, but for the order of toms whose fills say nothing. Each key is measured alone
//! (how many strokes, where in the bar, how regular, how loud) and against the others (struck together, before, after,
//! in turn, in the same bars). Tables from data turn that into chances of roles, and chances become lines of a
//! [`Proposal`]. Kick and snare are found well, kinds of cymbals hardly: `tests/core/usage.rs` has how often.

mod alone;
mod place;
mod reason;
mod role;
mod score;
mod strokes;
mod tables;
mod together;
mod toms;

use super::Note;
use super::proposal::{Proposal, Unplaced};
use crate::time::{Bar, Ticks};

/// The most keys that are compared with each other, the most used first. A kit has some 18 pieces; more keys than this
/// would take time that grows with their square.
const MOST_KEYS: usize = 48;

/// A note of the region.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct UsedNote {
    /// Where it begins, in ticks from the start of the song.
    pub tick: Ticks,
    /// Its channel and key.
    pub note: Note,
    /// 1..=127; a note of velocity 0 is none.
    pub velocity: u8,
}

/// Proposes a piece for each note of a region, by how it is used.
///
/// `notes` may come in any order. `bars` are those of the region; before the first and after the last they go on in
/// the same meter, and without any the region counts as 4/4 from tick 0. Strokes need not be quantised, but must
/// follow the bars: a region that was played without a click tells next to nothing.
///
/// A key is left unplaced where its strokes are fewer than three, or where it is used like no piece of a kit. A piece
/// may have several lines: a second key is at most likely.
pub fn propose(notes: &[UsedNote], bars: &[Bar]) -> Proposal {
    let mut keys = strokes::read(notes, bars);
    keys.sort_by_key(|key| std::cmp::Reverse(key.strokes.len()));
    let rest = keys.split_off(keys.len().min(MOST_KEYS));
    keys.sort_by_key(|key| key.note);
    let mut proposal = place::place(&keys, &score::all(&keys));
    proposal.unplaced.extend(rest.iter().map(|key| Unplaced {
        note: key.note,
        reason: reason::beyond(MOST_KEYS),
    }));
    proposal.sort();
    proposal
}
