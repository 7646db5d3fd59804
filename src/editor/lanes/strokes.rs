//! The marks of a lane.

use super::beyond::Beyond;
use super::selection::{Key, Mark, Selection};
use super::time_axis::TimeAxis;
use crate::editor::picture::{Picture, is_same};
use crate::editor::snapshot::Snapshot;
use crate::editor::text::edit as words;
use crate::editor::theme::Palette;
use crate::editor::widgets::caption;
use crate::editor::{description, marks, text, theme};
use crate::groove::{Hit, Limb};
use crate::kit::NoteMap;
use crate::time::tempo::ticks_per_second;
use crate::time::{Bar, Ticks};
use egui::{
    Align2, Color32, Pos2, Rect, Response, Role, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2,
};

/// How long a stroke stays lit, in seconds. Judged: as long as a flash is seen.
const LIT_S: f64 = 0.18;
/// From which velocity on a stroke is drawn large: General MIDI's samples change about there. Judged.
const ACCENT: u8 = 112;

/// A stroke that is drawn, and what was done to it.
pub(super) struct Touched {
    pub(super) key: Key,
    /// Where its head is.
    pub(super) head: Pos2,
    pub(super) response: Response,
}

/// What is to be known of editing while strokes are drawn.
pub(super) struct Edited<'a> {
    pub(super) marks: &'a [Mark],
    pub(super) selection: &'a Selection,
    pub(super) beyond: &'a [Beyond],
    /// What was drawn so far.
    pub(super) touched: Vec<Touched>,
}

impl Edited<'_> {
    /// Why a stroke can't be played, if it can't.
    fn beyond(&self, key: &Key) -> Option<&Beyond> {
        self.beyond.iter().find(|beyond| beyond.mark.key == *key)
    }
}

/// How much higher the loudest stroke of a lane stands than nothing, in points.
pub(super) fn room(time_axis: &TimeAxis) -> f32 {
    time_axis.lane(0).height() - theme::LANE_FOOT - theme::MARK * 2.5
}

/// Shows a limb's lane; `now` is where the playhead is.
pub(super) fn show(
    ui: &Ui,
    time_axis: &TimeAxis,
    (index, limb): (usize, Limb),
    (pictures, others): (&[Picture], &[Picture]),
    now: Option<Ticks>,
    snapshot: &Snapshot,
    edited: &mut Edited,
) {
    let (lane, palette) = (time_axis.lane(index), theme::of(ui));
    let floor = lane.bottom() - theme::LANE_FOOT;
    let at = pos2(time_axis.names, floor - theme::LANE_FOOT * 0.4);
    caption(ui, at, Align2::LEFT_CENTER, limb.name(), palette.text);
    let line = Stroke::new(1.0, palette.lane_line);
    ui.painter().hline(lane.x_range(), floor, line);
    let drawn = Drawn {
        room: room(time_axis),
        size: time_axis.mark(),
        floor,
        resting: snapshot.values.settings.bypass,
        lit: LIT_S * ticks_per_second(snapshot.bpm),
        now,
        bpm: snapshot.bpm,
    };
    let mut names = Names {
        right: lane.right(),
        ..Names::default()
    };
    for (picture, bar) in pictures.iter().zip(time_axis.bars) {
        let span = time_axis.span(bar.start, bar.end());
        let area = Rect::from_x_y_ranges(span.x_range(), lane.y_range());
        let id = ui.scope_id().with(("lane", index, bar.start));
        ui.interact(area, id, Sense::hover()).widget_info(|| {
            let lane = description::lane(*bar, limb, picture.played().hits(), &snapshot.map.map);
            WidgetInfo::labeled(
                Role::Image,
                true,
                description::in_bar(time_axis.number(*bar), &lane),
            )
        });
        let of_limb = |hit: &&Hit| hit.limb == limb;
        for hit in picture.played().dropped().iter().filter(of_limb) {
            drawn.dropped(ui, time_axis, *bar, hit);
        }
        for (hit, share) in picture.removed().filter(|(hit, _)| hit.limb == limb) {
            drawn.gone(ui, time_axis, hit, share);
        }
        let other = others.iter().find(|other| other.bar() == Some(*bar));
        let here = picture.played().hits();
        let elsewhere = other.into_iter().flat_map(|other| other.played().hits());
        for hit in elsewhere.filter(of_limb) {
            if !here.iter().any(|own| is_same(own, hit)) {
                drawn.other(ui, time_axis, *bar, hit);
            }
        }
        let left_out = edited.marks.iter().filter(|mark| mark.key.out);
        let left_out = left_out.filter(|mark| mark.hit.limb == limb && mark.bar == *bar);
        for mark in left_out.copied().collect::<Vec<_>>() {
            drawn.left_out(ui, time_axis, &mark, edited);
        }
        for hit in picture
            .played()
            .hits()
            .iter()
            .filter(|hit| hit.limb == limb)
        {
            let only_here = other.is_some_and(|other| {
                let there = other.played().hits();
                !there.iter().any(|theirs| is_same(theirs, hit))
            });
            let newness = picture.newness(hit);
            drawn.stroke(ui, time_axis, *bar, (hit, newness, only_here), edited);
            names.tell(
                ui,
                pos2(time_axis.x(hit.tick) + 3.0, floor + 1.0),
                (hit, &snapshot.map.map),
            );
        }
    }
}

