//! The pieces of the kit.

/// One sound source of the kit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[repr(u8)]
pub enum Piece {
    /// Bass drum.
    Kick,
    /// Snare, struck on the head.
    Snare,
    /// Snare, the stick laid across the rim.
    SideStick,
    /// Hi-hat, clamped shut.
    HiHatClosed,
    /// Hi-hat, its halves touching, washing.
    HiHatLoose,
    /// Hi-hat, open.
    HiHatOpen,
    /// Hi-hat, closed by the foot.
    HiHatFoot,
    /// Ride cymbal, its bow.
    Ride,
    /// Ride cymbal, its bell.
    RideBell,
    /// Crash cymbal on the left.
    CrashLeft,
    /// Crash cymbal on the right.
    CrashRight,
    /// China cymbal.
    China,
    /// Splash cymbal.
    Splash,
    /// Small rack tom.
    RackHigh,
    /// Large rack tom.
    RackLow,
    /// Small floor tom.
    FloorHigh,
    /// Large floor tom.
    FloorLow,
    /// The sticks struck together, as for a count-in.
    Sticks,
}

impl Piece {
    /// How many pieces there are.
    pub const COUNT: usize = Self::ALL.len();

    /// Every piece, kick first, sticks last. The order is part of no file: pieces are saved by name.
    pub const ALL: [Self; 18] = [
        Self::Kick,
        Self::Snare,
        Self::SideStick,
        Self::HiHatClosed,
        Self::HiHatLoose,
        Self::HiHatOpen,
        Self::HiHatFoot,
        Self::Ride,
        Self::RideBell,
        Self::CrashLeft,
        Self::CrashRight,
        Self::China,
        Self::Splash,
        Self::RackHigh,
        Self::RackLow,
        Self::FloorHigh,
        Self::FloorLow,
        Self::Sticks,
    ];

    /// The piece with this name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|piece| piece.name() == name)
    }

    /// The pieces that can stand in for it where a kit lacks it, the best first. Common practice, no source.
    pub fn nearest(self) -> &'static [Self] {
        match self {
            Self::Kick | Self::HiHatFoot => &[],
            Self::Snare => &[Self::SideStick],
            Self::SideStick => &[Self::Snare],
            Self::HiHatClosed => &[Self::HiHatLoose, Self::HiHatOpen, Self::Ride],
            Self::HiHatLoose => &[Self::HiHatOpen, Self::HiHatClosed, Self::Ride],
            Self::HiHatOpen => &[Self::HiHatLoose, Self::HiHatClosed, Self::Ride],
            Self::Ride => &[Self::RideBell, Self::HiHatClosed, Self::HiHatOpen],
            Self::RideBell => &[Self::Ride, Self::HiHatClosed, Self::HiHatOpen],
            Self::CrashLeft => &[Self::CrashRight, Self::China, Self::HiHatOpen],
            Self::CrashRight => &[Self::CrashLeft, Self::China, Self::HiHatOpen],
            Self::China => &[Self::CrashRight, Self::CrashLeft, Self::HiHatOpen],
            Self::Splash => &[Self::CrashLeft, Self::CrashRight, Self::HiHatOpen],
            Self::RackHigh => &[Self::RackLow, Self::FloorHigh, Self::FloorLow],
            Self::RackLow => &[Self::RackHigh, Self::FloorHigh, Self::FloorLow],
            Self::FloorHigh => &[Self::FloorLow, Self::RackLow, Self::RackHigh],
            Self::FloorLow => &[Self::FloorHigh, Self::RackLow, Self::RackHigh],
            Self::Sticks => &[Self::SideStick, Self::HiHatClosed],
        }
    }

    /// Its name, in drummers' terms.
    pub fn name(self) -> &'static str {
        match self {
            Self::Kick => "kick",
            Self::Snare => "snare",
            Self::SideStick => "side stick",
            Self::HiHatClosed => "hi-hat closed",
            Self::HiHatLoose => "hi-hat loose",
            Self::HiHatOpen => "hi-hat open",
            Self::HiHatFoot => "hi-hat foot",
            Self::Ride => "ride",
            Self::RideBell => "ride bell",
            Self::CrashLeft => "crash left",
            Self::CrashRight => "crash right",
            Self::China => "china",
            Self::Splash => "splash",
            Self::RackHigh => "rack tom high",
            Self::RackLow => "rack tom low",
            Self::FloorHigh => "floor tom high",
            Self::FloorLow => "floor tom low",
            Self::Sticks => "sticks",
        }
    }
}
