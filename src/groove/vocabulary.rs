//! The vocabulary: every beat, as data.
//!
//! Positions are common practice, no source, except for the blast family and the D-beat. Public tab notation writes
//! out their grids (the D-beat's two versions, the blast's four grids); `tests/core/published_beats.rs` compares
//! them.
//!
//! The index in [`VOCABULARY`] is the slot of the `style` parameter, saved in projects: append, never insert,
//! remove or reorder.

use super::HandCymbal::{
    China, Crash, FloorTom, HiHatClosed, HiHatLoose, HiHatOpen, Ride, RideBell,
};
use super::beat::{Arc, Beat, Breath, Cycle, Feel, Figure, Hands, Lead, Taste, Variety};
use super::cymbal::Ladder;
use super::roles::{On, Role, Sub};
use crate::kit::Piece;
use crate::settings::BarSettings;
use crate::settings::HandRate::{Eighths, Halves, Quarters, Sixteenths};
use crate::settings::{HandRate, Style};
use crate::time::Value::{Eighth, Quarter, Sixteenth, Triplet};
use Cycle::Fixed;
use Role::{Alternate, Between, Run, ThreeOverTwo};
use Sub::{A, And, E, Let, Trip};

/// The beat of a style slot; a free slot plays the nearest beat before it.
pub fn beat(slot: u8) -> &'static Beat<'static> {
    &VOCABULARY[Style::of_slot(slot) as usize]
}

/// The slot of the beat with this name.
pub fn slot(name: &str) -> Option<u8> {
    Style::from_name(name).map(Style::slot)
}

/// Every beat stands in its slot.
const _: () = {
    let mut slot = 0;
    while slot < VOCABULARY.len() {
        assert!(VOCABULARY[slot].style as usize == slot);
        slot += 1;
    }
};

const fn at(on: On, sub: Sub) -> Role {
    Role::At(on, sub)
}

const fn count(n: u8) -> Role {
    at(On::Count(n), Sub::Beat)
}

const fn rides(cymbal: super::HandCymbal, rate: HandRate, ladder: Ladder) -> Lead<'static> {
    Lead {
        figure: Figure::Rate(rate),
        cymbal,
        ladder,
        hands: Hands::Lead,
    }
}

const fn hand_to_hand(cymbal: super::HandCymbal, hands: Hands, ladder: Ladder) -> Lead<'static> {
    Lead {
        figure: Figure::Rate(Sixteenths),
        cymbal,
        ladder,
        hands,
    }
}

const fn varies(hand: f32, kick: f32, snare: f32, arc: Arc) -> Variety {
    Variety {
        hand,
        kick,
        snare,
        arc,
    }
}

/// A groove: it varies as people's do.
const LIVELY: Variety = varies(1.0, 1.0, 1.0, Arc::Groove);
/// Slow and heavy: the kick moves, the crash rides on.
const HEAVY: Variety = varies(0.5, 1.0, 0.7, Arc::Groove);
/// Running feet, and beats that are felt as a machine.
pub(super) const STEADY: Variety = varies(0.5, 0.4, 0.5, Arc::Steady);
/// Blasts and breakdowns: nothing moves but the ends of phrases.
pub(super) const TURNS: Variety = varies(0.0, 0.0, 0.0, Arc::Turns);

// How far *auto* may go. Common practice, no source: a part goes up either over the opening hi-hat or over the ride,
// not over both, since a hand that visits every cymbal on one ramp sounds like a tour of the kit.

/// Rock and punk: the hi-hat opens, then the crash.
pub(super) const HAT: Ladder = &[HiHatClosed, HiHatLoose, HiHatOpen, Crash];
/// The same, and a part that hardly sounds yet rides on the floor tom.
const HAT_FROM_THE_TOM: Ladder = &[FloorTom, HiHatClosed, HiHatLoose, HiHatOpen, Crash];
/// Heavy half-time and riff sections: up to the china.
const HAT_TO_CHINA: Ladder = &[HiHatClosed, HiHatLoose, HiHatOpen, Crash, China];
/// Running feet and blasts: a tight hi-hat, the ride, then the walls.
pub(super) const RIDE_TO_CHINA: Ladder = &[HiHatClosed, Ride, Crash, China];
/// Riding beats: hi-hat, ride, crash.
pub(super) const RIDE: Ladder = &[HiHatClosed, HiHatLoose, Ride, Crash];
/// The same without the loose hi-hat: open space, or a hand that has to be clear over running feet.
const CLEAR_RIDE: Ladder = &[HiHatClosed, Ride, Crash];
/// Breakdowns: from the open hi-hat up.
const BREAKDOWN: Ladder = &[HiHatOpen, Crash, China];