/// The names of pieces below a lane: where one changes, and there is room.
#[derive(Default)]
struct Names {
    named: Option<crate::kit::Piece>,
    free_from: f32,
    right: f32,
}

impl Names {
    fn tell(&mut self, ui: &Ui, at: Pos2, (hit, map): (&Hit, &NoteMap)) {
        if self.named == Some(hit.piece) || at.x <= self.free_from {
            return;
        }
        let quiet = theme::of(ui).text_quiet;
        // The piece that sounds, where the sampler lacks the one that is struck.
        let sounds = map.sounding(hit.piece);
        let name = sounds.map_or(text::NOT_SENT, text::short).to_owned();
        let galley = ui.painter().layout_no_wrap(name, theme::tiny(), quiet);
        // The last one ends where the lane does.
        let x = at.x.min(self.right - galley.size().x);
        self.free_from = x + galley.size().x + theme::GAP;
        let behind =
            Rect::from_min_size(pos2(x, at.y), galley.size()).expand2(egui::vec2(1.0, 0.0));
        ui.painter().rect_filled(behind, 0.0, theme::of(ui).sunk);
        ui.painter().galley(pos2(x, at.y), galley, quiet);
        self.named = Some(hit.piece);
    }
}

/// How the strokes of a lane are drawn.
struct Drawn {
    /// How high the loudest stands.
    room: f32,
    /// Half the size of a mark.
    size: f32,
    floor: f32,
    resting: bool,
    /// How long one stays lit, in ticks.
    lit: f64,
    now: Option<Ticks>,
    /// In quarter notes a minute.
    bpm: f64,
}

impl Drawn {
    /// A stroke; `newness` is how visible it is that a change brought it, and `only_here` whether what it is compared
    /// with lacks it.
    fn stroke(
        &self,
        ui: &Ui,
        time_axis: &TimeAxis,
        bar: Bar,
        (hit, newness, only_here): (&Hit, f32, bool),
        edited: &mut Edited,
    ) {
        let key = Key::of(hit);
        let palette = theme::of(ui);
        let head = self.head(time_axis, hit);
        let x = head.x;
        let colour = shade(palette, hit, self.resting || hit.ghost);
        let size = if hit.velocity >= ACCENT {
            self.size * 1.25
        } else {
            self.size
        };
        if newness > 0.0 {
            let ring = Stroke::new(2.0, palette.accent_text.gamma_multiply(newness));
            let radius = size * (1.7 + 1.5 * newness);
            ui.painter().circle_stroke(head, radius, ring);
        }
        if only_here {
            let line = Stroke::new(1.5, palette.accent_text);
            let around = Rect::from_center_size(head, egui::Vec2::splat(size * 3.4));
            let kind = egui::StrokeKind::Inside;
            ui.painter().rect_stroke(around, theme::CORNER, line, kind);
        }
        let is_selected = edited.selection.has(&key);
        if is_selected {
            chosen(ui, head, size);
        }
        let glow = self.glow(hit.tick);
        if glow > 0.0 {
            let light = palette.playhead.gamma_multiply(glow * 0.35);
            ui.painter().circle_filled(head, size * 2.2, light);
        }
        let stem = Stroke::new(2.0, colour.gamma_multiply(0.6));
        ui.painter().vline(x, head.y..=self.floor, stem);
        marks::paint(ui.painter(), hit.piece, (head, size), colour, palette.sunk);
        let touch = Rect::from_x_y_ranges(
            x - theme::MARK..=x + theme::MARK,
            head.y - theme::MARK..=self.floor,
        );
        if hit.asked {
            self.foot(ui, x, size);
        }
        let beyond = edited.beyond(&key);
        if beyond.is_some() {
            warning(ui, pos2(x, head.y - size - WARNING));
        }
        let id = ui
            .scope_id()
            .with(("stroke", hit.limb, hit.tick, hit.piece));
        // Keys go from stroke to stroke by themselves: none of them is a stop of its own.
        let mark = ui.interact(touch, id, Sense::CLICK | Sense::DRAG);
        mark.widget_info(|| {
            let stroke = description::stroke_of_limb(bar, hit);
            let mut stroke = description::in_bar(time_axis.number(bar), &stroke);
            if hit.asked {
                stroke = words::by_hand(&stroke);
            }
            if beyond.is_some() {
                stroke = words::beyond_two(&stroke);
            }
            WidgetInfo::selected(Role::GraphicsSymbol, true, is_selected, stroke)
        });
        let whole = || {
            let whole = description::whole(bar, hit, self.bpm);
            match beyond {
                Some(beyond) => format!("{whole}\n{}", beyond.why),
                None => whole,
            }
        };
        ui.ctx()
            .accesskit_node_builder(mark.id, |node| node.set_description(whole()));
        let response = mark.on_hover_ui_at_pointer(|ui| {
            ui.label(whole());
        });
        edited.touched.push(Touched {
            key,
            head,
            response,
        });
    }

