//! A change of one setting in a song.

use crate::settings::{SettingId, Settings};
use crate::time::Ticks;

/// A change of one setting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Change {
    /// From this tick on.
    pub at: Ticks,
    /// The setting.
    pub setting: SettingId,
    /// Its new value, in the terms of [`Settings::get`]; `None` leaves it to the panel.
    pub value: Option<f32>,
}

impl Change {
    /// Applies the change; what is left to the panel stays as it is.
    pub fn apply(&self, settings: &mut Settings) {
        if let Some(value) = self.value {
            settings.set(self.setting, value);
        }
    }
}