const STRONG: Role = at(On::Strong, Sub::Beat);
const BACK: Role = at(On::Back, Sub::Beat);
const MIDDLE: Role = at(On::Middle, Sub::Beat);
const COUNTS: Role = at(On::Every, Sub::Beat);
const ANDS: Role = at(On::Every, And);

/// Ghost notes around a backbeat: before and after it.
pub(super) const GHOSTS_BACKBEAT: &[Role] = &[
    at(On::Strong, A),
    at(On::Back, E),
    at(On::Back, A),
    at(On::Strong, And),
];
/// Kicks that push into a strong pulse or answer the backbeat.
pub(super) const PUSHES_ROCK: &[Role] = &[
    at(On::Strong, And),
    at(On::Strong, A),
    at(On::Back, And),
    at(On::Back, A),
];
/// Ghost notes around a half-time backbeat.
pub(super) const GHOSTS_HALF_TIME: &[Role] = &[
    at(On::Count(2), A),
    at(On::Middle, A),
    at(On::Middle, E),
    at(On::Last, And),
];
/// Kicks between the eighths, where a blast doubles.
pub(super) const DOUBLED_KICKS: &[Role] = &[
    at(On::Middle, E),
    at(On::Middle, A),
    at(On::Last, E),
    at(On::Last, A),
];
/// Kicks around a half-time backbeat.
pub(super) const PUSHES_HALF_TIME: &[Role] = &[
    at(On::Count(1), And),
    at(On::Count(2), And),
    at(On::Last, And),
    at(On::Last, A),
];

/// Every count under the foot: half-time beats and slow ones.
pub(super) const FOOT_ON_COUNTS: &[Role] = &[COUNTS];

/// The defaults that most beats share.
const PLAIN: Beat<'static> = Beat {
    style: Style::Rock,
    own: None,
    kick: Fixed(&[&[]]),
    snare: Fixed(&[&[]]),
    snare_piece: Piece::Snare,
    lead: rides(HiHatClosed, Eighths, HAT),
    pedal: Fixed(&[]),
    foot_time: &[BACK],
    breath: Breath::Steady,
    feel: Feel::Straight,
    ghosts: &[],
    pushes: &[],
    doubles: &[],
    joins: &[],
    variety: LIVELY,
    opens: true,
    clamped: false,
    crawls: false,
    follows_riff: false,
    fills: Taste::Open,
};

