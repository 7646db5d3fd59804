//! The current bar: a lane for every limb, a mark for every stroke, and the playhead.

use super::picture::Picture;
use super::snapshot::Snapshot;
use super::theme::Palette;
use super::widgets::caption;
use super::{marks, text, theme, words};
use crate::groove::{Hit, Limb};
use crate::time::{Bar, Ticks};
use egui::{
    Align2, Button, Color32, Rect, RichText, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2,
};

/// What the view remembers between frames.
#[derive(Debug, Default)]
pub struct BarView {
    picture: Picture,
    /// The bar of the song, from 0, from which on bars are on show while the transport stands.
    from: i64,
    /// Which of them is, from 0.
    look: i64,
}

impl BarView {
    /// Looks at the phrase from a bar of the song on, from 0.
    pub fn look_from(&mut self, bar: i64) {
        if self.from != bar {
            self.from = bar;
            self.look = 0;
        }
    }

    /// The bar on show while the transport stands, from 0.
    pub fn looks_at(&self) -> i64 {
        self.from + self.look
    }

    /// Shows the bar. It asks for nothing: what may be set here is the view's own.
    pub fn show(&mut self, ui: &mut Ui, snapshot: &Snapshot) {
        let settings = &snapshot.values.settings;
        self.look = self.look.min(settings.plan.phrase.bars() - 1);
        let bar = snapshot.bar(self.looks_at());
        self.picture.compose(bar, snapshot);
        ui.horizontal(|ui| self.heading(ui, snapshot));
        let area = ui.available_rect_before_wrap();
        ui.allocate_rect(area, Sense::hover());
        let stage = Stage::new(area, bar);
        self.ground(ui, &stage);
        for (i, limb) in Limb::ALL.into_iter().enumerate() {
            self.lane(ui, &stage, i, limb, snapshot.values.bypass);
        }
        if let Some(progress) = snapshot.progress() {
            let x = stage.x_at(progress);
            ui.painter().vline(
                x,
                stage.lanes.y_range(),
                Stroke::new(1.5, theme::of(ui).playhead),
            );
        }
    }

    /// What it has composed.
    pub fn picture(&self) -> &Picture {
        &self.picture
    }

    fn heading(&mut self, ui: &mut Ui, snapshot: &Snapshot) {
        let settings = &snapshot.values.settings;
        let beat = self.picture.settings().plan.beat();
        ui.label(RichText::new(beat.name).strong());
        if let Some(piece) = self.picture.riding() {
            ui.label(RichText::new(text::riding(piece)).color(theme::of(ui).text_quiet));
        }
        let thinned = self.picture.thinned();
        if thinned > 0 {
            ui.label(RichText::new(text::thinned(thinned)).color(theme::of(ui).fill_text));
        }
        if snapshot.at.is_some() {
            return;
        }
        ui.add_space(theme::GAP_WIDE);
        ui.label(RichText::new(text::LOOK_AT).color(theme::of(ui).text_quiet))
            .on_hover_text(text::LOOK_AT_HINT);
        ui.spacing_mut().item_spacing.x = 2.0;
        for bar in 0..settings.plan.phrase.bars() {
            let (chosen, number) = (bar == self.look, self.from + bar + 1);
            let button = ui
                .add(Button::new(number.to_string()).selected(chosen))
                .on_hover_text(text::LOOK_AT_HINT);
            if button.clicked() {
                self.look = bar;
            }
            button.widget_info(|| {
                let label = format!("{} {number}", text::LOOK_AT);
                WidgetInfo::selected(Role::RadioButton, true, chosen, label)
            });
        }
    }

    /// Lanes, counts, units and fill: what the strokes stand on.
    fn ground(&self, ui: &Ui, stage: &Stage) {
        let painter = ui.painter();
        painter.rect_filled(stage.lanes, theme::CORNER, theme::of(ui).sunk);
        if let Some(fill) = self.picture.fill() {
            let name = fill.to_string();
            let mut area = stage.lanes;
            area.set_left(stage.x(fill.start) - theme::LANE_INSET * 0.8);
            if fill.end < stage.bar.end() {
                area.set_right(stage.x(fill.end) - theme::LANE_INSET * 0.8);
            }
            painter.rect_filled(area, theme::CORNER, theme::of(ui).fill);
            ui.interact(area, ui.scope_id().with("fill"), Sense::hover())
                .widget_info(|| WidgetInfo::labeled(Role::Image, true, text::fill(&name)));
            // On the heading's line: the counts' own is theirs.
            let at = pos2(stage.lanes.right(), stage.top - theme::COUNT_HEIGHT * 0.7);
            caption(
                ui,
                at,
                Align2::RIGHT_CENTER,
                &text::fill(&name),
                theme::of(ui).fill_text,
            );
        }
        for (i, count) in stage.bar.meter.counts().into_iter().enumerate() {
            for unit in 1..Ticks::from(count.units) {
                let x = stage.x(stage.bar.start + count.start + unit * count.unit());
                painter.vline(
                    x,
                    stage.lanes.y_range(),
                    Stroke::new(1.0, theme::of(ui).unit_line),
                );
            }
            let x = stage.x(stage.bar.start + count.start);
            painter.vline(
                x,
                stage.lanes.y_range(),
                Stroke::new(1.0, theme::of(ui).count_line),
            );
            let at = pos2(x, stage.top + theme::COUNT_HEIGHT * 0.5);
            let number = (i + 1).to_string();
            caption(
                ui,
                at,
                Align2::CENTER_CENTER,
                &number,
                theme::of(ui).text_quiet,
            );
        }
    }

