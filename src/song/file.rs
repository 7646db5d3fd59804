//! The song file: JSON, versioned, documented in `docs/song-file.md`.

use super::edits::EditRow;
use super::hits::HitRow;
use super::locked::Row;
use crate::choice::Choice;
use crate::groove::DRUMMER;
use crate::groove::own::Kept;
use crate::riff::attacks::RiffData;
use crate::settings::{
    Crashes, FillShape, Hand, HandRate, KickSource, Play, RiffGrid, SectionFill, SettingId,
    Settings, Start, StyleSlot, whole,
};
use crate::time::{Meter, MeterError};
use serde::{Deserialize, Serialize};
use serde_path_to_error::Segment;
use std::collections::{BTreeMap, BTreeSet};

/// The version of the song file that this program writes, and the latest that it reads.
pub const VERSION: u32 = 1;

/// A song file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SongFile {
    /// Marks the file as one of ours, and says which version of it.
    pub fourlimb_song: u32,
    /// The version of the drummer that plays it, [`DRUMMER`]: [`SongFile::parse`] reads songs of earlier ones, which
    /// this one plays too.
    #[serde(default = "one")]
    pub drummer: u32,
    /// Title; names the exported file.
    pub title: String,
    /// The take, 1..=999.
    #[serde(default = "one")]
    pub take: u32,
    /// Length of a phrase, in bars: 2, 4 or 8.
    #[serde(default = "four")]
    pub phrase_bars: u32,
    /// The bar at which the first section begins, from 1; the drummer rests before it.
    #[serde(default = "one", skip_serializing_if = "is_one")]
    pub start_bar: u32,
    /// The sections in order.
    pub sections: Vec<Section>,
    /// Lanes of automation by setting; a lane replaces what the sections say of that setting, from
    /// its first point on.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub automation: BTreeMap<SettingId, Vec<Point>>,
    /// What the feet follow; the plugin's default where left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kick_source: Option<KickSource>,
    /// The grid that the guitar's attacks are drawn to; the plugin's default where left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub riff_grid: Option<RiffGrid>,
    /// The guitar's attacks.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub riff: Option<RiffData>,
    /// The songwriter's own beats, by their numbers from 1.
    #[serde(default, skip_serializing_if = "Kept::is_empty")]
    pub own_beats: Kept,
}

macro_rules! section {
    ($($field:ident $variant:ident $type:ty;)+) => {
        /// A section. What it leaves out goes on as in the section before; the first starts from the
        /// plugin's defaults, 4/4 and 120 BPM.
        #[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
        #[serde(deny_unknown_fields)]
        pub struct Section {
            /// Its name, shown as a marker.
            pub name: String,
            /// Its length in bars, at least 1.
            pub bars: u32,
            /// Its meter.
            #[serde(default, skip_serializing_if = "Option::is_none")]
            pub meter: Option<SectionMeter>,
            /// Its tempo in quarter notes a minute.
            #[serde(default, skip_serializing_if = "Option::is_none")]
            pub bpm: Option<f64>,
            $(
                /// The setting of this name: a choice, or a level 0..=1 or a ramp.
                #[serde(default, skip_serializing_if = "Option::is_none")]
                pub $field: Option<$type>,
            )+
            /// The settings that it leaves to the panel: its host's parameters, with whatever automates them. A
            /// section after it does so, too, unless it states them.
            #[serde(default, skip_serializing_if = "BTreeSet::is_empty")]
            pub as_panel: BTreeSet<SettingId>,
            /// How it begins. This and all that follows is of this section alone.
            #[serde(default, skip_serializing_if = "Option::is_none")]
            pub start: Option<Start>,
            /// The fill into the next section.
            #[serde(default, skip_serializing_if = "Option::is_none")]
            pub fill: Option<SectionFill>,
            /// What the feet follow in it; the song's where left out.
            #[serde(default, skip_serializing_if = "Option::is_none")]
            pub kick_source: Option<KickSource>,
            /// Its own take, [`TAKES`](crate::settings::TAKES); the song's where left out.
            #[serde(default, skip_serializing_if = "Option::is_none")]
            pub take: Option<u32>,
            /// It is played as if it were the section of this number, from 1, whichever it is: nothing that
            /// comes or goes before it changes it.
            #[serde(default, skip_serializing_if = "Option::is_none")]
            pub frozen: Option<u32>,
            /// It is played as it was edited by hand: these strokes, and nothing else. At most
            /// [`super::locked::MAX_ROWS`], in any order.
            #[serde(default, skip_serializing_if = "Option::is_none")]
            pub locked: Option<Vec<Row>>,
            /// What the songwriter changed by hand of what the drummer plays: single strokes, at most
            /// [`super::locked::MAX_ROWS`], in any order.
            #[serde(default, skip_serializing_if = "Vec::is_empty")]
            pub edits: Vec<EditRow>,
            /// The hits of the band in it.
            #[serde(default, skip_serializing_if = "Vec::is_empty")]
            pub hits: Vec<HitRow>,
        }

        impl Section {
            /// What it states of the settings: each as a level, which is steady for a choice.
            pub fn stated(&self) -> impl Iterator<Item = (SettingId, Level)> {
                [$((SettingId::$variant, self.$field.map(Stated::level)),)+]
                    .into_iter()
                    .filter_map(|(setting, level)| Some((setting, level?)))
            }

            /// States what these settings say.
            pub(super) fn state(&mut self, settings: &Settings) {
                self.as_panel.clear();
                $(self.$field = Some(Stated::of(settings.get(SettingId::$variant)));)+
            }

            /// States a level, or a choice by its steady place.
            pub fn set(&mut self, setting: SettingId, level: Level) {
                self.as_panel.remove(&setting);
                match setting {
                    $(SettingId::$variant => self.$field = Some(Stated::of_level(level)),)+
                    _ => {}
                }
            }

            /// Leaves a setting to the panel.
            pub fn leave(&mut self, setting: SettingId) {
                match setting {
                    $(SettingId::$variant => self.$field = None,)+
                    _ => return,
                }
                self.as_panel.insert(setting);
            }

            /// Takes over what it leaves out from the section before; a ramp goes on as it ended.
            pub(super) fn inherit(&mut self, before: &Self) {
                self.meter = self.meter.or(before.meter);
                self.bpm = self.bpm.or(before.bpm);
                $(if self.$field.is_none() && !self.as_panel.contains(&SettingId::$variant) {
                    self.$field = before.$field.map(Stated::end);
                    if before.as_panel.contains(&SettingId::$variant) {
                        self.as_panel.insert(SettingId::$variant);
                    }
                })+
            }
        }
    };
}

