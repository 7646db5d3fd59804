//! The page of marks and keys.

use super::text::help as words;
use super::{marks, theme};
use crate::kit::Piece;
use egui::{RichText, ScrollArea, Sense, Ui, vec2};

/// Shows the page.
pub fn show(ui: &mut Ui) {
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        ui.columns_const(|[left, right]| {
            pieces(left);
            part(right, words::KEYS_TITLE, &words::KEYS);
            part(right, words::EDIT_TITLE, &words::EDIT);
            part(right, words::LANES_TITLE, &words::LANES);
            part(left, words::STRIP_TITLE, &words::STRIP);
            part(left, words::CONTROLS_TITLE, &words::CONTROLS);
        });
        ui.add_space(theme::GAP);
        ui.label(words::EARS);
    });
}

fn title(ui: &mut Ui, title: &str) {
    ui.add_space(theme::GAP);
    ui.label(RichText::new(title).strong());
}

fn part(ui: &mut Ui, name: &str, rows: &[(&str, &str)]) {
    title(ui, name);
    egui::Grid::new(name)
        .num_columns(2)
        .spacing([theme::GAP_WIDE, 2.0])
        .show(ui, |ui| {
            for (what, means) in rows {
                ui.label(*what);
                let means = RichText::new(*means).color(theme::of(ui).text_quiet);
                ui.add(egui::Label::new(means).wrap());
                ui.end_row();
            }
        });
}

/// The marks of the pieces, as the lanes draw them.
fn pieces(ui: &mut Ui) {
    title(ui, words::PIECES_TITLE);
    let palette = theme::of(ui);
    egui::Grid::new("pieces")
        .num_columns(4)
        .spacing([theme::GAP_WIDE, 2.0])
        .show(ui, |ui| {
            for (i, &piece) in Piece::ALL.iter().enumerate() {
                let (rect, _) = ui.allocate_exact_size(vec2(22.0, 20.0), Sense::hover());
                let colour = marks::colour(palette, piece);
                let at = (rect.center(), theme::MARK);
                marks::paint(ui.painter(), piece, at, colour, palette.ground);
                ui.label(piece.name());
                if i % 2 == 1 {
                    ui.end_row();
                }
            }
        });
}
