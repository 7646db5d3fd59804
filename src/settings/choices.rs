//! The choices that settings are made of, each with its frozen order and its texts.

choice! {
    /// Which cymbal, or tom, the lead hand rides on.
    Hand "hand cymbal" {
        /// The beat's own cymbal around middle intensity; lesser below, greater above.
        Auto = "auto",
        /// Floor tom.
        FloorTom = "floor tom",
        /// Splash.
        Splash = "splash",
        /// Hi-hat, closed.
        HiHatClosed = "hi-hat closed",
        /// Hi-hat, loose.
        HiHatLoose = "hi-hat loose",
        /// Hi-hat, open.
        HiHatOpen = "hi-hat open",
        /// Ride, bow.
        Ride = "ride",
        /// Ride, bell.
        RideBell = "ride bell",
        /// Crash.
        Crash = "crash",
        /// China.
        China = "china",
    }
}

choice! {
    /// How often the lead hand strikes.
    HandRate "hand rate" {
        /// As the beat has it.
        Auto = "auto",
        /// Every other count: 1 and 3.
        Halves = "halves",
        /// Every quarter; every count where counts are not quarters.
        Quarters = "quarters",
        /// Every eighth; in a beat felt in triplets, the shuffle.
        Eighths = "eighths",
        /// Every sixteenth; in a beat felt in triplets, every triplet.
        Sixteenths = "sixteenths",
    }
}

choice! {
    /// How many bars make a phrase: its first is opened with a crash, its last may end in a fill.
    Phrase "phrase" {
        /// Two bars.
        Two = "2 bars",
        /// Four bars.
        Four = "4 bars",
        /// Eight bars.
        Eight = "8 bars",
    }
}

impl Phrase {
    /// Its length in bars.
    pub fn bars(self) -> i64 {
        match self {
            Self::Two => 2,
            Self::Four => 4,
            Self::Eight => 8,
        }
    }
}

choice! {
    /// What fills are like.
    FillShape "fill shape" {
        /// As suits the beat.
        Auto = "auto",
        /// One or two counts.
        Short = "short",
        /// Four counts or the whole bar; sometimes two bars of a slow song.
        Long = "long",
        /// Silence and a flam.
        Break = "break",
    }
}

choice! {
    /// What the drummer does in a bar.
    Play "thing to play" {
        /// Plays the beat.
        Beat = "beat",
        /// Counts in with the sticks, four counts.
        CountIn = "count-in",
        /// Counts in with the sticks, the last two counts.
        ShortCountIn = "short count-in",
        /// Strikes a last time on the 1, and lets it ring.
        Ending = "ending",
        /// Rests.
        Rest = "rest",
    }
}

choice! {
    /// When a change of style or hand rate is taken up.
    SwitchAt "place to switch at" {
        /// At the next bar line.
        Bar = "bar",
        /// At the next count.
        Count = "count",
    }
}

choice! {
    /// How good the drummer is: how fast a limb may be.
    Player "player" {
        /// Somebody who plays on weekends: one hand at the lower edge of the review figure.
        Everyday = "everyday",
        /// Trained: between the experts at 400 a minute and the fastest.
        Skilled = "skilled",
        /// What extreme styles are played with.
        Extreme = "extreme",
        /// No speed limit; still two hands and two feet.
        Machine = "machine",
    }
}

choice! {
    /// What the feet follow.
    KickSource "kick source" {
        /// The beat; beats that follow the riff follow it where it is known.
        Beat = "beat",
        /// The riff where it is known, whatever the beat.
        Riff = "riff",
        /// Both: the riff is added to the beat's kick.
        Both = "both",
    }
}

choice! {
    /// The grid that the guitar's attacks are drawn to.
    RiffGrid "riff grid" {
        /// None: kicks sound where the guitar was struck.
        Off = "off",
        /// Sixteenths.
        Sixteenths = "sixteenths",
        /// Triplets of sixteenths: six to a quarter.
        Triplets = "triplets",
        /// Thirty-seconds.
        ThirtySeconds = "thirty-seconds",
        /// The nearer of sixteenths and triplets.
        SixteenthsAndTriplets = "sixteenths and triplets",
    }
}

choice! {
    /// How a section begins.
    Start "start" {
        /// As phrases begin: with a crash where the intensity asks for one, or a fill leads there.
        Auto = "auto",
        /// With a crash.
        Crash = "crash",
        /// With the china.
        China = "china",
        /// With the beat alone.
        Nothing = "no crash" | "nothing",
        /// As phrases begin, after four counts of the sticks in the bar before.
        CountIn = "count-in",
    }
}

choice! {
    /// The fill that leads into the next section.
    SectionFill "fill" {
        /// As chance has it.
        Auto = "auto",
        /// None.
        None = "none",
        /// One or two counts.
        Short = "short",
        /// Four counts or the whole bar; sometimes two bars of a slow song.
        Long = "long",
        /// Silence and a flam.
        Break = "break",
    }
}

choice! {
    /// What is captured.
    Listen "thing to listen to" {
        /// Nothing.
        Off = "off",
        /// Notes that come in.
        Notes = "notes",
        /// The sound of the side-chain.
        SideChain = "side-chain",
    }
}

choice! {
    /// Where the drummer crashes without a fill. A fill lands on its crash whatever is chosen, and a section that
    /// states its start begins with it.
    Crashes "place to crash" {
        /// Where phrases and sections begin.
        Phrase = "as the phrase",
        /// Where sections begin, and nowhere else; without a chart, where the song does.
        Section = "section only",
        /// Nowhere.
        None = "none",
    }
}
