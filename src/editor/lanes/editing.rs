//! What pointer and keys do to the strokes on show.

use super::beyond::Beyond;
use super::edit::{Base, Outcome, Picked};
use super::grid::Grid;
use super::selection::{Key, Mark, Selection};
use super::strokes::Touched;
use super::time_axis::TimeAxis;
use crate::editor::action::Action;
use crate::editor::snapshot::Snapshot;
use crate::editor::theme;
use crate::groove::{EditTarget, Limb};
use crate::kit::Piece;
use crate::time::{Bar, TICKS_PER_QUARTER, Ticks};
use egui::{Key as Press, Modifiers, PointerButton, Pos2, Rect, Response, Shape, Stroke, Ui, vec2};

/// By how many steps of velocity a key makes strokes louder: alone, and with shift.
const LOUDER: (i16, i16) = (4, 1);
/// How far a key moves strokes off the grid, in ticks: a hundredth of a quarter note, about. Judged.
const FREE: Ticks = TICKS_PER_QUARTER / 96;
/// How far the pointer goes before it is known which way, in points.
const AIM: f32 = 5.0;
/// How many velocities there are from the floor of a lane to its loudest stroke, which a drag follows.
const VELOCITIES: f32 = 127.0;

/// What is on show.
pub(super) struct Scene<'a> {
    pub(super) snapshot: &'a Snapshot,
    pub(super) marks: &'a [Mark],
    pub(super) bars: &'a [Bar],
    /// The first bar's number in the song, from 1.
    pub(super) number: i64,
    pub(super) grid: &'a Grid,
    pub(super) beyond: &'a [Beyond],
    pub(super) asleep: &'a [super::asleep::Asleep],
}

/// What the view remembers of editing.
#[derive(Debug, Default)]
pub(super) struct Editing {
    pub(super) selection: Selection,
    /// What is added; `None` for the lane's usual piece.
    pub(super) adds: Option<EditTarget>,
    /// Why the last wish could not be granted.
    pub(super) said: Option<String>,
    /// The lane, from the top, and the tick at which keys add a stroke.
    pub(super) cursor: Option<(usize, Ticks)>,
    drag: Option<Drag>,
    /// A frame that is drawn around strokes: where it began, and what was selected before.
    band: Option<(Pos2, Selection)>,
    /// How many gestures there were.
    gestures: u64,
    /// Whether the lanes had the keys in the last frame.
    had_focus: bool,
}

/// Strokes that are dragged.
#[derive(Debug)]
struct Drag {
    base: Base,
    strokes: Vec<Picked>,
    from: Pos2,
    /// The place of the stroke that was taken hold of.
    grabbed: Ticks,
    way: Option<Way>,
    by: Ticks,
    steps: i16,
    gesture: u64,
}

/// Which way strokes are dragged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Way {
    Louder,
    Along,
}

impl Editing {
    /// What makes the changes of one gesture one.
    pub(super) fn gesture(&mut self) -> u64 {
        self.gestures += 1;
        egui::Id::unique(("edit by hand", self.gestures)).value()
    }

    /// Asks for what comes of a wish, or remembers why it can't be.
    pub(super) fn heed(&mut self, outcome: Outcome, actions: &mut Vec<Action>) {
        match outcome {
            Ok(asked) => {
                self.said = None;
                actions.extend(asked);
            }
            Err(why) => self.said = Some(why),
        }
    }

    /// Forgets what is selected and no longer there, of the bars on show.
    pub(super) fn prune(&mut self, scene: &Scene) {
        let is_shown = |tick: Ticks| {
            let mut bars = scene.bars.iter();
            bars.any(|bar| (bar.start..bar.end()).contains(&tick))
        };
        if self.drag.is_none() {
            let is_there = |key: &Key| scene.marks.iter().any(|mark| mark.key == *key);
            self.selection
                .keep(|key| !is_shown(key.tick) || is_there(key));
        }
        self.cursor = self.cursor.filter(|(_, tick)| is_shown(*tick));
    }

    /// Whether there is something to be said of strokes.
    pub(super) fn says_something(&self, marks: &[Mark]) -> bool {
        self.said.is_some() || !self.selection.marks(marks).is_empty()
    }

