//! A stroke as it sounds, and the limb that plays it.

use super::edit::EditTarget;
use super::origin::Origin;
use crate::kit::{Piece, Ring, Struck};
use crate::time::Ticks;

/// One of the drummer's limbs; "lead" is the dominant side.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Limb {
    /// The hand that rides (plays the hand cymbal).
    LeadHand,
    /// The hand that usually plays the snare.
    OtherHand,
    /// The foot that plays the kick.
    LeadFoot,
    /// The foot on the hi-hat pedal and the second kick pedal.
    OtherFoot,
}

impl Limb {
    /// The four limbs.
    pub const ALL: [Self; 4] = [
        Self::LeadHand,
        Self::OtherHand,
        Self::LeadFoot,
        Self::OtherFoot,
    ];

    /// Its name, in drummers' terms.
    pub fn name(self) -> &'static str {
        match self {
            Self::LeadHand => "lead hand",
            Self::OtherHand => "other hand",
            Self::LeadFoot => "lead foot",
            Self::OtherFoot => "other foot",
        }
    }
}

/// A stroke as it sounds, with the settings of its moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hit {
    /// When it sounds, in ticks on the song's timeline.
    pub tick: Ticks,
    /// Its place on the grid, in ticks on the song's timeline; for a grace note, the place of its main stroke.
    pub grid: Ticks,
    /// The limb.
    pub limb: Limb,
    /// The piece.
    pub piece: Piece,
    /// MIDI velocity, 1..=127.
    pub velocity: u8,
    /// Why it is there.
    pub origin: Origin,
    /// What an edit by hand calls it.
    pub target: EditTarget,
    /// Whether the songwriter asked for it, by an edit or in a locked section.
    pub asked: bool,
    /// Whether it is a grace note.
    pub grace: bool,
    /// Whether it is a ghost note, by its role and not by its velocity.
    pub ghost: bool,
    /// How long it is left to ring.
    pub ring: Ring,
    /// How far the hi-hat is open, 0 (shut) to 127; 0 for other pieces.
    pub opening: u8,
    /// Its place among the strokes of its limb in the bar, from 0.
    pub turn: u8,
    /// Which of its piece's notes it has on the sampler, from 0, where the songwriter's own region says it.
    pub alternate: Option<u8>,
}

impl Hit {
    /// A stroke without a song.
    pub fn of(struck: &Struck) -> Self {
        Self {
            tick: 0,
            grid: 0,
            limb: if struck.lead {
                Limb::LeadHand
            } else {
                Limb::OtherHand
            },
            piece: struck.piece,
            velocity: struck.velocity,
            origin: Origin::ByHand,
            target: EditTarget::Piece(struck.piece),
            asked: true,
            grace: false,
            ghost: false,
            ring: Ring::Free,
            opening: struck.opening,
            turn: struck.turn,
            alternate: struck.alternate,
        }
    }

    /// How far from its place on the grid it sounds, in ticks: swing and feel. A grace note is early against its main
    /// stroke's place. 0 for a stroke edited by hand, whose place is where it sounds.
    pub fn offset(&self) -> Ticks {
        self.tick - self.grid
    }

    /// The stroke as a note map asks of it.
    pub fn struck(&self) -> Struck {
        Struck {
            piece: self.piece,
            velocity: self.velocity,
            lead: matches!(self.limb, Limb::LeadHand | Limb::LeadFoot),
            turn: self.turn,
            alternate: self.alternate,
            opening: self.opening,
        }
    }
}
