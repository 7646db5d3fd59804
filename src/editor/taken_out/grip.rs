//! What is dragged out of the window.

use crate::editor::theme;
use crate::editor::widgets::focus_ring;
use egui::{Align2, CursorIcon, FontId, Response, Role, Sense, Ui, WidgetInfo, pos2, vec2};

/// Between the dots that say that it can be taken hold of, in points.
const DOTS: f32 = 4.0;

/// Shows a grip with a name; `label` says what it takes hold of to whoever can't see where it stands. Enter and space
/// click it.
pub(super) fn show(ui: &mut Ui, name: &str, label: &str) -> Response {
    let palette = theme::of(ui);
    let font = FontId::proportional(theme::TYPE_BODY);
    let painted = ui
        .painter()
        .layout_no_wrap(name.to_owned(), font, palette.text);
    let dots = 3.0 * DOTS;
    let padding = ui.spacing().button_padding;
    let wanted = vec2(dots + painted.size().x, painted.size().y) + padding * 2.0;
    let height = wanted.y.max(ui.spacing().interact_size.y);
    let (rect, grip) = ui.allocate_exact_size(vec2(wanted.x, height), Sense::click_and_drag());
    let fill = if grip.hovered() || grip.dragged() {
        palette.button_hover
    } else {
        palette.button
    };
    let painter = ui.painter_at(rect);
    painter.rect_filled(rect, theme::CORNER, fill);
    for row in 0..3_u8 {
        for column in 0..2_u8 {
            let from = vec2(padding.x + 1.0, -DOTS);
            let by = vec2(f32::from(column), f32::from(row)) * DOTS;
            painter.circle_filled(rect.left_center() + from + by, 1.0, palette.text_quiet);
        }
    }
    let at = pos2(rect.left() + padding.x + dots, rect.center().y);
    let at = Align2::LEFT_CENTER.anchor_size(at, painted.size()).min;
    painter.galley(at, painted, palette.text);
    if grip.has_focus() {
        focus_ring(&painter, rect, palette);
    }
    if grip.dragged() {
        ui.ctx().set_cursor_icon(CursorIcon::Grabbing);
    } else if grip.hovered() {
        ui.ctx().set_cursor_icon(CursorIcon::Grab);
    }
    grip.widget_info(|| WidgetInfo::labeled(Role::Button, ui.is_enabled(), label));
    grip
}
