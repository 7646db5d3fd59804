//! The bars as they will be played: a lane for every limb, a mark for every stroke, the playhead, and the
//! riff below on the same time.
//!
//! - `window`: which bars are on show; `heading`: the line above
//! - `time_axis`: where things are on the screen
//! - `strokes`: the marks of a lane
//! - `guitar`: the riff; `hits`: the hits of the band on it
//! - `guitar`: the riff
//! - `selection`: what names strokes and which are selected; `selected`: the line that says it
//! - `editing`: what pointer and keys do to them; `edit`: the edits that come of it; `grid`: the places they go to
//! - `beyond`: what two hands and two feet can't play; `asleep`: edits of strokes that are not there

mod asleep;
mod beyond;
mod edit;
mod editing;
mod grid;
mod guitar;
mod heading;
mod hits;
mod selected;
mod selection;
mod strokes;
mod time_axis;
mod window;

use super::compare::Compare;
use super::picture::Picture;
use super::snapshot::Snapshot;
use super::widgets::{caption, caption_width};
use super::{text, theme};
use crate::groove::{Hit, Limb};
use crate::settings::Player;
use crate::time::tempo::ticks_per_second;
use crate::time::{Bar, Ticks};
use asleep::Survey;
use beyond::{Beyond, judge};
use edit::Base;
use editing::{Editing, Scene};
use egui::{Align2, Rect, Role, Sense, Stroke, Ui, WidgetInfo, pos2};
use grid::Grid;
use hits::Hits;
use selection::{Key, Mark, marks};
use std::ops::Range;
use strokes::Edited;
use time_axis::TimeAxis;
use window::Window;

/// Longest that the playhead goes on by itself between two reports, in seconds: blocks are shorter.
const LONGEST_S: f64 = 0.25;

