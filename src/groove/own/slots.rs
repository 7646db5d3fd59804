//! The slots of own beats.

use crate::settings::{OWN_SLOTS, STYLE_SLOTS};

/// How many own beats there are.
pub const SLOTS: u8 = OWN_SLOTS;

/// The slot of the `style` parameter of an own beat, from 0.
pub(super) fn slot(own: u8) -> u8 {
    STYLE_SLOTS - SLOTS + own.min(SLOTS - 1)
}
