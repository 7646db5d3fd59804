//! The hand cymbal: what the lead hand rides on, and how *auto* chooses it from intensity.

use crate::kit::Piece;
use crate::settings::Hand;

/// What the lead hand can ride on, from least to most energy: larger and louder cymbals have more. The ride's bell
/// stands between its bow and the open hi-hat. Common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum HandCymbal {
    /// Floor tom: below all cymbals.
    FloorTom,
    /// Splash.
    Splash,
    /// Hi-hat, closed.
    HiHatClosed,
    /// Hi-hat, loose.
    HiHatLoose,
    /// Ride, bow.
    Ride,
    /// Ride, bell.
    RideBell,
    /// Hi-hat, open.
    HiHatOpen,
    /// Crash.
    Crash,
    /// China.
    China,
}

/// The cymbals that *auto* steps through, each with the least energy at which it is chosen. It leaves out the
/// splash, which nobody rides, and the bell, which is a tone of the ride.
const LADDER: [(HandCymbal, f32); 7] = [
    (HandCymbal::FloorTom, f32::NEG_INFINITY),
    (HandCymbal::HiHatClosed, 0.12),
    (HandCymbal::HiHatLoose, 0.43),
    (HandCymbal::Ride, 0.55),
    (HandCymbal::HiHatOpen, 0.66),
    (HandCymbal::Crash, 0.77),
    (HandCymbal::China, 0.92),
];

/// Between these intensities *auto* keeps the beat's own cymbal. Below, it steps down and reaches the lowest at 0;
/// above, it steps up and reaches the highest at 1. Tuned by ear: a verse keeps its cymbal, a chorus at 0.9 rides
/// the crash.
const MIDDLE: (f32, f32) = (0.4, 0.6);

/// Hysteresis, in intensity: how far beyond a step intensity must be before *auto* changes cymbal.
const RELUCTANCE: f32 = 0.03;

impl HandCymbal {
    /// Every one, in order of energy.
    pub const ALL: [Self; 9] = [
        Self::FloorTom,
        Self::Splash,
        Self::HiHatClosed,
        Self::HiHatLoose,
        Self::Ride,
        Self::RideBell,
        Self::HiHatOpen,
        Self::Crash,
        Self::China,
    ];

    /// The piece that is struck.
    pub fn piece(self) -> Piece {
        match self {
            Self::FloorTom => Piece::FloorLow,
            Self::Splash => Piece::Splash,
            Self::HiHatClosed => Piece::HiHatClosed,
            Self::HiHatLoose => Piece::HiHatLoose,
            Self::HiHatOpen => Piece::HiHatOpen,
            Self::Ride => Piece::Ride,
            Self::RideBell => Piece::RideBell,
            Self::Crash => Piece::CrashRight,
            Self::China => Piece::China,
        }
    }

    /// The energy in the middle of its step of the ladder.
    fn home(self) -> f32 {
        match self {
            Self::FloorTom => 0.05,
            Self::Splash | Self::HiHatClosed => 0.30,
            Self::HiHatLoose => 0.49,
            Self::Ride | Self::RideBell => 0.60,
            Self::HiHatOpen => 0.71,
            Self::Crash => 0.85,
            Self::China => 0.96,
        }
    }

    /// The cymbal that *auto* chooses: `own`, the beat's own, around middle intensity (0.5), and louder ones as
    /// intensity (0..=1) rises. Never falls as intensity rises.
    pub fn auto(own: Self, intensity: f32) -> Self {
        let home = own.home();
        let energy = if intensity < MIDDLE.0 {
            home * intensity / MIDDLE.0
        } else {
            let climbed = ((intensity - MIDDLE.1) / (1.0 - MIDDLE.1)).max(0.0);
            home + (1.0 - home) * climbed
        };
        let rung = LADDER
            .iter()
            .rev()
            .find(|rung| energy >= rung.1)
            .map_or(own, |rung| rung.0);
        match (own, rung) {
            (Self::RideBell, Self::Ride) => Self::RideBell,
            (Self::Splash, Self::HiHatClosed) => Self::Splash,
            _ => rung,
        }
    }

