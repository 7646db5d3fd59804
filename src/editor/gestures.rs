//! From actions to what a host wants to hear: begin, set, set, set, end.

use crate::editor::action::Action;
use crate::editor::controls::Values;
use crate::settings::SettingId;

/// One step of a gesture, for the host.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Step {
    /// A control is touched.
    Begin(SettingId),
    /// It moves to this value, in the terms of [`Values::get`].
    Set(SettingId, f32),
    /// It is let go.
    End(SettingId),
}

/// Makes gestures of actions: a control stays touched for as long as the pointer is held, so that
/// a host records one stretch of automation and not a hundred points.
#[derive(Debug, Clone, Copy, Default)]
pub struct Gestures {
    open: Option<(SettingId, f32)>,
}

impl Gestures {
    /// Takes up a frame's actions. `held` while a pointer button is down.
    pub fn follow(&mut self, actions: &[Action], held: bool, mut act: impl FnMut(Step)) {
        for action in actions {
            let &Action::Set(control, value) = action else {
                continue;
            };
            if self.open.is_some_and(|(open, _)| open != control) {
                self.close(&mut act);
            }
            if self.open.is_none() {
                act(Step::Begin(control));
            }
            if self.open != Some((control, value)) {
                act(Step::Set(control, value));
            }
            self.open = Some((control, value));
        }
        if !held {
            self.close(act);
        }
    }

    /// Ends what was begun.
    fn close(&mut self, mut act: impl FnMut(Step)) {
        if let Some((control, _)) = self.open.take() {
            act(Step::End(control));
        }
    }

    /// Puts the value in hand over what the parameters say, since a host may take a block or two
    /// to report it back and the picture should not stutter meanwhile.
    pub fn overlay(&self, values: &mut Values) {
        if let Some((control, value)) = self.open {
            values.set(control, value);
        }
    }
}