    /// Whether arrow keys are for strokes.
    pub(super) fn takes_arrows(&self, marks: &[Mark]) -> bool {
        self.cursor.is_some() || !self.selection.marks(marks).is_empty()
    }

    /// Whether the lanes have the keys and there is something for Escape to end, which it then does.
    pub(super) fn escape(&mut self, ui: &Ui) {
        let ends = self.cursor.is_some() || !self.selection.is_empty() || self.said.is_some();
        if self.had_focus
            && ends
            && ui.input_mut(|input| input.consume_key(Modifiers::NONE, Press::Escape))
        {
            self.said = None;
            if self.cursor.take().is_none() {
                self.selection.clear();
            }
        }
    }

    /// What the selected strokes on show are.
    pub(super) fn picked(&self, marks: &[Mark]) -> Vec<Picked> {
        let selected = self.selection.marks(marks).into_iter();
        selected.map(Picked::of).collect()
    }

    /// Does what keys ask for while the lanes have them.
    pub(super) fn keys(
        &mut self,
        ui: &Ui,
        ground: &Response,
        scene: &Scene,
        actions: &mut Vec<Action>,
    ) {
        self.had_focus = ground.has_focus();
        if !self.had_focus {
            return;
        }
        let pressed = |modifiers, key| ui.input_mut(|input| input.consume_key(modifiers, key));
        if pressed(Modifiers::COMMAND, Press::A) {
            let sounding = scene.marks.iter().filter(|mark| !mark.key.out);
            self.selection.take(sounding.map(|mark| mark.key), false);
        }
        for (key, forward) in [(Press::Period, true), (Press::Comma, false)] {
            let shift = ui.input(|input| input.modifiers.shift);
            if pressed(Modifiers::NONE, key) {
                self.cursor = None;
                self.said = None;
                self.selection.step(scene.marks, forward, shift);
            }
        }
        let [insert, enter] =
            [Press::Insert, Press::Enter].map(|key| pressed(Modifiers::NONE, key));
        if insert || enter {
            self.insert(scene, actions);
        }
        let strokes = self.picked(scene.marks);
        let [delete, backspace] =
            [Press::Delete, Press::Backspace].map(|key| pressed(Modifiers::NONE, key));
        if (delete || backspace) && !strokes.is_empty() {
            self.leave_out(scene, actions);
        }
        for (key, up) in [(Press::ArrowUp, true), (Press::ArrowDown, false)] {
            if let Some((lane, _)) = &mut self.cursor {
                if pressed(Modifiers::NONE, key) {
                    let lanes = Limb::ALL.len() - 1;
                    *lane = if up {
                        lane.saturating_sub(1)
                    } else {
                        lanes.min(*lane + 1)
                    };
                }
            } else if !strokes.is_empty() {
                let steps = if pressed(Modifiers::SHIFT, key) {
                    LOUDER.1
                } else if pressed(Modifiers::NONE, key) {
                    LOUDER.0
                } else {
                    continue;
                };
                let (base, gesture) = (Base::of(scene.snapshot), self.gesture());
                let steps = if up { steps } else { -steps };
                self.heed(base.louder(&strokes, steps, gesture), actions);
            }
        }
        for (key, forward) in [(Press::ArrowRight, true), (Press::ArrowLeft, false)] {
            if let Some((_, tick)) = &mut self.cursor {
                if pressed(Modifiers::NONE, key) {
                    *tick = scene.grid.next(*tick, forward).unwrap_or(*tick);
                }
            } else if let Some(first) = strokes.first() {
                let tick = first.key.tick;
                let by = if pressed(Modifiers::ALT, key) {
                    Some(if forward { FREE } else { -FREE })
                } else if pressed(Modifiers::NONE, key) {
                    scene.grid.next(tick, forward).map(|to| to - tick)
                } else {
                    None
                };
                if let Some(by) = by {
                    let gesture = self.gesture();
                    self.shift(scene, (by, gesture), actions);
                }
            }
        }
    }

    /// Moves the selected strokes by so many ticks, where their sections have room.
    pub(super) fn shift(
        &mut self,
        scene: &Scene,
        (by, gesture): (Ticks, u64),
        actions: &mut Vec<Action>,
    ) {
        let (base, strokes) = (Base::of(scene.snapshot), self.picked(scene.marks));
        if let Some(Err(why)) = strokes.first().map(|first| base.scope(first.key.tick)) {
            self.said = Some(why);
            return;
        }
        if !base.has_room(&strokes, by) {
            return;
        }
        let outcome = base.shift(&strokes, by, gesture);
        if outcome.is_ok() {
            self.selection.rename(|key| moved(key, by));
        }
        self.heed(outcome, actions);
    }