/// What a judgement depends on: the bars with how often they were composed, the tempo and the player.
type Judged = (Vec<(Ticks, u64)>, u64, Player);

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
    hits: Hits,
    /// Bars on show as the drummer plays them without edits, where some are left out.
    unedited: Vec<Picture>,
    editing: Editing,
    survey: Survey,
    /// The strokes on show, how they were composed and judged, and which of them are beyond two hands and two feet.
    judged: Option<(Judged, Vec<Beyond>)>,
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

    /// Whether hits of the band are proposed.
    pub fn suggests(&mut self) -> &mut bool {
        &mut self.hits.suggests
    }

    /// How many strokes on show the player's limits took away.
    pub fn thinned(&self) -> usize {
        self.pictures()
            .iter()
            .map(|picture| picture.played().thinned())
            .sum()
    }

    /// How many strokes on show that the songwriter asked for are beyond two hands and two feet.
    pub fn beyond(&self) -> usize {
        self.judged.as_ref().map_or(0, |(_, beyond)| beyond.len())
    }

    /// Ends what Escape ends while the lanes have the keys; before any other view hears of it.
    pub fn escape(&mut self, ui: &Ui) {
        self.editing.escape(ui);
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
        let grid = self.grid();
        let marks = self.marks(&bars, snapshot);
        self.judge(&marks, &bars, &grid, snapshot);
        if self.survey.go_on(snapshot) {
            ui.ctx().request_repaint();
        }
        let (beyond, asleep) = (self.judged.take(), self.survey.found().to_vec());
        let scene = Scene {
            snapshot,
            marks: &marks,
            bars: &bars,
            number,
            grid: &grid,
            beyond: beyond.as_ref().map_or(&[], |(_, beyond)| beyond),
            asleep: &asleep,
        };
        self.editing.prune(&scene);
        let short = compare.width(ui, theme::TOOLS_SHORT);
        let heading = ui.horizontal(|ui| {
            if self.editing.says_something(&marks) {
                let width = ui.available_width() - short;
                selected::show(ui, &mut self.editing, (&scene, width), actions);
            } else {
                let first = self.pictures.first();
                heading::show(ui, first, &mut self.window, (snapshot, compare), actions);
                let width = ui.available_width() - short;
                selected::tools(ui, &mut self.editing, (&scene, width), actions);
            }
            ui.min_rect().right()
        });
        let line = (heading.response.rect, heading.inner + theme::GAP);
        let right = heading::tools(ui, line, &mut self.window, compare, actions);
        let ends = (heading.inner + theme::GAP, right - theme::GAP);
        let area = ui.available_rect_before_wrap();
        let ground = ui.allocate_rect(area, Sense::click_and_drag());
        ground.widget_info(|| WidgetInfo::labeled(Role::Group, true, text::LANES));
        self.editing.keys(ui, &ground, &scene, actions);
        let taken = self.editing.takes_arrows(&marks);
        self.window.heed(ui, &ground, snapshot, taken);
        let time_axis = TimeAxis::new(area, (number, &bars));
        self.areas = Some((area, time_axis.guitar));
        let now = self.playhead(ui, snapshot);
        self.ground(ui, &time_axis, ends);
        let others = compare.marks().then_some(&self.others[..]);
        let mut edited = Edited {
            marks: &marks,
            selection: &self.editing.selection,
            beyond: scene.beyond,
            touched: Vec::new(),
        };
        for (i, limb) in Limb::ALL.into_iter().enumerate() {
            let pictures = (&self.pictures[..self.shown], others.unwrap_or_default());
            strokes::show(
                ui,
                &time_axis,
                (i, limb),
                pictures,
                now,
                snapshot,
                &mut edited,
            );
        }
        let touched = edited.touched;
        self.editing.show_cursor(ui, &time_axis);
        let on_screen = (&ground, &time_axis, strokes::room(&time_axis));
        self.editing
            .pointer(ui, on_screen, &touched, &scene, actions);
        self.judged = beyond;
        guitar::show(ui, &time_axis, self.pictures(), &snapshot.attacks);
        self.hits.show(ui, &time_axis, snapshot, actions);
        if let Some(now) = now.filter(|now| time_axis.contains(*now)) {
            let line = Stroke::new(1.5, theme::of(ui).playhead);
            ui.painter().vline(time_axis.x(now), time_axis.all(), line);
        }
        if ground.has_focus() {
            // Beside the names of the lanes.
            super::widgets::focus_ring(ui.painter(), area.expand(3.0), theme::of(ui));
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

    /// The places that strokes go to.
    fn grid(&self) -> Grid {
        let bars = self.pictures().iter().filter_map(|picture| {
            let beat = picture.played().settings().bar_settings.beat();
            Some((picture.bar()?, beat.feel))
        });
        Grid::of(bars)
    }

    /// The strokes on show, with those that are left out by hand.
    fn marks(&mut self, bars: &[Bar], snapshot: &Snapshot) -> Vec<Mark> {
        let base = Base::of(snapshot);
        let out: Vec<Vec<Key>> = bars
            .iter()
            .map(|bar| base.left_out(bar.start, bar.end()))
            .collect();
        if out.iter().all(Vec::is_empty) {
            self.unedited.clear();
        } else {
            self.unedited.resize_with(bars.len(), Picture::default);
        }
        let mut left_out: Vec<Vec<Hit>> = vec![Vec::new(); bars.len()];
        for (i, picture) in self.unedited.iter_mut().enumerate() {
            let (Some(keys), Some(bar)) = (out.get(i).filter(|keys| !keys.is_empty()), bars.get(i))
            else {
                continue;
            };
            picture.compose_unedited(*bar, snapshot);
            let named = |hit: &&Hit| {
                let key = Key {
                    out: true,
                    ..Key::of(hit)
                };
                keys.contains(&key)
            };
            let hits = picture.played().hits().iter().filter(named);
            left_out[i] = hits.copied().collect();
        }
        let pictures = self.pictures().iter().zip(left_out).zip(bars);
        marks(pictures.map(|((picture, out), bar)| (picture, out, *bar)))
    }

    /// Judges the strokes on show, unless they are those that were judged last.
    fn judge(&mut self, marks: &[Mark], bars: &[Bar], grid: &Grid, snapshot: &Snapshot) {
        let composed = self.pictures().iter();
        let composed = composed.map(|picture| {
            let start = picture.bar().map_or(0, |bar| bar.start);
            (start, picture.composed())
        });
        let player = snapshot.values.settings.bar_settings.player;
        let now = (composed.collect(), snapshot.bpm.to_bits(), player);
        if self.judged.as_ref().is_none_or(|(then, _)| *then != now) {
            let beyond = judge(marks, bars, grid, (snapshot.bpm, player));
            self.judged = Some((now, beyond));
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