crate::settings::section_settings!(section);

/// What a section can state of a setting.
trait Stated: Copy {
    /// As a level; a choice by its place.
    fn level(self) -> Level;

    /// A steady value.
    fn of(value: f32) -> Self;

    /// What a level says: all of it, or where it begins.
    fn of_level(level: Level) -> Self;

    /// What it is in the end.
    fn end(self) -> Self;
}

impl Stated for Level {
    fn level(self) -> Level {
        self
    }

    fn of(value: f32) -> Self {
        Self::Steady(value)
    }

    fn of_level(level: Level) -> Self {
        level
    }

    fn end(self) -> Self {
        Self::Steady(self.ends().1)
    }
}

impl<T: Choice> Stated for T {
    fn level(self) -> Level {
        Level::Steady(f32::from(self.place()))
    }

    fn of(value: f32) -> Self {
        T::at(usize::from(whole(value)))
    }

    fn of_level(level: Level) -> Self {
        Self::of(level.ends().0)
    }

    fn end(self) -> Self {
        self
    }
}

/// A section's meter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize)]
#[serde(try_from = "String", into = "String")]
pub enum SectionMeter {
    /// That of the recording program.
    Host,
    /// Its own.
    Own(Meter),
}

/// The text of [`SectionMeter::Host`].
const HOST: &str = "host";

impl TryFrom<String> for SectionMeter {
    type Error = MeterError;

    fn try_from(text: String) -> Result<Self, MeterError> {
        if text == HOST {
            return Ok(Self::Host);
        }
        text.parse().map(Self::Own)
    }
}

impl From<SectionMeter> for String {
    fn from(meter: SectionMeter) -> Self {
        match meter {
            SectionMeter::Host => HOST.to_owned(),
            SectionMeter::Own(meter) => meter.to_string(),
        }
    }
}

/// A level that stays, or one that ramps over the section.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(
    untagged,
    deny_unknown_fields,
    expecting = "use a number from 0 to 1, or a ramp: {\"from\": 0.2, \"to\": 0.8}"
)]
pub enum Level {
    /// One value throughout.
    Steady(f32),
    /// From one value at the section's start to another at its end.
    Ramp {
        /// At the start.
        from: f32,
        /// At the end.
        to: f32,
    },
}

impl Level {
    /// The level with these ends.
    pub fn between(from: f32, to: f32) -> Self {
        if from == to {
            Self::Steady(from)
        } else {
            Self::Ramp { from, to }
        }
    }

    /// Where it begins, and where it ends.
    pub fn ends(self) -> (f32, f32) {
        match self {
            Self::Steady(value) => (value, value),
            Self::Ramp { from, to } => (from, to),
        }
    }
}

