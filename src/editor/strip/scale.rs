//! The bars of the song on the strip, in points.

use super::block::FLOOR;
use crate::editor::theme;
use crate::editor::widgets::{caption, caption_width};
use crate::project::Song;
use crate::settings::SettingId;
use egui::{Align2, Rect, Shape, Stroke, Ui, pos2};
use std::ops::Range;

/// Labels of bars stand at least so far apart, in points.
const LABEL_LEAST: f32 = 44.0;

/// The bars on the strip.
pub(super) struct Scale {
    pub(super) area: Rect,
    /// Points a bar.
    pub(super) bar: f32,
    /// Bars on show.
    pub(super) bars: usize,
}

impl Scale {
    pub(super) fn x(&self, bar: f32) -> f32 {
        self.area.left() + bar * self.bar
    }

    /// The bar, from 0, that a place lies in.
    pub(super) fn bar_at(&self, x: f32) -> usize {
        let bar = ((x - self.area.left()) / self.bar).floor().max(0.0);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let bar = bar as usize;
        bar.min(self.bars.saturating_sub(1))
    }

    /// The numbers of the bars, below the blocks.
    pub(super) fn label(&self, ui: &Ui) {
        let steps = [1, 2, 4, 8, 16, 32, 64, 128, 256, 512, 1024, 2048, 4096];
        let fits = |step: &&usize| **step as f32 * self.bar >= LABEL_LEAST;
        let step = steps.iter().find(fits).copied().unwrap_or(8192);
        let (painter, palette) = (ui.painter(), theme::of(ui));
        for bar in (0..self.bars).step_by(step) {
            let x = self.x(bar as f32);
            let foot = self.area.bottom() + 3.0..=self.area.bottom() + 6.0;
            painter.vline(x, foot, Stroke::new(1.0, palette.count_line));
            let at = pos2(x + 2.0, self.area.bottom() + theme::STRIP_FOOT * 0.65);
            let number = (bar + 1).to_string();
            if x + caption_width(ui, &number) > self.area.right() {
                continue;
            }
            caption(ui, at, Align2::LEFT_CENTER, &number, palette.text_quiet);
        }
    }

    /// The bars that the lanes show: a bar below the blocks.
    pub(super) fn window(&self, ui: &Ui, bars: &Range<usize>) {
        let (left, right) = (self.x(bars.start as f32), self.x(bars.end as f32));
        let bottom = self.area.bottom() + 2.0;
        let line = Stroke::new(3.0, theme::of(ui).accent_text);
        ui.painter()
            .hline(left..=right.min(self.area.right()), bottom, line);
    }
}

/// How often the intensity in force is drawn, in a bar.
const SAMPLES: i16 = 4;

/// The intensity that is in force where the song has a lane of it, which counts in place of the sections'.
pub(super) fn in_force(ui: &Ui, area: Rect, scale: f32, song: &Song) {
    if !song.file.automation.contains_key(&SettingId::Intensity) {
        return;
    }
    let (timeline, panel) = (&song.timeline, song.timeline.start_settings());
    let floor = area.bottom() - FLOOR;
    let height = area.height() - theme::BLOCK_TEXT - 2.0 * FLOOR;
    let mut points = Vec::new();
    for (i, bar) in timeline.bars().iter().enumerate() {
        for part in 0..SAMPLES {
            let share = f32::from(part) / f32::from(SAMPLES);
            let tick = bar.start + bar.meter.bar_len() * i64::from(part) / i64::from(SAMPLES);
            let level = timeline
                .chart()
                .settings(tick, &panel)
                .stroke_settings
                .intensity;
            let x = area.left() + (i as f32 + share) * scale;
            points.push(pos2(x, floor - level * height));
        }
    }
    let line = Stroke::new(1.0, theme::of(ui).fill_text);
    ui.painter()
        .extend(Shape::dashed_line(&points, line, 4.0, 3.0));
}
