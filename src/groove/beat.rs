//! What a beat is made of.

use super::HandCymbal;
use super::roles::Role;
use crate::kit::Piece;
use crate::settings::{HandRate, Style};

/// One entry of the vocabulary: what kick, snare and lead hand do, in roles that fit any meter.
#[derive(Debug)]
pub struct Beat {
    /// Which beat it is: its slot, its name, and where it fits.
    pub style: Style,
    /// The kick, one list of roles a bar of the cycle. Cycles have one or two bars and restart at
    /// the phrase.
    pub kick: &'static [&'static [Role]],
    /// The snare, likewise.
    pub snare: &'static [&'static [Role]],
    /// What the snare hand strikes.
    pub snare_piece: Piece,
    /// The lead hand.
    pub lead: Lead,
    /// The hi-hat foot.
    pub pedal: &'static [Role],
    /// Straight or in triplets: what eighths and sixteenths of the hand rate mean.
    pub feel: Feel,
    /// Where ghost notes may come in with density.
    pub ghosts: &'static [Role],
    /// Where extra kicks may come in with density.
    pub pushes: &'static [Role],
    /// Whether a phrase is opened with a crash.
    pub opens: bool,
    /// Whether the hi-hat stays clamped shut while the feet are on the kicks.
    pub clamped: bool,
    /// Whether the kick is the riff where a riff is known.
    pub follows_riff: bool,
    /// Which fills suit it.
    pub fills: Taste,
}

impl Beat {
    /// Its name, in the trade's words or ours.
    pub fn name(&self) -> &'static str {
        self.style.name()
    }

    /// One line for a songwriter: where it fits.
    pub fn about(&self) -> &'static str {
        self.style.about()
    }
}

/// Which fills suit a beat.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Taste {
    /// Anything that a drummer has.
    Open,
    /// Blasts: short, on the snare or with the crashes, and freehand rolls.
    Short,
    /// Breakdowns: room, and single heavy hits.
    Space,
    /// Fast beats with the snare on the off-beats: snare pick-ups.
    PickUp,
    /// Slow beats: long ways over the toms.
    Toms,
    /// Quiet beats: a few strokes.
    Quiet,
}

/// What the lead hand does.
#[derive(Debug)]
pub struct Lead {
    /// How often it strikes.
    pub figure: Figure,
    /// The beat's own hand cymbal.
    pub cymbal: HandCymbal,
    /// Whether it plays alone or hand to hand.
    pub hands: Hands,
}

/// The rhythm of the lead hand.
#[derive(Debug, Clone, Copy)]
pub enum Figure {
    /// One of the hand rates.
    Rate(HandRate),
    /// A figure of its own, one list of roles a bar of the cycle.
    Roles(&'static [&'static [Role]]),
}

/// Which hands play the figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hands {
    /// The lead hand; the other has the snare.
    Lead,
    /// The lead hand; the other plays the snare with two strokes from one motion.
    LeadAndFreehand,
    /// Hand to hand, both on the hand cymbal; the snare falls to the hand that is there.
    Both,
    /// Hand to hand on drums: the lead hand's piece and the other hand's. `None` for the lead is
    /// the hand cymbal.
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
