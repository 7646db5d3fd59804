//! One setting that can change in a song: its lane, its value, and how it is read from text.

use super::file::Lane;
use crate::groove::vocabulary;
use crate::settings::{FillShape, Hand, HandRate, Play, Settings};
use crate::time::Ticks;

/// A change of one setting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Change {
    /// From this tick on.
    pub at: Ticks,
    /// The setting and its new value.
    pub to: Setting,
}

/// One setting and its value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Setting {
    /// Slot in the vocabulary.
    Style(u8),
    /// 0..=1.
    Intensity(f32),
    /// The hand cymbal.
    Hand(Hand),
    /// The hand rate.
    HandRate(HandRate),
    /// 0..=1.
    Density(f32),
    /// 0..=1.
    Accent(f32),
    /// 0..=1.
    FillChance(f32),
    /// What fills are like.
    FillShape(FillShape),
    /// Whether a fill is called.
    FillNow(bool),
    /// What is played.
    Play(Play),
}

impl Change {
    /// Applies the change.
    pub fn apply(&self, settings: &mut Settings) {
        match self.to {
            Setting::Style(slot) => settings.bar_settings.style = slot,
            Setting::Intensity(level) => settings.stroke_settings.intensity = level,
            Setting::Hand(hand) => settings.stroke_settings.hand = hand,
            Setting::HandRate(rate) => settings.bar_settings.hand_rate = rate,
            Setting::Density(level) => settings.stroke_settings.density = level,
            Setting::Accent(level) => settings.stroke_settings.accent = level,
            Setting::FillChance(level) => settings.bar_settings.fill_chance = level,
            Setting::FillShape(shape) => settings.bar_settings.fill_shape = shape,
            Setting::FillNow(on) => settings.fill_now = on,
            Setting::Play(play) => settings.bar_settings.play = play,
        }
    }
}

pub(super) fn in_range(value: f32) -> Result<(), String> {
    if (0.0..=1.0).contains(&value) {
        Ok(())
    } else {
        Err(format!("{value} is out of range: use a number from 0 to 1"))
    }
}

/// What is wrong with a name that there is not.
pub(super) fn unknown(what: &str, name: &str, names: &[&str]) -> String {
    let names = names.join(", ");
    format!("there is no {what} \"{name}\": use one of {names}")
}

pub(super) fn choice(lane: Lane, name: &str) -> Result<Setting, String> {
    let unknown = |what: &str, names: &[&str]| unknown(what, name, names);
    match lane {
        Lane::Hand => Hand::from_name(name)
            .map(Setting::Hand)
            .ok_or_else(|| unknown("hand cymbal", Hand::NAMES)),
        Lane::HandRate => HandRate::from_name(name)
            .map(Setting::HandRate)
            .ok_or_else(|| unknown("hand rate", HandRate::NAMES)),
        Lane::FillShape => FillShape::from_name(name)
            .map(Setting::FillShape)
            .ok_or_else(|| unknown("fill shape", FillShape::NAMES)),
        Lane::FillNow => ["off", "on"]
            .iter()
            .position(|text| *text == name)
            .map(|i| Setting::FillNow(i == 1))
            .ok_or_else(|| unknown("state of fill_now", &["off", "on"])),
        Lane::Play => Play::from_name(name)
            .map(Setting::Play)
            .ok_or_else(|| unknown("thing to play", Play::NAMES)),
        _ => vocabulary::slot(name).map(Setting::Style).ok_or_else(|| {
            let names: Vec<_> = vocabulary::VOCABULARY
                .iter()
                .map(|beat| beat.name)
                .collect();
            unknown("beat", &names)
        }),
    }
}

impl Lane {
    /// Its id: that of the parameter, and its name in the file.
    pub fn id(self) -> &'static str {
        match self {
            Self::Style => "style",
            Self::Intensity => "intensity",
            Self::Hand => "hand",
            Self::HandRate => "hand_rate",
            Self::Density => "density",
            Self::Accent => "accent",
            Self::FillChance => "fill_chance",
            Self::FillShape => "fill_shape",
            Self::FillNow => "fill_now",
            Self::Play => "play",
        }
    }

    pub(super) fn is_level(self) -> bool {
        matches!(
            self,
            Self::Intensity | Self::Density | Self::Accent | Self::FillChance
        )
    }

    pub(super) fn level(self, value: f32) -> Setting {
        match self {
            Self::Density => Setting::Density(value),
            Self::Accent => Setting::Accent(value),
            Self::FillChance => Setting::FillChance(value),
            _ => Setting::Intensity(value),
        }
    }
}

impl Setting {
    /// The lane that it belongs to.
    pub fn lane(&self) -> Lane {
        match self {
            Self::Style(_) => Lane::Style,
            Self::Intensity(_) => Lane::Intensity,
            Self::Hand(_) => Lane::Hand,
            Self::HandRate(_) => Lane::HandRate,
            Self::Density(_) => Lane::Density,
            Self::Accent(_) => Lane::Accent,
            Self::FillChance(_) => Lane::FillChance,
            Self::FillShape(_) => Lane::FillShape,
            Self::FillNow(_) => Lane::FillNow,
            Self::Play(_) => Lane::Play,
        }
    }
}
