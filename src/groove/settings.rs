//! What the songwriter sets: the inputs of the drummer.

use super::HandCymbal;
use super::limits::Player;
use super::riff_kicks::{KickSource, RiffGrid};
use super::vocabulary;

/// Everything that shapes what is played, at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Latched when a bar begins, or at the next count where [`SwitchAt::Count`] is set.
    pub plan: Plan,
    /// Asked at every stroke.
    pub moment: Moment,
    /// When a change of style or hand rate is taken up.
    pub switch_at: SwitchAt,
    /// Calls a fill: from the next count to the end of the bar, or to the next count after it is
    /// released.
    pub fill_now: bool,
    /// Whether the chart says what is played; intensity, density and accent then move what it says.
    pub follow_chart: bool,
}

/// The least and the greatest swing: straight, and three to one.
pub const SWINGS: (f32, f32) = (0.5, 0.75);

/// The settings that make the plan of a bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plan {
    /// Slot in the vocabulary, 0..64. A free slot plays the nearest beat before it.
    pub style: u8,
    /// How often the lead hand strikes.
    pub hand_rate: HandRate,
    /// How likely a phrase ends in a fill, 0..=1.
    pub fill_chance: f32,
    /// What fills are like.
    pub fill_shape: FillShape,
    /// What is played: the beat, a count-in, an ending, nothing.
    pub play: Play,
    /// Length of a phrase.
    pub phrase: Phrase,
    /// How good the drummer is.
    pub player: Player,
    /// The take: same take, same song, same settings = same notes.
    pub take: u32,
    /// How far strokes stray from the grid, 0..=1: 0 is the exact grid, 1 a loose evening.
    pub feel: f32,
    /// What the first of a pair of eighths, or of sixteenths, takes of the pair, 0.5..=0.75: 0.5 is
    /// straight, 2/3 the triplet.
    pub swing: f32,
    /// What the feet follow.
    pub kick_source: KickSource,
    /// The grid that the guitar's attacks are drawn to.
    pub riff_grid: RiffGrid,
}

/// The settings that act on the next stroke.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// Energy, 0..=1: how hard everything is played, and under [`Hand::Auto`] on which cymbal.
    pub intensity: f32,
    /// The hand cymbal.
    pub hand: Hand,
    /// How many of the beat's extra strokes are played, 0..=1.
    pub density: f32,
    /// How far accents stand out, 0..=1.
    pub accent: f32,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            plan: Plan {
                style: 0,
                hand_rate: HandRate::Auto,
                fill_chance: 0.5,
                fill_shape: FillShape::Auto,
                play: Play::Beat,
                phrase: Phrase::Four,
                player: Player::Extreme,
                take: 1,
                feel: 0.5,
                swing: 0.5,
                kick_source: KickSource::Beat,
                riff_grid: RiffGrid::Sixteenths,
            },
            moment: Moment {
                intensity: 0.6,
                hand: Hand::Auto,
                density: 0.4,
                accent: 0.5,
            },
            switch_at: SwitchAt::Bar,
            fill_now: false,
            follow_chart: false,
        }
    }
}

impl Plan {
    /// The beat of the style slot.
    pub fn beat(&self) -> &'static super::Beat {
        vocabulary::beat(self.style)
    }
}

choice! {
    /// Which cymbal, or tom, the lead hand rides on.
    Hand {
        /// The beat's own cymbal around middle intensity; lesser below, greater above.
        Auto = "auto",
        /// Floor tom.
        FloorTom = "floor tom",
        /// Splash.
        Splash = "splash",
        /// Hi-hat, closed.
        HiHatClosed = "hi-hat closed",
        /// Hi-hat, loose.
        HiHatLoose = "hi-hat loose",
        /// Hi-hat, open.
        HiHatOpen = "hi-hat open",
        /// Ride, bow.
        Ride = "ride",
        /// Ride, bell.
        RideBell = "ride bell",
        /// Crash.
        Crash = "crash",
        /// China.
        China = "china",
    }
}

impl Hand {
    /// The fixed cymbal; `None` for auto.
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

choice! {
    /// How often the lead hand strikes.
    HandRate {
        /// As the beat has it.
        Auto = "auto",
        /// Every other count: 1 and 3.
        Halves = "halves",
        /// Every quarter; every count where counts are not quarters.
        Quarters = "quarters",
        /// Every eighth; in a beat felt in triplets, the shuffle.
        Eighths = "eighths",
        /// Every sixteenth; in a beat felt in triplets, every triplet.
        Sixteenths = "sixteenths",
    }
}

choice! {
    /// How many bars make a phrase: its first is opened with a crash, its last may end in a fill.
    Phrase {
        /// Two bars.
        Two = "2 bars",
        /// Four bars.
        Four = "4 bars",
        /// Eight bars.
        Eight = "8 bars",
    }
}

impl Phrase {
    /// Its length in bars.
    pub fn bars(self) -> i64 {
        match self {
            Self::Two => 2,
            Self::Four => 4,
            Self::Eight => 8,
        }
    }
}

choice! {
    /// What fills are like.
    FillShape {
        /// As suits the beat.
        Auto = "auto",
        /// One or two counts.
        Short = "short",
        /// Four counts or the whole bar; sometimes two bars of a slow song.
        Long = "long",
        /// Silence and a flam.
        Break = "break",
    }
}

choice! {
    /// What the drummer does in a bar.
    Play {
        /// Plays the beat.
        Beat = "beat",
        /// Counts in with the sticks, four counts.
        CountIn = "count-in",
        /// Counts in with the sticks, the last two counts.
        ShortCountIn = "short count-in",
        /// Strikes a last time on the 1, and lets it ring.
        Ending = "ending",
        /// Rests.
        Rest = "rest",
    }
}

choice! {
    /// When a change of style or hand rate is taken up.
    SwitchAt {
        /// At the next bar line.
        Bar = "bar",
        /// At the next count.
        Count = "count",
    }
}
