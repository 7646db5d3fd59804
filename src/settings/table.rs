//! The table of settings: every one of them in a row.
//!
//! Host parameters, controls, automation lanes, section fields, their ranges, defaults, texts and parsers come
//! from here. A new setting needs its row, its field in [`Settings`], its meaning in the groove, and its place
//! on the screen.

use super::kind::{Kind, SettingValue};
use super::{LEVELS_DB, REVISIONS, STYLE_SLOTS, SWINGS, Settings, TAKES};

/// Calls `$with!` with the rows of the table, in the order of the host's parameters: a row may be appended, and
/// nothing else may change, since hosts save ids and places (`tests/plugin/frozen.txt`).
///
/// A row: field of the parameters, name of the [`SettingId`], the parameter's id, its kind, its place in
/// [`Settings`], its name, where it may be set, and what it does.
macro_rules! settings_table {
    ($with:ident) => {
        $with! {
            style Style "style" slot (bar_settings.style) "Beat" Section
                "What kick, snare and the riding hand do.";
            intensity Intensity "intensity" level (stroke_settings.intensity) "Intensity" Section
                "How hard everything is hit. With the hand cymbal on auto, also which cymbal: more \
                 intensity, bigger cymbal.";
            hand Hand "hand" choice (stroke_settings.hand) "Hand cymbal" Section
                "What the leading hand rides on. Auto lets intensity choose, around the cymbal that \
                 suits the beat.";
            density Density "density" level (stroke_settings.density) "Density" Section
                "How many extra strokes: ghost notes on the snare, more kicks.";
            accent Accent "accent" level (stroke_settings.accent) "Accent contrast" Section
                "How far loud and soft strokes lie apart. The average stays.";
            fill_chance FillChance "fill_chance" level (bar_settings.fill_chance) "Fill chance" Section
                "How often a phrase ends in a fill.";
            hand_rate HandRate "hand_rate" choice (bar_settings.hand_rate) "Hand rate" Section
                "How often the leading hand strikes. Auto is what the beat does.";
            phrase Phrase "phrase" choice (bar_settings.phrase) "Phrase" Host
                "How many bars make a phrase. A crash opens it, a fill may end it.";
            take Take "take" take (bar_settings.take) "Take" Host
                "Which of the drummer's takes. The same take and settings give the same notes, always.";
            switch_at SwitchAt "switch_at" choice (switch_at) "Switch at" Host
                "When a new beat or hand rate is taken up: at the next bar line, or at the next count.";
            bypass Bypass "bypass" bypass (bypass) "Bypass" Host
                "The drummer rests while the song goes on.";
            feel Feel "feel" level (bar_settings.feel) "Looseness" Host
                "How far strokes stray from the grid, as a person's do. 0% is the exact grid.";
            swing Swing "swing" swing (bar_settings.swing) "Swing" Host
                "How long the first of two eighths is, or of two sixteenths where the beat has them. \
                 50% is straight, 66.7% the triplet.";
            player Player "player" choice (bar_settings.player) "Chops" Host
                "How fast hands and feet may be. What is too fast falls to the next slower figure. A \
                 machine has no speed limit, but still two hands and two feet.";
            fill_now FillNow "fill_now" switch (fill_now) "Fill now" Lane
                "A fill from the next count on, for as long as it is held, to the end of the bar; it lands \
                 on the 1.";
            fill_shape FillShape "fill_shape" choice (bar_settings.fill_shape) "Fill shape" Section
                "What fills are like. Auto is what suits the style; a break is silence and one flam.";
            play Play "play" choice (bar_settings.play) "Play" Section
                "What the drummer does from the next bar line on. An ending is a last hit that rings: \
                 after it, choose rest.";
            preview Preview "preview" switch (preview) "Preview" Host
                "The built-in sound. Switch it off once the notes go to a drum sampler.";
            preview_level PreviewLevel "preview_level" decibels (preview_level_db) "Preview level" Host
                "How loud the built-in sound is. Start quiet: drums through headphones get loud quickly.";
            kick_source KickSource "kick_source" choice (bar_settings.kick_source) "Kick source" Host
                "What the feet follow. Beat: its own kick; breakdown and hammer blast follow the \
                 riff where it is known. Riff: the guitar, whatever the beat. Both: the guitar's kicks \
                 on top of the beat's.";
            listen Listen "listen" choice (listen) "Listen" Host
                "What is captured as the riff while the song rolls: notes sent to this plugin, or the \
                 guitar on its side-chain. The next time round the kick follows.";
            sensitivity Sensitivity "sensitivity" level (sensitivity) "Sensitivity" Host
                "How readily a change in the guitar's sound counts as a stroke. Raise it where strokes \
                 are missed, lower it where there are too many.";
            riff_grid RiffGrid "riff_grid" choice (bar_settings.riff_grid) "Riff grid" Host
                "Where the kicks that follow the riff lie. Off keeps them where the guitar was struck.";
            revision Revision "revision" revision (revision) "Revision" Hidden
                "Tells the host that the project has changed.";
            follow_chart FollowChart "follow_chart" switch (follow_chart) "Play the chart" Host
                "The chart's section at the playhead sets beat, hand and levels. Intensity, density and accent \
                 then move the chart's up or down: at 50% they leave them as they are.";
            crashes Crashes "crashes" choice (bar_settings.crashes) "Crashes" Section
                "Where crashes stand without a fill: as the phrase, at the start of a section only, or nowhere. \
                 Fills still land on theirs.";
            preview_room PreviewRoom "preview_room" level (preview_room) "Preview room" Host
                "How much of the room the built-in sound has, from dry to roomy. 0% costs nothing.";
            catch Catch "catch" level (bar_settings.catch) "Catch" Section
                "How far the lead hand follows the guitar's strongest strokes with crashes, where the riff is known. \
                 0%: not at all.";
        }
    };
}

