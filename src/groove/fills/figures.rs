//! The figures of fills: stickings, most of them rudiments.
//!
//! Common practice, no source: which rudiments heavy drummers use in fills, and at which note values.

use super::paths::{
    ACCENTS, ALL_WAYS, ALONG, FLAM_ACCENTS, HITS, LOW, ON_SNARE, SNARE_FLOOR, SPLIT,
};
use crate::groove::rudiments;
use crate::time::Value::{self, Eighth, Quarter, Sextuplet, Sixteenth, ThirtySecond, Triplet};
use arrayvec::ArrayVec;

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

/// The source of a sticking.
#[derive(Debug, Clone, Copy)]
enum Sticking {
    /// The rudiment of this number, and how many steps of rest follow it.
    Rudiment(u8, usize),
    /// A sticking of our own. It uses the rudiments' letters and: `B` both hands together, `K` kick, `C` crash and
    /// kick, `D` crash, kick and snare, `.` rest.
    Own(&'static str),
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
    sticking: Sticking,
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

/// The steps of a figure.
pub(super) type Steps = ArrayVec<Step, MAX_STEPS>;

const REST: Step = Step {
    blow: Blow::Rest,
    graces: 0,
    accent: false,
};

impl Figure {
    /// Its steps, starting with the right hand.
    pub(super) fn steps(&self) -> Steps {
        let (text, rests) = match self.sticking {
            Sticking::Own(text) => (text, 0),
            Sticking::Rudiment(number, rests) => {
                let known = rudiments::numbered(number);
                (known.map_or("", |rudiment| rudiment.sticking), rests)
            }
        };
        let mut steps = read(text);
        let room = steps.remaining_capacity();
        steps.extend(std::iter::repeat_n(REST, rests.min(room)));
        steps
    }

    /// The least number of steps that identifies it: one cycle, or up to the change of hands.
    pub(super) fn least(&self, steps: &Steps) -> usize {
        let half = steps.len() / 2;
        let mirrored = |(a, b): (&Step, &Step)| match (a.blow, b.blow) {
            (Blow::Hand { lead: a }, Blow::Hand { lead: b }) => a != b,
            _ => false,
        };
        if self.lies != Lies::Repeated {
            1
        } else if steps.len() % 2 == 0 && steps[..half].iter().zip(&steps[half..]).all(mirrored) {
            half
        } else {
            steps.len()
        }
    }

    /// Whether it has neither kicks nor stabs.
    pub(super) fn is_for_hands(&self) -> bool {
        !matches!(self.sticking, Sticking::Own(text) if text.contains(['K', 'C', 'D']))
    }

    /// Whether the figure contains kicks.
    pub(super) fn has_kicks(&self) -> bool {
        matches!(self.sticking, Sticking::Own(text) if text.contains('K'))
    }
}

/// The steps of a sticking.
pub(super) fn read(text: &str) -> Steps {
    let steps = text.split(' ').filter_map(step);
    steps.take(Steps::new_const().capacity()).collect()
}

/// One word of a sticking.
fn step(word: &str) -> Option<Step> {
    let graces = word.bytes().take_while(u8::is_ascii_lowercase).count();
    let blow = match word.as_bytes().get(graces)? {
        b'R' => Blow::Hand { lead: true },
        b'L' => Blow::Hand { lead: false },
        b'B' => Blow::Both,
        b'K' => Blow::Kick,
        b'C' => Blow::Stab,
        b'D' => Blow::FullStab,
        _ => Blow::Rest,
    };
    Some(Step {
        blow,
        graces: u8::try_from(graces).unwrap_or(0),
        accent: word.ends_with('>'),
    })
}

const fn rudiment(
    number: u8,
    rests: usize,
    name: &'static str,
    family: Family,
    values: &'static [Value],
    paths: &'static [u8],
) -> Figure {
    Figure {
        name,
        family,
        sticking: Sticking::Rudiment(number, rests),
        lies: Lies::Repeated,
        values,
        paths,
    }
}

const fn own(
    sticking: &'static str,
    name: &'static str,
    family: Family,
    values: &'static [Value],
    paths: &'static [u8],
) -> Figure {
    Figure {
        name,
        family,
        sticking: Sticking::Own(sticking),
        lies: Lies::Repeated,
        values,
        paths,
    }
}

/// A break: sixteenths that end with the span.
pub(super) const fn a_break(sticking: &'static str, name: &'static str) -> Figure {
    Figure {
        name,
        family: Family::Break,
        sticking: Sticking::Own(sticking),
        lies: Lies::AtEnd,
        values: &[Sixteenth],
        paths: HITS,
    }
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
