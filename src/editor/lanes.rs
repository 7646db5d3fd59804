//! The bars as they will be played: a lane for every limb, a mark for every stroke, the playhead, and the
//! riff below on the same time.
//!
//! - `window`: which bars are on show; `heading`: the line above
//! - `time_axis`: where things are on the screen
//! - `strokes`: the marks of a lane
//! - `guitar`: the riff

mod guitar;
mod heading;
mod strokes;
mod time_axis;
mod window;

use super::compare::Compare;
use super::picture::Picture;
use super::snapshot::Snapshot;
use super::widgets::{caption, caption_width};
use super::{text, theme};
use crate::groove::Limb;
use crate::time::tempo::ticks_per_second;
use crate::time::{Bar, Ticks};
use egui::{Align2, Rect, Role, Sense, Stroke, Ui, WidgetInfo, pos2};
use std::ops::Range;
use time_axis::TimeAxis;
use window::Window;

/// Longest that the playhead goes on by itself between two reports, in seconds: blocks are shorter.
const LONGEST_S: f64 = 0.25;

/// What the view remembers between frames.
#[derive(Debug, Default)]
pub struct Lanes {
    /// One for each bar on show.
    pictures: Vec<Picture>,
    /// The same bars in the other state, where two are compared.
    others: Vec<Picture>,
    /// How many of them are on show.
    shown: usize,
    window: Window,
    /// Where the playhead was last reported, and when, in seconds of the window.
    reported: Option<(Ticks, f64)>,
    /// Where it was shown last: all of it, and the guitar below.
    areas: Option<(Rect, Rect)>,
}

impl Lanes {
    /// Looks at a bar of the song, from 0, unless it looks at what was asked for last.
    pub fn look_from(&mut self, bar: i64) {
        self.window.look_from(bar);
    }

    /// Shows so many bars, or the phrase.
    pub fn show_bars(&mut self, count: Option<usize>) {
        self.window.set(count);
    }

    /// The bar to look at while the transport stands, from 0.
    pub fn looks_at(&self) -> i64 {
        self.window.at()
    }

    /// The bars on show, from 0, as they were shown last.
    pub fn shown(&self) -> Range<usize> {
        self.window.shown()
    }

    /// Where the view was shown last: all of it, and the guitar's row.
    pub fn areas(&self) -> Option<(Rect, Rect)> {
        self.areas
    }

    /// The pictures of the bars on show.
    pub fn pictures(&self) -> &[Picture] {
        &self.pictures[..self.shown]
    }

    /// How many strokes on show the player's limits took away.
    pub fn thinned(&self) -> usize {
        self.pictures()
            .iter()
            .map(|picture| picture.played().thinned())
            .sum()
    }

    /// Shows the bars. What may be set here is the view's own, but for what is compared.
    pub fn show(
        &mut self,
        ui: &mut Ui,
        snapshot: &Snapshot,
        compare: &mut Compare,
        actions: &mut Vec<super::action::Action>,
    ) {
        let (first, bars) = self.window.bars(snapshot);
        let number = first + 1;
        self.compose(ui, &bars, snapshot, compare);
        let heading = ui.horizontal(|ui| {
            let first = self.pictures.first();
            heading::show(ui, first, &mut self.window, snapshot, actions);
            ui.min_rect().right()
        });
        let line = (heading.response.rect, heading.inner + theme::GAP);
        let right = heading::tools(ui, line, &mut self.window, compare, actions);
        let ends = (heading.inner + theme::GAP, right - theme::GAP);
        let area = ui.available_rect_before_wrap();
        let ground = ui.allocate_rect(area, Sense::click());
        ground.widget_info(|| WidgetInfo::labeled(Role::Group, true, text::LANES));
        self.window.heed(ui, &ground, snapshot);
        let time_axis = TimeAxis::new(area, (number, &bars));
        self.areas = Some((area, time_axis.guitar));
        let now = self.playhead(ui, snapshot);
        self.ground(ui, &time_axis, ends);
        let others = compare.marks().then_some(&self.others[..]);
        for (i, limb) in Limb::ALL.into_iter().enumerate() {
            let pictures = (self.pictures(), others.unwrap_or_default());
            strokes::show(ui, &time_axis, (i, limb), pictures, now, snapshot);
        }
        guitar::show(ui, &time_axis, self.pictures(), &snapshot.attacks);
        if let Some(now) = now.filter(|now| time_axis.contains(*now)) {
            let line = Stroke::new(1.5, theme::of(ui).playhead);
            ui.painter().vline(time_axis.x(now), time_axis.all(), line);
        }
        if ground.has_focus() {
            super::widgets::focus_ring(ui.painter(), area, theme::of(ui));
        }
    }

