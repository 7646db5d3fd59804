//! The song strip: the chart's sections as blocks along the bars, shaped by hand.
//!
//! - `block`: one section, as it is drawn and touched
//! - `scale`: its bars on the screen; `draw`: sections are drawn where there are none
//! - `shape`: what a touch makes of the song

mod block;
mod draw;
mod scale;
mod shape;

use super::snapshot::Snapshot;
use super::text::{self, chart as words};
use super::theme;
use crate::editor::action::Action;
use crate::project::Song;
use crate::settings::SettingId;
use crate::song::SongFile;
use crate::song::file::Section;
use crate::time::Ticks;
use block::{Block, Touched};
use egui::text::{CCursor, CCursorRange};
use egui::text_edit::TextEditState;
use egui::{Button, Key, Pos2, Rect, Sense, Stroke, StrokeKind, TextEdit, Ui, pos2, vec2};
use scale::{Scale, in_force};
use shape::Edit;
use std::collections::BTreeSet;
use std::ops::Range;

/// So many bars are shown before there is a section.
const EMPTY_BARS: usize = 32;
/// Behind the song there is room to draw on: this share of it, and at least so many bars.
const ROOM: (usize, usize) = (10, 4);
/// How long a section is that is made by a key or a click, in bars.
pub(super) const NEW_BARS: u32 = 8;

/// What the strip remembers between frames.
#[derive(Debug, Default)]
pub struct Strip {
    /// The chosen sections, from 0: what the controls turn; none for the panel.
    pub chosen: BTreeSet<usize>,
    /// The section that was chosen last: what a choice of several goes out from.
    last: usize,
    /// Points a bar while something is dragged, so that the song does not shrink under the pointer.
    held: Option<f32>,
    /// The section whose name is typed, the name so far, and whether it was selected to be replaced.
    renaming: Option<(usize, String, bool)>,
    /// The section that is dragged elsewhere, and the place that it would get.
    moving: Option<(usize, usize)>,
    /// The bars, from 0, over which a new section is drawn: where it was begun, and where the pointer is.
    drawing: Option<(usize, usize)>,
    /// The middles of the chosen blocks, in points.
    pointed: Vec<f32>,
}

impl Strip {
    /// The first bar of the first chosen section in the song, from 0.
    pub fn first_bar(&self, snapshot: &Snapshot) -> Option<i64> {
        let timeline = &snapshot.song.as_ref()?.timeline;
        let (first, _) = timeline.bars_of_section(*self.chosen.first()?)?;
        Some(i64::from(first) - 1)
    }

    /// The section under a point, by its place, from 0, in a song of so many.
    pub fn section_at(&self, ui: &Ui, sections: usize, at: Pos2) -> Option<usize> {
        (0..sections).find(|place| {
            let block = ui.ctx().read_response(block::id(*place));
            block.is_some_and(|block| block.rect.contains(at))
        })
    }

    /// The middles of the chosen blocks, in points.
    pub fn pointed(&self) -> &[f32] {
        &self.pointed
    }

    /// Shows the strip; `window` has the bars, from 0, that the lanes show.
    pub fn show(
        &mut self,
        ui: &mut Ui,
        snapshot: &Snapshot,
        window: &Range<usize>,
        actions: &mut Vec<Action>,
    ) {
        let song = snapshot.song.as_deref();
        let sections = song.map_or(0, |song| song.whole.sections.len());
        self.chosen.retain(|place| *place < sections);
        let bars = song.map_or(EMPTY_BARS, |song| {
            let bars = song.timeline.bars().len();
            bars + (bars / ROOM.0).max(ROOM.1)
        });
        let size = vec2(ui.available_width(), theme::BLOCK_HEIGHT);
        let (area, ground) = ui.allocate_exact_size(size, Sense::click_and_drag());
        ui.add_space(theme::STRIP_FOOT);
        let scale = Scale {
            area,
            bar: self.held.unwrap_or(area.width() / bars.max(1) as f32),
            bars,
        };
        ui.painter()
            .rect_filled(area, theme::CORNER, theme::of(ui).sunk);
        self.draw(ui, &ground, &scale, snapshot, actions);
        self.pointed.clear();
        if let Some(song) = song {
            self.sections(ui, &scale, song, snapshot, actions);
        } else {
            self.empty(ui, &scale, &ground);
        }
        scale.label(ui);
        scale.window(ui, window);
        let Some((bar, tick)) = snapshot.at else {
            return;
        };
        let number = song.map_or_else(
            || usize::try_from(bar.index()).unwrap_or(0),
            |song| {
                let bars = song.timeline.bars();
                bars.partition_point(|b| b.start < bar.start)
            },
        );
        let part = (tick - bar.start) as f32 / bar.meter.bar_len() as f32;
        let x = scale.x(number as f32 + part);
        if x <= area.right() {
            let line = Stroke::new(1.5, theme::of(ui).playhead);
            ui.painter().vline(x, area.y_range(), line);
        }
    }

