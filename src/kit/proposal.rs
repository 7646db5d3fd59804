//! A proposal: which notes may sound which pieces, as read from somewhere that can't be certain. A person confirms it.

use super::note_map::{NoteMap, PieceNotes};
use super::{Note, Piece};

/// How sure a line of a proposal is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Sureness {
    /// Nothing speaks for another piece.
    Sure,
    /// It fits best, and another piece is possible.
    Likely,
    /// Little speaks for it: listen before you keep it.
    Guess,
}

/// A note and the piece that it is taken for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// The piece.
    pub piece: Piece,
    /// The note. Several lines may name one piece: the first is the one to play, the others are read as it.
    pub note: Note,
    /// How sure that is.
    pub sureness: Sureness,
    /// Why, in words for the songwriter: the name that the note has, or how it is used.
    pub reason: String,
}

/// A note that was left without a piece.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unplaced {
    /// The note.
    pub note: Note,
    /// What is known of it, in words for the songwriter.
    pub reason: String,
}

/// What was read.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Proposal {
    /// The placed notes: pieces in the order of [`Piece::ALL`], the surest line of a piece first.
    pub lines: Vec<Line>,
    /// The notes that could not be placed, in order of channel and key.
    pub unplaced: Vec<Unplaced>,
}

impl Proposal {
    /// Brings lines and notes into the order in which they are shown.
    pub fn sort(&mut self) {
        self.lines
            .sort_by_key(|line| (line.piece, line.sureness, line.note));
        self.unplaced.sort_by_key(|unplaced| unplaced.note);
    }

    /// The map that it proposes: of several notes of a piece the first is played, and the others are read as it.
    pub fn to_map(&self) -> NoteMap {
        let mut map = NoteMap::silent();
        for line in &self.lines {
            let notes = map.get_mut(line.piece);
            if notes.notes.is_empty() {
                *notes = PieceNotes::of(line.note);
            } else {
                // Beyond the room of a piece they stay unread.
                let _ = notes.also_read.try_push(line.note);
            }
        }
        map
    }
}