    /// What a stroke stands on that the songwriter asked for.
    fn foot(&self, ui: &Ui, x: f32, size: f32) {
        let half = size.max(theme::MARK_LEAST) + 1.0;
        let foot = Rect::from_x_y_ranges(x - half..=x + half, self.floor - 3.0..=self.floor + 1.0);
        ui.painter().rect_filled(foot, 0.0, theme::of(ui).text);
    }

    /// A stroke of the drummer's that is left out by hand: its mark in a ring, struck out.
    fn left_out(&self, ui: &Ui, time_axis: &TimeAxis, mark: &Mark, edited: &mut Edited) {
        let (palette, hit) = (theme::of(ui), &mark.hit);
        let head = self.head(time_axis, hit);
        let is_selected = edited.selection.has(&mark.key);
        if is_selected {
            chosen(ui, head, self.size);
        }
        let faint = marks::colour(palette, hit.piece).gamma_multiply(palette.ghost_opacity);
        let at = (head, self.size * 0.8);
        marks::paint(ui.painter(), hit.piece, at, faint, palette.sunk);
        let line = Stroke::new(1.2, palette.text_quiet);
        let radius = self.size * 1.7;
        ui.painter().circle_stroke(head, radius, line);
        let across = vec2(radius, -radius) * 0.7;
        ui.painter()
            .line_segment([head - across, head + across], line);
        let touch = Rect::from_center_size(head, egui::Vec2::splat(radius * 2.4));
        let id = ui
            .scope_id()
            .with(("left out", mark.key.tick, hit.limb, hit.piece, hit.grace));
        let response = ui.interact(touch, id, Sense::CLICK | Sense::DRAG);
        let said = words::left_out(&description::stroke_of_limb(mark.bar, hit));
        let said = description::in_bar(time_axis.number(mark.bar), &said);
        response.widget_info(|| {
            WidgetInfo::selected(Role::GraphicsSymbol, true, is_selected, said.clone())
        });
        let response = response.on_hover_text(said);
        edited.touched.push(Touched {
            key: mark.key,
            head,
            response,
        });
    }

    /// How bright a stroke is lit, 0..=1: as it sounds, then fading.
    fn glow(&self, tick: Ticks) -> f32 {
        let Some(since) = self.now.map(|now| (now - tick) as f64) else {
            return 0.0;
        };
        if self.resting || !(0.0..self.lit).contains(&since) {
            return 0.0;
        }
        #[expect(clippy::cast_possible_truncation)]
        let glow = (1.0 - since / self.lit) as f32;
        glow
    }

    /// Where the head of a stroke stands.
    fn head(&self, time_axis: &TimeAxis, hit: &Hit) -> Pos2 {
        let height = f32::from(hit.velocity) / 127.0 * self.room;
        pos2(time_axis.x(hit.tick), self.floor - height)
    }

