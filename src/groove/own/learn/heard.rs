//! A stroke that was played or written.

use crate::groove::{Hit, Origin};
use crate::kit::Piece;
use crate::time::Ticks;

/// A stroke that was played or written.
#[derive(Debug, Clone, Copy, PartialEq)]
#[expect(clippy::struct_excessive_bools, reason = "each is known or not")]
pub struct Heard {
    /// When, in ticks (960 a quarter) on the timeline of the bars.
    pub tick: Ticks,
    /// What was struck.
    pub piece: Piece,
    /// How hard, as a MIDI velocity, 1..=127.
    pub velocity: u8,
    /// Whether its place is its place on the grid, and not where a person happened to strike.
    pub exact: bool,
    /// Whether it is known to be a ghost note.
    pub ghost: bool,
    /// Whether it is known to be a grace note.
    pub grace: bool,
    /// Whether it is known to belong to a fill.
    pub fill: bool,
}

impl Heard {
    /// A stroke of which no more is known.
    pub fn new(tick: Ticks, piece: Piece, velocity: u8) -> Self {
        Self {
            tick,
            piece,
            velocity,
            exact: false,
            ghost: false,
            grace: false,
            fill: false,
        }
    }
}

impl From<&Hit> for Heard {
    /// A hit of the drummer, at its place on the grid; one that was edited by hand, where it sounds.
    fn from(hit: &Hit) -> Self {
        let by_hand = hit.origin == Origin::ByHand;
        Self {
            exact: !by_hand,
            ghost: hit.ghost,
            grace: hit.grace,
            fill: hit.origin == Origin::Fill,
            ..Self::new(hit.grid, hit.piece, hit.velocity)
        }
    }
}