    /// As [`Self::auto`] with hysteresis: leaves `held` only where intensity is beyond the step by `RELUCTANCE`, so
    /// that a curve that wavers there does not switch back and forth.
    pub fn auto_from(held: Self, own: Self, intensity: f32) -> Self {
        let (low, high) = (
            Self::auto(own, intensity - RELUCTANCE),
            Self::auto(own, intensity + RELUCTANCE),
        );
        held.clamp(low, high)
    }

    /// The piece that opens a phrase in place of this one: a crash, the one on the other side where the hand
    /// already rides a crash. The china opens on itself.
    pub fn opening(self) -> Piece {
        match self {
            Self::China => Piece::China,
            _ => Piece::CrashLeft,
        }
    }

    /// The piece for a single emphasised stroke: a closed or loose hi-hat opens, the ride is struck on its bell,
    /// and louder cymbals give way to a crash.
    pub fn lifted(self) -> Piece {
        match self {
            Self::HiHatClosed | Self::HiHatLoose => Piece::HiHatOpen,
            Self::Ride => Piece::RideBell,
            Self::HiHatOpen | Self::Splash | Self::Crash => Piece::CrashLeft,
            Self::RideBell | Self::China => Piece::CrashRight,
            Self::FloorTom => Piece::FloorHigh,
        }
    }
}

impl Hand {
    /// The cymbal that this setting fixes; `None` for auto.
    pub fn cymbal(self) -> Option<HandCymbal> {
        Some(match self {
            Self::Auto => return None,
            Self::FloorTom => HandCymbal::FloorTom,
            Self::Splash => HandCymbal::Splash,
            Self::HiHatClosed => HandCymbal::HiHatClosed,
            Self::HiHatLoose => HandCymbal::HiHatLoose,
            Self::HiHatOpen => HandCymbal::HiHatOpen,
            Self::Ride => HandCymbal::Ride,
            Self::RideBell => HandCymbal::RideBell,
            Self::Crash => HandCymbal::Crash,
            Self::China => HandCymbal::China,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use HandCymbal::*;

    /// Common practice, no source: with the same kick and snare, a larger and louder cymbal means
    /// more energy.
    #[test]
    fn energy_order_of_the_trade() {
        assert!(FloorTom < Splash && Splash < HiHatClosed && HiHatClosed < Crash);
        assert!(HiHatLoose < Ride && Ride < HiHatOpen && HiHatOpen < Crash && Crash < China);
    }

    #[test]
    fn auto_keeps_the_beats_own_in_the_middle_and_only_climbs() {
        for own in HandCymbal::ALL {
            assert_eq!(HandCymbal::auto(own, 0.5), own);
            let climb: Vec<_> = (0..=1000_u16)
                .map(|i| HandCymbal::auto(own, f32::from(i) / 1000.0))
                .collect();
            assert!(climb.is_sorted(), "{own:?}");
        }
    }

    #[test]
    fn a_wavering_curve_does_not_flap() {
        // The rock beat steps up from the closed hi-hat somewhere above the middle.
        let step = (0..1000_u16)
            .map(|i| f32::from(i) / 1000.0)
            .find(|&i| i > 0.5 && HandCymbal::auto(HiHatClosed, i) != HiHatClosed)
            .unwrap();
        let mut held = HiHatClosed;
        for i in [0.0, 0.02, -0.02, 0.025, -0.025] {
            held = HandCymbal::auto_from(held, HiHatClosed, step + i);
            assert_eq!(held, HiHatClosed);
        }
        held = HandCymbal::auto_from(held, HiHatClosed, step + 0.04);
        assert_eq!(held, HiHatLoose);
        for i in [0.0, -0.02, 0.02] {
            held = HandCymbal::auto_from(held, HiHatClosed, step + i);
            assert_eq!(held, HiHatLoose);
        }
    }

    #[test]
    fn verse_to_chorus_takes_rock_from_the_hi_hat_to_the_crash() {
        assert_eq!(HandCymbal::auto(HiHatClosed, 0.4), HiHatClosed);
        assert_eq!(HandCymbal::auto(HiHatClosed, 0.9), Crash);
    }
}
