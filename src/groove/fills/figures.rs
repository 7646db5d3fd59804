//! The figures of fills: stickings, most of them rudiments.
//!
//! Common practice, no source: which rudiments heavy drummers use in fills, and at which note values.

use super::paths::{
    ACCENTS, ALL_WAYS, ALONG, FLAM_ACCENTS, HITS, LOW, ON_SNARE, SNARE_FLOOR, SPLIT,
};
use crate::groove::rudiments;
use crate::time::Value::{self, Eighth, Quarter, Sextuplet, Sixteenth, ThirtySecond, Triplet};
use std::ops::Deref;

/// A kind of fill.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(usize)]
pub(super) enum Family {
    /// Rolls and paradiddles over the drums.
    Hands,
    /// Flams and drags.
    Flams,
    /// Hands with kicks between their strokes.
    Feet,
    /// Stabs of crash and kick, and both hands at once.
    Hits,
    /// Few heavy strokes with room around them.
    Space,
    /// A freehand roll of one hand on the snare, with stabs of the other.
    Roll,
    /// Silence with a few hits of the whole kit.
    Break,
}

impl Family {
    /// The number of families that chance draws from. The break is played only on request.
    pub(super) const DRAWN: usize = Self::Break as usize;

    pub(super) const ALL: [Self; Self::DRAWN + 1] = [
        Self::Hands,
        Self::Flams,
        Self::Feet,
        Self::Hits,
        Self::Space,
        Self::Roll,
        Self::Break,
    ];
}

/// How a sticking fills the span.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Lies {
    /// Repeated from the start.
    Repeated,
    /// Once, at the end.
    AtEnd,
}

/// A sticking, with the note values and the paths that suit it.
#[derive(Debug)]
pub(super) struct Figure {
    pub(super) name: &'static str,
    pub(super) family: Family,
    /// Its steps, starting with the right hand.
    pub(super) steps: Steps,
    /// The least number of steps that identifies it: one cycle, or up to the change of hands.
    pub(super) least: usize,
    pub(super) lies: Lies,
    /// The note values of its steps.
    pub(super) values: &'static [Value],
    /// Indices of the paths on which it differs from other figures.
    pub(super) paths: &'static [u8],
}

/// What is struck at a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Blow {
    Rest,
    /// The lead hand, or the other.
    Hand {
        lead: bool,
    },
    /// Both hands together, on the two pieces of a split path.
    Both,
    Kick,
    /// Crash and kick.
    Stab,
    /// Crash, kick and snare.
    FullStab,
}

/// One step of a figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Step {
    pub(super) blow: Blow,
    /// Grace notes of the other hand before it.
    pub(super) graces: u8,
    pub(super) accent: bool,
}

/// Most steps of a figure: those of the triple paradiddle.
pub(super) const MAX_STEPS: usize = 16;

/// The steps of a figure. The compiler reads them from the sticking, so that no bar has to.
#[derive(Debug, Clone, Copy)]
pub(super) struct Steps {
    all: [Step; MAX_STEPS],
    len: usize,
}

impl Deref for Steps {
    type Target = [Step];

    fn deref(&self) -> &[Step] {
        self.all.get(..self.len).unwrap_or(&self.all)
    }
}

impl Steps {
    /// Whether one of them is of the feet alone.
    pub(super) fn have_kicks(&self) -> bool {
        self.iter().any(|step| step.blow == Blow::Kick)
    }
}

const REST: Step = Step {
    blow: Blow::Rest,
    graces: 0,
    accent: false,
};

impl Figure {
    /// Whether it has neither kicks nor stabs.
    pub(super) fn is_for_hands(&self) -> bool {
        let foot = |step: &Step| matches!(step.blow, Blow::Kick | Blow::Stab | Blow::FullStab);
        !self.steps.iter().any(foot)
    }

    /// Whether the figure contains kicks.
    pub(super) fn has_kicks(&self) -> bool {
        self.steps.have_kicks()
    }
}

/// The steps of a sticking, and `rests` steps of rest. A sticking of our own uses the rudiments' letters and: `B` both
/// hands together, `K` kick, `C` crash and kick, `D` crash, kick and snare, `.` rest.
pub(super) const fn read(sticking: &str, rests: usize) -> Steps {
    let text = sticking.as_bytes();
    let mut steps = Steps {
        all: [REST; MAX_STEPS],
        len: 0,
    };
    let mut i = 0;
    while i < text.len() {
        let mut step = REST;
        while text[i].is_ascii_lowercase() {
            step.graces += 1;
            i += 1;
        }
        step.blow = match text[i] {
            b'R' => Blow::Hand { lead: true },
            b'L' => Blow::Hand { lead: false },
            b'B' => Blow::Both,
            b'K' => Blow::Kick,
            b'C' => Blow::Stab,
            b'D' => Blow::FullStab,
            _ => Blow::Rest,
        };
        while i < text.len() && text[i] != b' ' {
            step.accent = text[i] == b'>';
            i += 1;
        }
        steps.all[steps.len] = step;
        steps.len += 1;
        i += 1;
    }
    steps.len += rests;
    assert!(steps.len <= MAX_STEPS, "a figure has too many steps");
    steps
}

