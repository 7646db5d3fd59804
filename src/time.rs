//! Musical time: pure arithmetic on ticks, meters and tempi.
//!
//! - [`Ticks`]: the unit of everything that is played, [`TICKS_PER_QUARTER`] to the quarter note
//! - [`Meter`]: a time signature, its counts and its pulses
//! - [`place`]: the names of a bar's places, as a drummer counts them
//! - [`tempo`]: which tempi we accept, and conversion between ticks and seconds
//! - [`spans`]: stretches of the timeline where something is known
//! - [`observed`]: what was seen of a host's tempi and meters

pub mod meter;
pub mod observed;
pub mod place;
pub mod spans;
pub mod tempo;

pub use meter::{Bar, Count, Meter, MeterError, Pulse};
pub use observed::ObservedTempoMap;
pub use tempo::TempoMap;

/// A position on, or a distance along, the song's timeline, in ticks. Position 0 is the start of
/// the song; positions before it are negative.
pub type Ticks = i64;

/// Ticks in a quarter note. 960 divides by 2, 3, 4, 5, 6 and 8, so sixteenths, triplets and
/// sextuplets all fall on whole ticks, and it fits the 15 bits of a Standard MIDI File's division.
pub const TICKS_PER_QUARTER: Ticks = 960;

/// A note value: how long one step of a grid is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Value {
    /// Quarter notes; whole counts where a count is not made of quarters (6/8, 7/8).
    Quarter,
    /// Eighth notes.
    Eighth,
    /// Sixteenth notes.
    Sixteenth,
    /// Thirty-second notes.
    ThirtySecond,
    /// Three to a count: eighth-note triplets in n/4, plain eighths in 6/8 and 12/8.
    Triplet,
    /// Six to a count: sixteenth-note triplets in n/4, plain sixteenths in 6/8 and 12/8.
    Sextuplet,
}

impl Value {
    /// The length of one step inside `count`, in ticks.
    pub fn step(self, count: Count) -> Ticks {
        match self {
            Self::Quarter if count.units == 2 => TICKS_PER_QUARTER.min(count.len),
            Self::Quarter => count.len,
            Self::Eighth => TICKS_PER_QUARTER / 2,
            Self::Sixteenth => TICKS_PER_QUARTER / 4,
            Self::ThirtySecond => TICKS_PER_QUARTER / 8,
            Self::Triplet => count.len / 3,
            Self::Sextuplet => count.len / 6,
        }
    }
}
