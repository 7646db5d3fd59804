//! What an own beat does not say of itself: which fills suit it, how its bars vary, what density may add beyond its own
//! extras. The beat of the vocabulary that is [nearest](super::nearest) lends its habits; where none is near, they follow from
//! what its voices play. Judged.

use super::fit::Anchor;
use super::model::{OwnBeat, OwnHands, OwnStroke, Strikes};
use super::nearest::nearest;
use super::plan::anchor;
use crate::groove::HandCymbal;
use crate::groove::beat::{Arc, Beat, Breath, Taste, Variety};
use crate::groove::cymbal::Ladder;
use crate::groove::roles::{On, Role, Sub};
use crate::groove::vocabulary as of;
use crate::kit::Piece;
use crate::settings::HandRate;

/// What kind of beat it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Character {
    pub(super) anchor: Anchor,
    pub(super) ladder: Ladder,
    pub(super) breath: Breath,
    pub(super) variety: Variety,
    pub(super) fills: Taste,
    pub(super) ghosts: &'static [Role],
    pub(super) pushes: &'static [Role],
    pub(super) doubles: &'static [Role],
    pub(super) joins: &'static [(Role, Piece)],
    pub(super) foot_time: &'static [Role],
    pub(super) clamped: bool,
    pub(super) crawls: bool,
}

const AND_OF_BACK: &[Role] = &[Role::At(On::Back, Sub::And)];
const A_OF_BACK: &[Role] = &[Role::At(On::Back, Sub::A)];
const LET_OF_BACK: &[Role] = &[Role::At(On::Back, Sub::Let)];
const TRIPS: &[Role] = &[Role::At(On::Every, Sub::Trip)];
const PUSHES_IN_TRIPLETS: &[Role] = &[
    Role::At(On::Strong, Sub::Let),
    Role::At(On::Back, Sub::Trip),
];
const BACKS: &[Role] = &[Role::At(On::Back, Sub::Beat)];

/// A groove, less lively than one of the vocabulary: the songwriter wrote this one, so its strokes stay.
const OWN: Variety = Variety {
    hand: 0.4,
    kick: 0.35,
    snare: 0.4,
    arc: Arc::Groove,
};

impl Character {
    pub(super) fn of(beat: &OwnBeat) -> Self {
        let anchor = anchor(beat);
        let counts = beat.meter.counts().len() * beat.bars.len().max(1);
        let strokes =
            |is: &dyn Fn(&OwnStroke) -> bool| beat.bars.iter().flatten().filter(|s| is(s)).count();
        let core = |piece| {
            strokes(&move |s: &OwnStroke| s.strikes == Strikes::Piece(piece) && s.rank == 0.0)
        };
        let has_extra = |strikes: &[Strikes]| {
            strokes(&|s: &OwnStroke| s.rank > 0.0 && strikes.contains(&s.strikes)) > 0
        };
        let (kicks, snares) = (core(Piece::Kick), core(Piece::Snare));
        let runs = kicks >= counts * 3;
        let blasts = snares >= counts * 2 && !matches!(beat.hands, OwnHands::Drums(..));
        let skips = snares >= counts && !blasts;
        let on_drums =
            matches!(beat.hands, OwnHands::Drums(..)) || beat.hand_cymbal() == HandCymbal::FloorTom;
        let quiet = snares == 0;
        let variety = if blasts {
            of::TURNS
        } else if runs {
            of::STEADY
        } else if skips {
            Variety {
                arc: Arc::Steady,
                snare: 0.3,
                ..OWN
            }
        } else if anchor == Anchor::Middle {
            Variety { hand: 0.3, ..OWN }
        } else {
            OWN
        };
        // A rhythm of its own has no strokes to spare.
        let hand = if beat.rate.is_none() || on_drums {
            0.0
        } else {
            variety.hand
        };
        let (ghosts, pushes): (&[Role], &[Role]) = match anchor {
            _ if blasts => (&[], of::DOUBLED_KICKS),
            _ if beat.triplets => (TRIPS, PUSHES_IN_TRIPLETS),
            Anchor::Back => (of::GHOSTS_BACKBEAT, of::PUSHES_ROCK),
            Anchor::Middle => (of::GHOSTS_HALF_TIME, of::PUSHES_HALF_TIME),
            Anchor::Row if quiet => (&[], of::PUSHES_ROCK),
            Anchor::Row => (&[], A_OF_BACK),
        };
        let doubles = match beat.rate {
            None => &[],
            _ if beat.triplets => LET_OF_BACK,
            Some(HandRate::Halves | HandRate::Quarters) => AND_OF_BACK,
            _ => A_OF_BACK,
        };
        let own = |strikes: &[Strikes], usual: &'static [Role]| -> &'static [Role] {
            if has_extra(strikes) { &[] } else { usual }
        };
        Self {
            anchor,
            ladder: ladder(beat, runs || blasts),
            breath: match beat.hand_cymbal() {
                HandCymbal::HiHatClosed | HandCymbal::HiHatLoose if !runs && !blasts => {
                    if skips {
                        Breath::Little
                    } else {
                        Breath::Much
                    }
                }
                _ => Breath::Steady,
            },
            variety: Variety { hand, ..variety },
            fills: match anchor {
                _ if blasts => Taste::Short,
                _ if on_drums => Taste::Toms,
                _ if skips => Taste::PickUp,
                _ if quiet => Taste::Quiet,
                Anchor::Middle => Taste::Toms,
                _ => Taste::Open,
            },
            ghosts: own(&[Strikes::Piece(Piece::Snare)], ghosts),
            pushes: if runs {
                &[]
            } else {
                own(&[Strikes::Piece(Piece::Kick)], pushes)
            },
            doubles: own(&[Strikes::Hand], doubles),
            foot_time: match anchor {
                _ if runs || blasts => &[],
                Anchor::Middle => of::FOOT_ON_COUNTS,
                _ => BACKS,
            },
            joins: &[],
            clamped: runs,
            // The songwriter heard how often the hand strikes, and at which tempo.
            crawls: true,
        }
        .with_habits(beat)
        .with_foot(beat)
    }