/// See [`Figure::least`].
const fn least(steps: &Steps, lies: Lies) -> usize {
    if matches!(lies, Lies::AtEnd) {
        return 1;
    }
    let half = steps.len / 2;
    let mut mirrored = steps.len.is_multiple_of(2);
    let mut i = 0;
    while i < half {
        let pair = (steps.all[i].blow, steps.all[half + i].blow);
        mirrored = mirrored
            && match pair {
                (Blow::Hand { lead: a }, Blow::Hand { lead: b }) => a != b,
                _ => false,
            };
        i += 1;
    }
    if mirrored { half } else { steps.len }
}

const fn figure(
    steps: Steps,
    lies: Lies,
    name: &'static str,
    family: Family,
    values: &'static [Value],
    paths: &'static [u8],
) -> Figure {
    Figure {
        name,
        family,
        least: least(&steps, lies),
        steps,
        lies,
        values,
        paths,
    }
}

/// A rudiment of the published list, and how many steps of rest follow it.
const fn rudiment(
    number: u8,
    rests: usize,
    name: &'static str,
    family: Family,
    values: &'static [Value],
    paths: &'static [u8],
) -> Figure {
    let rudiment = rudiments::numbered(number).expect("a rudiment of the list");
    let steps = read(rudiment.sticking, rests);
    figure(steps, Lies::Repeated, name, family, values, paths)
}

const fn own(
    sticking: &'static str,
    name: &'static str,
    family: Family,
    values: &'static [Value],
    paths: &'static [u8],
) -> Figure {
    let steps = read(sticking, 0);
    figure(steps, Lies::Repeated, name, family, values, paths)
}

/// A break: sixteenths that end with the span.
pub(super) const fn a_break(sticking: &'static str, name: &'static str) -> Figure {
    let steps = read(sticking, 0);
    figure(steps, Lies::AtEnd, name, Family::Break, &[Sixteenth], HITS)
}

use Family::{Feet, Flams, Hands, Hits, Roll, Space};

