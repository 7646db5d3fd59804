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
    /// Its new value, in the terms of [`Settings::get`].
    pub value: f32,
}

impl Change {
    /// Applies the change.
    pub fn apply(&self, settings: &mut Settings) {
        settings.set(self.setting, self.value);
    }
}