    /// The blocks of a song, and what is done with them.
    fn sections(
        &mut self,
        ui: &mut Ui,
        scale: &Scale,
        song: &Song,
        snapshot: &Snapshot,
        actions: &mut Vec<Action>,
    ) {
        let lead = song.file.start_bar.saturating_sub(1) as usize;
        let whole = &song.whole;
        let mut touched = Vec::new();
        let playing = snapshot.at.filter(|_| snapshot.followed().is_some());
        let now = playing.and_then(|(_, tick)| song.timeline.section_at(tick));
        let mut first = lead;
        for (place, section) in whole.sections.iter().enumerate() {
            let last = first + section.bars as usize;
            let x = scale.x(first as f32)..=scale.x(last as f32);
            let rect = Rect::from_x_y_ranges(x, scale.area.y_range());
            let chosen = self.chosen.contains(&place);
            if chosen {
                self.pointed.push(rect.center().x);
            }
            let block = Block {
                section,
                place,
                first: first + 1,
                rect: rect.shrink2(vec2((scale.bar * 0.25).min(1.0), 0.0)),
                origin: scale.x(lead as f32),
                chosen,
                playing: now == Some(place),
                quiet: !snapshot.values.follows,
            };
            block.show(ui, scale.bar, &mut touched);
            first = last;
        }
        in_force(ui, scale.area, scale.bar, song);
        self.drop_marker(ui, scale.area, scale.bar, lead, whole);
        if let Some((place, rect)) = self.renamed_block(scale.area, scale.bar, lead, whole) {
            self.rename(ui, place, rect, whole, actions);
        }
        self.heed(ui, scale.bar, whole, touched, actions);
    }

    /// The endless section of the panel, where there is no song.
    fn empty(&self, ui: &Ui, scale: &Scale, ground: &egui::Response) {
        let palette = theme::of(ui);
        let rect = scale.area.shrink2(vec2(1.0, 0.0));
        let painter = ui.painter_at(rect);
        painter.rect_filled(rect, theme::CORNER, palette.button.gamma_multiply(0.5));
        if self.drawing.is_none() {
            let font = theme::small();
            let said = painter.layout(
                words::NONE.to_owned(),
                font,
                palette.text,
                rect.width() * 0.6,
            );
            let at = rect.center() - said.size() / 2.0;
            painter.galley(at, said, palette.text);
        }
        if ground.has_focus() {
            let line = Stroke::new(1.5, palette.text);
            painter.rect_stroke(rect, theme::CORNER, line, StrokeKind::Inside);
        }
    }

    /// What can be done with the chosen sections, in a row.
    pub fn acts(&mut self, ui: &mut Ui, song: &Song, actions: &mut Vec<Action>) {
        for (i, (name, hint)) in words::LIST.into_iter().enumerate() {
            let edit = Edit::LIST[i];
            let places: Vec<usize> = self.chosen.iter().copied().collect();
            let can = match places[..] {
                [place] => edit.can(&song.file, place),
                _ => edit == Edit::Remove && places.len() < song.file.sections.len(),
            };
            let button = ui.add_enabled(can, Button::new(name)).on_hover_text(hint);
            if button.clicked() {
                let mut file = song.whole.clone();
                let mut chosen = BTreeSet::new();
                for place in places.into_iter().rev() {
                    chosen = BTreeSet::from([edit.apply(&mut file, place)]);
                }
                self.chosen = chosen;
                self.follow(ui);
                actions.push(Action::ChangeSong(Box::new(file), None));
            }
        }
    }

