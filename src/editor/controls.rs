//! The values that the controls show.
//!
//! Views know settings and plain numbers; which parameter of which framework that is, only the
//! editor's root knows.

use super::text;
use crate::settings::{SettingId, Settings};
use crate::song::chart::MIDDLE;

/// The values of all controls at one moment.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Values {
    /// What the host's parameters say.
    pub settings: Settings,
    /// Whether there is a chart, and it is followed.
    pub follows: bool,
}

impl Values {
    /// Whether the chart says it in the panel's place.
    pub fn is_of_chart(&self, setting: SettingId) -> bool {
        self.follows && setting.is_of_section() && !self.moves_chart(setting)
    }

    /// Whether it moves what the chart says by its distance from the middle.
    pub fn moves_chart(&self, setting: SettingId) -> bool {
        use SettingId::{Accent, Density, Intensity};
        self.follows && [Intensity, Density, Accent].contains(&setting)
    }

    /// Takes over from the settings in force what is the chart's.
    pub fn show_chart(&mut self, in_force: &Settings) {
        let chart = Self {
            follows: true,
            ..*self
        };
        for &setting in SettingId::ALL {
            if chart.is_of_chart(setting) {
                self.settings.set(setting, in_force.get(setting));
            }
        }
    }

    /// A control's value: see [`Settings::get`].
    pub fn get(&self, setting: SettingId) -> f32 {
        self.settings.get(setting)
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
