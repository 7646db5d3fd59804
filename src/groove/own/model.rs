//! An own beat as it is kept.

use super::error::OwnBeatError;
use crate::groove::HandCymbal;
use crate::kit::Piece;
use crate::settings::{Hand, HandRate};
use crate::time::meter::MAX_NUMERATOR;
use crate::time::{Meter, Ticks};

/// Most bars of an own beat: the longest phrase.
pub const MAX_BARS: usize = 8;

/// Most strokes in a bar of an own beat: four limbs in sixteenths through a bar of 8/4. Judged.
pub const MAX_STROKES_IN_BAR: usize = 128;

/// Most letters of a name. Judged: what a button can show.
const MAX_NAME: usize = 40;

/// The greatest weight of a stroke, either way.
pub(super) const MAX_WEIGHT: f32 = 1.5;

/// A songwriter's own beat.
#[derive(Debug, Clone, PartialEq)]
pub struct OwnBeat {
    /// What the songwriter calls it.
    pub name: String,
    /// The meter that it was made in.
    pub meter: Meter,
    /// Whether it is felt in triplets: what eighths and sixteenths of the hand rate mean.
    pub triplets: bool,
    /// What the riding hand strikes; never [`Hand::Auto`].
    pub cymbal: Hand,
    /// How often the riding hand strikes; `None` where it has a rhythm of its own: the strokes on [`Strikes::Hand`].
    pub rate: Option<HandRate>,
    /// Which hands ride.
    pub hands: OwnHands,
    /// Whether a crash opens its phrases.
    pub opens: bool,
    /// The strokes of each bar, 1 to [`MAX_BARS`] of them.
    pub bars: Vec<Vec<OwnStroke>>,
}

/// Which hands ride.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OwnHands {
    /// The lead hand; the other hand plays the snare.
    Lead,
    /// The lead hand; the other hand plays the snare with two strokes from one motion.
    Bounce,
    /// Both in turn on the hand cymbal; the hand whose turn it is plays the snare.
    Both,
    /// Both in turn on drums: the lead hand's, then the other hand's. They strike sixteenths; the strokes on the snare are
    /// the accents.
    Drums(Piece, Piece),
}

/// A stroke of an own beat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OwnStroke {
    /// The count, from 1.
    pub count: u8,
    /// How long after the count it comes, in ticks (960 a quarter).
    pub tick: Ticks,
    /// What it strikes.
    pub strikes: Strikes,
    /// 0 for the core. An extra has a rank in (0, 1] and sounds where density reaches its rank.
    pub rank: f32,
    /// How strongly accent changes its velocity, -1.5..=1.5; `None` where its place says it, as in any beat.
    pub weight: Option<f32>,
    /// Whether it is a ghost note: soft at every intensity. Ghost notes are extras on the snare.
    pub ghost: bool,
}

/// What a stroke of an own beat strikes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Strikes {
    /// What the riding hand strikes.
    Hand,
    /// A piece.
    Piece(Piece),
}

impl Strikes {
    /// The text of [`Strikes::Hand`].
    pub(super) const HAND: &'static str = "hand";

    /// The same for what is struck on one drum or cymbal: snare and side stick, the states of the hi-hat.
    #[must_use]
    pub fn instrument(self) -> Self {
        match self {
            Self::Piece(Piece::SideStick) => Self::Piece(Piece::Snare),
            Self::Piece(Piece::HiHatLoose | Piece::HiHatOpen) => Self::Piece(Piece::HiHatClosed),
            Self::Piece(Piece::RideBell) => Self::Piece(Piece::Ride),
            other => other,
        }
    }

    /// Its text in files.
    pub fn name(self) -> &'static str {
        match self {
            Self::Hand => Self::HAND,
            Self::Piece(piece) => piece.name(),
        }
    }
}

impl OwnBeat {
    /// What the riding hand strikes.
    pub fn hand_cymbal(&self) -> HandCymbal {
        self.cymbal.cymbal().unwrap_or(HandCymbal::HiHatClosed)
    }

