//! The note map: what is sent for each piece, so that any drum sampler plays it.
//!
//! A map has room of its own and no heap, so that the audio thread takes another one over by a copy.

use super::hi_hat::{HiHat, Opened, piece_of, usual_opening};
use super::{Note, Piece, Response};
use arrayvec::ArrayVec;

/// Most notes of a piece that take turns, and most others that are read as it. Judged.
pub const MOST_NOTES: usize = 8;

/// Some notes.
pub type Notes = ArrayVec<Note, MOST_NOTES>;

choice! {
    /// Which of a piece's notes a stroke gets, where it has several.
    Turns "alternates" {
        /// One after the other, in the order of the strokes of a limb in their bar.
        InTurn = "in turn",
        /// The first for the lead limb, the second for the other one.
        ByHand = "by hand",
    }
}

choice! {
    /// How long the notes of a piece are.
    Length "length" {
        /// A thirty-second.
        Short = "short",
        /// As the stroke rings: a thirty-second, or four quarters for a last hit that rings on.
        Rings = "as it rings",
        /// Until the piece is struck again, or the transport stops; four bars of four quarters at most.
        UntilNext = "until the next",
    }
}

/// How a sampler is told that a hand grabs a ringing cymbal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Choke {
    /// By the end of its note.
    #[default]
    NoteOff,
    /// By a note of its own.
    Key(Note),
    /// By polyphonic aftertouch (key pressure, MIDI 1.0) of 127 on its note.
    Aftertouch,
}

/// What is played in the place of a piece that is not sent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Instead {
    /// The first that is sent of [`Piece::nearest`].
    #[default]
    Nearest,
    /// This piece, if it is sent.
    Piece(Piece),
    /// Nothing.
    Nothing,
}

/// What is sent for a piece.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PieceNotes {
    /// The notes that are played: the first, and its alternates. Without one the piece is not sent.
    pub notes: Notes,
    /// Which of them a stroke gets.
    pub turns: Turns,
    /// Further notes that are read as the piece and not played.
    pub also_read: Notes,
    /// How it answers velocity.
    pub response: Response,
    /// How long its notes are.
    pub length: Length,
    /// How it is choked.
    pub choke: Choke,
    /// What is played where it is not sent.
    pub instead: Instead,
}

impl Default for PieceNotes {
    fn default() -> Self {
        Self {
            notes: Notes::new(),
            turns: Turns::InTurn,
            also_read: Notes::new(),
            response: Response::PLAIN,
            length: Length::Rings,
            choke: Choke::NoteOff,
            instead: Instead::Nearest,
        }
    }
}

impl PieceNotes {
    /// A piece with one note.
    pub fn of(note: Note) -> Self {
        Self {
            notes: Notes::from_iter([note]),
            ..Self::default()
        }
    }

    /// The note of a stroke.
    fn note(&self, struck: Struck) -> Option<Note> {
        let count = self.notes.len().max(1);
        let turn = match (struck.alternate, self.turns) {
            (Some(alternate), _) => usize::from(alternate),
            (None, Turns::InTurn) => usize::from(struck.turn),
            (None, Turns::ByHand) => usize::from(!struck.lead),
        };
        self.notes.get(turn % count).copied()
    }
}

/// A stroke as the map asks of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Struck {
    /// What is struck.
    pub piece: Piece,
    /// How hard, 1..=127.
    pub velocity: u8,
    /// Whether the lead hand or the lead foot strikes it.
    pub lead: bool,
    /// The place of the stroke among those of its limb in its bar.
    pub turn: u8,
    /// Which of the piece's notes it gets, from 0, where the songwriter's own region says it.
    pub alternate: Option<u8>,
    /// How far the hi-hat is open, 0 (shut) to 127; 0 for other pieces.
    pub opening: u8,
}

/// What is sent for a stroke.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sent {
    /// The piece that sounds.
    pub piece: Piece,
    /// Its note.
    pub note: Note,
    /// The note's velocity, 1..=127.
    pub velocity: u8,
    /// How long it is.
    pub length: Length,
    /// How it is choked.
    pub choke: Choke,
    /// What the hi-hat's controller is given, where it has one and the piece is of the hi-hat.
    pub opening: Option<Opened>,
}

/// What is sent for each piece.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoteMap {
    /// By [`Piece`].
    pieces: [PieceNotes; Piece::COUNT],
    /// How the hi-hat is told how far it is open.
    pub hi_hat: HiHat,
}

