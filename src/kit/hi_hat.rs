//! The hi-hat of a sampler: how it is told how far it is open.

use super::{Note, Piece};
use crate::time::Ticks;
use arrayvec::ArrayVec;

/// Most keys for openings between closed, loose and open. Judged.
pub const MOST_OPENINGS: usize = 8;

/// The opening below which a stroke is one on the closed hi-hat, and that from which it is one on the open hi-hat, of
/// 0..=127. The groove draws closed strokes up to 16, loose ones from 40 to 84, and open ones from 104. Judged.
const CLOSED_BELOW: u8 = 28;
const OPEN_FROM: u8 = 94;

/// The foot pedal among the controllers of MIDI 1.0: control change 4, "foot controller".
pub const FOOT_CONTROLLER: u8 = 4;

/// How the hi-hat is told how far it is open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum HiHat {
    /// By the keys of closed, loose and open, and by further ones between them: the opening of each, 0 (shut) to 127.
    Keys(ArrayVec<(u8, Note), MOST_OPENINGS>),
    /// By a controller.
    Controller(Controller),
}

/// A controller that says how far the hi-hat is open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Controller {
    /// Its number, 0..=119.
    pub number: u8,
    /// Its channel, 0..=15.
    pub channel: u8,
    /// Its value for the closed hi-hat, 0..=127.
    pub closed: u8,
    /// Its value for the open hi-hat, 0..=127: above or below the other, which is its direction.
    pub open: u8,
    /// How long before its note it comes, in milliseconds, 0..=[`MOST_LEAD_MS`].
    pub lead_ms: u8,
}

/// A value that a controller is given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Opened {
    /// The controller.
    pub controller: Controller,
    /// Its value, 0..=127.
    pub value: u8,
}

/// The longest lead of a controller, in milliseconds. Judged: a foot that moves.
pub const MOST_LEAD_MS: u8 = 100;

impl Controller {
    /// The foot controller of a channel: pressed down at 127, which is shut, and up at 0.
    pub fn foot(channel: u8) -> Self {
        Self {
            number: FOOT_CONTROLLER,
            channel,
            closed: 127,
            open: 0,
            lead_ms: 0,
        }
    }

    /// Its value for an opening, 0..=127 both.
    pub fn value(&self, opening: u8) -> u8 {
        let (closed, open) = (f32::from(self.closed), f32::from(self.open));
        let value = closed + (open - closed) * f32::from(opening.min(127)) / 127.0;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let value = value.round() as u8;
        value.min(127)
    }

    /// How long before its note a value comes, in ticks, at a tempo in ticks a second.
    pub fn lead(&self, ticks_per_second: f64) -> Ticks {
        #[expect(clippy::cast_possible_truncation)]
        let ticks = (f64::from(self.lead_ms) / 1000.0 * ticks_per_second).round() as Ticks;
        ticks
    }

    /// The opening of a value: the nearest.
    pub fn opening(&self, value: u8) -> u8 {
        let (closed, open) = (f32::from(self.closed), f32::from(self.open));
        if self.closed == self.open {
            return 0;
        }
        let opening = (f32::from(value) - closed) / (open - closed) * 127.0;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let opening = opening.round().clamp(0.0, 127.0) as u8;
        opening
    }
}

/// Whether a piece is the hi-hat, struck by hand.
fn is_struck(piece: Piece) -> bool {
    matches!(
        piece,
        Piece::HiHatClosed | Piece::HiHatLoose | Piece::HiHatOpen
    )
}

/// The piece of an opening, 0..=127.
pub fn piece_of(opening: u8) -> Piece {
    if opening < CLOSED_BELOW {
        Piece::HiHatClosed
    } else if opening < OPEN_FROM {
        Piece::HiHatLoose
    } else {
        Piece::HiHatOpen
    }
}

/// The opening that stands for a piece where nothing more is known, 0..=127; `None` for what is not the hi-hat.
pub fn usual_opening(piece: Piece) -> Option<u8> {
    match piece {
        Piece::HiHatClosed | Piece::HiHatFoot => Some(0),
        Piece::HiHatLoose => Some(64),
        Piece::HiHatOpen => Some(127),
        _ => None,
    }
}

impl HiHat {
    /// The controller, where there is one.
    pub fn controller(&self) -> Option<&Controller> {
        match self {
            Self::Controller(controller) => Some(controller),
            Self::Keys(_) => None,
        }
    }

    /// The key between those of the pieces for a stroke on a piece with an opening, where it is nearer than the
    /// piece's own; with the piece that its opening means.
    pub(super) fn note(&self, piece: Piece, opening: u8) -> Option<(Piece, Note)> {
        let Self::Keys(between) = self else {
            return None;
        };
        let own = usual_opening(piece).filter(|_| is_struck(piece))?;
        let (nearest, note) = between.iter().min_by_key(|(at, _)| at.abs_diff(opening))?;
        let nearer = nearest.abs_diff(opening) < own.abs_diff(opening);
        nearer.then_some((piece_of(*nearest), *note))
    }

    /// What the controller is given for a stroke on a piece with an opening.
    pub(super) fn opened(&self, piece: Piece, opening: u8) -> Option<Opened> {
        let is_hi_hat = usual_opening(piece).is_some();
        let controller = *self.controller().filter(|_| is_hi_hat)?;
        let value = controller.value(opening);
        Some(Opened { controller, value })
    }

    /// The keys between those of the pieces, each with its opening.
    pub fn openings(&self) -> impl Iterator<Item = (u8, Note)> + '_ {
        let between = match self {
            Self::Keys(between) => between.as_slice(),
            Self::Controller(_) => &[],
        };
        between.iter().copied()
    }
}

impl Default for HiHat {
    fn default() -> Self {
        Self::Keys(ArrayVec::new())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_controller_goes_either_way_and_comes_back() {
        for (closed, open) in [(127, 0), (0, 127), (90, 20), (20, 90)] {
            let controller = Controller {
                closed,
                open,
                ..Controller::foot(9)
            };
            assert_eq!(controller.value(0), closed);
            assert_eq!(controller.value(127), open);
            for opening in 0..=127 {
                let back = controller.opening(controller.value(opening));
                assert!(back.abs_diff(opening) <= 1 || closed.abs_diff(open) < 127);
                assert_eq!(controller.value(back), controller.value(opening));
            }
        }
    }

    #[test]
    fn the_usual_openings_are_those_of_their_pieces() {
        for piece in [Piece::HiHatClosed, Piece::HiHatLoose, Piece::HiHatOpen] {
            assert_eq!(usual_opening(piece).map(piece_of), Some(piece));
        }
        assert_eq!(usual_opening(Piece::Snare), None);
    }

    #[test]
    fn a_key_between_takes_what_is_nearer_to_it() {
        let between = Note {
            channel: 9,
            key: 60,
        };
        let hat = HiHat::Keys(ArrayVec::from_iter([(90, between)]));
        assert_eq!(hat.note(Piece::HiHatLoose, 60), None);
        let found = Some((Piece::HiHatLoose, between));
        assert_eq!(hat.note(Piece::HiHatLoose, 84), found);
        assert_eq!(hat.note(Piece::HiHatOpen, 104), found);
        assert_eq!(hat.note(Piece::HiHatOpen, 120), None);
        assert_eq!(hat.note(Piece::Snare, 90), None);
    }
}
