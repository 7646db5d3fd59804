//! The riff below the lanes: what was captured, and which strokes of it the feet follow.

use super::time_axis::TimeAxis;
use crate::editor::picture::Picture;
use crate::editor::widgets::{caption, caption_width};
use crate::editor::{text, theme};
use crate::kit::Piece;
use crate::riff::{Attack, Riff};
use crate::time::{TICKS_PER_QUARTER, Ticks};
use egui::{Align2, Rect, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

/// A kick that lies no further from an attack than this follows it, in ticks: half a sixteenth.
const FOLLOWS: Ticks = TICKS_PER_QUARTER / 8;

/// Most attacks that are drawn in a bar.
const MOST: usize = 1024;

/// Shows the riff under the bars.
pub(super) fn show(ui: &Ui, time_axis: &TimeAxis, pictures: &[Picture], riff: &Riff) {
    let palette = theme::of(ui);
    let at = pos2(time_axis.names, time_axis.guitar.center().y);
    caption(ui, at, Align2::LEFT_CENTER, text::GUITAR, palette.text);
    let mut attacks: Vec<Attack> = Vec::with_capacity(MOST);
    let mut followed = 0;
    let mut known = 0;
    for (picture, bar) in pictures.iter().zip(time_axis.bars) {
        if !riff.knows(bar.start, bar.end()) {
            continue;
        }
        known += 1;
        let span = time_axis.span(bar.start, bar.end());
        let floor = time_axis.guitar.bottom() - 2.0;
        let line = Stroke::new(2.0, palette.lane_line);
        ui.painter().hline(span.x_range(), floor, line);
        attacks.clear();
        riff.gather(bar.start, bar.end(), &mut attacks);
        let kicks = || {
            picture
                .played()
                .hits()
                .iter()
                .filter(|hit| hit.piece == Piece::Kick)
        };
        for attack in &attacks {
            let x = time_axis.x(attack.tick);
            let height = (time_axis.guitar.height() - 8.0) * (0.35 + 0.65 * attack.strength);
            let follows = picture.played().follows_riff()
                && kicks().any(|kick| (kick.grid - attack.tick).abs() <= FOLLOWS);
            let top = pos2(x, floor - height);
            let colour = if follows {
                palette.kick
            } else {
                palette.text_quiet
            };
            ui.painter()
                .vline(x, top.y..=floor, Stroke::new(2.0, colour));
            if follows {
                followed += 1;
                let head = Rect::from_center_size(top, vec2(6.0, 6.0));
                ui.painter().rect_filled(head, 0.0, colour);
            } else {
                // On a bar line the mark would be lost without a head.
                ui.painter().circle_filled(top, 2.5, colour);
            }
        }
    }
    if known == 0 {
        let at = pos2(
            time_axis.lanes.left() + theme::LANE_INSET + theme::GAP,
            time_axis.guitar.center().y,
        );
        let width = caption_width(ui, text::no_guitar(riff.is_empty()));
        let behind = Rect::from_center_size(at + vec2(width / 2.0, 0.0), vec2(width + 8.0, 16.0));
        ui.painter().rect_filled(behind, 0.0, palette.sunk);
        caption(
            ui,
            at,
            Align2::LEFT_CENTER,
            text::no_guitar(riff.is_empty()),
            palette.text_quiet,
        );
    }
    let said = text::guitar(known, followed);
    let id = ui.scope_id().with("guitar");
    let strip = ui.interact(time_axis.guitar, id, Sense::hover());
    strip.widget_info(|| WidgetInfo::labeled(Role::Image, true, said.clone()));
    strip.on_hover_text(format!("{said}. {}", text::GUITAR_HINT));
}
