//! The beats by name: the slots of the `style` parameter. What each plays stands in the vocabulary of the
//! groove.

/// Slots of the `style` parameter: fixed for ever, so that automation stays where it is.
pub const STYLE_SLOTS: u8 = 64;

choice! {
    /// A beat. Its place is its slot, saved in projects: append, never insert, remove or reorder.
    Style "beat" {
        /// Verse, driving, room for the vocal; move the hand to the crash for the chorus.
        Rock = "rock",
        /// Chorus or bridge, wide and heavy, half as fast as the riff.
        HalfTime = "half-time",
        /// Verse or chorus at full steam, an unbroken floor of kicks.
        DoubleKick = "double-kick",
        /// Pre-chorus or climax, pounding straight ahead.
        SnareOnEveryCount = "snare on every count",
        /// Heavy chorus: the feet race, the hands take their time (try halves on the china).
        DoubleKickHalfTime = "double-kick half-time",
        /// Intro or bridge, vast: one snare every two bars.
        LongHalfTime = "quarter-time feel" | "long half-time",
        /// Fast verse, punkish, running: kick and snare in turn.
        Skank = "skank",
        /// Fast verse with the feet filled in.
        DoubleKickSkank = "double-kick skank",
        /// The wall: kick and cymbal together, the snare between.
        Blast = "blast",
        /// Turnaround or tension: the snare pulls across the feet.
        SnareTriplets = "snare triplets",
        /// Breakdown: the kick is the riff, the snare stands on 3 (try halves).
        Breakdown = "breakdown",
        /// The last breakdown: slower than slow over racing feet.
        SlowBreakdown = "slow breakdown",
        /// Both hands and the kick on every stroke, locked to the riff.
        HammerBlast = "hammer blast",
        /// Riding verse: the kick gallops with a palm-muted riff.
        Gallop = "gallop",
        /// Riding verse the other way round: two quick, one long.
        ReverseGallop = "reverse gallop",
        /// Bouncing part for the crowd to move to, snare on the off-beats.
        TwoStep = "two-step",
        /// The wall with a floor: blast over unbroken kicks.
        BombBlast = "bomb blast",
        /// The densest wall: a freehand roll on the snare under the cymbal.
        GravityBlast = "gravity blast",
        /// Raw fast verse, rolling forward.
        DBeat = "D-beat",
        /// Groove verse, sixteenths in both hands, the snare falls to the hand that is there.
        HandToHand = "hand-to-hand",
        /// Intro or verse without cymbals, both hands on the toms.
        TomGroove = "tom groove",
        /// Swaggering verse in twelve-eight, long-short on the hat.
        Shuffle = "shuffle",
        /// Slow heavy swing, snare on 3, ghosts in the triplets.
        HalfTimeShuffle = "half-time shuffle",
        /// Rolling double-kick in triplets or twelve-eight.
        TripletDoubleKick = "triplet double-kick",
        /// Verse that keeps moving: brushing sixteenths on the snare, accents on 2 and 4.
        Train = "train",
        /// Quiet intro: ride and hi-hat foot, nothing else.
        CymbalAndFoot = "cymbal and foot",
        /// Accents with holes for guitar or voice: hit, wait, answer.
        StopTimeHits = "stop-time hits",
        /// Crawling and huge: every stroke has its own weight.
        SlowDoomPulse = "slow doom pulse",
        /// Steady chorus, a kick on every count.
        FourOnTheFloor = "four on the floor",
        /// Quiet verse: side stick instead of snare, open space.
        SideStickVerse = "side-stick verse",
        /// Groove chorus: the bell between the counts lifts the part.
        BellOffBeats = "off-beat bell" | "bell off-beats",
        /// Mid-tempo riff section, the kick dodges the counts.
        SyncopatedGroove = "syncopated groove",
        /// Build-up: floor tom and snare march towards the drop.
        FloorTomMarch = "floor tom march",
    }
}

/// One line a beat for a songwriter: where it fits.
const ABOUT: [&str; Style::ALL.len()] = [
    "verse, driving, room for the vocal; move the hand to the crash for the chorus",
    "chorus or bridge, wide and heavy, half as fast as the riff",
    "verse or chorus at full steam, an unbroken floor of kicks",
    "pre-chorus or climax, pounding straight ahead",
    "heavy chorus: the feet race, the hands take their time (try halves on the china)",
    "intro or bridge, vast: one snare every two bars",
    "fast verse, punkish, running: kick and snare in turn",
    "fast verse with the feet filled in",
    "the wall: kick and cymbal together, the snare between",
    "turnaround or tension: the snare pulls across the feet",
    "breakdown: the kick is the riff, the snare stands on 3 (try halves)",
    "the last breakdown: slower than slow over racing feet",
    "both hands and the kick on every stroke, locked to the riff",
    "riding verse: the kick gallops with a palm-muted riff",
    "riding verse the other way round: two quick, one long",
    "bouncing part for the crowd to move to, snare on the off-beats",
    "the wall with a floor: blast over unbroken kicks",
    "the densest wall: a freehand roll on the snare under the cymbal",
    "raw fast verse, rolling forward",
    "groove verse, sixteenths in both hands, the snare falls to the hand that is there",
    "intro or verse without cymbals, both hands on the toms",
    "swaggering verse in twelve-eight, long-short on the hat",
    "slow heavy swing, snare on 3, ghosts in the triplets",
    "rolling double-kick in triplets or twelve-eight",
    "verse that keeps moving: brushing sixteenths on the snare, accents on 2 and 4",
    "quiet intro: ride and hi-hat foot, nothing else",
    "accents with holes for guitar or voice: hit, wait, answer",
    "crawling and huge: every stroke has its own weight",
    "steady chorus, a kick on every count",
    "quiet verse: side stick instead of snare, open space",
    "groove chorus: the bell between the counts lifts the part",
    "mid-tempo riff section, the kick dodges the counts",
    "build-up: floor tom and snare march towards the drop",
];

impl Style {
    /// The beat of a slot; a free slot plays the nearest beat before it.
    pub const fn of_slot(slot: u8) -> Self {
        let last = Self::ALL.len() - 1;
        let slot = slot as usize;
        Self::ALL[if slot < last { slot } else { last }]
    }

    /// Its slot.
    pub const fn slot(self) -> u8 {
        self as u8
    }

    /// One line for a songwriter: where it fits.
    pub fn about(self) -> &'static str {
        ABOUT[self as usize]
    }

    /// The text of a slot; free slots are numbered from 1, so that what is shown can be typed.
    pub fn slot_text(slot: u8) -> String {
        match Self::ALL.get(usize::from(slot)) {
            Some(style) => style.name().to_owned(),
            None => format!("free {}", u32::from(slot) + 1),
        }
    }

    /// The slot with a text.
    pub fn slot_from_text(text: &str) -> Option<u8> {
        (0..STYLE_SLOTS).find(|slot| Self::slot_text(*slot).eq_ignore_ascii_case(text))
    }
}
