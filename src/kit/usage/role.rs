//! What a key may be, as far as its use can tell.

use crate::kit::Piece;

/// How many roles there are.
pub(super) const ROLES: usize = 13;

/// A group of pieces that are used alike, or no piece of a kit at all.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Role {
    Kick,
    Snare,
    SideStick,
    HatClosed,
    HatOpen,
    HatFoot,
    Ride,
    RideBell,
    Crash,
    China,
    Splash,
    Tom,
    /// Hand claps, bells, shakers: no piece of the kit.
    Other,
}

/// How many groups of roles the relations of keys know.
pub(super) const GROUPS: usize = 9;

impl Role {
    /// Every role, in the order of the tables.
    pub(super) const ALL: [Self; ROLES] = [
        Self::Kick,
        Self::Snare,
        Self::SideStick,
        Self::HatClosed,
        Self::HatOpen,
        Self::HatFoot,
        Self::Ride,
        Self::RideBell,
        Self::Crash,
        Self::China,
        Self::Splash,
        Self::Tom,
        Self::Other,
    ];

    /// Its group: what it is to other keys.
    pub(super) fn group(self) -> usize {
        match self {
            Self::Kick => 0,
            Self::Snare | Self::SideStick => 1,
            Self::HatClosed => 2,
            Self::HatOpen => 3,
            Self::HatFoot => 4,
            Self::Ride | Self::RideBell => 5,
            Self::Crash | Self::China | Self::Splash => 6,
            Self::Tom => 7,
            Self::Other => 8,
        }
    }

    /// Its pieces, in the order in which keys are given to them; none for what is no piece.
    pub(super) fn pieces(self) -> &'static [Piece] {
        match self {
            Self::Kick => &[Piece::Kick],
            Self::Snare => &[Piece::Snare],
            Self::SideStick => &[Piece::SideStick],
            Self::HatClosed => &[Piece::HiHatClosed],
            Self::HatOpen => &[Piece::HiHatOpen],
            Self::HatFoot => &[Piece::HiHatFoot],
            Self::Ride => &[Piece::Ride],
            Self::RideBell => &[Piece::RideBell],
            Self::Crash => &[Piece::CrashLeft, Piece::CrashRight],
            Self::China => &[Piece::China],
            Self::Splash => &[Piece::Splash],
            Self::Tom => &[
                Piece::RackHigh,
                Piece::RackLow,
                Piece::FloorHigh,
                Piece::FloorLow,
            ],
            Self::Other => &[],
        }
    }
}
