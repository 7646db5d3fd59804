//! The values that the controls show.
//!
//! Views know settings and plain numbers; which parameter of which framework that is, only the
//! editor's root knows.

use super::text;
use crate::settings::{SettingId, SettingSet, Settings};
use crate::song::Chart;
use crate::song::chart::MIDDLE;
use crate::song::file::Section;
use crate::time::Ticks;

/// The levels that the panel moves in a chart.
const MOVED: [SettingId; 3] = [SettingId::Intensity, SettingId::Density, SettingId::Accent];

/// The values of all controls at one moment.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Values {
    /// What the controls say: the host's parameters, or what a section says.
    pub settings: Settings,
    /// Whether there is a chart, and it is played.
    pub follows: bool,
    /// The settings that the section at the playhead states itself.
    pub stated_here: SettingSet,
    /// What is in force there.
    pub here: Settings,
    /// The levels of the panel that move what the chart says.
    pub moves: SettingSet,
    /// What the host moved a moment ago.
    pub automated: SettingSet,
    /// Where the controls turn sections: what these say beside the settings.
    pub section: Option<OfSection>,
}

/// What a section says beside plain values.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct OfSection {
    /// The settings that it leaves to the panel.
    pub left: SettingSet,
    /// The settings in which the chosen sections differ.
    pub differ: SettingSet,
    /// What it says at its end: levels may ramp.
    pub end: Settings,
}

impl Values {
    /// The same, where a chart is played; `tick` is where the playhead is, or where one looks.
    #[must_use]
    pub fn with_chart(mut self, chart: &Chart, tick: Ticks) -> Self {
        self.follows = true;
        let is_in_chart = chart.at(tick).is_some();
        let stated = SettingId::ALL.iter().filter(|setting| {
            setting.is_of_section() && is_in_chart && !chart.is_left(tick, **setting)
        });
        self.stated_here = stated.copied().collect();
        self.moves = MOVED
            .into_iter()
            .filter(|level| !chart.leaves(*level))
            .collect();
        self.here = chart.settings(tick, &self.settings);
        self
    }

    /// What these sections say, for controls that turn them; what they leave to the panel shows as the panel has it.
    #[must_use]
    pub fn of_sections<'a>(&self, sections: impl IntoIterator<Item = &'a Section>) -> Self {
        let mut sections = sections.into_iter();
        let Some(first) = sections.next() else {
            return *self;
        };
        let (settings, section) = self.said(first);
        let mut values = Self {
            settings,
            section: Some(section),
            automated: SettingSet::default(),
            ..*self
        };
        for other in sections {
            let (settings, other) = self.said(other);
            for &setting in SettingId::ALL {
                let same = values.settings.get(setting) == settings.get(setting);
                if let Some(section) = &mut values.section
                    && !(same && section.left.has(setting) == other.left.has(setting))
                {
                    section.differ.put(setting, true);
                }
            }
        }
        values
    }

    fn said(&self, section: &Section) -> (Settings, OfSection) {
        let (mut settings, mut end) = (self.settings, self.settings);
        for (setting, level) in section.stated() {
            let (from, to) = level.ends();
            settings.set(setting, from);
            end.set(setting, to);
        }
        let mut left: SettingSet = section.as_panel.iter().copied().collect();
        match section.take {
            Some(take) => settings.bar_settings.take = take,
            None => left.put(SettingId::Take, true),
        }
        match section.kick_source {
            Some(source) => settings.bar_settings.kick_source = source,
            None => left.put(SettingId::KickSource, true),
        }
        let differ = SettingSet::default();
        (settings, OfSection { left, differ, end })
    }

    /// Whether a section that is turned may state it.
    pub fn is_of_section(setting: SettingId) -> bool {
        setting.is_of_section() || matches!(setting, SettingId::Take | SettingId::KickSource)
    }

    /// Whether the sections that are turned leave it to the panel.
    pub fn is_left(&self, setting: SettingId) -> bool {
        let section = self.section.as_ref();
        section.is_some_and(|section| section.left.has(setting))
    }

    /// Whether the sections that are turned say different things of it.
    pub fn differs(&self, setting: SettingId) -> bool {
        let section = self.section.as_ref();
        section.is_some_and(|section| section.differ.has(setting))
    }

    /// Whether the panel's level moves what the chart says, by its distance from the middle.
    pub fn moves_chart(&self, setting: SettingId) -> bool {
        self.section.is_none() && self.follows && self.moves.has(setting)
    }

    /// Whether the section at the playhead states it itself, so that the panel's value is not heard here.
    pub fn is_unheard(&self, setting: SettingId) -> bool {
        self.section.is_none()
            && self.follows
            && self.stated_here.has(setting)
            && !self.moves_chart(setting)
    }

    /// A control's value: see [`Settings::get`].
    pub fn get(&self, setting: SettingId) -> f32 {
        self.settings.get(setting)
    }

    /// Where a level of a section ends; elsewhere its value.
    pub fn end(&self, setting: SettingId) -> f32 {
        let section = self.section.as_ref();
        section.map_or_else(|| self.get(setting), |section| section.end.get(setting))
    }

    /// Gives a control a value in the same terms.
    pub fn set(&mut self, setting: SettingId, value: f32) {
        self.settings.set(setting, value);
    }

    /// The value that a double click asks for: the default, or where the chart is left as it is.
    pub fn home(&self, setting: SettingId) -> f32 {
        if self.moves_chart(setting) {
            return MIDDLE;
        }
        setting.default_value()
    }

    /// A setting's value in words: the host's, or where it moves the chart's by how much.
    pub fn words(&self, setting: SettingId) -> String {
        if self.moves_chart(setting) {
            return text::chart::moved(self.get(setting) - MIDDLE);
        }
        self.text(setting)
    }

    /// A setting's value as text, the same as the host shows.
    pub fn text(&self, setting: SettingId) -> String {
        setting.kind().text(self.get(setting))
    }
}
