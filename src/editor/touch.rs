//! Whether something was changed in a frame, and by which gesture.

use egui::Response;

/// Whether something was changed in a frame, and by which gesture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Touch {
    /// Nothing.
    #[default]
    None,
    /// A change of its own.
    Once,
    /// A change of a gesture.
    Gesture(u64),
}

impl Touch {
    /// Heeds what may be dragged or typed in: all that belongs to one gesture.
    pub fn heed(&mut self, response: &Response) {
        if response.changed() {
            *self = Self::Gesture(gesture(response));
        }
    }

    /// Something was chosen or pressed: a change of its own.
    pub fn once(&mut self) {
        *self = Self::Once;
    }

    /// The gesture of a change; `None` within for a change of its own, `None` without one.
    pub fn made(self) -> Option<Option<u64>> {
        match self {
            Self::None => None,
            Self::Once => Some(None),
            Self::Gesture(gesture) => Some(Some(gesture)),
        }
    }
}

/// What makes the changes of one drag, or of one typing, one.
pub(crate) fn gesture(response: &Response) -> u64 {
    let pressed = response.ctx.input(|input| input.pointer.press_start_time());
    response.id.value() ^ pressed.unwrap_or_default().to_bits()
}
