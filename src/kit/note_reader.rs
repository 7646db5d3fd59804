//! From notes back to strokes: the inverse of a note map.

use super::hi_hat::piece_of;
use super::{Note, NoteMap, Piece};
use arrayvec::ArrayVec;
use std::collections::{BTreeMap, BTreeSet};

/// The pieces that a note may be, most of them of a single one. Where a map gives one note to several, the first in
/// [`Piece::ALL`] comes first.
pub type Candidates = ArrayVec<Piece, { Piece::COUNT }>;

/// A note as it was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadStroke {
    /// The pieces that it may be, at least one.
    pub pieces: Candidates,
    /// How hard it was struck, 1..=127.
    pub velocity: u8,
    /// Which of the piece's notes it is, from 0; `None` where it has only one.
    pub alternate: Option<u8>,
    /// How far the hi-hat is open, 0..=127, where its key or its controller says it.
    pub opening: Option<u8>,
}

/// Reads notes by a map.
#[derive(Debug, Clone)]
pub struct NoteReader<'a> {
    map: &'a NoteMap,
    pieces: BTreeMap<Note, Candidates>,
    /// Notes that choke and are no piece's.
    chokes: BTreeSet<Note>,
}

impl<'a> NoteReader<'a> {
    /// A reader for a map.
    pub fn new(map: &'a NoteMap) -> Self {
        let mut pieces: BTreeMap<Note, Candidates> = BTreeMap::new();
        for (piece, note) in map.read() {
            let candidates = pieces.entry(note).or_default();
            if !candidates.contains(&piece) {
                candidates.push(piece);
            }
        }
        for pieces in pieces.values_mut() {
            pieces.sort();
        }
        let chokes = map.chokes().filter(|note| !pieces.contains_key(note));
        let chokes = chokes.collect();
        Self {
            map,
            pieces,
            chokes,
        }
    }

    /// Whether the map has notes on a channel, 0..=15.
    pub fn is_on(&self, channel: u8) -> bool {
        self.pieces.keys().any(|note| note.channel == channel)
    }

    /// Whether a key on a channel only says that a hand grabs a cymbal; `None` where channels say nothing. A key that a
    /// piece has too may be a stroke.
    pub fn is_choke(&self, key: u8, channel: Option<u8>) -> bool {
        match channel {
            Some(channel) => self.chokes.contains(&Note { channel, key }),
            None => {
                self.on_any_channel(key).is_none() && self.chokes.iter().any(|note| note.key == key)
            }
        }
    }

    /// The note that a key means where channels say nothing: a recording program may have moved all notes to another
    /// channel. The first channel of the map that has the key.
    pub fn on_any_channel(&self, key: u8) -> Option<Note> {
        self.pieces.keys().copied().find(|note| note.key == key)
    }

    /// Reads a note. `value` is the last value of the hi-hat's controller before it. `None` where the map has no such
    /// note.
    pub fn read(&self, note: Note, velocity: u8, value: Option<u8>) -> Option<ReadStroke> {
        let mut pieces = self.pieces.get(&note)?.clone();
        let controller = self.map.hi_hat.controller();
        let is_hi_hat = |piece: &Piece| super::hi_hat::usual_opening(*piece).is_some();
        let said = value
            .filter(|_| pieces.iter().any(is_hi_hat))
            .and_then(|value| Some(controller?.opening(value)));
        if let Some(meant) = said.map(piece_of)
            && pieces.contains(&meant)
        {
            pieces = Candidates::from_iter([meant]);
        }
        let mut between = self.map.hi_hat.openings();
        let keyed = between.find(|(_, other)| *other == note);
        let piece = *pieces.first()?;
        let notes = &self.map.get(piece).notes;
        let alternate = notes.iter().position(|other| *other == note);
        Some(ReadStroke {
            velocity: self.map.get(piece).response.played(velocity),
            alternate: alternate
                .filter(|_| notes.len() > 1)
                .and_then(|at| u8::try_from(at).ok()),
            opening: said.or(keyed.map(|(at, _)| at)),
            pieces,
        })
    }
}