#[cfg_attr(
    not(feature = "plugin"),
    expect(unused_imports, reason = "the shell makes parameters of it")
)]
pub(crate) use settings_table;

/// Calls `$with!` with the settings that a section may state, in the order of the song file: field, name of the
/// [`SettingId`], and the type of what is stated.
macro_rules! section_settings {
    ($with:ident) => {
        $with! {
            style Style StyleSlot;
            hand Hand Hand;
            hand_rate HandRate HandRate;
            intensity Intensity Level;
            density Density Level;
            accent Accent Level;
            fill_chance FillChance Level;
            fill_shape FillShape FillShape;
            crashes Crashes Crashes;
            catch Catch Level;
            play Play Play;
        }
    };
}

pub(crate) use section_settings;

/// Where a setting may be set, beside the host's parameter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scope {
    /// Nowhere else.
    Host,
    /// In an automation lane of a song file.
    Lane,
    /// In a section of a song, and in a lane.
    Section,
    /// In no place that people see.
    Hidden,
}

/// A row of the table.
#[derive(Debug, Clone, Copy)]
pub struct Setting {
    /// The parameter's id, and the name in song files. Forever.
    pub id: &'static str,
    /// Its name, as the host and the editor show it.
    pub name: &'static str,
    /// What it does, in plain words.
    pub hint: &'static str,
    /// Its range and its texts.
    pub kind: Kind,
    /// Where it may be set.
    pub scope: Scope,
}

macro_rules! kind {
    (slot $($path:tt)+) => { Kind::Slot { slots: STYLE_SLOTS } };
    (level $($path:tt)+) => { Kind::Percent { min: 0.0, max: 1.0, digits: 0 } };
    (swing $($path:tt)+) => { Kind::Percent { min: SWINGS.0, max: SWINGS.1, digits: 1 } };
    (decibels $($path:tt)+) => { Kind::Decibels { min: LEVELS_DB.0, max: LEVELS_DB.1 } };
    (take $($path:tt)+) => { Kind::Whole { min: TAKES.0, max: TAKES.1 } };
    (revision $($path:tt)+) => { Kind::Whole { min: 0, max: REVISIONS } };
    (switch $($path:tt)+) => { Kind::Switch { texts: ["off", "on"] } };
    (bypass $($path:tt)+) => { Kind::Switch { texts: ["Not Bypassed", "Bypassed"] } };
    (choice $($path:tt)+) => { Kind::Choice { texts: texts(|settings| settings.$($path)+) } };
}

/// The texts of the choice that a place in the settings holds.
const fn texts<T: SettingValue>(_: fn(&Settings) -> T) -> &'static [&'static str] {
    T::TEXTS
}