    /// A stroke that a change took away, as it fades.
    fn gone(&self, ui: &Ui, time_axis: &TimeAxis, hit: &Hit, share: f32) {
        let palette = theme::of(ui);
        let at = (self.head(time_axis, hit), self.size);
        let colour = marks::colour(palette, hit.piece).gamma_multiply(share * 0.7);
        marks::paint(ui.painter(), hit.piece, at, colour, palette.sunk);
        let line = Stroke::new(1.5, palette.accent_text.gamma_multiply(share));
        let half = egui::vec2(self.size, -self.size) * 1.5;
        ui.painter().line_segment([at.0 - half, at.0 + half], line);
    }

    /// A stroke of what is compared, which is not played.
    fn other(&self, ui: &Ui, time_axis: &TimeAxis, bar: Bar, hit: &Hit) {
        let palette = theme::of(ui);
        let at = self.head(time_axis, hit);
        let line = Stroke::new(1.5, palette.accent_text);
        ui.painter().circle_stroke(at, self.size, line);
        let stem = egui::Shape::dashed_line(&[at, pos2(at.x, self.floor)], line, 2.0, 3.0);
        ui.painter().extend(stem);
        let touch = Rect::from_center_size(at, egui::Vec2::splat(self.size * 3.0));
        let id = ui.scope_id().with(("other", hit.limb, hit.tick, hit.piece));
        let said = description::other(bar, hit);
        let mark = ui.interact(touch, id, Sense::hover());
        mark.widget_info(|| WidgetInfo::labeled(Role::GraphicsSymbol, true, said.clone()));
        mark.on_hover_text(said);
    }

    /// A stroke that is beyond the player: its piece's mark, struck out, on the line.
    fn dropped(&self, ui: &Ui, time_axis: &TimeAxis, bar: Bar, hit: &Hit) {
        let palette = theme::of(ui);
        let at = pos2(time_axis.x(hit.tick), self.floor - self.size * 1.6);
        let faint = marks::colour(palette, hit.piece).gamma_multiply(palette.ghost_opacity);
        marks::paint(
            ui.painter(),
            hit.piece,
            (at, self.size * 0.8),
            faint,
            palette.sunk,
        );
        let half = egui::Vec2::splat(self.size);
        let line = Stroke::new(1.5, palette.fill_text);
        let across = egui::vec2(half.x, -half.y) * 1.4;
        ui.painter().line_segment([at - across, at + across], line);
        let touch = Rect::from_center_size(at, half * 3.0);
        let id = ui
            .scope_id()
            .with(("dropped", hit.limb, hit.tick, hit.piece));
        let said = description::beyond(bar, hit);
        let mark = ui.interact(touch, id, Sense::hover());
        mark.widget_info(|| WidgetInfo::labeled(Role::GraphicsSymbol, true, said.clone()));
        mark.on_hover_ui_at_pointer(|ui| {
            ui.label(&said);
        });
    }
}

/// Behind the head of a stroke that is selected.
fn chosen(ui: &Ui, head: Pos2, size: f32) {
    let palette = theme::of(ui);
    let line = Stroke::new(1.5, palette.text);
    ui.painter().circle(head, size * 2.1, palette.chosen, line);
}

/// Half the height of the sign of what is beyond two hands.
const WARNING: f32 = 6.0;

/// The sign of what is beyond two hands and two feet.
pub(super) fn warning(ui: &Ui, at: Pos2) {
    let (painter, palette) = (ui.painter(), theme::of(ui));
    let corner = |x: f32, y: f32| at + vec2(x, y) * WARNING;
    let corners = vec![corner(0.0, -1.0), corner(1.15, 1.0), corner(-1.15, 1.0)];
    let line = Stroke::new(1.5, palette.fill_text);
    painter.add(Shape::convex_polygon(corners, palette.sunk, line));
    painter.line_segment([corner(0.0, -0.35), corner(0.0, 0.3)], line);
    painter.circle_filled(corner(0.0, 0.65), 1.0, palette.fill_text);
}

fn shade(palette: &Palette, hit: &Hit, faint: bool) -> Color32 {
    let colour = marks::colour(palette, hit.piece);
    if faint {
        colour.gamma_multiply(palette.ghost_opacity)
    } else {
        colour
    }
}