    /// Leaves the selected strokes out; those of the drummer's stay selected, to be played again.
    pub(super) fn leave_out(&mut self, scene: &Scene, actions: &mut Vec<Action>) {
        let (base, strokes) = (Base::of(scene.snapshot), self.picked(scene.marks));
        let gesture = self.gesture();
        let outcome = base.leave_out(&strokes, gesture);
        if outcome.is_ok() {
            let out = !strokes.iter().all(|stroke| stroke.key.out);
            self.selection.rename(|key| Key { out, ..key });
        }
        self.heed(outcome, actions);
    }

    /// Shows where keys add a stroke, or adds it there.
    fn insert(&mut self, scene: &Scene, actions: &mut Vec<Action>) {
        if let Some((lane, tick)) = self.cursor {
            self.add(scene, lane, tick, actions);
            return;
        }
        let selected = self.selection.marks(scene.marks);
        let at = selected.first().map(|mark| (mark.lane(), mark.key.tick));
        self.cursor = at.or_else(|| Some((0, scene.grid.first()?)));
    }

    /// Adds a stroke of a lane, from the top, at a tick.
    fn add(&mut self, scene: &Scene, lane: usize, tick: Ticks, actions: &mut Vec<Action>) {
        let target = self.adds.unwrap_or(lanes_own(lane));
        let (base, gesture) = (Base::of(scene.snapshot), self.gesture());
        let outcome = base.add(tick, target, gesture);
        if outcome.is_ok() {
            self.selection.take([Key::added(tick, target)], false);
        }
        self.heed(outcome, actions);
    }

    /// Does what the pointer asks for: `touched` has the strokes that are drawn; `room` is how much higher the loudest stands
    /// than nothing, in points.
    pub(super) fn pointer(
        &mut self,
        ui: &Ui,
        (ground, time_axis, room): (&Response, &TimeAxis, f32),
        touched: &[Touched],
        scene: &Scene,
        actions: &mut Vec<Action>,
    ) {
        let (modifiers, origin, at, down) = ui.input(|input| {
            let pointer = &input.pointer;
            (
                input.modifiers,
                pointer.press_origin(),
                pointer.latest_pos(),
                pointer.primary_down(),
            )
        });
        let adds = modifiers.shift || modifiers.command;
        for stroke in touched {
            if stroke.response.clicked() {
                self.begin(ground);
                self.selection.touch(stroke.key, adds);
            }
            if stroke.response.drag_started_by(PointerButton::Primary)
                && let Some(from) = origin
            {
                self.begin(ground);
                if !self.selection.has(&stroke.key) {
                    self.selection.take([stroke.key], adds);
                }
                self.drag = (!stroke.key.out).then(|| Drag {
                    base: Base::of(scene.snapshot),
                    strokes: self.picked(scene.marks),
                    from,
                    grabbed: stroke.key.tick,
                    way: None,
                    by: 0,
                    steps: 0,
                    gesture: self.gesture(),
                });
            }
        }
        if ground.double_clicked_by(PointerButton::Primary)
            && let Some(at) = ground.interact_pointer_pos()
        {
            let tick = time_axis.tick(at.x);
            let place = if modifiers.alt {
                Some(tick)
            } else {
                scene.grid.nearest(tick)
            };
            if let Some((lane, place)) = time_axis.lane_at(at.y).zip(place) {
                self.add(scene, lane, place, actions);
            }
        } else if ground.clicked_by(PointerButton::Primary) {
            self.begin(ground);
            if !adds {
                self.selection.clear();
            }
        }
        if ground.drag_started_by(PointerButton::Primary)
            && let Some(from) = origin
        {
            self.begin(ground);
            let before = if adds {
                self.selection.clone()
            } else {
                Selection::default()
            };
            self.band = Some((from, before));
        }
        if let (Some((from, before)), Some(at)) = (&self.band, at) {
            let area = Rect::from_two_pos(*from, at);
            let inside = touched.iter().filter(|stroke| area.contains(stroke.head));
            self.selection = before.clone();
            self.selection.take(inside.map(|stroke| stroke.key), true);
            frame(ui, area.intersect(time_axis.lanes));
        }
        if let Some(at) = at.filter(|_| self.drag.is_some()) {
            let free = modifiers.alt;
            self.drag_on(ui, at, (time_axis, room, free), scene, actions);
        }
        if !down {
            self.drag = None;
            self.band = None;
        }
    }

