//! Where each piece stands on the stave, and with which notehead.
//!
//! Source: Norman Weinberg, *Guidelines for Drumset Notation*, Percussive Notes, June 1994, pp. 15-26, as an open
//! engraving program has it in a table that names it (`weinberg-drums-style` in its `ly/drumpitch-init.ly` [read]; the
//! article itself was seen as excerpts only): kick, snare, side stick, both floor toms, hi-hat, ride, bell, crash, china,
//! and the hi-hat foot. Its circle for the open hi-hat is there, too, and a foot splash with the circle below stands in the
//! same file. Norman Weinberg, *Ten Helpful Hints for Drumset Cymbal Notation* [read]: heads of cymbals are crosses; a
//! hi-hat is closed unless marked, with a plus only where it clarifies; further cymbals go up to the second ledger line and above, and the legend names them.
//! So the second crash is on that line, and the splash above. The rack toms stand in the fourth space and on the fourth
//! line (common practice, from memory; the table has the high one a step higher, where the ride is). The sticks, and the
//! circled cross of a hi-hat that hangs loose, are judged.

use crate::kit::Piece;

/// The shape of a notehead.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shape {
    /// Round: a drum.
    Round,
    /// A cross: a cymbal, a stick on wood.
    Cross,
    /// A cross in a circle: a hi-hat that hangs loose.
    CircledCross,
    /// A diamond: the bell of the ride.
    Diamond,
}

/// How a piece is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Look {
    /// Its place: 0 is the lowest line, 1 the space above it, 8 the highest line.
    pub(super) step: i8,
    /// Its head.
    pub(super) shape: Shape,
    /// Whether a circle above it says that it is open.
    pub(super) open: bool,
}

impl Look {
    /// How a piece is written, struck by hand or by a foot.
    pub(super) fn of(piece: Piece, by_foot: bool) -> Self {
        use Shape::{CircledCross, Cross, Diamond, Round};
        let (step, shape) = match piece {
            // A foot that lets the hi-hat ring: a foot splash.
            Piece::HiHatOpen | Piece::HiHatLoose | Piece::HiHatClosed if by_foot => (-1, Cross),
            Piece::HiHatFoot => (-1, Cross),
            Piece::Kick => (1, Round),
            Piece::FloorLow => (2, Round),
            Piece::FloorHigh => (3, Round),
            Piece::Snare => (5, Round),
            Piece::SideStick => (5, Cross),
            Piece::RackLow => (6, Round),
            Piece::RackHigh => (7, Round),
            Piece::Sticks => (7, Cross),
            Piece::Ride => (8, Cross),
            Piece::RideBell => (8, Diamond),
            Piece::HiHatClosed | Piece::HiHatOpen => (9, Cross),
            Piece::HiHatLoose => (9, CircledCross),
            Piece::CrashLeft => (10, Cross),
            Piece::China => (11, Cross),
            Piece::CrashRight => (12, Cross),
            Piece::Splash => (13, Cross),
        };
        Self {
            step,
            shape,
            open: piece == Piece::HiHatOpen,
        }
    }

    /// The letter and the octave of its place, as if the clef were a treble clef: the lowest line is E4.
    pub(super) fn letter(self) -> (char, i8) {
        let from_c = self.step + 2;
        let letters = ['C', 'D', 'E', 'F', 'G', 'A', 'B'];
        let letter = usize::try_from(from_c.rem_euclid(7)).unwrap_or(0);
        (letters[letter], 4 + from_c.div_euclid(7))
    }
}

/// The name of a piece in the legend.
pub(super) fn name(piece: Piece) -> &'static str {
    match piece {
        Piece::HiHatClosed => "hi-hat",
        Piece::HiHatLoose => "hi-hat, loose",
        Piece::HiHatOpen => "hi-hat, open",
        _ => piece.name(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn every_piece_is_written_in_a_way_of_its_own() {
        let looks: BTreeSet<_> = Piece::ALL
            .iter()
            .map(|piece| {
                let Look { step, shape, open } = Look::of(*piece, false);
                (step, shape as u8, open)
            })
            .collect();
        assert_eq!(looks.len(), Piece::COUNT);
    }

    #[test]
    fn places_of_the_source() {
        for (piece, letter) in [
            (Piece::China, ('B', 5)),
            (Piece::CrashLeft, ('A', 5)),
            (Piece::HiHatClosed, ('G', 5)),
            (Piece::Ride, ('F', 5)),
            (Piece::RideBell, ('F', 5)),
            (Piece::SideStick, ('C', 5)),
            (Piece::Snare, ('C', 5)),
            (Piece::FloorHigh, ('A', 4)),
            (Piece::FloorLow, ('G', 4)),
            (Piece::Kick, ('F', 4)),
            (Piece::HiHatFoot, ('D', 4)),
        ] {
            assert_eq!(Look::of(piece, false).letter(), letter, "{}", piece.name());
        }
    }
}