    fn lane(&self, ui: &Ui, stage: &Stage, index: usize, limb: Limb, resting: bool) {
        let (bar, hits) = (stage.bar, self.picture.hits());
        let lane = stage.lane(index);
        ui.interact(lane, ui.scope_id().with(("lane", index)), Sense::hover())
            .widget_info(|| WidgetInfo::labeled(Role::Image, true, words::lane(bar, limb, hits)));
        let floor = lane.bottom() - theme::LANE_FOOT;
        let at = pos2(stage.names, floor - theme::LANE_FOOT * 0.4);
        caption(ui, at, Align2::LEFT_CENTER, limb.name(), theme::of(ui).text);
        ui.painter().hline(
            lane.x_range(),
            floor,
            Stroke::new(1.0, theme::of(ui).lane_line),
        );
        let room = floor - lane.top() - theme::MARK * 2.5;
        let mut named = None;
        let mut free_from = f32::NEG_INFINITY;
        for (i, hit) in hits.iter().enumerate().filter(|(_, hit)| hit.limb == limb) {
            let x = stage.x(hit.tick);
            let height = f32::from(hit.velocity) / 127.0 * room;
            let colour = shade(theme::of(ui), hit, resting || self.picture.is_ghost(i));
            let head = pos2(x, floor - height);
            ui.painter().vline(
                x,
                head.y..=floor,
                Stroke::new(2.0, colour.gamma_multiply(0.6)),
            );
            let ground = theme::of(ui).sunk;
            marks::paint(ui.painter(), hit.piece, (head, theme::MARK), colour, ground);
            if named != Some(hit.piece) && x > free_from {
                let at = pos2(x - theme::MARK, floor + 1.0);
                let name = text::short(hit.piece);
                let galley = ui.painter().layout_no_wrap(
                    name.to_owned(),
                    theme::tiny(),
                    theme::of(ui).text_quiet,
                );
                free_from = at.x + galley.size().x + theme::GAP;
                ui.painter().galley(at, galley, theme::of(ui).text_quiet);
                named = Some(hit.piece);
            }
            let touch = Rect::from_x_y_ranges(
                x - theme::MARK..=x + theme::MARK,
                head.y - theme::MARK..=floor,
            );
            let mark = ui.interact(touch, ui.scope_id().with(("stroke", i)), Sense::hover());
            mark.widget_info(|| {
                WidgetInfo::labeled(Role::GraphicsSymbol, true, words::stroke_of_limb(bar, hit))
            });
            mark.on_hover_ui_at_pointer(|ui| {
                ui.label(words::stroke(bar, hit));
            });
        }
    }
}

fn shade(palette: &Palette, hit: &Hit, faint: bool) -> Color32 {
    let colour = marks::colour(palette, hit.piece);
    if faint {
        colour.gamma_multiply(palette.ghost_opacity)
    } else {
        colour
    }
}

/// Where things are on the screen, in points.
struct Stage {
    bar: Bar,
    /// Left edge of the lanes' names.
    names: f32,
    /// Upper edge of the row of counts.
    top: f32,
    lanes: Rect,
}

impl Stage {
    fn new(area: Rect, bar: Bar) -> Self {
        let mut lanes = area;
        lanes.set_left(area.left() + theme::LANE_NAME_WIDTH);
        lanes.set_top(area.top() + theme::COUNT_HEIGHT);
        Self {
            bar,
            names: area.left(),
            top: area.top(),
            lanes,
        }
    }

    /// Where a part of the bar, 0..=1, lies.
    fn x_at(&self, part: f32) -> f32 {
        let width = self.lanes.width() - theme::LANE_INSET;
        self.lanes.left() + theme::LANE_INSET + part * width
    }

    fn x(&self, tick: Ticks) -> f32 {
        self.x_at((tick - self.bar.start) as f32 / self.bar.meter.bar_len() as f32)
    }

    fn lane(&self, index: usize) -> Rect {
        let height = self.lanes.height() / Limb::ALL.len() as f32;
        let corner = self.lanes.left_top() + vec2(0.0, height * index as f32);
        Rect::from_min_size(corner, vec2(self.lanes.width(), height))
    }
}
