//! Where things are on the screen, in points.

use crate::editor::theme;
use crate::groove::Limb;
use crate::time::{Bar, TICKS_PER_QUARTER, Ticks};
use egui::{Rangef, Rect, vec2};

/// The lanes of some bars in a row.
pub(super) struct TimeAxis<'a> {
    pub(super) bars: &'a [Bar],
    /// The first bar's number in the song, from 1.
    first: i64,
    /// Left edge of the lanes' names.
    pub(super) names: f32,
    /// Upper edge of the row of counts.
    pub(super) top: f32,
    pub(super) lanes: Rect,
    pub(super) guitar: Rect,
}

impl<'a> TimeAxis<'a> {
    pub(super) fn new(area: Rect, (first, bars): (i64, &'a [Bar])) -> Self {
        let mut lanes = area;
        lanes.set_left(area.left() + theme::LANE_NAME_WIDTH);
        lanes.set_top(area.top() + theme::COUNT_HEIGHT);
        let mut guitar = lanes;
        lanes.set_bottom(area.bottom() - theme::GUITAR_HEIGHT - theme::GAP);
        guitar.set_top(area.bottom() - theme::GUITAR_HEIGHT);
        Self {
            bars,
            first,
            names: area.left(),
            top: area.top(),
            lanes,
            guitar,
        }
    }

    fn ends(&self) -> (Ticks, Ticks) {
        let first = self.bars.first().map_or(0, |bar| bar.start);
        let last = self.bars.last().map_or(1, |bar| bar.end());
        (first, last.max(first + 1))
    }

    pub(super) fn contains(&self, tick: Ticks) -> bool {
        let (first, last) = self.ends();
        (first..last).contains(&tick)
    }

    pub(super) fn x(&self, tick: Ticks) -> f32 {
        let (first, last) = self.ends();
        let width = self.lanes.width() - theme::LANE_INSET;
        let part = (tick - first) as f32 / (last - first) as f32;
        self.lanes.left() + theme::LANE_INSET + part * width
    }

    /// The tick at a place on the screen, which may lie before the first bar or behind the last.
    pub(super) fn tick(&self, x: f32) -> Ticks {
        let (first, last) = self.ends();
        let width = (self.lanes.width() - theme::LANE_INSET).max(1.0);
        let part = (x - self.lanes.left() - theme::LANE_INSET) / width;
        #[expect(clippy::cast_possible_truncation)]
        let into = (f64::from(part) * (last - first) as f64).round() as Ticks;
        first + into
    }

    /// The lane, from the top, at a height of the screen.
    pub(super) fn lane_at(&self, y: f32) -> Option<usize> {
        (0..Limb::ALL.len()).find(|lane| self.lane(*lane).y_range().contains(y))
    }

    /// The part of the lanes from a tick to another.
    pub(super) fn span(&self, from: Ticks, to: Ticks) -> Rect {
        let (_, last) = self.ends();
        let mut area = self.lanes;
        area.set_left(self.x(from) - theme::LANE_INSET * 0.5);
        if to < last {
            area.set_right(self.x(to) - theme::LANE_INSET * 0.5);
        }
        area
    }

    /// From the lanes' top to the guitar's bottom.
    pub(super) fn all(&self) -> Rangef {
        Rangef::new(self.lanes.top(), self.guitar.bottom())
    }

    /// How wide the narrowest count is.
    pub(super) fn count_width(&self) -> f32 {
        let lengths = self.bars.iter().flat_map(|bar| bar.meter.counts());
        let least = lengths.map(|count| count.len).min().unwrap_or(1);
        let (first, _) = self.ends();
        self.x(first + least) - self.x(first)
    }

    /// Half the size of a mark: less where many bars are on show.
    pub(super) fn mark(&self) -> f32 {
        let sixteenth = self.x(TICKS_PER_QUARTER / 4) - self.x(0);
        (sixteenth * 0.42).clamp(theme::MARK_LEAST, theme::MARK)
    }

    /// A bar's number in the song, from 1.
    pub(super) fn number(&self, bar: Bar) -> i64 {
        let place = self.bars.iter().position(|other| *other == bar);
        self.first
            + place
                .and_then(|place| i64::try_from(place).ok())
                .unwrap_or(0)
    }

    pub(super) fn lane(&self, index: usize) -> Rect {
        let height = self.lanes.height() / Limb::ALL.len() as f32;
        let corner = self.lanes.left_top() + vec2(0.0, height * index as f32);
        Rect::from_min_size(corner, vec2(self.lanes.width(), height))
    }
}
