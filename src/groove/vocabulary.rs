//! The vocabulary: every beat, as data.
//!
//! Positions are common practice, no source, but for the blast family and the D-beat: their grids
//! are written out in public tab notation (the D-beat's two versions, the blast's four grids) and
//! are compared in `tests/core/published_beats.rs`.
//!
//! The place in [`VOCABULARY`] is the slot of the `style` parameter, saved in projects: append,
//! never insert, remove or reorder.

use super::HandCymbal::{
    China, Crash, FloorTom, HiHatClosed, HiHatLoose, HiHatOpen, Ride, RideBell,
};
use super::beat::{Beat, Feel, Figure, Hands, Lead, Taste};
use super::roles::{On, Role, Sub};
use crate::kit::Piece;
use crate::settings::BarSettings;
use crate::settings::HandRate;
use crate::settings::HandRate::{Eighths, Halves, Quarters, Sixteenths};
use crate::time::Value::{Eighth, Quarter, Sixteenth, Triplet};
use Role::{Alternate, Between, Run, ThreeOverTwo};
use Sub::{A, And, E, Let, Trip};

/// Slots of the `style` parameter: fixed for ever, so that automation stays where it is.
pub const STYLE_SLOTS: u8 = 64;

/// The beat of a style slot; a free slot plays the nearest beat before it.
pub fn beat(slot: u8) -> &'static Beat {
    &VOCABULARY[usize::from(slot).min(VOCABULARY.len() - 1)]
}

/// The slot of the beat with this name.
pub fn slot(name: &str) -> Option<u8> {
    VOCABULARY
        .iter()
        .position(|beat| beat.name == name)
        .and_then(|i| u8::try_from(i).ok())
}

const fn at(on: On, sub: Sub) -> Role {
    Role::At(on, sub)
}

const fn count(n: u8) -> Role {
    at(On::Count(n), Sub::Beat)
}

const fn rides(cymbal: super::HandCymbal, rate: HandRate) -> Lead {
    Lead {
        figure: Figure::Rate(rate),
        cymbal,
        hands: Hands::Lead,
    }
}

const fn hand_to_hand(cymbal: super::HandCymbal, hands: Hands) -> Lead {
    Lead {
        figure: Figure::Rate(Sixteenths),
        cymbal,
        hands,
    }
}

const STRONG: Role = at(On::Strong, Sub::Beat);
const BACK: Role = at(On::Back, Sub::Beat);
const MIDDLE: Role = at(On::Middle, Sub::Beat);
const COUNTS: Role = at(On::Every, Sub::Beat);
const ANDS: Role = at(On::Every, And);

/// Ghost notes around a backbeat: before and after it.
const GHOSTS_BACKBEAT: &[Role] = &[
    at(On::Strong, A),
    at(On::Back, E),
    at(On::Back, A),
    at(On::Strong, And),
];
/// Kicks that push into a strong pulse or answer the backbeat.
const PUSHES_ROCK: &[Role] = &[at(On::Strong, And), at(On::Back, And), at(On::Back, A)];
/// Kicks around a half-time backbeat.
const PUSHES_HALF_TIME: &[Role] = &[
    at(On::Count(1), And),
    at(On::Count(2), And),
    at(On::Last, And),
    at(On::Last, A),
];

/// What most beats share: fill in the rest.
const PLAIN: Beat = Beat {
    name: "",
    about: "",
    kick: &[&[]],
    snare: &[&[]],
    snare_piece: Piece::Snare,
    lead: rides(HiHatClosed, Eighths),
    pedal: &[],
    feel: Feel::Straight,
    ghosts: &[],
    pushes: &[],
    opens: true,
    clamped: false,
    follows_riff: false,
    fills: Taste::Open,
};