    /// Chooses a section: alone, or besides those that are chosen, or all from the last one on.
    fn choose(&mut self, ui: &Ui, place: usize) {
        let modifiers = ui.input(|input| input.modifiers);
        if modifiers.shift {
            let (from, to) = (self.last.min(place), self.last.max(place));
            self.chosen.extend(from..=to);
            return;
        }
        if modifiers.command {
            if !self.chosen.remove(&place) {
                self.chosen.insert(place);
            }
        } else if self.chosen == BTreeSet::from([place]) {
            self.chosen.clear();
        } else {
            self.chosen = BTreeSet::from([place]);
        }
        self.last = place;
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
            if self.renaming.is_none() && !dragging {
                self.chosen.clear();
            }
        }
        let mut change = |file: SongFile, gesture| {
            actions.push(Action::ChangeSong(Box::new(file), gesture));
        };
        for (place, what) in touched {
            match what {
                Touched::Chosen => self.choose(ui, place),
                Touched::Made => {
                    let mut file = whole.clone();
                    let name = text::new_section(place + 2);
                    let section = Section::of_panel(&name, NEW_BARS);
                    file.sections.insert(place + 1, section);
                    self.chosen = BTreeSet::from([place + 1]);
                    self.renaming = Some((place + 1, name, false));
                    change(file, None);
                }
                Touched::Rename => {
                    let name = whole.sections[place].name.clone();
                    self.renaming = Some((place, name, false));
                }
                Touched::Length(bars, gesture) => {
                    self.held = Some(scale);
                    self.chosen = BTreeSet::from([place]);
                    if bars != whole.sections[place].bars {
                        let mut file = whole.clone();
                        file.sections[place].bars = bars;
                        change(file, Some(gesture));
                    }
                }
                Touched::Ramp(level, gesture) => {
                    self.chosen = BTreeSet::from([place]);
                    let mut file = whole.clone();
                    file.sections[place].set(SettingId::Intensity, level);
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
                        self.chosen = BTreeSet::from([to]);
                        if to != from {
                            change(file, None);
                        }
                    }
                }
                Touched::Wanted(edit) => {
                    self.chosen = BTreeSet::from([place]);
                    if edit.can(whole, place) {
                        let mut file = whole.clone();
                        self.chosen = BTreeSet::from([edit.apply(&mut file, place)]);
                        change(file, None);
                    }
                    self.follow(ui);
                }
                Touched::Step(by) => {
                    let last = whole.sections.len() - 1;
                    let place = place.saturating_add_signed(by).min(last);
                    self.chosen = BTreeSet::from([place]);
                    self.last = place;
                    self.follow(ui);
                }
            }
        }
    }

    /// The keyboard goes where the choice went.
    fn follow(&self, ui: &Ui) {
        if let Some(place) = self.chosen.first() {
            let id = block::id(*place);
            ui.ctx().memory_mut(|memory| memory.request_focus(id));
        }
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
        let (place, ..) = self.renaming.as_ref()?;
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
        let Some((_, name, is_selected)) = &mut self.renaming else {
            return;
        };
        let id = ui.scope_id().with(("name", place));
        let field = ui.put(rect, TextEdit::singleline(name).id(id));
        if field.has_focus() && !std::mem::replace(is_selected, true) {
            // What is typed first replaces the name that stands there.
            let all = CCursorRange::two(CCursor::new(0), CCursor::new(name.chars().count()));
            let mut state = TextEditState::load(ui.ctx(), id).unwrap_or_default();
            state.cursor.set_char_range(Some(all));
            state.store(ui.ctx(), id);
            ui.ctx().request_repaint();
        }
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
            self.follow(ui);
        } else if left {
            self.renaming = None;
            self.follow(ui);
        } else if !field.has_focus() {
            field.request_focus();
        }
    }
}

/// Where chosen sections (their places, from 0) begin, in ticks, and their bars from the first one's first to the last one's
/// last, from 1; `None` where none is chosen.
pub fn stretch(song: &Song, chosen: &BTreeSet<usize>) -> Option<(Ticks, (u32, u32))> {
    let timeline = &song.timeline;
    let (start, _) = timeline.markers().nth(*chosen.first()?)?;
    let (from, _) = timeline.bars_of_section(*chosen.first()?)?;
    let (_, to) = timeline.bars_of_section(*chosen.last()?)?;
    Some((start, (from, to)))
}