/// Every figure but the breaks. A change of this list changes which fill a take draws: value-breaking.
#[rustfmt::skip] // A line a figure is easier to read.
pub(super) static FIGURES: [Figure; 62] = [
    rudiment(1, 0, "single strokes", Hands, &[Eighth, Sixteenth, Triplet, Sextuplet, ThirtySecond], ALL_WAYS),
    rudiment(1, 0, "single strokes", Hands, &[Sixteenth, Triplet, Sextuplet], SPLIT),
    rudiment(6, 0, "double strokes", Hands, &[Sixteenth, Sextuplet, ThirtySecond], SPLIT),
    rudiment(16, 0, "paradiddles", Hands, &[Sixteenth, ThirtySecond], ACCENTS),
    rudiment(17, 0, "double paradiddles", Hands, &[Sextuplet, Sixteenth, Triplet], SPLIT),
    rudiment(18, 0, "triple paradiddle", Hands, &[Sixteenth], ACCENTS),
    rudiment(19, 0, "paradiddle-diddles", Hands, &[Sextuplet, Sixteenth], ACCENTS),
    rudiment(8, 0, "six stroke rolls", Hands, &[Sextuplet, Sixteenth, ThirtySecond], ACCENTS),
    rudiment(5, 0, "triple strokes", Hands, &[Triplet, Sextuplet, Sixteenth], SPLIT),
    rudiment(7, 3, "five stroke rolls", Hands, &[ThirtySecond, Sixteenth], ALL_WAYS),
    rudiment(9, 1, "seven stroke rolls", Hands, &[ThirtySecond, Sixteenth], SPLIT),
    rudiment(2, 2, "single stroke fours", Hands, &[Sextuplet, Sixteenth], ALONG),
    rudiment(3, 1, "single stroke sevens", Hands, &[Sixteenth, ThirtySecond], ALONG),
    own("R . R L", "broken sixteenths", Hands, &[Sixteenth], ALONG),
    own("R L R . R L . L", "stuttering sixteenths", Hands, &[Sixteenth], ALONG),
    rudiment(20, 0, "flams", Flams, &[Quarter, Eighth], ALONG),
    rudiment(21, 0, "flam accents", Flams, &[Triplet, Eighth, Sixteenth], SNARE_FLOOR),
    rudiment(22, 0, "flam taps", Flams, &[Eighth, Sixteenth], SNARE_FLOOR),
    rudiment(24, 0, "flam paradiddles", Flams, &[Sixteenth], FLAM_ACCENTS),
    rudiment(25, 0, "flammed mills", Flams, &[Sixteenth], FLAM_ACCENTS),
    rudiment(26, 0, "flam paradiddle-diddles", Flams, &[Sextuplet, Triplet], FLAM_ACCENTS),
    rudiment(28, 0, "Swiss army triplets", Flams, &[Triplet, Sixteenth], SPLIT),
    rudiment(31, 0, "drags", Flams, &[Quarter], SNARE_FLOOR),
    rudiment(32, 0, "drag taps", Flams, &[Eighth, Quarter], SNARE_FLOOR),
    rudiment(34, 0, "lesson 25", Flams, &[Triplet, Eighth], SNARE_FLOOR),
    rudiment(38, 0, "ratamacues", Flams, &[Triplet, Sixteenth], SNARE_FLOOR),
    own("R L K", "hand, hand, foot", Feet, &[Triplet, Sextuplet, Sixteenth], LOW),
    own("R L K K", "two hands, two feet", Feet, &[Sixteenth, ThirtySecond], LOW),
    own("R L R L K K", "four hands, two feet", Feet, &[Sextuplet, Sixteenth], LOW),
    own("R K L K", "hand and foot in turn", Feet, &[Sixteenth, Triplet], LOW),
    own("R L R K", "three hands, one foot", Feet, &[Sixteenth], LOW),
    own("K R L", "foot, hand, hand", Feet, &[Triplet, Sextuplet], LOW),
    own("R R L L K K", "doubles, hands and feet", Feet, &[Sextuplet, Sixteenth], SPLIT),
    own("B K K", "both hands, two feet", Feet, &[Triplet, Sextuplet, Sixteenth], SPLIT),
    own("B K K K", "both hands, three feet", Feet, &[Sixteenth], SPLIT),
    own("B . B .", "both hands", Hits, &[Sixteenth, Triplet], SPLIT),
    own("B . . B . . B .", "both hands, threes over four", Hits, &[Sixteenth], SPLIT),
    own("C . . C . . C .", "stabs, threes over four", Hits, &[Sixteenth, Eighth], ON_SNARE),
    own("D . . .", "stabs", Hits, &[Sixteenth], ON_SNARE),
    own("C . R L", "stab and answer", Hits, &[Sixteenth, Triplet], SNARE_FLOOR),
    own("C . C . R L R L", "two stabs and answer", Hits, &[Sixteenth], SNARE_FLOOR),
    own("C . . R L . C .", "stabs around the snare", Hits, &[Sixteenth], SNARE_FLOOR),
    own("C K K K", "stab and feet", Hits, &[Sixteenth], ON_SNARE),
    own("D . K K R L K K", "stab, feet, hands, feet", Hits, &[Sixteenth], SNARE_FLOOR),
    own("B . . .", "a hit on every count", Space, &[Sixteenth], SPLIT),
    own("B . . . . . . .", "one heavy hit", Space, &[Sixteenth, Eighth], SPLIT),
    own("D . . . . . B .", "hit, and hit", Space, &[Sixteenth, Eighth], SPLIT),
    own("K . . K . . B .", "two kicks and a hit", Space, &[Sixteenth, Eighth], SPLIT),
    own("D . . . K K B .", "hit, kicks, hit", Space, &[Sixteenth, Eighth], SPLIT),
    own("K K B .", "two kicks and a hit on the and", Space, &[Sixteenth], SPLIT),
    own("D . K B", "hit, kick, hit", Space, &[Sixteenth], SPLIT),
    own("D K . B . K B .", "hits around the kick", Space, &[Sixteenth], SPLIT),
    own("B . R . B . . L", "hits and pick-ups", Space, &[Sixteenth], SPLIT),
    own("R L . L R . R L", "linear sixteenths with holes", Hands, &[Sixteenth], ALONG),
    own("R L R L R . L .", "five and two", Hands, &[Sixteenth, ThirtySecond], ALONG),
    own("R K K L K K R L", "threes over four, hands and feet", Feet, &[Sixteenth], LOW),
    own("D L L L", "freehand roll under stabs", Roll, &[Sixteenth], ON_SNARE),
    own("D L D L", "freehand roll, stabs on eighths", Roll, &[Sixteenth], ON_SNARE),
    own("L L L D", "freehand roll into stabs", Roll, &[Sixteenth], ON_SNARE),
    own("D L L L L L L L", "freehand roll", Roll, &[Sixteenth], ON_SNARE),
    own("D L L D L L D L", "freehand roll, stabs in threes", Roll, &[Sixteenth], ON_SNARE),
    own("L L L L L L D L", "freehand roll, late stab", Roll, &[Sixteenth], ON_SNARE),
];
