//! What the composer plays of an own beat beyond what any beat has.

use super::fit::Place;
use super::model::Strikes;
use crate::groove::stroke::Limb;
use crate::kit::Piece;

/// What only an own beat has.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    pub(super) name: String,
    pub(super) slot: u8,
    pub(super) stamp: u64,
    /// What has no list of roles, or a weight of its own.
    pub(super) bars: Vec<Vec<Planned>>,
    /// What the snare hand strikes.
    pub(super) snare_piece: Piece,
}

/// A stroke of a plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Planned {
    pub(super) place: Place,
    pub(super) strikes: Strikes,
    /// Which limb has it, unless a hand is better off with the other.
    pub(super) limb: Limb,
    pub(super) rank: f32,
    pub(super) weight: Option<f32>,
    pub(super) ghost: bool,
}

impl Sheet {
    /// What the songwriter calls the beat.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Its slot of the `style` parameter.
    pub fn slot(&self) -> u8 {
        self.slot
    }

    /// Whether hands strike anything beside the snare and what is ridden.
    pub(in super::super) fn has_others(&self) -> bool {
        let other = |planned: &Planned| match planned.strikes {
            Strikes::Hand => false,
            Strikes::Piece(piece) => {
                ![Piece::Kick, Piece::HiHatFoot, self.snare_piece].contains(&piece)
            }
        };
        self.bars.iter().flatten().any(other)
    }

    /// A number that other contents have another of. Never 0.
    pub(in super::super) fn stamp(&self) -> u64 {
        self.stamp
    }
}
