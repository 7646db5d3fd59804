//! Zoom, theme and size of the window, and the keys that count wherever the pointer is.

use super::action::Action;
use super::theme;
use crate::project::view::{ViewSettings, ZOOMS};
use egui::{Context, Key, KeyboardShortcut, Modifiers, Ui, ViewportCommand};

/// Sizes that differ by less are one, in points: windows lie on whole pixels.
const SAME: f32 = 1.5;

/// Readies a window that opens.
pub fn open(ctx: &Context) {
    // Our own steps, kept with the project.
    ctx.options_mut(|options| options.zoom_with_keyboard = false);
}

/// Shows the window as it is to be looked at. A window that was just opened becomes as large as it was.
pub fn follow(ui: &Ui, look: ViewSettings, restore: &mut bool) -> ViewSettings {
    let zoom = f32::from(look.zoom) / 100.0;
    if (ui.ctx().zoom_factor() - zoom).abs() > 1e-3 {
        ui.ctx().set_zoom_factor(zoom);
    }
    theme::choose(ui.ctx(), look.light);
    if std::mem::take(restore)
        && let Some((width, height)) = look.size
    {
        let (is, was) = (ui.ctx().content_rect().size(), egui::vec2(width, height));
        if (is - was).abs().max_elem() > SAME {
            ui.ctx().send_viewport_cmd(ViewportCommand::InnerSize(was));
        }
    }
    look
}

/// What is to be kept of what is wanted, by pointer or keys, and of the size of the window; `None` where it is what
/// it was.
pub fn keep(ui: &Ui, was: ViewSettings, mut look: ViewSettings) -> Option<ViewSettings> {
    look.zoom = zoomed(ui, look.zoom);
    let size = ui.ctx().content_rect().size();
    let (width, height) = look.size.unwrap_or_default();
    if (size - egui::vec2(width, height)).abs().max_elem() > SAME {
        look.size = Some((size.x, size.y));
    }
    let look = look.sane();
    if look == was {
        return None;
    }
    ui.ctx().request_repaint();
    Some(look)
}

/// The zoom after the keys of this frame.
fn zoomed(ui: &Ui, zoom: u16) -> u16 {
    let pressed = |key| {
        let shortcut = KeyboardShortcut::new(Modifiers::COMMAND, key);
        ui.input_mut(|input| input.consume_shortcut(&shortcut))
    };
    let larger = ZOOMS.into_iter().find(|other| *other > zoom);
    let smaller = ZOOMS.into_iter().rev().find(|other| *other < zoom);
    if pressed(Key::Plus) || pressed(Key::Equals) {
        larger.unwrap_or(zoom)
    } else if pressed(Key::Minus) {
        smaller.unwrap_or(zoom)
    } else if pressed(Key::Num0) {
        100
    } else {
        zoom
    }
}

/// What the keys want of the changes, unless a text is typed, which has its own.
pub fn turn(ui: &Ui) -> Option<Action> {
    if ui.ctx().text_edit_focused() {
        return None;
    }
    let shift = Modifiers::COMMAND | Modifiers::SHIFT;
    let keys = [
        (KeyboardShortcut::new(shift, Key::Z), Action::Redo),
        (
            KeyboardShortcut::new(Modifiers::COMMAND, Key::Y),
            Action::Redo,
        ),
        (
            KeyboardShortcut::new(Modifiers::COMMAND, Key::Z),
            Action::Undo,
        ),
    ];
    let mut pressed = keys
        .into_iter()
        .filter(|(keys, _)| ui.input_mut(|input| input.consume_shortcut(keys)));
    pressed.next().map(|(_, turn)| turn)
}