    /// The pointer began something in the lanes.
    fn begin(&mut self, ground: &Response) {
        ground.request_focus();
        self.cursor = None;
        self.said = None;
    }

    /// The dragged strokes follow the pointer.
    fn drag_on(
        &mut self,
        ui: &Ui,
        at: Pos2,
        (time_axis, room, free): (&TimeAxis, f32, bool),
        scene: &Scene,
        actions: &mut Vec<Action>,
    ) {
        let Some(drag) = &mut self.drag else {
            return;
        };
        let way = at - drag.from;
        if drag.way.is_none() && way.length() > AIM {
            drag.way = Some(if way.x.abs() > way.y.abs() {
                Way::Along
            } else {
                Way::Louder
            });
        }
        let outcome = match drag.way {
            None => return,
            Some(Way::Louder) => {
                ui.ctx().set_cursor_icon(egui::CursorIcon::ResizeVertical);
                #[expect(clippy::cast_possible_truncation)]
                let steps = (-way.y / room.max(1.0) * VELOCITIES).round() as i16;
                if steps == drag.steps {
                    return;
                }
                drag.steps = steps;
                drag.base.louder(&drag.strokes, steps, drag.gesture)
            }
            Some(Way::Along) => {
                ui.ctx().set_cursor_icon(egui::CursorIcon::ResizeHorizontal);
                let by = time_axis.tick(at.x) - time_axis.tick(drag.from.x);
                let to = drag.grabbed + by;
                let to = if free {
                    Some(to)
                } else {
                    scene.grid.nearest(to)
                };
                let by = to.map_or(0, |to| to - drag.grabbed);
                if by == drag.by || !drag.base.has_room(&drag.strokes, by) {
                    // Where there can be no edits, it is said why.
                    if let Some(Err(why)) =
                        (drag.strokes.first()).map(|stroke| drag.base.scope(stroke.key.tick))
                    {
                        self.said = Some(why);
                    }
                    return;
                }
                drag.by = by;
                let keys = drag.strokes.iter().map(|stroke| moved(stroke.key, by));
                self.selection.take(keys, false);
                drag.base.shift(&drag.strokes, by, drag.gesture)
            }
        };
        self.heed(outcome, actions);
    }

    /// Shows where keys add a stroke.
    pub(super) fn show_cursor(&self, ui: &Ui, time_axis: &TimeAxis) {
        let Some((lane, tick)) = self.cursor.filter(|(_, tick)| time_axis.contains(*tick)) else {
            return;
        };
        let area = time_axis.lane(lane);
        let at = egui::pos2(time_axis.x(tick), area.center().y);
        let size = vec2(theme::MARK * 3.0, area.height() - 4.0);
        frame(ui, Rect::from_center_size(at, size));
    }
}

/// The same stroke so many ticks later.
fn moved(key: Key, by: Ticks) -> Key {
    Key {
        tick: key.tick + by,
        ..key
    }
}

/// What a lane's limb usually strikes where something is added.
pub(super) fn lanes_own(lane: usize) -> EditTarget {
    match Limb::ALL.get(lane) {
        Some(Limb::OtherHand) => EditTarget::Piece(Piece::Snare),
        Some(Limb::LeadFoot) => EditTarget::Piece(Piece::Kick),
        Some(Limb::OtherFoot) => EditTarget::Piece(Piece::HiHatFoot),
        _ => EditTarget::Hand,
    }
}

/// A dashed frame.
fn frame(ui: &Ui, area: Rect) {
    let line = Stroke::new(1.5, theme::of(ui).text);
    let corners = [
        area.left_top(),
        area.right_top(),
        area.right_bottom(),
        area.left_bottom(),
        area.left_top(),
    ];
    ui.painter()
        .extend(Shape::dashed_line(&corners, line, 5.0, 3.0));
}