/// Every beat, in slot order.
pub static VOCABULARY: [Beat; 33] = [
    Beat {
        name: "rock",
        about: "verse, driving, room for the vocal; move the hand to the crash for the chorus",
        kick: &[&[STRONG]],
        snare: &[&[BACK]],
        lead: rides(HiHatClosed, Quarters),
        ghosts: GHOSTS_BACKBEAT,
        pushes: PUSHES_ROCK,
        ..PLAIN
    },
    Beat {
        name: "half-time",
        about: "chorus or bridge, wide and heavy, half as fast as the riff",
        kick: &[&[count(1)]],
        snare: &[&[MIDDLE]],
        lead: rides(Crash, Quarters),
        ghosts: &[at(On::Count(2), A), at(On::Middle, A)],
        pushes: PUSHES_HALF_TIME,
        fills: Taste::Toms,
        ..PLAIN
    },
    Beat {
        name: "double-kick",
        about: "verse or chorus at full steam, an unbroken floor of kicks",
        kick: &[&[Run(Sixteenth)]],
        snare: &[&[BACK]],
        lead: rides(HiHatClosed, Quarters),
        clamped: true,
        ..PLAIN
    },
    Beat {
        name: "snare on every count",
        about: "pre-chorus or climax, pounding straight ahead",
        kick: &[&[Run(Sixteenth)]],
        snare: &[&[COUNTS]],
        lead: rides(Ride, Eighths),
        ..PLAIN
    },
    Beat {
        name: "double-kick half-time",
        about: "heavy chorus: the feet race, the hands take their time (try halves on the china)",
        kick: &[&[Run(Sixteenth)]],
        snare: &[&[MIDDLE]],
        lead: rides(Ride, Eighths),
        fills: Taste::Toms,
        ..PLAIN
    },
    Beat {
        name: "long half-time",
        about: "intro or bridge, vast: one snare every two bars",
        kick: &[&[count(1)], &[at(On::Last, And)]],
        snare: &[&[], &[count(1)]],
        lead: rides(Ride, Eighths),
        ghosts: &[at(On::Middle, A), at(On::Last, E)],
        pushes: &[at(On::Middle, And), at(On::Last, A)],
        fills: Taste::Toms,
        ..PLAIN
    },
    Beat {
        name: "skank",
        about: "fast verse, punkish, running: kick and snare in turn",
        kick: &[&[Alternate(Eighth, 0)]],
        snare: &[&[Alternate(Eighth, 1)]],
        pushes: &[at(On::Back, A)],
        fills: Taste::PickUp,
        ..PLAIN
    },
    Beat {
        name: "double-kick skank",
        about: "fast verse with the feet filled in",
        kick: &[&[Run(Sixteenth)]],
        snare: &[&[Alternate(Eighth, 1)]],
        clamped: true,
        fills: Taste::PickUp,
        ..PLAIN
    },
    Beat {
        name: "blast",
        about: "the wall: kick and cymbal together, the snare between",
        kick: &[&[Run(Eighth)]],
        snare: &[&[Between(Eighth)]],
        fills: Taste::Short,
        ..PLAIN
    },
    Beat {
        name: "snare triplets",
        about: "turnaround or tension: the snare pulls across the feet",
        kick: &[&[Run(Sixteenth)]],
        snare: &[&[ThreeOverTwo]],
        lead: rides(China, Quarters),
        ..PLAIN
    },
    Beat {
        name: "breakdown",
        about: "breakdown: the kick is the riff, the snare stands on 3 (try halves)",
        kick: &[&[
            count(1),
            at(On::Count(1), A),
            at(On::Count(2), And),
            at(On::Middle, And),
            at(On::Last, A),
        ]],
        snare: &[&[MIDDLE]],
        lead: rides(China, Quarters),
        pushes: &[at(On::Count(1), And), at(On::Last, E)],
        follows_riff: true,
        fills: Taste::Space,
        ..PLAIN
    },
    Beat {
        name: "slow breakdown",
        about: "the last breakdown: slower than slow over racing feet",
        kick: &[&[Run(Sixteenth)], &[Run(Sixteenth)]],
        snare: &[&[], &[count(1)]],
        lead: rides(Crash, Halves),
        fills: Taste::Space,
        ..PLAIN
    },
    Beat {
        name: "hammer blast",
        about: "both hands and the kick on every stroke, locked to the riff",
        kick: &[&[Run(Eighth)]],
        snare: &[&[Run(Eighth)]],
        follows_riff: true,
        fills: Taste::Short,
        ..PLAIN
    },
    Beat {
        name: "gallop",
        about: "riding verse: the kick gallops with a palm-muted riff",
        kick: &[&[Run(Eighth), at(On::Every, A)]],
        snare: &[&[BACK]],
        ..PLAIN
    },
    Beat {
        name: "reverse gallop",
        about: "riding verse the other way round: two quick, one long",
        kick: &[&[Run(Eighth), at(On::Every, E)]],
        snare: &[&[BACK]],
        lead: rides(Ride, Quarters),
        ..PLAIN
    },
    Beat {
        name: "two-step",
        about: "bouncing part for the crowd to move to, snare on the off-beats",
        kick: &[&[STRONG, at(On::Strong, A), BACK]],
        snare: &[&[ANDS]],
        lead: rides(HiHatLoose, Quarters),
        pushes: &[at(On::Back, E)],
        fills: Taste::PickUp,
        ..PLAIN
    },
    Beat {
        name: "bomb blast",
        about: "the wall with a floor: blast over unbroken kicks",
        kick: &[&[Run(Sixteenth)]],
        snare: &[&[Run(Eighth)]],
        lead: rides(Ride, Eighths),
        fills: Taste::Short,
        ..PLAIN
    },
    Beat {
        name: "gravity blast",
        about: "the densest wall: a freehand roll on the snare under the cymbal",
        kick: &[&[Run(Eighth)]],
        snare: &[&[Run(Sixteenth)]],
        lead: Lead {
            figure: Figure::Rate(Eighths),
            cymbal: HiHatClosed,
            hands: Hands::LeadAndFreehand,
        },
        fills: Taste::Short,
        ..PLAIN
    },
    Beat {
        name: "D-beat",
        about: "raw fast verse, rolling forward",
        kick: &[&[COUNTS, at(On::Back, E)]],
        snare: &[&[ANDS]],
        fills: Taste::PickUp,
        ..PLAIN
    },
    Beat {
        name: "hand-to-hand",
        about: "groove verse, sixteenths in both hands, the snare falls to the hand that is there",
        kick: &[&[STRONG]],
        snare: &[&[BACK]],
        lead: hand_to_hand(HiHatClosed, Hands::Both),
        pushes: &[at(On::Strong, A), at(On::Strong, And), at(On::Back, And)],
        ..PLAIN
    },
    Beat {
        name: "tom groove",
        about: "intro or verse without cymbals, both hands on the toms",
        kick: &[&[STRONG, at(On::Strong, A)]],
        snare: &[&[BACK]],
        lead: hand_to_hand(FloorTom, Hands::Drums(None, Piece::RackLow)),
        pushes: &[at(On::Strong, And), at(On::Back, And)],
        fills: Taste::Toms,
        ..PLAIN
    },
    Beat {
        name: "shuffle",
        about: "swaggering verse in twelve-eight, long-short on the hat",
        kick: &[&[STRONG, at(On::Back, Let)]],
        snare: &[&[BACK]],
        lead: rides(HiHatClosed, Eighths),
        feel: Feel::Triplets,
        ghosts: &[at(On::Every, Trip)],
        pushes: &[at(On::Strong, Let)],
        ..PLAIN
    },
    Beat {
        name: "half-time shuffle",
        about: "slow heavy swing, snare on 3, ghosts in the triplets",
        kick: &[&[count(1), at(On::Count(2), Let), at(On::Last, Let)]],
        snare: &[&[MIDDLE]],
        lead: rides(HiHatClosed, Eighths),
        feel: Feel::Triplets,
        ghosts: &[at(On::Every, Trip)],
        pushes: &[at(On::Middle, Let)],
        fills: Taste::Toms,
        ..PLAIN
    },
    Beat {
        name: "triplet double-kick",
        about: "rolling double-kick in triplets or twelve-eight",
        kick: &[&[Run(Triplet)]],
        snare: &[&[BACK]],
        lead: rides(Ride, Quarters),
        feel: Feel::Triplets,
        ..PLAIN
    },
    Beat {
        name: "train",
        about: "verse that keeps moving: brushing sixteenths on the snare, accents on 2 and 4",
        kick: &[&[COUNTS]],
        snare: &[&[BACK]],
        lead: hand_to_hand(HiHatClosed, Hands::Drums(Some(Piece::Snare), Piece::Snare)),
        pushes: &[at(On::Back, And)],
        fills: Taste::PickUp,
        ..PLAIN
    },
    Beat {
        name: "cymbal and foot",
        about: "quiet intro: ride and hi-hat foot, nothing else",
        lead: rides(Ride, Quarters),
        pedal: &[BACK],
        pushes: &[count(1)],
        opens: false,
        fills: Taste::Quiet,
        ..PLAIN
    },
    Beat {
        name: "stop-time hits",
        about: "accents with holes for guitar or voice: hit, wait, answer",
        kick: &[
            &[count(1), at(On::Count(2), And)],
            &[count(1), at(On::Middle, And), at(On::Last, And)],
        ],
        snare: &[
            &[at(On::Count(2), And)],
            &[at(On::Middle, And), at(On::Last, And)],
        ],
        lead: Lead {
            figure: Figure::Roles(&[
                &[count(1), at(On::Count(2), And)],
                &[count(1), at(On::Middle, And), at(On::Last, And)],
            ]),
            cymbal: Crash,
            hands: Hands::Lead,
        },
        pedal: &[MIDDLE, at(On::Last, Sub::Beat)],
        fills: Taste::Space,
        ..PLAIN
    },
    Beat {
        name: "slow doom pulse",
        about: "crawling and huge: every stroke has its own weight",
        kick: &[
            &[count(1), at(On::Middle, And)],
            &[count(1), at(On::Count(2), And), at(On::Middle, And)],
        ],
        snare: &[&[MIDDLE], &[MIDDLE]],
        lead: rides(HiHatOpen, Quarters),
        ghosts: &[at(On::Last, A)],
        pushes: &[at(On::Last, And), at(On::Last, A)],
        fills: Taste::Toms,
        ..PLAIN
    },
    Beat {
        name: "four on the floor",
        about: "steady chorus, a kick on every count",
        kick: &[&[COUNTS]],
        snare: &[&[BACK]],
        lead: rides(HiHatOpen, Eighths),
        pushes: &[at(On::Back, A)],
        ..PLAIN
    },
    Beat {
        name: "side-stick verse",
        about: "quiet verse: side stick instead of snare, open space",
        kick: &[&[STRONG, at(On::Back, And)]],
        snare: &[&[BACK]],
        snare_piece: Piece::SideStick,
        pushes: &[at(On::Strong, And)],
        opens: false,
        fills: Taste::Quiet,
        ..PLAIN
    },
    Beat {
        name: "bell off-beats",
        about: "groove chorus: the bell between the counts lifts the part",
        kick: &[&[STRONG, at(On::Strong, And)]],
        snare: &[&[BACK]],
        lead: Lead {
            figure: Figure::Roles(&[&[ANDS]]),
            cymbal: RideBell,
            hands: Hands::Lead,
        },
        pedal: &[BACK],
        ghosts: GHOSTS_BACKBEAT,
        pushes: PUSHES_ROCK,
        ..PLAIN
    },
    Beat {
        name: "syncopated groove",
        about: "mid-tempo riff section, the kick dodges the counts",
        kick: &[
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
        ],
        snare: &[&[BACK], &[BACK]],
        lead: rides(HiHatLoose, Quarters),
        ghosts: GHOSTS_BACKBEAT,
        pushes: &[at(On::Last, A)],
        ..PLAIN
    },
    Beat {
        name: "floor tom march",
        about: "build-up: floor tom and snare march towards the drop",
        kick: &[&[COUNTS]],
        snare: &[&[ANDS, at(On::Last, A)]],
        lead: Lead {
            figure: Figure::Roles(&[&[Run(Quarter)]]),
            cymbal: FloorTom,
            hands: Hands::Lead,
        },
        ghosts: &[at(On::Strong, A)],
        opens: false,
        fills: Taste::Toms,
        ..PLAIN
    },
];

impl BarSettings {
    /// The beat of the style slot.
    pub fn beat(&self) -> &'static Beat {
        beat(self.style)
    }
}
