//! The song strip: the chart's sections as blocks along the bars, shaped by hand.
//!
//! - `block`: one section, as it is drawn and touched
//! - `shape`: what a touch makes of the song

mod block;
mod shape;

use super::snapshot::Snapshot;
use super::text::{self, chart as words};
use super::theme;
use crate::editor::action::Action;
use crate::project::Song;
use crate::settings::SettingId;
use crate::song::SongFile;
use block::{Block, Touched};
use egui::{Button, Key, Rect, RichText, ScrollArea, Sense, Stroke, TextEdit, Ui, pos2, vec2};
use shape::Edit;

/// How far it zooms in, and by how much at a step.
const ZOOMS: (f32, f32) = (1.0, 16.0);
const ZOOM_STEP: f32 = 1.5;

/// What the strip remembers between frames.
#[derive(Debug)]
pub struct Strip {
    /// The chosen section, from 0.
    pub chosen: usize,
    /// Whether what the chosen section says is open.
    pub open: bool,
    /// 1 where all of the song fits.
    zoom: f32,
    /// Points a bar while something is dragged, so that the song does not shrink under the pointer.
    held: Option<f32>,
    /// The section whose name is typed, and the name so far.
    renaming: Option<(usize, String)>,
    /// The section that is dragged elsewhere, and the place that it would get.
    moving: Option<(usize, usize)>,
}

/// How often the intensity in force is drawn, in a bar.
const SAMPLES: i16 = 4;

/// The intensity that is in force where the song has a lane of it, which counts in place of the sections'.
fn in_force(ui: &Ui, area: Rect, scale: f32, song: &Song) {
    if !song.file.automation.contains_key(&SettingId::Intensity) {
        return;
    }
    let (timeline, panel) = (&song.timeline, song.timeline.start_settings());
    let floor = area.bottom() - block::FLOOR;
    let height = area.height() - theme::BLOCK_TEXT - 2.0 * block::FLOOR;
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
        .extend(egui::Shape::dashed_line(&points, line, 4.0, 3.0));
}

impl Default for Strip {
    fn default() -> Self {
        Self {
            chosen: 0,
            open: false,
            zoom: ZOOMS.0,
            held: None,
            renaming: None,
            moving: None,
        }
    }
}

impl Strip {
    /// The first bar of the chosen section in the song, from 0.
    pub fn first_bar(&self, snapshot: &Snapshot) -> Option<i64> {
        let timeline = &snapshot.song.as_ref()?.timeline;
        let (start, _) = timeline.markers().nth(self.chosen)?;
        let bars = timeline.bars().partition_point(|bar| bar.start < start);
        i64::try_from(bars).ok()
    }

    /// Shows the strip of a song.
    pub fn show(
        &mut self,
        ui: &mut Ui,
        song: &Song,
        snapshot: &Snapshot,
        actions: &mut Vec<Action>,
    ) {
        let sections = song.file.sections.len();
        self.chosen = self.chosen.min(sections - 1);
        ui.horizontal(|ui| self.tools(ui, song, actions));
        let lead = song.file.start_bar.saturating_sub(1) as usize;
        let bars: usize = song.timeline.bars().len();
        let fits = ui.available_width() / bars.max(1) as f32;
        let scale = self.held.unwrap_or(fits * self.zoom);
        let whole = &song.whole;
        let mut touched = Vec::new();
        ScrollArea::horizontal().show(ui, |ui| {
            let size = vec2(scale * bars as f32, theme::BLOCK_HEIGHT);
            let (area, _) = ui.allocate_exact_size(size, Sense::hover());
            ui.painter()
                .rect_filled(area, theme::CORNER, theme::of(ui).sunk);
            let playing = snapshot.at.filter(|_| snapshot.followed().is_some());
            let now = playing.and_then(|(_, tick)| song.timeline.section_at(tick));
            let mut first = lead;
            for (place, section) in whole.sections.iter().enumerate() {
                let last = first + section.bars as usize;
                let x = |bar: usize| area.left() + bar as f32 * scale;
                let rect = Rect::from_x_y_ranges(x(first)..=x(last), area.y_range());
                let block = Block {
                    section,
                    place,
                    first: first + 1,
                    rect: rect.shrink2(vec2(1.0, 0.0)),
                    origin: x(lead),
                    chosen: place == self.chosen,
                    playing: now == Some(place),
                };
                block.show(ui, scale, &mut touched);
                first = last;
            }
            in_force(ui, area, scale, song);
            self.drop_marker(ui, area, scale, lead, whole);
            if let Some((place, rect)) = self.renamed_block(area, scale, lead, whole) {
                self.rename(ui, place, rect, whole, actions);
            }
            if let Some((bar, tick)) = playing {
                let number = song
                    .timeline
                    .bars()
                    .partition_point(|b| b.start < bar.start);
                let part = (tick - bar.start) as f32 / bar.meter.bar_len() as f32;
                let x = area.left() + (number as f32 + part) * scale;
                let line = Stroke::new(1.5, theme::of(ui).playhead);
                ui.painter().vline(x, area.y_range(), line);
            }
        });
        self.heed(ui, scale, whole, touched, actions);
    }