    fn compose(&mut self, ui: &Ui, bars: &[Bar], snapshot: &Snapshot, compare: &Compare) {
        let time = ui.input(|input| input.time);
        self.shown = bars.len();
        if lay(&mut self.pictures, bars, snapshot, time) {
            ui.ctx().request_repaint();
        }
        match compare.other(snapshot) {
            Some(other) => drop(lay(&mut self.others, bars, &other, time)),
            None => self.others.clear(),
        }
    }

    /// Where the playhead is now: as it was last reported, and on from there by the tempo.
    fn playhead(&mut self, ui: &Ui, snapshot: &Snapshot) -> Option<Ticks> {
        let (_, tick) = snapshot.at?;
        let time = ui.input(|input| input.time);
        let (at, since) = match self.reported {
            Some(reported) if reported.0 == tick => reported,
            _ => (tick, time),
        };
        self.reported = Some((at, since));
        let seconds = (time - since).clamp(0.0, LONGEST_S);
        if seconds < LONGEST_S {
            // It moves on by itself: the next frame is wanted as soon as there is one.
            ui.ctx().request_repaint();
        }
        #[expect(clippy::cast_possible_truncation)]
        let on = (seconds * ticks_per_second(snapshot.bpm)) as Ticks;
        Some(at + on)
    }

    /// Bars, counts, units and fills: what the strokes stand on. A fill is named where the heading, which leaves
    /// the room from a point to another, has room, else where it is pointed at.
    fn ground(&self, ui: &Ui, time_axis: &TimeAxis, (from, to): (f32, f32)) {
        let (painter, palette) = (ui.painter(), theme::of(ui));
        painter.rect_filled(time_axis.lanes, theme::CORNER, palette.sunk);
        painter.rect_filled(time_axis.guitar, theme::CORNER, palette.sunk);
        for picture in self.pictures() {
            if let Some(fill) = picture.played().fill() {
                let area = time_axis.span(fill.start, fill.end);
                painter.rect_filled(area, theme::CORNER, palette.fill);
                let name = text::fill(&fill.to_string());
                let section_position = ui.interact(
                    area,
                    ui.scope_id().with(("fill", fill.start)),
                    Sense::hover(),
                );
                section_position
                    .widget_info(|| WidgetInfo::labeled(Role::Image, true, name.clone()));
                let at = pos2(area.right(), time_axis.top - theme::COUNT_HEIGHT * 0.7);
                if at.x - caption_width(ui, &name) < from || at.x > to {
                    section_position.on_hover_text(name);
                } else {
                    caption(ui, at, Align2::RIGHT_CENTER, &name, palette.fill_text);
                }
            }
        }
        let wide = time_axis.count_width() > theme::COUNT_LEAST;
        let mut free_from = f32::NEG_INFINITY;
        for &bar in time_axis.bars {
            for (i, count) in bar.meter.counts().into_iter().enumerate() {
                let units = 1..Ticks::from(count.units);
                for unit in units.filter(|_| wide) {
                    let x = time_axis.x(bar.start + count.start + unit * count.unit());
                    painter.vline(
                        x,
                        time_axis.lanes.y_range(),
                        Stroke::new(1.0, palette.unit_line),
                    );
                }
                let x = time_axis.x(bar.start + count.start);
                let (width, colour) = match i {
                    0 => (1.5, palette.text_quiet),
                    _ if wide => (1.0, palette.count_line),
                    _ => (1.0, palette.unit_line),
                };
                painter.vline(x, time_axis.all(), Stroke::new(width, colour));
                let number = match i {
                    0 => text::bar(time_axis.number(bar)),
                    _ if wide => (i + 1).to_string(),
                    _ => continue,
                };
                let at = pos2(x, time_axis.top + theme::COUNT_HEIGHT * 0.5);
                let width = caption_width(ui, &number);
                let left = if i == 0 { x } else { x - width / 2.0 };
                if left < free_from && i > 0 {
                    continue;
                }
                free_from = left + width + theme::GAP * 0.5;
                let anchor = [Align2::CENTER_CENTER, Align2::LEFT_CENTER][usize::from(i == 0)];
                caption(ui, at, anchor, &number, palette.text_quiet);
            }
        }
    }
}

/// Composes the bars; whether a change is to be seen for a moment.
fn lay(pictures: &mut Vec<Picture>, bars: &[Bar], snapshot: &Snapshot, time: f64) -> bool {
    // Bars that stay on show may move: they are found again.
    pictures.sort_by_key(|picture| {
        let place = bars.iter().position(|bar| picture.bar() == Some(*bar));
        place.unwrap_or(usize::MAX)
    });
    if pictures.len() < bars.len() {
        pictures.resize_with(bars.len(), Picture::default);
    }
    let mut changes = false;
    for (picture, bar) in pictures.iter_mut().zip(bars) {
        picture.compose(*bar, snapshot);
        changes |= picture.age(time);
    }
    changes
}
