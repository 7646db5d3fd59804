//! Some of the settings.

use super::SettingId;

/// Some of the settings, a bit each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct SettingSet(u64);

impl SettingSet {
    const fn bit(setting: SettingId) -> u64 {
        1 << setting as u64
    }

    /// Whether it has a setting.
    pub const fn has(self, setting: SettingId) -> bool {
        self.0 & Self::bit(setting) != 0
    }

    /// Puts a setting in, or takes it out.
    pub fn put(&mut self, setting: SettingId, is_in: bool) {
        if is_in {
            self.0 |= Self::bit(setting);
        } else {
            self.0 &= !Self::bit(setting);
        }
    }

    /// All that are in one of the two.
    #[must_use]
    pub const fn or(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }
}

impl FromIterator<SettingId> for SettingSet {
    fn from_iter<T: IntoIterator<Item = SettingId>>(settings: T) -> Self {
        let mut set = Self::default();
        settings
            .into_iter()
            .for_each(|setting| set.put(setting, true));
        set
    }
}

const _: () = assert!(SettingId::ALL.len() <= 64, "a bit each");