macro_rules! make_table {
    ($($field:ident $variant:ident $id:tt $kind:ident ($($path:tt)+) $name:literal $scope:ident $hint:literal;)+) => {
        /// Names a setting.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum SettingId {
            $(
                #[doc = $hint]
                $variant,
            )+
        }

        /// The rows, in the order of [`SettingId`].
        const TABLE: &[Setting] = &[
            $(Setting {
                id: $id,
                name: $name,
                hint: $hint,
                kind: kind!($kind $($path)+),
                scope: Scope::$scope,
            },)+
        ];

        impl SettingId {
            /// Every setting, in the order of the host's parameters.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)+];
        }

        impl Settings {
            /// A setting as a number: 0..=1 for a level, 0.5..=0.75 for swing, dB for the preview's level, the
            /// place in its list for a choice, the number for the take, 0 or 1 for a switch.
            pub fn get(&self, setting: SettingId) -> f32 {
                match setting {
                    $(SettingId::$variant => self.$($path)+.number(),)+
                }
            }

            /// Gives a setting a value in the same terms; a place beyond a list is its last.
            pub fn set(&mut self, setting: SettingId, value: f32) {
                match setting {
                    $(SettingId::$variant => self.$($path)+ = SettingValue::from_number(value),)+
                }
            }
        }
    };
}

settings_table!(make_table);

impl SettingId {
    /// Its row.
    pub fn row(self) -> &'static Setting {
        &TABLE[self as usize]
    }

    /// Every setting that people see.
    pub fn shown() -> impl Iterator<Item = Self> {
        let all = Self::ALL.iter().copied();
        all.filter(|setting| setting.row().scope != Scope::Hidden)
    }

    /// Its name, as the host and the editor show it.
    pub fn name(self) -> &'static str {
        self.row().name
    }

    /// What it does, in plain words.
    pub fn hint(self) -> &'static str {
        self.row().hint
    }

    /// Its range and its texts.
    pub fn kind(self) -> Kind {
        self.row().kind
    }

    /// Its value in a new project, in the terms of [`Settings::get`].
    pub fn default_value(self) -> f32 {
        Settings::default().get(self)
    }

    /// Whether a section of a song may state it.
    pub fn is_of_section(self) -> bool {
        self.row().scope == Scope::Section
    }

    /// Whether a song's automation may set it.
    pub fn is_of_lane(self) -> bool {
        matches!(self.row().scope, Scope::Section | Scope::Lane)
    }

    /// The setting with this id that a song's automation may set.
    ///
    /// # Errors
    /// A sentence that names those there are.
    pub fn lane(id: &str) -> Result<Self, String> {
        let lanes = || Self::ALL.iter().filter(|lane| lane.is_of_lane());
        let ids: Vec<_> = lanes().map(|lane| lane.row().id).collect();
        let found = lanes().find(|lane| lane.row().id == id).copied();
        found.ok_or_else(|| crate::choice::unknown("lane", id, &ids))
    }
}

impl serde::Serialize for SettingId {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.row().id)
    }
}

/// Reads the lanes of a song file, by their ids.
impl<'de> serde::Deserialize<'de> for SettingId {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let id = std::borrow::Cow::<'de, str>::deserialize(deserializer)?;
        Self::lane(&id).map_err(serde::de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_setting_is_set_as_it_is_got() {
        for &setting in SettingId::ALL {
            let mut settings = Settings::default();
            let (min, max) = setting.kind().range();
            for value in [min, max] {
                settings.set(setting, value);
                assert_eq!(settings.get(setting), value, "{setting:?}");
            }
            settings.set(setting, setting.default_value());
            assert_eq!(settings, Settings::default(), "{setting:?}");
        }
    }

    #[test]
    fn what_is_shown_is_read_and_nonsense_is_not() {
        for &setting in SettingId::ALL {
            let kind = setting.kind();
            let (min, max) = kind.range();
            for step in 0..=100_u8 {
                let value = kind.nearest(min + (max - min) * f32::from(step) / 100.0);
                let text = kind.text(value);
                let read = kind.parse(&text);
                assert_eq!(read.map(|read| kind.text(read)), Some(text), "{setting:?}");
            }
            for text in ["nan", "inf", "", "no such thing"] {
                assert_eq!(kind.parse(text), None, "{setting:?} {text}");
            }
        }
    }
}