/// Every beat, in slot order.
pub static VOCABULARY: [Beat<'static>; Style::ALL.len()] = [
    Beat {
        style: Style::Rock,
        kick: Fixed(&[&[STRONG]]),
        snare: Fixed(&[&[BACK]]),
        lead: rides(HiHatClosed, Quarters, HAT_FROM_THE_TOM),
        ghosts: GHOSTS_BACKBEAT,
        pushes: PUSHES_ROCK,
        breath: Breath::Much,
        doubles: &[at(On::Back, And)],
        ..PLAIN
    },
    Beat {
        style: Style::HalfTime,
        kick: Fixed(&[&[count(1)]]),
        snare: Fixed(&[&[MIDDLE]]),
        lead: rides(Crash, Quarters, HAT),
        ghosts: GHOSTS_HALF_TIME,
        pushes: PUSHES_HALF_TIME,
        doubles: &[at(On::Last, And)],
        joins: &[(count(1), Piece::CrashLeft)],
        variety: HEAVY,
        fills: Taste::Toms,
        foot_time: FOOT_ON_COUNTS,
        ..PLAIN
    },
    Beat {
        style: Style::DoubleKick,
        kick: Fixed(&[&[Run(Sixteenth)]]),
        snare: Fixed(&[&[BACK]]),
        lead: rides(HiHatClosed, Quarters, RIDE_TO_CHINA),
        ghosts: &[at(On::Strong, And)],
        doubles: &[at(On::Back, And)],
        variety: STEADY,
        clamped: true,
        foot_time: &[],
        ..PLAIN
    },
    Beat {
        style: Style::SnareOnEveryCount,
        kick: Fixed(&[&[Run(Sixteenth)]]),
        snare: Fixed(&[&[COUNTS]]),
        lead: rides(Ride, Eighths, RIDE_TO_CHINA),
        foot_time: &[],
        ghosts: &[at(On::Strong, And), at(On::Back, And)],
        doubles: &[at(On::Back, A)],
        variety: STEADY,
        ..PLAIN
    },
    Beat {
        style: Style::DoubleKickHalfTime,
        kick: Fixed(&[&[Run(Sixteenth)]]),
        snare: Fixed(&[&[MIDDLE]]),
        lead: rides(Ride, Eighths, RIDE_TO_CHINA),
        ghosts: &[
            at(On::Count(1), And),
            at(On::Count(2), Sub::Beat),
            at(On::Middle, And),
            at(On::Last, And),
        ],
        doubles: &[at(On::Last, A)],
        variety: STEADY,
        fills: Taste::Toms,
        foot_time: &[],
        ..PLAIN
    },
    Beat {
        style: Style::LongHalfTime,
        kick: Fixed(&[&[count(1)], &[at(On::Last, And)]]),
        snare: Fixed(&[&[], &[count(1)]]),
        lead: rides(Ride, Eighths, CLEAR_RIDE),
        ghosts: &[at(On::Count(2), A), at(On::Middle, A), at(On::Last, E)],
        pushes: &[
            at(On::Count(2), And),
            at(On::Middle, And),
            at(On::Last, Sub::Beat),
            at(On::Last, A),
        ],
        variety: varies(0.5, 0.5, 0.7, Arc::Groove),
        fills: Taste::Toms,
        foot_time: FOOT_ON_COUNTS,
        ..PLAIN
    },
    Beat {
        style: Style::Skank,
        kick: Fixed(&[&[Alternate(Eighth, 0)]]),
        snare: Fixed(&[&[Alternate(Eighth, 1)]]),
        pushes: &[at(On::Back, A), at(On::Back, E)],
        doubles: &[at(On::Back, A)],
        variety: varies(0.5, 0.5, 0.3, Arc::Steady),
        fills: Taste::PickUp,
        breath: Breath::Little,
        ..PLAIN
    },
    Beat {
        style: Style::DoubleKickSkank,
        kick: Fixed(&[&[Run(Sixteenth)]]),
        snare: Fixed(&[&[Alternate(Eighth, 1)]]),
        lead: rides(HiHatClosed, Eighths, RIDE_TO_CHINA),
        ghosts: &[at(On::Back, Sub::Beat)],
        doubles: &[at(On::Back, A)],
        joins: &[(MIDDLE, Piece::Splash)],
        variety: STEADY,
        clamped: true,
        fills: Taste::PickUp,
        foot_time: &[],
        ..PLAIN
    },
    Beat {
        style: Style::Blast,
        kick: Fixed(&[&[Run(Eighth)]]),
        snare: Fixed(&[&[Between(Eighth)]]),
        lead: rides(HiHatClosed, Eighths, RIDE_TO_CHINA),
        pushes: DOUBLED_KICKS,
        variety: TURNS,
        fills: Taste::Short,
        foot_time: &[],
        ..PLAIN
    },
    Beat {
        style: Style::SnareTriplets,
        kick: Fixed(&[&[Run(Sixteenth)]]),
        snare: Fixed(&[&[ThreeOverTwo]]),
        lead: rides(China, Quarters, &[Ride, Crash, China]),
        foot_time: &[],
        doubles: &[at(On::Back, And)],
        variety: varies(0.5, 0.0, 0.0, Arc::Steady),
        ..PLAIN
    },
    Beat {
        style: Style::Breakdown,
        kick: Fixed(&[&[
            count(1),
            at(On::Count(1), A),
            at(On::Count(2), And),
            at(On::Middle, And),
            at(On::Last, A),
        ]]),
        snare: Fixed(&[&[MIDDLE]]),
        lead: rides(China, Quarters, BREAKDOWN),
        pushes: &[
            at(On::Count(1), And),
            at(On::Middle, A),
            at(On::Last, E),
            at(On::Last, And),
        ],
        doubles: &[at(On::Last, And)],
        joins: &[(count(1), Piece::CrashRight)],
        variety: varies(0.0, 0.4, 0.0, Arc::Turns),
        follows_riff: true,
        fills: Taste::Space,
        crawls: true,
        foot_time: &[],
        ..PLAIN
    },
    Beat {
        style: Style::SlowBreakdown,
        kick: Fixed(&[&[Run(Sixteenth)], &[Run(Sixteenth)]]),
        snare: Fixed(&[&[], &[count(1)]]),
        lead: rides(Crash, Halves, BREAKDOWN),
        ghosts: &[at(On::Middle, A), at(On::Last, A)],
        doubles: &[BACK],
        joins: &[(count(1), Piece::CrashLeft)],
        variety: TURNS,
        fills: Taste::Space,
        foot_time: &[],
        ..PLAIN
    },
    Beat {
        style: Style::HammerBlast,
        kick: Fixed(&[&[Run(Eighth)]]),
        snare: Fixed(&[&[Run(Eighth)]]),
        lead: rides(HiHatClosed, Eighths, RIDE_TO_CHINA),
        pushes: DOUBLED_KICKS,
        variety: TURNS,
        follows_riff: true,
        fills: Taste::Short,
        foot_time: &[],
        ..PLAIN
    },
    Beat {
        style: Style::Gallop,
        kick: Fixed(&[&[Run(Eighth), at(On::Every, A)]]),
        snare: Fixed(&[&[BACK]]),
        lead: rides(HiHatClosed, Eighths, RIDE),
        breath: Breath::Little,
        clamped: true,
        ghosts: &[at(On::Strong, E)],
        pushes: &[at(On::Back, E)],
        doubles: &[at(On::Back, A)],
        variety: varies(0.7, 0.5, 0.6, Arc::Groove),
        ..PLAIN
    },
    Beat {
        style: Style::ReverseGallop,
        kick: Fixed(&[&[Run(Eighth), at(On::Every, E)]]),
        snare: Fixed(&[&[BACK]]),
        lead: rides(Ride, Quarters, RIDE),
        breath: Breath::Little,
        ghosts: &[at(On::Back, A)],
        pushes: &[at(On::Back, A)],
        doubles: &[at(On::Back, And)],
        variety: varies(0.7, 0.5, 0.6, Arc::Groove),
        ..PLAIN
    },
    Beat {
        style: Style::TwoStep,
        kick: Fixed(&[&[COUNTS, at(On::Odd, A)]]),
        snare: Fixed(&[&[ANDS]]),
        lead: rides(HiHatLoose, Quarters, HAT),
        pushes: &[at(On::Back, E), at(On::Back, A)],
        doubles: &[at(On::Back, And)],
        variety: varies(0.7, 0.6, 0.3, Arc::Steady),
        fills: Taste::PickUp,
        breath: Breath::Little,
        ..PLAIN
    },
    Beat {
        style: Style::BombBlast,
        kick: Fixed(&[&[Run(Sixteenth)]]),
        snare: Fixed(&[&[Run(Eighth)]]),
        lead: rides(Ride, Eighths, RIDE_TO_CHINA),
        ghosts: &[at(On::Last, E)],
        variety: TURNS,
        fills: Taste::Short,
        foot_time: &[],
        ..PLAIN
    },
    Beat {
        style: Style::GravityBlast,
        kick: Fixed(&[&[Run(Eighth)]]),
        snare: Fixed(&[&[Run(Sixteenth)]]),
        lead: Lead {
            figure: Figure::Rate(Eighths),
            cymbal: HiHatClosed,
            ladder: CLEAR_RIDE,
            hands: Hands::LeadAndFreehand,
        },
        pushes: DOUBLED_KICKS,
        variety: TURNS,
        fills: Taste::Short,
        foot_time: &[],
        ..PLAIN
    },
    Beat {
        style: Style::DBeat,
        kick: Fixed(&[&[COUNTS, at(On::Back, E)]]),
        snare: Fixed(&[&[ANDS]]),
        pushes: &[at(On::Strong, A), at(On::Back, A)],
        doubles: &[at(On::Back, A)],
        variety: varies(0.5, 0.6, 0.3, Arc::Steady),
        fills: Taste::PickUp,
        breath: Breath::Little,
        ..PLAIN
    },
    Beat {
        style: Style::HandToHand,
        kick: Fixed(&[&[STRONG]]),
        snare: Fixed(&[&[BACK]]),
        lead: hand_to_hand(HiHatClosed, Hands::Both, &[HiHatClosed, HiHatLoose]),
        pushes: &[at(On::Strong, A), at(On::Strong, And), at(On::Back, And)],
        breath: Breath::Much,
        variety: varies(0.3, 1.0, 1.0, Arc::Groove),
        ..PLAIN
    },
    Beat {
        style: Style::TomGroove,
        kick: Fixed(&[&[STRONG, at(On::Strong, A)]]),
        snare: Fixed(&[&[BACK]]),
        lead: hand_to_hand(FloorTom, Hands::Drums(None, Piece::RackLow), &[FloorTom]),
        pushes: &[at(On::Strong, And), at(On::Back, And), at(On::Back, A)],
        variety: varies(0.0, 1.0, 0.0, Arc::Groove),
        fills: Taste::Toms,
        ..PLAIN
    },
    Beat {
        style: Style::Shuffle,
        kick: Fixed(&[&[STRONG, at(On::Back, Let)]]),
        snare: Fixed(&[&[BACK]]),
        lead: rides(HiHatClosed, Eighths, RIDE),
        feel: Feel::Triplets,
        ghosts: &[at(On::Every, Trip)],
        breath: Breath::Much,
        pushes: &[at(On::Strong, Let), at(On::Back, Trip)],
        ..PLAIN
    },
    Beat {
        style: Style::HalfTimeShuffle,
        kick: Fixed(&[&[count(1), at(On::Count(2), Let), at(On::Last, Let)]]),
        snare: Fixed(&[&[MIDDLE]]),
        lead: rides(HiHatClosed, Eighths, HAT),
        feel: Feel::Triplets,
        ghosts: &[at(On::Every, Trip)],
        pushes: &[at(On::Middle, Let), at(On::Last, Trip)],
        fills: Taste::Toms,
        breath: Breath::Much,
        foot_time: FOOT_ON_COUNTS,
        ..PLAIN
    },
    Beat {
        style: Style::TripletDoubleKick,
        kick: Fixed(&[&[Run(Triplet)]]),
        snare: Fixed(&[&[BACK]]),
        lead: rides(Ride, Quarters, RIDE_TO_CHINA),
        feel: Feel::Triplets,
        foot_time: &[],
        ghosts: &[at(On::Strong, Trip)],
        doubles: &[at(On::Back, Let)],
        variety: STEADY,
        ..PLAIN
    },
    Beat {
        style: Style::Train,
        kick: Fixed(&[&[COUNTS]]),
        snare: Fixed(&[&[BACK]]),
        lead: hand_to_hand(
            HiHatClosed,
            Hands::Drums(Some(Piece::Snare), Piece::Snare),
            &[HiHatClosed],
        ),
        pushes: &[at(On::Back, And), at(On::Strong, And)],
        variety: varies(0.0, 0.6, 0.0, Arc::Groove),
        fills: Taste::PickUp,
        ..PLAIN
    },
    Beat {
        style: Style::CymbalAndFoot,
        lead: rides(Ride, Quarters, &[Ride, RideBell]),
        pedal: Fixed(&[&[BACK]]),
        pushes: &[count(1), at(On::Middle, Sub::Beat), at(On::Back, And)],
        doubles: &[at(On::Back, And)],
        variety: varies(0.8, 0.3, 0.0, Arc::Groove),
        opens: false,
        fills: Taste::Quiet,
        ..PLAIN
    },
    Beat {
        style: Style::StopTimeHits,
        kick: Fixed(&[
            &[count(1), at(On::Count(2), And)],
            &[count(1), at(On::Middle, And), at(On::Last, And)],
        ]),
        snare: Fixed(&[
            &[at(On::Count(2), And)],
            &[at(On::Middle, And), at(On::Last, And)],
        ]),
        lead: Lead {
            figure: Figure::Roles(Fixed(&[
                &[count(1), at(On::Count(2), And)],
                &[count(1), at(On::Middle, And), at(On::Last, And)],
            ])),
            cymbal: Crash,
            ladder: &[HiHatOpen, Crash],
            hands: Hands::Lead,
        },
        pedal: Fixed(&[&[MIDDLE, at(On::Last, Sub::Beat)]]),
        pushes: &[at(On::Last, A), at(On::Last, E)],
        ghosts: &[at(On::Last, E)],
        variety: varies(0.0, 0.5, 0.3, Arc::Steady),
        fills: Taste::Space,
        ..PLAIN
    },
    Beat {
        style: Style::SlowDoomPulse,
        kick: Fixed(&[
            &[count(1), at(On::Middle, And)],
            &[count(1), at(On::Count(2), And), at(On::Middle, And)],
        ]),
        snare: Fixed(&[&[MIDDLE], &[MIDDLE]]),
        lead: rides(HiHatOpen, Quarters, &[HiHatLoose, HiHatOpen, Crash]),
        ghosts: &[at(On::Count(2), A), at(On::Last, E), at(On::Last, A)],
        pushes: &[at(On::Count(1), And), at(On::Last, And), at(On::Last, A)],
        doubles: &[at(On::Last, And)],
        joins: &[(count(1), Piece::CrashLeft)],
        variety: HEAVY,
        fills: Taste::Toms,
        crawls: true,
        foot_time: FOOT_ON_COUNTS,
        ..PLAIN
    },
    Beat {
        style: Style::FourOnTheFloor,
        kick: Fixed(&[&[COUNTS]]),
        snare: Fixed(&[&[BACK]]),
        lead: rides(HiHatOpen, Eighths, HAT_FROM_THE_TOM),
        breath: Breath::Little,
        pushes: &[at(On::Back, A), at(On::Back, And)],
        ghosts: &[at(On::Back, A), at(On::Strong, A)],
        variety: varies(1.0, 0.5, 0.7, Arc::Groove),
        ..PLAIN
    },
    Beat {
        style: Style::SideStickVerse,
        kick: Fixed(&[&[STRONG, at(On::Back, And)]]),
        snare: Fixed(&[&[BACK]]),
        lead: rides(HiHatClosed, Eighths, &[HiHatClosed, Ride]),
        snare_piece: Piece::SideStick,
        pushes: &[at(On::Strong, And), at(On::Back, A)],
        ghosts: &[at(On::Back, A), at(On::Strong, A)],
        doubles: &[at(On::Back, A)],
        variety: varies(0.8, 0.7, 0.4, Arc::Groove),
        opens: false,
        fills: Taste::Quiet,
        breath: Breath::Much,
        ..PLAIN
    },
    Beat {
        style: Style::BellOffBeats,
        kick: Fixed(&[&[STRONG, at(On::Strong, And)]]),
        snare: Fixed(&[&[BACK]]),
        lead: Lead {
            figure: Figure::Roles(Fixed(&[&[ANDS]])),
            cymbal: RideBell,
            ladder: &[RideBell],
            hands: Hands::Lead,
        },
        pedal: Fixed(&[&[BACK]]),
        ghosts: GHOSTS_BACKBEAT,
        pushes: PUSHES_ROCK,
        variety: varies(0.3, 1.0, 1.0, Arc::Groove),
        ..PLAIN
    },
    Beat {
        style: Style::SyncopatedGroove,
        kick: Fixed(&[
            &[
                count(1),
                at(On::Count(1), A),
                at(On::Count(2), And),
                at(On::Middle, And),
            ],
            &[
                count(1),
                at(On::Count(2), A),
                at(On::Middle, E),
                at(On::Last, And),
            ],
        ]),
        snare: Fixed(&[&[BACK], &[BACK]]),
        lead: rides(HiHatLoose, Quarters, HAT_TO_CHINA),
        ghosts: GHOSTS_BACKBEAT,
        breath: Breath::Much,
        pushes: &[at(On::Back, And), at(On::Middle, A), at(On::Last, A)],
        doubles: &[at(On::Back, And)],
        variety: varies(0.8, 0.7, 1.0, Arc::Groove),
        ..PLAIN
    },
    Beat {
        style: Style::FloorTomMarch,
        kick: Fixed(&[&[COUNTS]]),
        snare: Fixed(&[&[ANDS, at(On::Last, A)]]),
        lead: Lead {
            figure: Figure::Roles(Fixed(&[&[Run(Quarter)]])),
            cymbal: FloorTom,
            ladder: &[FloorTom],
            hands: Hands::Lead,
        },
        ghosts: &[at(On::Strong, A)],
        pushes: &[at(On::Strong, A), at(On::Back, A)],
        variety: varies(0.0, 0.7, 0.5, Arc::Steady),
        opens: false,
        fills: Taste::Toms,
        ..PLAIN
    },
];

impl BarSettings {
    /// The built-in beat of the style slot: what the slot plays unless the songwriter keeps a beat there.
    pub fn beat(&self) -> &'static Beat<'static> {
        beat(self.style)
    }
}