impl NoteMap {
    /// A map that sends nothing.
    pub fn silent() -> Self {
        Self {
            pieces: std::array::from_fn(|_| PieceNotes::default()),
            hi_hat: HiHat::default(),
        }
    }

    /// What is sent for a piece.
    pub fn get(&self, piece: Piece) -> &PieceNotes {
        &self.pieces[piece as usize]
    }

    /// The same, to be changed.
    pub fn get_mut(&mut self, piece: Piece) -> &mut PieceNotes {
        &mut self.pieces[piece as usize]
    }

    /// Whether a piece has a note of its own.
    pub fn is_sent(&self, piece: Piece) -> bool {
        !self.get(piece).notes.is_empty()
    }

    /// The piece that sounds where one is struck: itself, or what is played instead; `None` for nothing.
    pub fn sounding(&self, piece: Piece) -> Option<Piece> {
        if self.is_sent(piece) {
            return Some(piece);
        }
        let is_sent = |piece: &Piece| self.is_sent(*piece);
        match self.get(piece).instead {
            Instead::Nothing => None,
            Instead::Piece(other) => Some(other).filter(is_sent),
            Instead::Nearest => piece.nearest().iter().copied().find(is_sent),
        }
    }

    /// The pieces whose strokes move the hi-hat's controller, one bit each by [`Piece`].
    pub fn on_controller(&self) -> u32 {
        let moves = |piece: &Piece| {
            let sounding = self.sounding(*piece);
            sounding.is_some_and(|piece| self.hi_hat.opened(piece, 0).is_some())
        };
        let pieces = Piece::ALL.into_iter().filter(moves);
        pieces.fold(0, |bits, piece| bits | 1 << piece as u32)
    }

    /// What is sent for a stroke; `None` for nothing.
    pub fn send(&self, struck: &Struck) -> Option<Sent> {
        let piece = self.sounding(struck.piece)?;
        // A drum that sounds through the hi-hat has no opening of its own.
        let opening = usual_opening(struck.piece)
            .map_or_else(|| usual_opening(piece), |_| Some(struck.opening))
            .unwrap_or(0);
        let (piece, note) = match self.hi_hat.note(piece, opening) {
            Some(between) => between,
            None => (piece, self.get(piece).note(*struck)?),
        };
        let notes = self.get(piece);
        Some(Sent {
            piece,
            note,
            velocity: notes.response.sent(struck.velocity),
            length: notes.length,
            choke: notes.choke,
            opening: self.hi_hat.opened(piece, opening),
        })
    }

    /// The first note of a piece, or of what is played instead.
    pub fn note(&self, piece: Piece) -> Option<Note> {
        self.get(self.sounding(piece)?).notes.first().copied()
    }

    /// The pieces that are played by others, each with what sounds: those that the sampler lacks.
    pub fn folded(&self) -> impl Iterator<Item = (Piece, Option<Piece>)> + '_ {
        let lacking = Piece::ALL.into_iter().filter(|piece| !self.is_sent(*piece));
        lacking.map(|piece| (piece, self.sounding(piece)))
    }

    /// Every note that the map plays, with its piece. A note of several pieces comes several times.
    pub fn played(&self) -> impl Iterator<Item = (Piece, Note)> + '_ {
        let own = Piece::ALL.into_iter().flat_map(|piece| {
            let notes = &self.get(piece).notes;
            notes.iter().map(move |note| (piece, *note))
        });
        let between = self.hi_hat.openings();
        own.chain(between.map(|(at, note)| (piece_of(at), note)))
    }

    /// Every note that the map reads, with its piece: those that it plays, and others.
    pub fn read(&self) -> impl Iterator<Item = (Piece, Note)> + '_ {
        let also = Piece::ALL.into_iter().flat_map(|piece| {
            let notes = &self.get(piece).also_read;
            notes.iter().map(move |note| (piece, *note))
        });
        self.played().chain(also)
    }

    /// The notes by which the sampler is told that a hand grabs a cymbal.
    pub fn chokes(&self) -> impl Iterator<Item = Note> + '_ {
        Piece::ALL
            .into_iter()
            .filter_map(|piece| match self.get(piece).choke {
                Choke::Key(note) => Some(note),
                Choke::NoteOff | Choke::Aftertouch => None,
            })
    }
}

impl Default for NoteMap {
    fn default() -> Self {
        super::general_midi::level_2()
    }
}
