//! What a beat is made of.

use super::HandCymbal;
use super::cymbal::Ladder;
use super::own::sheet::Sheet;
use super::roles::Role;
use crate::kit::Piece;
use crate::settings::{HandRate, Style};

/// One entry of the vocabulary: what kick, snare and lead hand do, in roles that fit any meter.
#[derive(Debug, Clone, Copy)]
#[expect(clippy::struct_excessive_bools, reason = "each is a habit of its own")]
pub struct Beat<'a> {
    /// Which beat of the vocabulary it is: its slot, its name, and where it fits. Of a songwriter's own beat the one that
    /// plays where the own one is missing.
    pub style: Style,
    /// What only a songwriter's own beat has; `None` for the vocabulary's.
    pub own: Option<&'a Sheet>,
    /// The kick: one list of roles for each bar of the cycle. A cycle of the vocabulary has one or two bars and restarts
    /// with each phrase.
    pub kick: Cycle<'a>,
    /// The snare, in the same form.
    pub snare: Cycle<'a>,
    /// What the snare hand strikes.
    pub snare_piece: Piece,
    /// The lead hand.
    pub lead: Lead<'a>,
    /// The hi-hat foot.
    pub pedal: Cycle<'a>,
    /// Where density may add the hi-hat foot while the hand rides beside the hi-hat: foot time.
    pub foot_time: &'static [Role],
    /// How the hi-hat opens while the hand rides it.
    pub breath: Breath,
    /// Straight or in triplets: what eighths and sixteenths of the hand rate mean.
    pub feel: Feel,
    /// Where density may add ghost notes.
    pub ghosts: &'static [Role],
    /// Where density may add extra kicks.
    pub pushes: &'static [Role],
    /// Where density may add strokes of the lead hand on its cymbal.
    pub doubles: &'static [Role],
    /// Where density may add the other hand on a second cymbal, and which.
    pub joins: &'static [(Role, Piece)],
    /// How much its bars vary.
    pub variety: Variety,
    /// Whether a crash opens its phrases.
    pub opens: bool,
    /// Whether the hi-hat stays closed while both feet play kicks.
    pub clamped: bool,
    /// Whether its hand keeps to quarters however slow the song: each stroke then has its own weight.
    pub crawls: bool,
    /// Whether the kick follows the riff where a riff is known.
    pub follows_riff: bool,
    /// Which fills suit the beat.
    pub fills: Taste,
}

impl<'a> Beat<'a> {
    /// Its name: the drummers' own term where there is one; of a songwriter's own beat what he calls it.
    pub fn name(&self) -> &'a str {
        self.own.map_or(self.style.name(), Sheet::name)
    }

    /// What tells its random decisions from those of other beats: its slot.
    pub(super) fn seed(&self) -> u64 {
        u64::from(self.own.map_or(self.style.slot(), Sheet::slot))
    }

    /// One line for a songwriter: where the beat fits in a song.
    pub fn about(&self) -> &'static str {
        self.style.about()
    }
}

/// How much the bars of a beat vary, as a share of how much people's bars do (`docs` of the tests in
/// `tests/core/variation.rs` have the figures): 0 for a voice that plays on, 1 for one that varies as theirs. What
/// suits which beat is judged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Variety {
    /// The lead hand.
    pub hand: f32,
    /// The kick.
    pub kick: f32,
    /// The snare.
    pub snare: f32,
    /// Where among eight bars it varies.
    pub arc: Arc,
}

/// Where among eight bars a beat varies. Common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Arc {
    /// Everywhere, less at the start of a phrase and more at its end.
    Groove,
    /// Hardly before the ends of phrases.
    Steady,
    /// As steady, and the fourth and eighth bars turn: one leaves space, the other doubles the kick.
    Turns,
}

/// How much the hi-hat of a beat opens and closes. Common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Breath {
    /// Not at all: blasts, and feet that are busy with kicks.
    Steady,
    /// Now and then, into the bar line: driving beats.
    Little,
    /// Often, inside the bar too: grooves.
    Much,
}

/// Which fills suit a beat.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Taste {
    /// Any fill.
    Open,
    /// Blasts: short, on the snare or with the crashes, and freehand rolls.
    Short,
    /// Breakdowns: sparse fills of single heavy hits.
    Space,
    /// Fast beats with the snare on the off-beats: snare pick-ups.
    PickUp,
    /// Slow beats: long runs over the toms.
    Toms,
    /// Quiet beats: a few strokes.
    Quiet,
}

/// One list of roles for each bar of a cycle.
#[derive(Debug, Clone, Copy)]
pub enum Cycle<'a> {
    /// Of a beat of the vocabulary.
    Fixed(&'static [&'static [Role]]),
    /// Of a songwriter's own beat.
    Own(&'a [Vec<Role>]),
}

impl<'a> Cycle<'a> {
    /// How many bars it has.
    pub fn len(self) -> usize {
        match self {
            Self::Fixed(bars) => bars.len(),
            Self::Own(bars) => bars.len(),
        }
    }

    /// Whether it has no bar, and so no role.
    pub fn is_empty(self) -> bool {
        self.len() == 0
    }

    /// The roles of one of its bars, from 0; none beyond the last.
    pub fn bar(self, index: usize) -> &'a [Role] {
        match self {
            Self::Fixed(bars) => bars.get(index).copied().unwrap_or_default(),
            Self::Own(bars) => bars.get(index).map_or(&[], Vec::as_slice),
        }
    }

    /// The roles of each bar, in order.
    pub fn bars(self) -> impl Iterator<Item = &'a [Role]> {
        (0..self.len()).map(move |index| self.bar(index))
    }
}

/// What the lead hand does.
#[derive(Debug, Clone, Copy)]
pub struct Lead<'a> {
    /// How often it strikes.
    pub figure: Figure<'a>,
    /// The beat's own hand cymbal.
    pub cymbal: HandCymbal,
    /// What *auto* may choose for this beat as intensity moves.
    pub ladder: Ladder,
    /// Which hands play it.
    pub hands: Hands,
}

/// The rhythm of the lead hand.
#[derive(Debug, Clone, Copy)]
pub enum Figure<'a> {
    /// One of the hand rates.
    Rate(HandRate),
    /// A rhythm of its own.
    Roles(Cycle<'a>),
}

/// Which hands play the figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hands {
    /// The lead hand alone; the other hand plays the snare.
    Lead,
    /// The lead hand alone; the other hand plays the snare with two strokes from one motion.
    LeadAndFreehand,
    /// Both hands alternate on the hand cymbal; the hand whose turn it is plays the snare.
    Both,
    /// Both hands alternate on drums: the lead hand's piece (`None`: the hand cymbal), then the other hand's.
    Drums(Option<Piece>, Piece),
}

/// The subdivision that a beat is felt in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Feel {
    /// Eighths and sixteenths.
    Straight,
    /// Three to a count.
    Triplets,
}
