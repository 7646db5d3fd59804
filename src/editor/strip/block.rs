//! One section, as it is drawn and touched.

use super::shape::Edit;
use crate::editor::section::Held;
use crate::editor::text::{chart as words, edit};
use crate::editor::touch::gesture;
use crate::editor::widgets::{caption_width, shortened};
use crate::editor::{marks, text, theme};
use crate::kit::Piece;
use crate::settings::{Play, SectionFill, Start, StyleSlot};
use crate::song::file::{Level, Section};
use egui::{
    Align2, Id, Key, Modifiers, PointerButton, Rect, Response, Role, Sense, Stroke, Ui, WidgetInfo,
    pos2, vec2,
};

/// Half the width of what is taken hold of at an edge, in points.
const GRIP: f32 = 5.0;
/// Below the lowest intensity and above the highest, in points.
pub(super) const FLOOR: f32 = 4.0;
/// Blocks narrower than this have no second line, in points.
const SECOND_LINE: f32 = 70.0;
/// Narrower ones than this have nothing to take hold of but themselves.
const HELD_LEAST: f32 = 36.0;
/// Width of the mark of edits in a narrow block, in points.
const FOOT: f32 = 9.0;
/// Between the lines of a block's hatching, by how firmly it is held, in points.
const HATCHING: [Option<f32>; 4] = [None, Some(14.0), Some(8.0), Some(5.0)];

/// What a block was touched for.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Touched {
    /// To be chosen.
    Chosen,
    /// To be followed by a new one.
    Made,
    /// To get another name.
    Rename,
    /// To be so many bars long; by which gesture.
    Length(u32, u64),
    /// To have this intensity; by which gesture.
    Ramp(Level, u64),
    /// It is carried to this bar of the sections, from 0.
    Carried(f32),
    /// It is let go.
    Dropped,
    /// This is wanted of it.
    Wanted(Edit),
    /// The choice moves on from it.
    Step(isize),
}

/// The block at a place, for whoever moves the keyboard's focus there.
pub(super) fn id(place: usize) -> Id {
    Id::unique(("section", place))
}

/// A section in its place.
pub(super) struct Block<'a> {
    pub(super) section: &'a Section,
    pub(super) place: usize,
    /// Its first bar in the song, from 1.
    pub(super) first: usize,
    pub(super) rect: Rect,
    /// Where the first section begins, in points.
    pub(super) origin: f32,
    pub(super) chosen: bool,
    pub(super) playing: bool,
    /// The chart is not played.
    pub(super) quiet: bool,
}

