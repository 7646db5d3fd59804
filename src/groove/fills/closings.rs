//! Closings: what the last count of a fill plays in place of one more repetition of the figure.
//!
//! A drummer who repeats one cell up to the bar line sounds like a machine: the last count opens up, doubles, or
//! stops. Common practice, no source.

use super::figures::{Blow, Family, Figure, Step, Steps, read};
use crate::time::Ticks;
use crate::time::Value::{self, Eighth, Sextuplet, Sixteenth, ThirtySecond, Triplet};

/// A cell of one count.
#[derive(Debug)]
pub(super) struct Closing {
    /// Its steps, starting with the right hand.
    pub(super) steps: Steps,
    /// The note value of its steps.
    pub(super) value: Value,
    /// Whether it suits fills of few heavy strokes.
    sparse: bool,
}

const fn closing(sticking: &'static str, value: Value) -> Closing {
    Closing {
        steps: read(sticking, 0),
        value,
        sparse: false,
    }
}

const fn sparse(sticking: &'static str, value: Value) -> Closing {
    Closing {
        steps: read(sticking, 0),
        value,
        sparse: true,
    }
}

/// Every closing. A change of this list changes which fill a take draws: value-breaking.
#[rustfmt::skip] // A line a closing is easier to read.
static CLOSINGS: [Closing; 33] = [
    // Counts of four sixteenths.
    sparse("B . B .", Sixteenth),
    closing("B . R L", Sixteenth),
    closing("lR . R L", Sixteenth),
    closing("R . R L", Sixteenth),
    closing("R L R .", Sixteenth),
    closing("R L K K", Sixteenth),
    closing("R L R K", Sixteenth),
    closing("B K K L", Sixteenth),
    sparse("K K B .", Sixteenth),
    sparse("B . K B", Sixteenth),
    closing("lR . rL .", Sixteenth),
    closing("lR L R L", Sixteenth),
    closing("R L . L", Sixteenth),
    sparse("B . . L", Sixteenth),
    closing("R L R L R L R L", ThirtySecond),
    closing("R . L . R L R L", ThirtySecond),
    closing("R L R L R . L .", ThirtySecond),
    closing("R L R . B . . .", ThirtySecond),
    closing("R L R L R L", Sextuplet),
    closing("R . . L R L", Sextuplet),
    closing("R L . B . .", Sextuplet),
    closing("R L R L K K", Sextuplet),
    closing("B . R L . L", Sextuplet),
    // Counts of three: triplets, and the eighths of compound meters.
    closing("B L R", Triplet),
    sparse("B . B", Triplet),
    closing("R L K", Triplet),
    closing("lR rL lR", Triplet),
    closing("B L R", Eighth),
    sparse("B . B", Eighth),
    closing("R L K", Eighth),
    // Six sixteenths of compound meters.
    closing("R L R . B .", Sixteenth),
    sparse("B . B . B .", Sixteenth),
    closing("R . R L R L", Sixteenth),
];

/// The numbers of all closings.
pub(super) const NUMBERS: std::ops::Range<usize> = 0..CLOSINGS.len();

/// The closing of a number; numbers beyond the last begin again.
pub(super) fn numbered(number: usize) -> Option<&'static Closing> {
    CLOSINGS.get(number % CLOSINGS.len())
}

impl Closing {
    /// The number of its steps.
    pub(super) fn len(&self) -> Ticks {
        Ticks::try_from(self.steps.len()).unwrap_or(Ticks::MAX)
    }

    /// Whether it suits a figure.
    pub(super) fn suits(&self, figure: &Figure) -> bool {
        self.sparse || figure.family != Family::Space
    }

    /// Whether it has kicks.
    pub(super) fn has_kicks(&self) -> bool {
        self.steps.have_kicks()
    }
}

/// What a listener tells apart in a step, whichever hand plays it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Sound {
    Nothing,
    Stroke,
    Flam,
    Together,
    Kick,
    Stab,
}

impl From<&Step> for Sound {
    fn from(step: &Step) -> Self {
        match step.blow {
            Blow::Rest => Self::Nothing,
            Blow::Hand { .. } if step.graces > 0 => Self::Flam,
            Blow::Hand { .. } => Self::Stroke,
            Blow::Both => Self::Together,
            Blow::Kick => Self::Kick,
            Blow::Stab | Blow::FullStab => Self::Stab,
        }
    }
}

/// Whether two rows of steps sound the same.
pub(super) fn sound_alike<'a>(
    a: impl Iterator<Item = &'a Step>,
    b: impl Iterator<Item = &'a Step>,
) -> bool {
    a.map(Sound::from).eq(b.map(Sound::from))
}
