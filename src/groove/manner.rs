//! When a stroke sounds, beyond its rank: in which version of the bar, and with what under the riding hand.

/// At which densities a stroke sounds, beside its rank. A bar whose variation leaves out or moves strokes of the
/// beat has two versions: the bare beat, which sounds at density 0 alone, and the varied one above it. Each is
/// playable by itself; a limb may have a stroke of both at one tick.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Version {
    /// In both versions.
    Both,
    /// At density 0 only: the variation leaves it out, moves it, or gives it another target.
    Bare,
    /// Above density 0 only: the variation adds it.
    Varied,
}

/// How a stroke depends on what the hand rides on at its moment, beyond its target.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Manner {
    /// It does not.
    Plain,
    /// Above density 0 the hi-hat opens for it, where *auto* rides it closed or loose.
    Opens,
    /// Above density 0 the hi-hat is loose for it, where *auto* rides it closed.
    Leans,
    /// The hi-hat foot closes what opened before, where *auto* rides the hi-hat closed.
    Closes,
    /// The hi-hat foot keeps time, where the hand rides beside the hi-hat.
    FootTime,
    /// The hi-hat foot closes under a stroke of the hand, and rests where that stroke is on an open or a loose hi-hat.
    Under,
    /// As [`Self::Under`], but where the hand rides beside the hi-hat the foot lets the halves ring, above density 0.
    FootSplash,
    /// A crash near the hand, which is in a hurry.
    Near,
    /// A crash and not a china, since the chart says so.
    Crash,
    /// The crash beside the floor toms, where a fill has ended.
    Low,
    /// An emphasised stroke while both feet kick: none is there to open the hi-hat.
    Shut,
}

impl Manner {
    /// What it is at density 0, where no hi-hat opens.
    pub(super) fn at_density_0(self) -> Self {
        match self {
            Self::Opens | Self::Leans => Self::Plain,
            Self::FootSplash => Self::Under,
            manner => manner,
        }
    }
}