impl Block<'_> {
    /// Shows it, `scale` points a bar, and adds what it was touched for.
    pub(super) fn show(&self, ui: &mut Ui, scale: f32, touched: &mut Vec<(usize, Touched)>) {
        let mut touch = |what| touched.push((self.place, what));
        let body = ui.interact(self.rect, id(self.place), Sense::click_and_drag());
        self.paint(ui, &body);
        self.body(ui, &body, scale, &mut touch);
        if self.rect.width() >= HELD_LEAST {
            self.edge(ui, scale, &mut touch);
            self.ramp(ui, &mut touch);
        }
    }

    fn interact(&self, ui: &Ui, rect: Rect, what: &str, sense: Sense) -> Response {
        ui.interact(rect, ui.scope_id().with((what, self.place)), sense)
    }

    fn body(&self, ui: &Ui, body: &Response, scale: f32, touch: &mut impl FnMut(Touched)) {
        if body.double_clicked() {
            touch(Touched::Rename);
        } else if body.clicked() {
            touch(Touched::Chosen);
            body.request_focus();
        }
        if body.dragged_by(PointerButton::Primary)
            && let Some(at) = body.interact_pointer_pos()
        {
            touch(Touched::Carried((at.x - self.origin) / scale));
        }
        if body.drag_stopped() {
            touch(Touched::Dropped);
        }
        if body.has_focus() {
            for (modifiers, key, what) in [
                (Modifiers::NONE, Key::F2, Touched::Rename),
                (Modifiers::NONE, Key::Insert, Touched::Made),
                (Modifiers::NONE, Key::Delete, Touched::Wanted(Edit::Remove)),
                (Modifiers::COMMAND, Key::D, Touched::Wanted(Edit::Copy)),
                (Modifiers::ALT, Key::ArrowLeft, Touched::Wanted(Edit::Up)),
                (Modifiers::ALT, Key::ArrowRight, Touched::Wanted(Edit::Down)),
                (Modifiers::NONE, Key::ArrowLeft, Touched::Step(-1)),
                (Modifiers::NONE, Key::ArrowRight, Touched::Step(1)),
            ] {
                if ui.input_mut(|input| input.consume_key(modifiers, key)) {
                    touch(what);
                }
            }
        }
        body.widget_info(|| {
            WidgetInfo::selected(Role::ListBoxOption, true, self.chosen, self.says())
        });
        body.context_menu(|ui| {
            if ui.button(text::RENAME).clicked() {
                touch(Touched::Rename);
            }
            for (i, (name, hint)) in words::LIST.into_iter().enumerate() {
                if ui.button(name).on_hover_text(hint).clicked() {
                    touch(Touched::Wanted(Edit::LIST[i]));
                }
            }
        });
        body.clone().on_hover_ui_at_pointer(|ui| {
            ui.label(self.says());
            ui.label(egui::RichText::new(text::STRIP_HINT).weak());
        });
    }

    /// The right edge, which is dragged to lengthen.
    fn edge(&self, ui: &Ui, scale: f32, touch: &mut impl FnMut(Touched)) {
        let edge = Rect::from_x_y_ranges(
            self.rect.right() - GRIP..=self.rect.right() + GRIP * 0.5,
            self.rect.y_range(),
        );
        let edge = self.interact(ui, edge, "edge", Sense::drag());
        let name = text::length_of(&self.section.name);
        edge.widget_info(|| WidgetInfo::labeled(Role::Splitter, true, name.clone()));
        if edge.dragged()
            && let Some(at) = edge.interact_pointer_pos()
        {
            let bars = ((at.x - self.rect.left()) / scale)
                .round()
                .clamp(1.0, 999.0);
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            touch(Touched::Length(bars as u32, gesture(&edge)));
        }
        if edge.hovered() || edge.dragged() {
            ui.ctx().set_cursor_icon(egui::CursorIcon::ResizeHorizontal);
        }
        edge.on_hover_text(text::LENGTH_HINT);
    }

    /// The two ends of the intensity, which are dragged up and down; with shift both.
    fn ramp(&self, ui: &Ui, touch: &mut impl FnMut(Touched)) {
        let Some((from, to)) = self.section.intensity.map(Level::ends) else {
            return;
        };
        for (i, value, x) in [
            (0, from, self.rect.left() + GRIP * 1.5),
            (1, to, self.rect.right() - GRIP * 2.5),
        ] {
            // On the line, which goes from edge to edge.
            let share = (x - self.rect.left()) / self.rect.width();
            let at = pos2(x, self.y(from + (to - from) * share));
            let grip = Rect::from_center_size(at, vec2(GRIP, GRIP) * 2.0);
            let id = ["ramp from", "ramp to"][i];
            let grip = self.interact(ui, grip, id, Sense::drag());
            let name = text::ramp_of(&self.section.name, i == 1);
            grip.widget_info(|| WidgetInfo::slider(true, f64::from(value) * 100.0, name.clone()));
            let colour = theme::of(ui).text;
            let size = if grip.hovered() || grip.dragged() {
                4.0
            } else {
                2.5
            };
            ui.painter().circle_filled(at, size, colour);
            if grip.dragged() {
                let by = -grip.drag_delta().y / self.slope().y_range().span();
                let moved = |value: f32| (value + by).clamp(0.0, 1.0);
                let both = ui.input(|input| input.modifiers.shift);
                let (from, to) = match i {
                    _ if both => (moved(from), moved(to)),
                    0 => (moved(from), to),
                    _ => (from, moved(to)),
                };
                touch(Touched::Ramp(Level::between(from, to), gesture(&grip)));
            }
            grip.on_hover_text(text::RAMP_HINT);
        }
    }

    /// Where the intensity is drawn.
    fn slope(&self) -> Rect {
        let mut area = self.rect;
        area.set_top(area.top() + theme::BLOCK_TEXT);
        area.shrink2(vec2(0.0, FLOOR))
    }

    fn y(&self, value: f32) -> f32 {
        let slope = self.slope();
        slope.bottom() - value * slope.height()
    }

    fn paint(&self, ui: &Ui, body: &Response) {
        let (painter, palette) = (ui.painter_at(self.rect), theme::of(ui));
        let ground = if body.hovered() {
            palette.button_hover
        } else {
            palette.button
        };
        let fill = if self.chosen {
            palette.chosen
        } else {
            self.tint(ground, palette)
        };
        let fill = if self.quiet && !self.chosen {
            fill.gamma_multiply(0.6)
        } else {
            fill
        };
        painter.rect_filled(self.rect, theme::CORNER, fill);
        self.hatch(&painter, palette);
        self.edits(&painter, ui, fill);
        if let Some((from, to)) = self.section.intensity.map(Level::ends) {
            let (left, right) = (self.rect.left(), self.rect.right());
            let line = [pos2(left, self.y(from)), pos2(right, self.y(to))];
            painter.line_segment(line, Stroke::new(1.5, palette.text_quiet));
        }
        let name_width = caption_width(ui, &self.section.name);
        let (left, right) = self.marks(&painter, ui, name_width);
        let name = shortened(ui, &self.section.name, right - left, &theme::small());
        let at = pos2(left, self.rect.top() + 3.0);
        painter.text(at, Align2::LEFT_TOP, name, theme::small(), palette.text);
        if self.rect.width() > SECOND_LINE {
            let room = self.rect.width() - 8.0;
            let second = shortened(ui, &self.plays(), room, &theme::tiny());
            let at = self.rect.left_top() + vec2(5.0, 18.0);
            let colour = if self.chosen {
                palette.text
            } else {
                palette.text_quiet
            };
            painter.text(at, Align2::LEFT_TOP, second, theme::tiny(), colour);
        }
        if self.playing || body.has_focus() {
            let line = Stroke::new(1.5, palette.playhead);
            let kind = egui::StrokeKind::Inside;
            painter.rect_stroke(self.rect, theme::CORNER, line, kind);
        }
    }

    /// The ground, tinted by the intensity that it states: the middle of both ends.
    fn tint(&self, ground: egui::Color32, palette: &theme::Palette) -> egui::Color32 {
        let Some((from, to)) = self.section.intensity.map(Level::ends) else {
            return ground;
        };
        ground.lerp_to_gamma(palette.intense, f32::midpoint(from, to))
    }

    /// Slanted lines: the closer, the firmer it is held.
    fn hatch(&self, painter: &egui::Painter, palette: &theme::Palette) {
        let Some(step) = HATCHING[Held::of(self.section) as usize] else {
            return;
        };
        // Below what is written.
        let mut area = self.rect;
        area.set_top(area.top() + theme::BLOCK_TEXT);
        let painter = painter.with_clip_rect(area);
        let line = Stroke::new(1.0, palette.text.gamma_multiply(0.3));
        let mut x = area.left() - area.height();
        while x < area.right() {
            let to = pos2(x + area.height(), area.top());
            painter.line_segment([pos2(x, area.bottom()), to], line);
            x += step;
        }
    }

    /// That there are edits by hand: how many, or where there is no room what edited strokes stand on in the lanes.
    fn edits(&self, painter: &egui::Painter, ui: &Ui, ground: egui::Color32) {
        let count = self.section.edits.len();
        if count == 0 {
            return;
        }
        let palette = theme::of(ui);
        let said = painter.layout_no_wrap(edit::edits(count), theme::tiny(), palette.text);
        let at = self.rect.center_bottom() - vec2(0.0, 2.0);
        if self.rect.width() < SECOND_LINE || said.size().x + GRIP * 4.0 > self.rect.width() {
            let foot = Rect::from_center_size(at - vec2(0.0, 2.0), vec2(FOOT, 4.0));
            painter.rect_filled(foot, 0.0, palette.text);
            return;
        }
        let area = Rect::from_min_size(at - vec2(said.size().x / 2.0, said.size().y), said.size());
        painter.rect_filled(area.expand2(vec2(3.0, 0.0)), theme::CORNER, ground);
        painter.galley(area.min, said, palette.text);
    }

    /// How it starts, before its name, and the fill that leads on, at its right; at the bottom where its name, of this width,
    /// needs the room. The words are in the tooltip. Returns between which points the name has room.
    fn marks(&self, painter: &egui::Painter, ui: &Ui, name: f32) -> (f32, f32) {
        let palette = theme::of(ui);
        let (mut left, mut right) = (self.rect.left() + 5.0, self.rect.right() - 4.0);
        if self.rect.width() < HELD_LEAST {
            return (left, right);
        }
        let toms: &[Piece] = match self.section.fill {
            Some(SectionFill::Short) => &[Piece::FloorLow],
            Some(SectionFill::Long) => &[Piece::FloorLow, Piece::FloorHigh, Piece::RackHigh],
            _ => &[],
        };
        let whole = (left, right);
        let needs = name + 26.0 + 11.0 * toms.len() as f32;
        let below = needs > right - left;
        let middle = if below {
            self.rect.bottom() - 8.0
        } else {
            self.rect.top() + 10.0
        };
        let mark = |piece, x| {
            let colour = marks::colour(palette, piece);
            marks::paint(
                painter,
                piece,
                (pos2(x, middle), 4.0),
                colour,
                palette.button,
            );
        };
        let start = match self.section.start {
            Some(Start::Crash) => Some(Piece::CrashLeft),
            Some(Start::China) => Some(Piece::China),
            Some(Start::CountIn) => Some(Piece::Sticks),
            _ => None,
        };
        if let Some(piece) = start {
            mark(piece, left + 4.0);
            left += 14.0;
        }
        for piece in toms {
            mark(*piece, right - 5.0);
            right -= 11.0;
        }
        if self.section.fill == Some(SectionFill::Break) {
            let line = Stroke::new(1.5, palette.text);
            for x in [right - 6.0, right - 2.0] {
                painter.vline(x, middle - 4.0..=middle + 4.0, line);
            }
            right -= 12.0;
        }
        if below { whole } else { (left, right) }
    }

    fn bars(&self) -> String {
        words::bars(self.first, self.first + self.section.bars as usize - 1)
    }

    /// What it plays, in a word or two.
    fn plays(&self) -> String {
        let plays = match self.section.play {
            _ if self.section.locked.is_some() => words::LOCKED,
            Some(Play::Beat) | None => self.section.style.map_or(text::AS_PANEL, StyleSlot::name),
            Some(other) => other.name(),
        };
        plays.to_owned()
    }

    /// All of it in words.
    fn says(&self) -> String {
        let start = self.section.start.unwrap_or(Start::Auto).name();
        let fill = self.section.fill.unwrap_or(SectionFill::Auto).name();
        let says = text::section(
            (&self.section.name, &self.bars(), &self.plays()),
            self.section.intensity.map(Level::ends),
            (start, fill),
            Held::of(self.section).name(),
        );
        match self.section.edits.len() {
            0 => says,
            count => format!("{says}, {}", edit::edits(count)),
        }
    }
}
