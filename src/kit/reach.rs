//! Where the pieces of the kit stand, seen from the stool.
//!
//! Common practice for a right-handed kit, no source: hi-hat on the left, snare between the knees, rack toms in
//! front, floor toms and ride on the right, crashes above either side, china on the far right. Units are roughly
//! stick lengths; only the order of the distances matters. Farther and smaller targets take longer to reach (Fitts
//! 1954); we use that as an order, not as a figure.

use super::Piece;

/// The position of a piece: left-right, then near-far.
fn place(piece: Piece) -> (f64, f64) {
    match piece {
        Piece::Kick => (0.2, 1.0),
        // Sticks strike each other in the air, over the snare.
        Piece::Snare | Piece::SideStick | Piece::Sticks => (0.0, 0.3),
        Piece::HiHatClosed | Piece::HiHatLoose | Piece::HiHatOpen | Piece::HiHatFoot => (-0.9, 0.6),
        Piece::RackHigh => (-0.2, 1.0),
        Piece::RackLow => (0.4, 1.0),
        Piece::FloorHigh => (0.9, 0.4),
        Piece::FloorLow => (1.2, 0.1),
        Piece::Ride | Piece::RideBell => (1.0, 1.1),
        Piece::CrashLeft => (-0.8, 1.3),
        Piece::CrashRight => (0.7, 1.5),
        Piece::Splash => (0.1, 1.4),
        Piece::China => (1.6, 1.2),
    }
}

/// The largest distance between two pieces, in the units of [`place`].
const FARTHEST: f64 = 2.6;

/// How far a hand goes from one piece to another, 0 (the same piece, or another way of striking
/// it) to 1 (across the whole kit).
pub fn distance(from: Piece, to: Piece) -> f64 {
    let (a, b) = (place(from), place(to));
    ((a.0 - b.0).hypot(a.1 - b.1) / FARTHEST).min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_map_is_a_kit() {
        for a in Piece::ALL {
            assert_eq!(distance(a, a), 0.0);
            for b in Piece::ALL {
                assert_eq!(distance(a, b), distance(b, a));
                assert!(distance(a, b) < 1.0, "{a:?} {b:?}");
            }
        }
        // Common practice, no source: the snare is nearer to the hi-hat than to the china, the
        // floor toms are neighbours, the hi-hat and the china stand farthest apart.
        assert!(distance(Piece::Snare, Piece::HiHatClosed) < distance(Piece::Snare, Piece::China));
        assert!(distance(Piece::FloorHigh, Piece::FloorLow) < 0.2);
        let far = distance(Piece::HiHatClosed, Piece::China);
        assert!(Piece::ALL.iter().all(|&p| distance(Piece::Snare, p) < far));
    }
}
