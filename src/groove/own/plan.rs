//! An own beat, made ready for the composer.

use super::character::Character;
use super::fit::{Anchor, Place};
use super::model::{OwnBeat, OwnHands, OwnStroke, Strikes};
use super::sheet::{Planned, Sheet};
use super::slots::{SLOTS, slot};
use crate::groove::beat::{Beat, Cycle, Feel, Figure, Hands, Lead};
use crate::groove::roles::Role;
use crate::groove::stroke::Limb;
use crate::kit::Piece;
use crate::settings::Style;
use std::hash::{DefaultHasher, Hash as _, Hasher as _};

/// An own beat, made ready for the composer. Main thread makes it; the audio thread plays it.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    beat: OwnBeat,
    sheet: Sheet,
    character: Character,
    kick: Vec<Vec<Role>>,
    snare: Vec<Vec<Role>>,
    hand: Vec<Vec<Role>>,
    pedal: Vec<Vec<Role>>,
}

impl Plan {
    /// Makes a [checked](OwnBeat::check) beat ready to be played in an own slot, from 0. Allocates.
    pub fn new(own: u8, beat: &OwnBeat) -> Self {
        let character = Character::of(beat);
        let snare_piece = snare_piece(beat);
        let place = |stroke: &OwnStroke| Place {
            meter: beat.meter,
            anchor: character.anchor,
            count: stroke.count.saturating_sub(1),
            at: u16::try_from(stroke.tick).unwrap_or_default(),
        };
        let core = |strikes: Strikes| -> Vec<Vec<Role>> {
            let of_bar = |bar: &Vec<OwnStroke>| {
                let mine = |s: &&OwnStroke| s.strikes == strikes && s.rank == 0.0;
                let mut roles: Vec<_> = bar.iter().filter(mine).map(place).collect();
                roles.sort_by_key(|place| (place.count, place.at));
                roles.into_iter().map(Role::Own).collect()
            };
            beat.bars.iter().map(of_bar).collect()
        };
        let planned = |bar: &Vec<OwnStroke>| -> Vec<Planned> {
            let planned = bar.iter().map(|stroke| Planned {
                place: place(stroke),
                strikes: stroke.strikes,
                limb: limb(stroke, bar, snare_piece),
                rank: stroke.rank,
                weight: stroke.weight,
                ghost: stroke.ghost,
            });
            planned.collect()
        };
        let mut hasher = DefaultHasher::new();
        format!("{beat:?}").hash(&mut hasher);
        Self {
            sheet: Sheet {
                name: beat.name.clone(),
                slot: slot(own),
                stamp: hasher.finish() | 1,
                bars: beat.bars.iter().map(planned).collect(),
                snare_piece,
            },
            kick: core(Strikes::Piece(Piece::Kick)),
            snare: core(Strikes::Piece(snare_piece)),
            hand: core(Strikes::Hand),
            pedal: core(Strikes::Piece(Piece::HiHatFoot)),
            character,
            beat: beat.clone(),
        }
    }

    /// What the songwriter calls it.
    pub fn name(&self) -> &str {
        &self.sheet.name
    }

    /// The beat that it was made from.
    pub fn source(&self) -> &OwnBeat {
        &self.beat
    }

    /// The beat as the composer plays it.
    ///
    /// # Realtime
    /// No allocation.
    pub fn beat(&self) -> Beat<'_> {
        let Character {
            anchor: _,
            ladder,
            breath,
            variety,
            fills,
            ghosts,
            pushes,
            doubles,
            joins,
            foot_time,
            clamped,
            crawls,
        } = self.character;
        let own = self.beat.hand_cymbal();
        let hands = match self.beat.hands {
            OwnHands::Lead => Hands::Lead,
            OwnHands::Bounce => Hands::LeadAndFreehand,
            OwnHands::Both => Hands::Both,
            OwnHands::Drums(lead, other) => {
                // The floor tom that the hand rides follows the hand cymbal.
                let ridden = lead == own.piece();
                Hands::Drums((!ridden).then_some(lead), other)
            }
        };
        Beat {
            style: Style::of_slot(SLOTS),
            own: Some(&self.sheet),
            kick: Cycle::Own(&self.kick),
            snare: Cycle::Own(&self.snare),
            snare_piece: self.sheet.snare_piece,
            lead: Lead {
                figure: match self.beat.rate {
                    Some(rate) => Figure::Rate(rate),
                    None => Figure::Roles(Cycle::Own(&self.hand)),
                },
                cymbal: own,
                ladder,
                hands,
            },
            pedal: Cycle::Own(&self.pedal),
            foot_time,
            breath,
            feel: if self.beat.triplets {
                Feel::Triplets
            } else {
                Feel::Straight
            },
            ghosts,
            pushes,
            doubles,
            joins,
            variety,
            opens: self.beat.opens,
            clamped,
            crawls,
            follows_riff: false,
            fills,
        }
    }
}

/// What the snare hand strikes: the snare, or the side stick where the core has that alone.
fn snare_piece(beat: &OwnBeat) -> Piece {
    let has = |piece| {
        let mine = |s: &&OwnStroke| s.strikes == Strikes::Piece(piece) && s.rank == 0.0;
        beat.bars.iter().flatten().filter(mine).count()
    };
    if has(Piece::SideStick) > has(Piece::Snare) {
        Piece::SideStick
    } else {
        Piece::Snare
    }
}

/// The limb of a stroke: the hand that is free, else the one on the piece's side of the kit.
fn limb(stroke: &OwnStroke, bar: &[OwnStroke], snare_piece: Piece) -> Limb {
    let Strikes::Piece(piece) = stroke.strikes else {
        return Limb::LeadHand;
    };
    let with = |strikes: Strikes| {
        let here =
            |s: &OwnStroke| (s.count, s.tick, s.strikes) == (stroke.count, stroke.tick, strikes);
        bar.iter().any(here)
    };
    match piece {
        Piece::Kick => Limb::LeadFoot,
        Piece::HiHatFoot => Limb::OtherFoot,
        Piece::Snare | Piece::SideStick => Limb::OtherHand,
        _ if with(Strikes::Hand) => Limb::OtherHand,
        _ if with(Strikes::Piece(snare_piece)) => Limb::LeadHand,
        Piece::CrashLeft | Piece::RackHigh | Piece::RackLow | Piece::Splash => Limb::OtherHand,
        _ => Limb::LeadHand,
    }
}

/// What the counts of a beat hang on.
pub(super) fn anchor(beat: &OwnBeat) -> Anchor {
    let counts = beat.meter.counts();
    let (_, back) = beat.meter.pairs();
    let middle = beat.meter.middle();
    let piece = Strikes::Piece(snare_piece(beat));
    let (mut backs, mut middles, mut others) = (0, 0, 0);
    for stroke in beat.bars.iter().flatten() {
        if stroke.strikes != piece || stroke.rank > 0.0 {
            continue;
        }
        let count = counts.get(usize::from(stroke.count).wrapping_sub(1));
        let at = count.map_or(0, |count| count.start + stroke.tick);
        if back.iter().any(|pulse| pulse.start == at) {
            backs += 1;
        } else if middle.is_some_and(|middle| middle.start == at) {
            middles += 1;
        } else {
            others += 1;
        }
    }
    if backs > middles + others {
        Anchor::Back
    } else if middles > backs + others {
        Anchor::Middle
    } else {
        Anchor::Row
    }
}
