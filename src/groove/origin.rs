//! Why a stroke is there.

/// Why the drummer plays a stroke. Whatever composes the stroke says it: nothing infers it later, and nothing in the
/// groove depends on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Origin {
    /// The beat has it: its kick, its snare, its lead hand, its hi-hat foot.
    Beat,
    /// An extra by density: a further kick, a doubling of the lead hand, a second cymbal.
    Extra,
    /// A ghost note by density.
    Ghost,
    /// The bounce of a ghost note by density: the two are a drag.
    Drag,
    /// A grace note just before a stroke: by density in a groove, of its figure in a fill.
    Grace,
    /// The hi-hat foot keeps time by density, while the hand rides beside the hi-hat.
    FootTime,
    /// The hi-hat opens, loosens or closes for it.
    HiHat,
    /// The bar's variation adds, moves or emphasises it.
    Variation,
    /// The fourth or the eighth bar turns with it.
    Turn,
    /// A stroke of a fill, with hands or feet.
    Fill,
    /// A fill lands on it: the crash, and the kick on that count.
    Landing,
    /// The crash that opens a phrase.
    PhraseStart,
    /// The crash that opens a section.
    SectionStart,
    /// A kick that carries a crash.
    UnderCrash,
    /// An attack of the guitar.
    Riff,
    /// A hit of the band.
    Stab,
    /// It sets up a hit of the band.
    SetUp,
    /// It catches a stroke of the guitar.
    Catch,
    /// The last hit of a song or a part.
    Ending,
    /// The sticks count in.
    CountIn,
    /// The songwriter: a section edited by hand, or a stroke asked for on its own.
    ByHand,
}

impl Origin {
    /// Every origin.
    pub const ALL: [Self; 21] = [
        Self::Beat,
        Self::Extra,
        Self::Ghost,
        Self::Drag,
        Self::Grace,
        Self::FootTime,
        Self::HiHat,
        Self::Variation,
        Self::Turn,
        Self::Fill,
        Self::Landing,
        Self::PhraseStart,
        Self::SectionStart,
        Self::UnderCrash,
        Self::Riff,
        Self::Stab,
        Self::SetUp,
        Self::Catch,
        Self::Ending,
        Self::CountIn,
        Self::ByHand,
    ];

    /// The reason in plain words, for display.
    pub fn reason(self) -> &'static str {
        match self {
            Self::Beat => "the beat's own",
            Self::Extra => "an extra, by density",
            Self::Ghost => "a ghost note, by density",
            Self::Drag => "a drag: the ghost note bounces, by density",
            Self::Grace => "a grace note to the stroke after it",
            Self::FootTime => "the foot keeps time, by density",
            Self::HiHat => "the hi-hat opens or closes here",
            Self::Variation => "a variation of this bar",
            Self::Turn => "a turn at the end of four bars",
            Self::Fill => "the fill",
            Self::Landing => "the fill lands here",
            Self::PhraseStart => "the crash that opens a phrase",
            Self::SectionStart => "the crash that opens the section",
            Self::UnderCrash => "a kick to carry the crash",
            Self::Riff => "the guitar's attack",
            Self::Stab => "a hit of the band",
            Self::SetUp => "sets up a hit of the band, by density",
            Self::Catch => "catches the guitar's stroke",
            Self::Ending => "the last hit",
            Self::CountIn => "the count-in",
            Self::ByHand => "your own edit",
        }
    }

    /// Whether raising density above 0 can bring in a stroke of this origin. A weak attack of the guitar waits for
    /// density as extras do, and so do the variations of a dense bar.
    pub fn may_wait_for_density(self) -> bool {
        match self {
            Self::Extra
            | Self::Ghost
            | Self::Drag
            | Self::Grace
            | Self::FootTime
            | Self::HiHat
            | Self::Variation
            | Self::SetUp
            | Self::UnderCrash
            | Self::Riff => true,
            Self::Beat
            | Self::Turn
            | Self::Fill
            | Self::Landing
            | Self::PhraseStart
            | Self::SectionStart
            | Self::Stab
            | Self::Catch
            | Self::Ending
            | Self::CountIn
            | Self::ByHand => false,
        }
    }
}