    /// Whether it can be played: everything is within its range.
    ///
    /// # Errors
    /// [`OwnBeatError`] names the field and the remedy.
    pub fn check(&self) -> Result<(), OwnBeatError> {
        let fails = |place: &str, problem: &str| Err(OwnBeatError::new(place, problem));
        let name = self.name.chars();
        if self.name.trim().is_empty() || name.clone().count() > MAX_NAME {
            return fails("name", &format!("use a name of 1 to {MAX_NAME} letters"));
        }
        if self.name.chars().any(char::is_control) {
            return fails(
                "name",
                "use a name without line breaks and other control characters",
            );
        }
        if self.cymbal == Hand::Auto {
            return fails(
                "hand_cymbal",
                "name a cymbal or \"floor tom\", not \"auto\"",
            );
        }
        if self.rate == Some(HandRate::Auto) {
            return fails(
                "hand_rate",
                "name a rate, or leave the field out where the hand has a rhythm of its own",
            );
        }
        if let OwnHands::Drums(lead, other) = self.hands
            && ![lead, other].into_iter().all(is_drum_of_hands)
        {
            return fails("drums", "use the snare and toms");
        }
        if !(1..=MAX_BARS).contains(&self.bars.len()) {
            return fails("bars", &format!("use 1 to {MAX_BARS} bars"));
        }
        let counts = self.meter.counts();
        for (i, bar) in self.bars.iter().enumerate() {
            if bar.len() > MAX_STROKES_IN_BAR {
                let problem = format!("use at most {MAX_STROKES_IN_BAR} strokes in a bar");
                return fails(&format!("bars[{i}]"), &problem);
            }
            for (j, stroke) in bar.iter().enumerate() {
                let place = |field: &str| format!("bars[{i}][{j}].{field}");
                let count = usize::from(stroke.count).checked_sub(1);
                let Some(count) = count.and_then(|count| counts.get(count)) else {
                    let problem = format!("{} has the counts 1 to {}", self.meter, counts.len());
                    return fails(&place("count"), &problem);
                };
                if !(0..count.len).contains(&stroke.tick) {
                    let problem = format!("use 0 to {}: the count is so long", count.len - 1);
                    return fails(&place("tick"), &problem);
                }
                if !(0.0..=1.0).contains(&stroke.rank) {
                    return fails(&place("rank"), "use 0 for the core, up to 1 for an extra");
                }
                let weight = stroke.weight.unwrap_or(0.0);
                if !(-MAX_WEIGHT..=MAX_WEIGHT).contains(&weight) {
                    let problem = format!("use -{MAX_WEIGHT} to {MAX_WEIGHT}");
                    return fails(&place("weight"), &problem);
                }
                if stroke.strikes == Strikes::Piece(Piece::Sticks) {
                    return fails(&place("strikes"), "the sticks count in and play no beat");
                }
                let snare = stroke.strikes == Strikes::Piece(Piece::Snare);
                if stroke.ghost && !(snare && stroke.rank > 0.0) {
                    let problem = "a ghost note is an extra on the snare: give it a rank above 0";
                    return fails(&place("ghost"), problem);
                }
                let place_of = |s: &OwnStroke| (s.count, s.tick, s.strikes.instrument());
                if bar[..j]
                    .iter()
                    .any(|other| place_of(other) == place_of(stroke))
                {
                    let problem =
                        "another stroke has this place on the same drum or cymbal: leave one out";
                    return fails(&place("count"), problem);
                }
            }
        }
        if self.bars.iter().all(Vec::is_empty) && self.rate.is_none() {
            return fails("bars", "a beat needs a stroke");
        }
        // Twice the sixteenths of the longest meter fit into the lists of a bar.
        debug_assert!(counts.len() <= usize::from(MAX_NUMERATOR));
        Ok(())
    }
}

/// Whether a piece is a drum that hands strike on its head.
fn is_drum_of_hands(piece: Piece) -> bool {
    matches!(
        piece,
        Piece::Snare | Piece::RackHigh | Piece::RackLow | Piece::FloorHigh | Piece::FloorLow
    )
}