    /// Where the foot shuts the hi-hat, nothing opens it.
    fn with_foot(self, beat: &OwnBeat) -> Self {
        let foot = |s: &OwnStroke| s.strikes == Strikes::Piece(Piece::HiHatFoot);
        if !beat.bars.iter().flatten().any(foot) {
            return self;
        }
        Self {
            breath: Breath::Steady,
            ..self
        }
    }

    /// With the habits of the nearest beat of the vocabulary, where one is near.
    fn with_habits(self, beat: &OwnBeat) -> Self {
        let Some(near) = nearest(beat) else {
            return self;
        };
        let &Beat {
            ref lead,
            foot_time,
            breath,
            ghosts,
            pushes,
            doubles,
            joins,
            variety,
            clamped,
            crawls,
            fills,
            ..
        } = near;
        let extra = |strikes: Strikes| {
            let mine = |s: &OwnStroke| s.rank > 0.0 && s.strikes == strikes;
            beat.bars.iter().flatten().any(mine)
        };
        let unless = |strikes, usual: &'static [Role]| -> &'static [Role] {
            if extra(strikes) { &[] } else { usual }
        };
        Self {
            ladder: if lead.ladder.contains(&beat.hand_cymbal()) {
                lead.ladder
            } else {
                self.ladder
            },
            breath,
            variety,
            fills,
            ghosts: unless(Strikes::Piece(Piece::Snare), ghosts),
            pushes: unless(Strikes::Piece(Piece::Kick), pushes),
            doubles: unless(Strikes::Hand, doubles),
            joins,
            foot_time,
            clamped,
            crawls: crawls || beat.rate.is_none(),
            ..self
        }
    }
}

/// What *auto* may choose.
fn ladder(beat: &OwnBeat, fast: bool) -> Ladder {
    if beat.hands == OwnHands::Both {
        return &[HandCymbal::HiHatClosed, HandCymbal::HiHatLoose];
    }
    match beat.hand_cymbal() {
        HandCymbal::FloorTom => &[HandCymbal::FloorTom],
        HandCymbal::Splash => &[
            HandCymbal::Splash,
            HandCymbal::HiHatClosed,
            HandCymbal::Crash,
        ],
        HandCymbal::HiHatClosed | HandCymbal::Ride if fast => of::RIDE_TO_CHINA,
        HandCymbal::HiHatClosed
        | HandCymbal::HiHatLoose
        | HandCymbal::HiHatOpen
        | HandCymbal::Crash => of::HAT,
        HandCymbal::Ride => of::RIDE,
        HandCymbal::RideBell if beat.rate.is_none() => &[HandCymbal::RideBell],
        HandCymbal::RideBell => &[HandCymbal::Ride, HandCymbal::RideBell, HandCymbal::Crash],
        HandCymbal::China => &[HandCymbal::Ride, HandCymbal::Crash, HandCymbal::China],
    }
}
