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

/// The cymbals that *auto* may choose for a beat, from least to most energy. The beat's own is among them.
pub type Ladder = &'static [HandCymbal];

/// Between these intensities *auto* keeps the beat's own cymbal. Below, it steps down and reaches the lowest at 0;
/// above, it steps up and reaches the highest at 1. Tuned by ear: a verse keeps its cymbal, a chorus at 0.9 rides
/// the crash.
const MIDDLE: (f32, f32) = (0.4, 0.6);

/// Hysteresis, in intensity: how far beyond a step intensity must be before *auto* changes cymbal inside a bar. A slow
/// ramp then changes it on bar lines, and only a leap does before. Judged.
const RELUCTANCE: f32 = 0.1;

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

    /// The least energy at which *auto* chooses it, if the beat's ladder has it. Tuned by ear.
    fn threshold(self) -> f32 {
        match self {
            Self::FloorTom => 0.0,
            Self::Splash => 0.06,
            Self::HiHatClosed => 0.12,
            Self::HiHatLoose => 0.43,
            Self::Ride => 0.55,
            Self::RideBell => 0.62,
            Self::HiHatOpen => 0.66,
            Self::Crash => 0.77,
            Self::China => 0.92,
        }
    }

    /// The energy in the middle of its step.
    fn home(self) -> f32 {
        match self {
            Self::FloorTom => 0.05,
            Self::Splash => 0.09,
            Self::HiHatClosed => 0.30,
            Self::HiHatLoose => 0.49,
            Self::Ride => 0.60,
            Self::RideBell => 0.64,
            Self::HiHatOpen => 0.71,
            Self::Crash => 0.85,
            Self::China => 0.96,
        }
    }

    /// The cymbal that *auto* chooses from a ladder: `own`, the beat's own, around middle intensity (0.5), and
    /// louder ones as intensity (0..=1) rises. Never falls as intensity rises, and never leaves the ladder.
    pub fn auto(own: Self, ladder: Ladder, intensity: f32) -> Self {
        let home = own.home();
        let energy = if intensity < MIDDLE.0 {
            home * intensity / MIDDLE.0
        } else {
            let climbed = ((intensity - MIDDLE.1) / (1.0 - MIDDLE.1)).max(0.0);
            home + (1.0 - home) * climbed
        };
        let reached = ladder.iter().rev().find(|rung| energy >= rung.threshold());
        reached.or(ladder.first()).copied().unwrap_or(own)
    }

    /// As [`Self::auto`] with hysteresis: leaves `held` only where intensity is beyond the step by `RELUCTANCE`, so
    /// that a curve that wavers there does not switch back and forth.
    pub fn auto_from(held: Self, own: Self, ladder: Ladder, intensity: f32) -> Self {
        let low = Self::auto(own, ladder, intensity - RELUCTANCE);
        let high = Self::auto(own, ladder, intensity + RELUCTANCE);
        if ladder.contains(&held) {
            held.clamp(low, high)
        } else {
            Self::auto(own, ladder, intensity)
        }
    }

    /// Whether the hand rides beside the hi-hat on a cymbal over which the hi-hat foot keeps time.
    pub(super) fn leaves_the_foot_time(self) -> bool {
        matches!(
            self,
            Self::Ride | Self::RideBell | Self::Crash | Self::China
        )
    }

    /// The piece that opens a phrase in place of this one: the crash on the hand's side of the kit. A hand that rides a
    /// crash or the china opens on it, struck harder: nobody crosses the kit for an accent and comes back for the next
    /// stroke. Common practice, no source.
    pub fn opening(self) -> Piece {
        match self {
            Self::China => Piece::China,
            Self::HiHatClosed | Self::HiHatLoose | Self::HiHatOpen => Piece::CrashLeft,
            Self::FloorTom | Self::Splash | Self::Ride | Self::RideBell | Self::Crash => {
                Piece::CrashRight
            }
        }
    }

    /// The piece that opens a phrase where the time to the hand's next stroke is too short for [`Self::opening`]:
    /// the china beside the floor tom.
    pub(super) fn near_opening(self) -> Piece {
        match self {
            Self::FloorTom => Piece::China,
            _ => self.opening(),
        }
    }

    /// The crash that opens a section whose chart says "crash": on the hand's side even where it rides the china.
    pub(super) fn stated_crash(self) -> Piece {
        match self {
            Self::China => Piece::CrashRight,
            _ => self.opening(),
        }
    }

    /// The piece for a single emphasised stroke: a closed or loose hi-hat opens, the ride is struck on its bell.
    /// Louder ones stay: a crash needs a kick or a snare under it, which an off-beat seldom has.
    pub fn lifted(self) -> Piece {
        match self {
            Self::HiHatClosed | Self::HiHatLoose => Piece::HiHatOpen,
            Self::Ride => Piece::RideBell,
            Self::FloorTom => Piece::FloorHigh,
            _ => self.piece(),
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

    const ALL: Ladder = &HandCymbal::ALL;

    #[test]
    fn auto_keeps_the_beats_own_in_the_middle_and_only_climbs() {
        for own in HandCymbal::ALL {
            assert_eq!(HandCymbal::auto(own, ALL, 0.5), own);
            let climb: Vec<_> = (0..=1000_u16)
                .map(|i| HandCymbal::auto(own, ALL, f32::from(i) / 1000.0))
                .collect();
            assert!(climb.is_sorted(), "{own:?}");
        }
    }

    #[test]
    fn auto_never_leaves_the_ladder() {
        let ladder = &[HiHatClosed, Ride];
        for i in 0..=100_u8 {
            let found = HandCymbal::auto(HiHatClosed, ladder, f32::from(i) / 100.0);
            assert!(ladder.contains(&found));
            // Another beat held the crash.
            let found = HandCymbal::auto_from(Crash, HiHatClosed, ladder, f32::from(i) / 100.0);
            assert!(ladder.contains(&found));
        }
        assert_eq!(HandCymbal::auto(HiHatClosed, ladder, 0.0), HiHatClosed);
        assert_eq!(HandCymbal::auto(HiHatClosed, ladder, 1.0), Ride);
    }

    #[test]
    fn a_wavering_curve_does_not_flap() {
        // Steps up from the closed hi-hat somewhere above the middle.
        let step = (0..1000_u16)
            .map(|i| f32::from(i) / 1000.0)
            .find(|&i| i > 0.5 && HandCymbal::auto(HiHatClosed, ALL, i) != HiHatClosed)
            .unwrap();
        let mut held = HiHatClosed;
        for i in [0.0, 0.09, -0.09, 0.095, -0.095] {
            held = HandCymbal::auto_from(held, HiHatClosed, ALL, step + i);
            assert_eq!(held, HiHatClosed);
        }
        held = HandCymbal::auto_from(held, HiHatClosed, ALL, step + 0.11);
        assert_eq!(held, HiHatLoose);
        for i in [0.0, -0.09, 0.05] {
            held = HandCymbal::auto_from(held, HiHatClosed, ALL, step + i);
            assert_eq!(held, HiHatLoose);
        }
    }

    /// The opening crash stands on the side of the hand (`kit::reach`); the china opens on itself.
    #[test]
    fn openings_are_on_the_hands_side() {
        use crate::kit::reach::distance;
        for cymbal in HandCymbal::ALL {
            let way = |piece| distance(cymbal.piece(), piece);
            let nearest = way(Piece::CrashLeft).min(way(Piece::CrashRight));
            let opens = cymbal.opening();
            assert!(
                cymbal == China || way(opens) == nearest,
                "{cymbal:?} opens on {opens:?}"
            );
            assert!(
                way(cymbal.near_opening()) <= way(opens).min(0.46),
                "{cymbal:?}"
            );
        }
    }
}