/// A point of a lane.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Point {
    /// The bar, from 1.
    pub bar: u32,
    /// The count in the bar, from 1.
    #[serde(default = "one")]
    pub count: u32,
    /// A number for levels, a name for choices.
    pub value: PointValue,
    /// Levels glide to the next point unless they hold.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub hold: bool,
}

/// The value of a point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged, expecting = "use a number from 0 to 1, or a name in quotes")]
pub enum PointValue {
    /// Of a level.
    Number(f32),
    /// Of a choice.
    Name(String),
}

fn one() -> u32 {
    1
}

fn four() -> u32 {
    4
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde asks for it")]
fn is_one(number: &u32) -> bool {
    *number == 1
}

/// What is wrong with a song file: where, and what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{place}: {problem}")]
pub struct SongError {
    /// The field, as a path: `sections[2].style`.
    pub place: String,
    /// The problem and its remedy.
    pub problem: String,
}

impl SongError {
    pub(super) fn new(place: impl Into<String>, problem: impl Into<String>) -> Self {
        Self {
            place: place.into(),
            problem: problem.into(),
        }
    }
}

impl SongFile {
    /// The demo song, of our own invention.
    pub const DEMO: &'static str = include_str!("demo.json");

    /// Reads a song file.
    ///
    /// # Errors
    /// [`SongError`] names the field and the line that can't be read. Whether names and numbers
    /// make a song is checked by [`super::Timeline::new`].
    pub fn parse(json: &str) -> Result<Self, SongError> {
        #[derive(Deserialize)]
        struct Head {
            fourlimb_song: Option<u32>,
            #[serde(default = "one")]
            drummer: u32,
        }
        // Some editors put a byte order mark before the text.
        let json = json.trim_start_matches('\u{feff}');
        let no_json = |problem: &str| {
            let like =
                format!("a song file is JSON that starts with {{\"fourlimb_song\": {VERSION}");
            SongError::new("song file", format!("{problem}: {like}"))
        };
        if !json.trim_start().starts_with('{') {
            return Err(no_json("the text is no JSON object"));
        }
        if let Ok(Head {
            fourlimb_song,
            drummer,
        }) = serde_json::from_str(json)
        {
            match fourlimb_song {
                Some(1..=VERSION) => {}
                Some(version) => {
                    return Err(SongError::new(
                        "fourlimb_song",
                        format!(
                            "this file is version {version}, and this program reads up to version \
                             {VERSION}: open it with a newer Fourlimb"
                        ),
                    ));
                }
                None => {
                    return Err(SongError::new(
                        "fourlimb_song",
                        format!("missing: a song file starts with \"fourlimb_song\": {VERSION}"),
                    ));
                }
            }
            if drummer > DRUMMER {
                return Err(SongError::new(
                    "drummer",
                    format!(
                        "a newer Fourlimb made this song, for its drummer {drummer}, and this program has up to \
                         drummer {DRUMMER}: open it with the newer one"
                    ),
                ));
            }
        }
        let reader = &mut serde_json::Deserializer::from_str(json);
        let song: Self = serde_path_to_error::deserialize(&mut *reader).map_err(|error| {
            let inner = error.inner();
            if inner.is_syntax() || inner.is_eof() {
                return no_json(&format!("the text is not JSON ({inner})"));
            }
            let place = match error.path().to_string() {
                place if place == "." => "song file".to_owned(),
                place => format!("{place}{}", section_name(json, error.path())),
            };
            SongError::new(place, problem(inner))
        })?;
        // What follows would be lost when the song is written again.
        let end = reader.end();
        end.map_err(|error| no_json(&format!("something follows the song ({error})")))?;
        Ok(Self {
            drummer: DRUMMER,
            ..song
        })
    }
}

/// What the reader says, without the line and column, which the place makes needless.
fn problem(error: &serde_json::Error) -> String {
    let said = error.to_string();
    let at = format!(" at line {} column {}", error.line(), error.column());
    said.trim_end_matches(&at).to_owned()
}

/// The name of the section that a path leads into, for people: ` ("Verse")`; nothing where there is none.
fn section_name(json: &str, path: &serde_path_to_error::Path) -> String {
    let mut segments = path.iter();
    let (Some(Segment::Map { key }), Some(Segment::Seq { index })) =
        (segments.next(), segments.next())
    else {
        return String::new();
    };
    let json: serde_json::Value = serde_json::from_str(json).unwrap_or_default();
    let name = json[key][index]["name"].as_str();
    named(name.unwrap_or_default())
}

/// A section's name behind its place, for people: ` ("Verse")`; nothing where it has none.
pub(super) fn named(name: &str) -> String {
    match name {
        "" => String::new(),
        name => format!(" (\"{name}\")"),
    }
}
