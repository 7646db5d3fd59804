//! The beats by name: the slots of the `style` parameter. What each plays stands in the vocabulary of the
//! groove.

/// Slots of the `style` parameter: fixed for ever, so that automation stays where it is.
pub const STYLE_SLOTS: u8 = 64;

/// How many of them, the last, hold beats of the songwriter's own.
pub const OWN_SLOTS: u8 = 8;

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
            None => match own_number(slot) {
                Some(number) => format!("own {number}"),
                None => free_text(slot),
            },
        }
    }

    /// The slot with a text, or with one that it had in earlier versions.
    pub fn slot_from_text(text: &str) -> Option<u8> {
        let has = |slot: &u8| {
            let was_free = usize::from(*slot) >= Self::ALL.len();
            Self::slot_text(*slot).eq_ignore_ascii_case(text)
                || (was_free && free_text(*slot).eq_ignore_ascii_case(text))
        };
        (0..STYLE_SLOTS).find(has)
    }
}

/// What a section of a song states of the `style` parameter: a beat of the vocabulary, or one of the songwriter's own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct StyleSlot(u8);

/// How many such slots there are.
const STATED: usize = Style::ALL.len() + OWN_SLOTS as usize;

impl StyleSlot {
    const SLOTS: [Self; STATED] = {
        let mut slots = [Self(0); STATED];
        let mut i = 0;
        while i < STATED {
            let free = if i < Style::ALL.len() {
                0
            } else {
                STYLE_SLOTS as usize - STATED
            };
            #[expect(clippy::cast_possible_truncation, reason = "there are 64")]
            let slot = (i + free) as u8;
            slots[i] = Self(slot);
            i += 1;
        }
        slots
    };

    const NAMES: [&str; STATED] = {
        const OWN: [&str; OWN_SLOTS as usize] = [
            "own 1", "own 2", "own 3", "own 4", "own 5", "own 6", "own 7", "own 8",
        ];
        let mut names = [""; STATED];
        let mut i = 0;
        while i < STATED {
            names[i] = if i < Style::ALL.len() {
                Style::NAMES[i]
            } else {
                OWN[i - Style::ALL.len()]
            };
            i += 1;
        }
        names
    };

    /// The slot.
    pub const fn slot(self) -> u8 {
        self.0
    }

    /// Its text: the name of the beat, or "own 3".
    pub fn name(self) -> &'static str {
        let place = Self::SLOTS.iter().position(|slot| *slot == self);
        Self::NAMES[place.unwrap_or_default()]
    }
}

impl From<Style> for StyleSlot {
    fn from(style: Style) -> Self {
        Self(style.slot())
    }
}

impl crate::choice::Choice for StyleSlot {
    const WHAT: &'static str = "beat";
    const CHOICES: &'static [Self] = &Self::SLOTS;
    const TEXTS: &'static [&'static str] = &Self::NAMES;

    fn place(self) -> u8 {
        self.0
    }

    /// The slot at this place of the parameter; a free one plays the last beat of the vocabulary.
    fn at(place: usize) -> Self {
        let slot = u8::try_from(place).unwrap_or(STYLE_SLOTS - 1);
        match own_number(slot) {
            Some(_) => Self(slot),
            None => Style::of_slot(slot).into(),
        }
    }

    fn parse(text: &str) -> Result<Self, String> {
        let unknown = || crate::choice::unknown(Self::WHAT, text, Self::TEXTS);
        let own = Self::SLOTS.into_iter().zip(Self::NAMES);
        let mut own = own.skip(Style::ALL.len());
        let named = || own.find(|(_, name)| *name == text).map(|(slot, _)| slot);
        let style = Style::from_name(text).map(Self::from);
        style.or_else(named).ok_or_else(unknown)
    }
}

impl serde::Serialize for StyleSlot {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.name())
    }
}

impl<'de> serde::Deserialize<'de> for StyleSlot {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = std::borrow::Cow::<'de, str>::deserialize(deserializer)?;
        <Self as crate::choice::Choice>::parse(&text).map_err(serde::de::Error::custom)
    }
}

/// The number of the own beat in a slot, from 1; `None` for other slots.
pub fn own_number(slot: u8) -> Option<u8> {
    let own = slot.checked_sub(STYLE_SLOTS - OWN_SLOTS)?;
    (own < OWN_SLOTS).then_some(own + 1)
}

/// The text of a free slot.
fn free_text(slot: u8) -> String {
    format!("free {}", u32::from(slot) + 1)
}
