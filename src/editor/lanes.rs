//! The phrase as it will be played: a lane for every limb, a mark for every stroke, the playhead, and the
//! riff below on the same time.
//!
//! - `time_axis`: where things are on the screen
//! - `strokes`: the marks of a lane
//! - `guitar`: the riff

mod guitar;
mod strokes;
mod time_axis;

use super::picture::Picture;
use super::snapshot::Snapshot;
use super::widgets::{caption, caption_width};
use super::{text, theme};
use crate::groove::{Limb, place_in_phrase};
use crate::settings::Play;
use crate::time::tempo::ticks_per_second;
use crate::time::{Bar, Ticks};
use egui::{Align2, Button, RichText, Role, Sense, Stroke, Ui, WidgetInfo, pos2};
use time_axis::TimeAxis;

/// Longest that the playhead goes on by itself between two reports, in seconds: blocks are shorter.
const LONGEST_S: f64 = 0.25;

/// What the view remembers between frames.
#[derive(Debug, Default)]
pub struct Lanes {
    /// One for each bar of the phrase.
    pictures: Vec<Picture>,
    /// How many of them are of the phrase on show.
    shown: usize,
    /// The bar of the song, from 0, at which to look while the transport stands, as it was asked for.
    from: i64,
    /// So many bars from there.
    look: i64,
    /// Where the playhead was last reported, and when, in seconds of the window.
    reported: Option<(Ticks, f64)>,
}

impl Lanes {
    /// Looks at the phrase of a bar of the song, from 0.
    pub fn look_from(&mut self, bar: i64) {
        if self.from != bar {
            self.from = bar;
            self.look = 0;
        }
    }

    /// The bar to look at while the transport stands, from 0.
    pub fn looks_at(&self) -> i64 {
        self.from + self.look
    }

    /// The pictures of the phrase's bars.
    pub fn pictures(&self) -> &[Picture] {
        &self.pictures[..self.shown]
    }

    /// How many strokes of the phrase the player's limits took away.
    pub fn thinned(&self) -> usize {
        self.pictures()
            .iter()
            .map(|picture| picture.played().thinned())
            .sum()
    }

    /// Shows the phrase. It asks for nothing: what may be set here is the view's own.
    pub fn show(&mut self, ui: &mut Ui, snapshot: &Snapshot) {
        let (number, bars) = phrase(snapshot, snapshot.bar(self.looks_at()));
        self.compose(&bars, snapshot);
        let heading = ui.horizontal(|ui| self.heading(ui, snapshot, (number, bars.len())));
        let ends = heading.response.rect.right() + theme::GAP;
        let area = ui.available_rect_before_wrap();
        ui.allocate_rect(area, Sense::hover());
        let time_axis = TimeAxis::new(area, (number, &bars));
        let now = self.playhead(ui, snapshot);
        self.ground(ui, &time_axis, ends);
        for (i, limb) in Limb::ALL.into_iter().enumerate() {
            strokes::show(ui, &time_axis, (i, limb), self.pictures(), now, snapshot);
        }
        guitar::show(ui, &time_axis, self.pictures(), &snapshot.attacks);
        if let Some(now) = now.filter(|now| time_axis.contains(*now)) {
            let line = Stroke::new(1.5, theme::of(ui).playhead);
            ui.painter().vline(time_axis.x(now), time_axis.all(), line);
        }
    }

    fn compose(&mut self, bars: &[Bar], snapshot: &Snapshot) {
        // A phrase that follows another one may share bars with it where a chart is changed: they are
        // found again.
        self.pictures.sort_by_key(|picture| {
            let place = bars.iter().position(|bar| picture.bar() == Some(*bar));
            place.unwrap_or(usize::MAX)
        });
        if self.pictures.len() < bars.len() {
            self.pictures.resize_with(bars.len(), Picture::default);
        }
        self.shown = bars.len();
        for (picture, bar) in self.pictures.iter_mut().zip(bars) {
            picture.compose(*bar, snapshot);
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

    fn heading(&mut self, ui: &mut Ui, snapshot: &Snapshot, (number, bars): (i64, usize)) {
        let quiet = theme::of(ui).text_quiet;
        let first = self.pictures().first();
        if let Some(bar_settings) = first.map(|picture| picture.played().settings().bar_settings) {
            let plays = match bar_settings.play {
                Play::Beat => bar_settings.beat().name(),
                other => Play::name(other),
            };
            ui.label(RichText::new(plays).strong());
        }
        if let Some(piece) = first.and_then(|picture| picture.played().riding()) {
            ui.label(RichText::new(text::riding(piece)).color(quiet));
        }
        if snapshot.at.is_some() {
            return;
        }
        ui.add_space(theme::GAP_WIDE);
        let count = i64::try_from(bars).unwrap_or(1);
        let at = self.looks_at();
        let shown = text::bars(number, number + count - 1);
        ui.label(RichText::new(shown).color(quiet));
        let (earlier, later) = (
            at > 0,
            snapshot.followed().is_none_or(|song| {
                usize::try_from(at + count).is_ok_and(|next| next < song.timeline.bars().len())
            }),
        );
        for (words, can, by) in [
            (text::EARLIER_PHRASE, earlier, -1),
            (text::LATER_PHRASE, later, count),
        ] {
            let button = ui.add_enabled(can, Button::new(words.0));
            if button.on_hover_text(words.1).clicked() {
                // Back by a bar is in the phrase before, of which the first bar is shown.
                self.look += by;
                let (first, _) = phrase(snapshot, snapshot.bar(self.looks_at()));
                self.look = first - 1 - self.from;
            }
        }
    }

    /// Bars, counts, units and fills: what the strokes stand on. A fill is named where the heading, which goes up to
    /// `from`, leaves room, else where it is pointed at.
    fn ground(&self, ui: &Ui, time_axis: &TimeAxis, from: f32) {
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
                if at.x - caption_width(ui, &name) < from {
                    section_position.on_hover_text(name);
                } else {
                    caption(ui, at, Align2::RIGHT_CENTER, &name, palette.fill_text);
                }
            }
        }
        let wide = time_axis.count_width() > theme::COUNT_LEAST;
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
                let anchor = [Align2::CENTER_CENTER, Align2::LEFT_CENTER][usize::from(i == 0)];
                caption(ui, at, anchor, &number, palette.text_quiet);
            }
        }
    }
}

/// The bars of the phrase that a bar lies in, in order, and the first one's number in the song, from 1.
fn phrase(snapshot: &Snapshot, bar: Bar) -> (i64, Vec<Bar>) {
    let panel = &snapshot.values.settings;
    let of_chart = || {
        let chart = snapshot.followed()?.timeline.chart();
        let here = chart.at(bar.start)?;
        let bar_settings = chart.settings(bar.start, panel).bar_settings;
        let section_position = chart.section_position(&here, panel);
        let (index, count) = place_in_phrase(
            chart.own_bar(&here).index(),
            Some(&section_position),
            &bar_settings,
        );
        let first = here.number - usize::try_from(index).ok()?;
        let last = first + usize::try_from(count).ok()?;
        let bars = (first..last).filter_map(|number| chart.here(number));
        let number = i64::try_from(first).ok()? + 1;
        Some((number, bars.map(|here| here.bar).collect()))
    };
    of_chart().unwrap_or_else(|| {
        let (index, count) = place_in_phrase(bar.index(), None, &panel.bar_settings);
        let length = bar.meter.bar_len();
        let start = |i: i64| Bar {
            start: bar.start + (i - index) * length,
            ..bar
        };
        (bar.index() - index + 1, (0..count).map(start).collect())
    })
}