    /// The title, and how close the song is looked at.
    fn tools(&mut self, ui: &mut Ui, song: &Song, actions: &mut Vec<Action>) {
        ui.label(RichText::new(&song.file.title).strong());
        let open = Button::new(words::PAGE).selected(self.open);
        if ui.add(open).on_hover_text(words::PAGE_HINT).clicked() {
            self.open = !self.open;
        }
        for (i, (name, hint)) in words::LIST.into_iter().enumerate() {
            let edit = Edit::LIST[i];
            let can = edit.can(&song.file, self.chosen);
            let button = ui.add_enabled(can, Button::new(name)).on_hover_text(hint);
            if button.clicked() {
                self.edit(&song.whole, edit, actions);
            }
        }
        ui.add_space(theme::GAP_WIDE);
        for ((name, hint), by) in [(text::CLOSER, ZOOM_STEP), (text::FARTHER, 1.0 / ZOOM_STEP)] {
            if ui.button(name).on_hover_text(hint).clicked() {
                self.zoom = (self.zoom * by).clamp(ZOOMS.0, ZOOMS.1);
            }
        }
    }

    /// Makes an edit of the chosen section, one change of its own.
    fn edit(&mut self, whole: &SongFile, edit: Edit, actions: &mut Vec<Action>) {
        let mut file = whole.clone();
        self.chosen = edit.apply(&mut file, self.chosen);
        actions.push(Action::ChangeSong(Box::new(file), None));
    }

    /// Does what the blocks were touched for.
    fn heed(
        &mut self,
        ui: &Ui,
        scale: f32,
        whole: &SongFile,
        touched: Vec<(usize, Touched)>,
        actions: &mut Vec<Action>,
    ) {
        let dragging = ui.input(|input| input.pointer.any_down());
        if !dragging {
            self.held = None;
        }
        if ui.input(|input| input.key_pressed(Key::Escape)) {
            self.moving = None;
        }
        let mut change = |file: SongFile, gesture| {
            actions.push(Action::ChangeSong(Box::new(file), gesture));
        };
        for (place, what) in touched {
            match what {
                Touched::Chosen => {
                    self.open ^= place == self.chosen;
                    self.chosen = place;
                }
                Touched::Rename => {
                    let name = whole.sections[place].name.clone();
                    self.renaming = Some((place, name));
                }
                Touched::Length(bars, gesture) => {
                    self.held = Some(scale);
                    self.chosen = place;
                    if bars != whole.sections[place].bars {
                        let mut file = whole.clone();
                        file.sections[place].bars = bars;
                        change(file, Some(gesture));
                    }
                }
                Touched::Ramp(level, gesture) => {
                    self.chosen = place;
                    let mut file = whole.clone();
                    file.sections[place].intensity = Some(level);
                    change(file, Some(gesture));
                }
                Touched::Carried(bar) => {
                    let to = shape::place_at(whole, bar);
                    self.moving = Some((place, to));
                }
                Touched::Dropped => {
                    if let Some((from, to)) = self.moving.take() {
                        let mut file = whole.clone();
                        let to = shape::carry(&mut file, from, to);
                        self.chosen = to;
                        if to != from {
                            change(file, None);
                        }
                    }
                }
                Touched::Wanted(edit) => {
                    self.chosen = place;
                    if edit.can(whole, place) {
                        let mut file = whole.clone();
                        self.chosen = edit.apply(&mut file, place);
                        change(file, None);
                    }
                    self.follow(ui);
                }
                Touched::Step(by) => {
                    let last = whole.sections.len() - 1;
                    self.chosen = place.saturating_add_signed(by).min(last);
                    self.follow(ui);
                }
            }
        }
    }

    /// The keyboard goes where the choice went.
    fn follow(&self, ui: &Ui) {
        let id = block::id(self.chosen);
        ui.ctx().memory_mut(|memory| memory.request_focus(id));
    }

    /// Where the carried section would go.
    fn drop_marker(&self, ui: &Ui, area: Rect, scale: f32, lead: usize, whole: &SongFile) {
        let Some((_, to)) = self.moving else {
            return;
        };
        let before = whole.sections[..to.min(whole.sections.len())].iter();
        let bars: usize = before.map(|section| section.bars as usize).sum();
        let x = area.left() + (lead + bars) as f32 * scale;
        let line = Stroke::new(3.0, theme::of(ui).fill_text);
        ui.painter().vline(x, area.y_range(), line);
    }

    fn renamed_block(
        &self,
        area: Rect,
        scale: f32,
        lead: usize,
        whole: &SongFile,
    ) -> Option<(usize, Rect)> {
        let (place, _) = self.renaming.as_ref()?;
        let before = whole.sections.get(..*place)?.iter();
        let bars: usize = before.map(|section| section.bars as usize).sum();
        let left = area.left() + (lead + bars) as f32 * scale;
        let width = (whole.sections.get(*place)?.bars as f32 * scale).max(theme::RENAME_LEAST);
        let corner = pos2(left.min(area.right() - width), area.top());
        Some((
            *place,
            Rect::from_min_size(corner, vec2(width, theme::PRESS_HEIGHT)),
        ))
    }

    /// The field in which a name is typed; enter keeps it, escape does not.
    fn rename(
        &mut self,
        ui: &mut Ui,
        place: usize,
        rect: Rect,
        whole: &SongFile,
        actions: &mut Vec<Action>,
    ) {
        let Some((_, name)) = &mut self.renaming else {
            return;
        };
        let field = ui.put(rect, TextEdit::singleline(name));
        field.widget_info(|| egui::WidgetInfo::labeled(egui::Role::TextInput, true, words::NAME.0));
        let (kept, left) = ui.input(|input| {
            (
                input.key_pressed(Key::Enter),
                input.key_pressed(Key::Escape),
            )
        });
        if kept || (field.lost_focus() && !left) {
            let mut file = whole.clone();
            file.sections[place].name.clone_from(name);
            if file != *whole {
                actions.push(Action::ChangeSong(Box::new(file), None));
            }
            self.renaming = None;
        } else if left {
            self.renaming = None;
        } else if !field.has_focus() {
            field.request_focus();
        }
    }
}
