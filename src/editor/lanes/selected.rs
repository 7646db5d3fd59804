//! The line above the lanes that says what is selected, and does what can be done to it.

use super::beyond::Beyond;
use super::edit::{Base, Picked};
use super::editing::{Editing, Scene, lanes_own};
use super::grid;
use super::selection::{Key, Mark};
use super::strokes::warning;
use crate::editor::action::Action;
use crate::editor::text::edit as words;
use crate::editor::widgets::combo;
use crate::editor::{description, theme, touch};
use crate::groove::EditTarget;
use crate::kit::Piece;
use crate::time::place::counted;
use crate::time::{Bar, Ticks};
use egui::{Align, Button, DragValue, Label, Layout, RichText, Role, Sense, Ui, WidgetInfo, vec2};

/// Shows what is selected, in so many points: in place of the line above the lanes.
pub(super) fn show(
    ui: &mut Ui,
    editing: &mut Editing,
    (scene, width): (&Scene, f32),
    actions: &mut Vec<Action>,
) {
    let selected = editing.selection.marks(scene.marks);
    let size = vec2(width.max(0.0), theme::PRESS_HEIGHT);
    let layout = Layout::right_to_left(Align::Center);
    ui.allocate_ui_with_layout(size, layout, |ui| {
        ui.set_min_size(size);
        if width < theme::EDIT_LEAST * theme::letters(ui) {
            let more = ui.menu_button(words::MORE.0, |ui| {
                ui.set_min_width(theme::LIST_WIDTH);
                stroke_controls(ui, editing, (&selected, scene), actions);
                clear(ui, editing, (&selected, scene), actions);
                asleep(ui, editing, scene, actions);
            });
            more.response.on_hover_text(words::MORE.1);
        } else {
            clear(ui, editing, (&selected, scene), actions);
            asleep(ui, editing, scene, actions);
            stroke_controls(ui, editing, (&selected, scene), actions);
        }
        ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
            says(ui, editing, (&selected, scene), actions);
        });
    });
}

/// What is always there while nothing is selected, in the line above the lanes, which has so many points left.
pub(super) fn tools(
    ui: &mut Ui,
    editing: &mut Editing,
    (scene, width): (&Scene, f32),
    actions: &mut Vec<Action>,
) {
    let letters = theme::letters(ui);
    let pick = theme::PICK_WIDTH * letters;
    let room = |is_there: bool| if is_there { pick } else { 0.0 };
    let urgent = room(!scene.asleep.is_empty()) + room(!scene.beyond.is_empty());
    let all = theme::ADDS_WIDTH * letters + room(Clearing::of(&[], scene).is_some()) + urgent;
    ui.add_space(theme::GAP);
    if all <= width {
        adds(ui, editing);
        beyond(ui, editing, scene);
        asleep(ui, editing, scene, actions);
        clear(ui, editing, (&[], scene), actions);
        return;
    }
    // What needs the songwriter's eye stands beside the menu, where there is room for it.
    let is_beside = urgent + pick <= width;
    let menu = ui.menu_button(words::TOOLS.0, |ui| {
        ui.set_min_width(theme::LIST_WIDTH);
        adds(ui, editing);
        if !is_beside {
            beyond(ui, editing, scene);
            asleep(ui, editing, scene, actions);
        }
        clear(ui, editing, (&[], scene), actions);
    });
    menu.response.on_hover_text(words::TOOLS.1);
    if is_beside {
        beyond(ui, editing, scene);
        asleep(ui, editing, scene, actions);
    }
}

/// Goes to what is beyond two hands and two feet.
fn beyond(ui: &mut Ui, editing: &mut Editing, scene: &Scene) {
    let Some(first) = scene.beyond.first() else {
        return;
    };
    let name = RichText::new(words::beyond_short(scene.beyond.len()));
    let button = ui.button(name.color(theme::of(ui).fill_text));
    if button.on_hover_text(&first.why).clicked() {
        editing.selection.take([first.mark.key], false);
        ui.close();
    }
}

/// What is selected; why it can't be played, and what helps; or why it can't be edited.
fn says(
    ui: &mut Ui,
    editing: &mut Editing,
    (selected, scene): (&[&Mark], &Scene),
    actions: &mut Vec<Action>,
) {
    let palette = theme::of(ui);
    let cut = |ui: &mut Ui, said: &str, colour| {
        let said = RichText::new(said).color(colour);
        ui.add(Label::new(said).truncate())
    };
    if let Some(why) = &editing.said {
        cut(ui, why, palette.fill_text);
        return;
    }
    let concerns = |beyond: &&Beyond| selected.iter().any(|mark| beyond.keys.contains(&mark.key));
    if let Some(beyond) = scene.beyond.iter().find(concerns) {
        let (sign, _) = ui.allocate_exact_size(vec2(16.0, theme::PRESS_HEIGHT), Sense::hover());
        warning(ui, sign.center());
        let room = ui.available_width();
        let button = Button::new(beyond.remedy());
        // The change is always there to be pressed; its reason has the rest of the room.
        let wanted = remedy_width(ui, &beyond.remedy());
        let reason = vec2((room - wanted).max(0.0), theme::PRESS_HEIGHT);
        ui.allocate_ui_with_layout(reason, Layout::left_to_right(Align::Center), |ui| {
            let said = cut(ui, &beyond.why, palette.fill_text);
            said.on_hover_ui(|ui| {
                ui.label(&beyond.why);
                ui.label(RichText::new(words::BEYOND_HINT).weak());
            });
        });
        if ui.add(button).on_hover_text(words::BEYOND_HINT).clicked() {
            let (base, gesture) = (Base::of(scene.snapshot), editing.gesture());
            let (outcome, key) = beyond.mend(&base, gesture);
            editing.heed(outcome, actions);
            match key {
                Some(key) => editing.selection.take([key], false),
                None => editing.selection.clear(),
            }
        }
        return;
    }
    let said = match selected {
        [] => return,
        [mark] => {
            let stroke = description::stroke(mark.bar, &mark.hit);
            let whose = words::whose(mark.hit.asked, mark.key.out);
            words::one(number(scene, mark.bar), &stroke, mark.hit.limb, whose)
        }
        marks => {
            let mut pieces: Vec<&str> = Vec::new();
            for mark in marks {
                if !pieces.contains(&mark.hit.piece.name()) {
                    pieces.push(mark.hit.piece.name());
                }
            }
            let asked = marks.iter().filter(|mark| mark.hit.asked || mark.key.out);
            words::many(marks.len(), &pieces, asked.count())
        }
    };
    cut(ui, &said, palette.text).on_hover_text(&said);
}

/// How wide the button of a change is, in points.
fn remedy_width(ui: &Ui, name: &str) -> f32 {
    let font = egui::TextStyle::Button.resolve(ui.style());
    let colour = egui::Color32::PLACEHOLDER;
    let galley = ui.painter().layout_no_wrap(name.to_owned(), font, colour);
    galley.size().x + ui.spacing().button_padding.x * 2.0 + theme::GAP * 2.0
}

/// A bar's number in the song, from 1.
fn number(scene: &Scene, bar: Bar) -> i64 {
    let mut bars = scene.bars.iter().zip(scene.number..);
    bars.find(|(other, _)| **other == bar)
        .map_or(scene.number, |(_, number)| number)
}

/// What a double-click adds.
fn adds(ui: &mut Ui, editing: &mut Editing) {
    ui.label(RichText::new(words::ADDS.0).color(theme::of(ui).text_quiet));
    let mut names = vec![words::OF_LANE];
    names.extend(targets().map(words::target));
    let shown = editing.adds.map_or(words::OF_LANE, words::target);
    let (list, picked) = combo(ui, "adds", shown, &names, Some(theme::PICK_WIDTH));
    if let Some(place) = picked {
        editing.adds = place.checked_sub(1).and_then(|place| targets().nth(place));
    }
    list.widget_info(|| WidgetInfo::labeled(Role::ComboBox, true, words::ADDS.0));
    list.on_hover_ui(|ui| {
        ui.label(words::ADDS.1);
        ui.label(RichText::new(words::HINT).weak());
    });
}

/// What can be struck.
fn targets() -> impl Iterator<Item = EditTarget> {
    let pieces = Piece::ALL.into_iter().map(EditTarget::Piece);
    std::iter::once(lanes_own(0)).chain(pieces)
}

/// What can be done to the selected strokes, from right to left.
fn stroke_controls(
    ui: &mut Ui,
    editing: &mut Editing,
    (selected, scene): (&[&Mark], &Scene),
    actions: &mut Vec<Action>,
) {
    if selected.is_empty() {
        return;
    }
    let strokes: Vec<Picked> = selected.iter().map(|mark| Picked::of(mark)).collect();
    let all_out = strokes.iter().all(|stroke| stroke.key.out);
    let (name, hint) = if all_out {
        words::PUT_BACK
    } else {
        words::LEAVE_OUT
    };
    if ui.button(name).on_hover_text(hint).clicked() {
        editing.leave_out(scene, actions);
    }
    let sounding = selected.iter().filter(|mark| !mark.key.out);
    let sounding: Vec<&Mark> = sounding.copied().collect();
    let Some(&first) = sounding.first() else {
        return;
    };
    let base = Base::of(scene.snapshot);
    place(ui, editing, (first, scene), actions);
    let mut velocity = first.hit.velocity;
    // What is typed is one change, when it is all there.
    let drag = DragValue::new(&mut velocity)
        .range(1..=127)
        .speed(0.5)
        .update_while_editing(false);
    let drag = field(ui, words::VELOCITY, drag);
    if drag.changed() {
        let before = i16::from(first.hit.velocity);
        let gesture = gesture(&drag, editing);
        let outcome = if drag.dragged() {
            base.louder(&strokes, i16::from(velocity) - before, gesture)
        } else {
            base.exactly(&strokes, velocity, gesture)
        };
        editing.heed(outcome, actions);
    }
    let names: Vec<&str> = targets().map(words::target).collect();
    let same = sounding.iter().all(|m| m.key.target == first.key.target);
    let shown = if same {
        words::target(first.key.target)
    } else {
        words::SEVERAL
    };
    let (list, picked) = combo(ui, "piece", shown, &names, Some(theme::PICK_WIDTH));
    list.widget_info(|| WidgetInfo::labeled(Role::ComboBox, true, words::PIECE.0));
    list.on_hover_text(words::PIECE.1);
    if let Some(target) = picked.and_then(|place| targets().nth(place)) {
        let gesture = editing.gesture();
        let outcome = base.onto(&strokes, target, gesture);
        if outcome.is_ok() {
            editing.selection.rename(|key| Key { target, ..key });
        }
        editing.heed(outcome, actions);
    }
}

/// What makes the changes of one drag one; what is typed is a change of its own.
fn gesture(drag: &egui::Response, editing: &mut Editing) -> u64 {
    if drag.dragged() {
        touch::gesture(drag)
    } else {
        editing.gesture()
    }
}

/// A number, named for whoever can't see it.
fn field(ui: &mut Ui, (name, hint): (&str, &str), drag: DragValue<'_>) -> egui::Response {
    let size = vec2(theme::UNIT_WIDTH, theme::PRESS_HEIGHT);
    let drag = ui.add_sized(size, drag);
    let label = RichText::new(name).color(theme::of(ui).text_quiet);
    let label = ui.label(label);
    drag.labelled_by(label.id).on_hover_text(hint)
}

/// The place of the first of the selected strokes; the others keep their distance to it.
fn place(
    ui: &mut Ui,
    editing: &mut Editing,
    (first, scene): (&Mark, &Scene),
    actions: &mut Vec<Action>,
) {
    let (bar, tick) = (first.bar, first.key.tick);
    let mut at = (tick - bar.start) as f64;
    #[expect(clippy::cast_possible_truncation)]
    let whole = move |at: f64| at.round() as Ticks + bar.start;
    let drag = DragValue::new(&mut at)
        .range(0.0..=(bar.meter.bar_len() - 1) as f64)
        .speed(24.0)
        .update_while_editing(false)
        .custom_formatter(move |at, _| counted(bar, whole(at)))
        .custom_parser(move |typed| Some((grid::parse(bar, typed)? - bar.start) as f64));
    let drag = field(ui, words::PLACE, drag);
    if !drag.changed() {
        return;
    }
    let to = if drag.dragged() {
        scene.grid.nearest(whole(at)).unwrap_or(tick)
    } else {
        whole(at)
    };
    if to != tick {
        let gesture = gesture(&drag, editing);
        editing.shift(scene, (to - tick, gesture), actions);
    }
}

/// What edits can be taken back.
struct Clearing {
    base: Base,
    /// A tick of the section that is meant.
    tick: Ticks,
    /// How many edits the section has.
    count: usize,
}

impl Clearing {
    fn of(selected: &[&Mark], scene: &Scene) -> Option<Self> {
        let base = Base::of(scene.snapshot);
        let here = selected.first().map(|mark| mark.key.tick);
        let tick = here.or_else(|| scene.bars.first().map(|bar| bar.start))?;
        let count = base.count(tick);
        (count > 0).then_some(Self { base, tick, count })
    }

    /// The name of the section that is meant.
    fn section<'a>(&self, scene: &Scene<'a>) -> Option<&'a str> {
        let song = scene.snapshot.followed()?;
        let place = self.base.scope(self.tick).ok()?.section?;
        Some(song.whole.sections.get(place)?.name.as_str())
    }
}

/// Takes edits back: of the selection, of a bar, of the section.
fn clear(
    ui: &mut Ui,
    editing: &mut Editing,
    (selected, scene): (&[&Mark], &Scene),
    actions: &mut Vec<Action>,
) {
    let Some(clearing) = Clearing::of(selected, scene) else {
        return;
    };
    let is_edited = |mark: &Mark| !mark.locked && (mark.hit.asked || mark.key.out);
    let menu = ui.menu_button(words::CLEAR.0, |ui| {
        let edited = selected.iter().filter(|mark| is_edited(mark));
        let edited: Vec<Picked> = edited.map(|mark| Picked::of(mark)).collect();
        let mut outcome = None;
        if !edited.is_empty() && ui.button(words::CLEAR_SELECTED).clicked() {
            outcome = Some(clearing.base.clear(&edited, editing.gesture()));
        }
        for (bar, number) in scene.bars.iter().zip(scene.number..) {
            let here = |mark: &Mark| mark.bar == *bar && is_edited(mark);
            if scene.marks.iter().any(here) && ui.button(words::clear_bar(number)).clicked() {
                let gesture = editing.gesture();
                outcome = Some(clearing.base.clear_span(bar.start, bar.end(), gesture));
            }
        }
        let all = words::clear_section(clearing.section(scene), clearing.count);
        if ui.button(all).clicked() {
            outcome = Some(clearing.base.clear_all(clearing.tick, editing.gesture()));
        }
        if let Some(outcome) = outcome {
            editing.heed(outcome, actions);
            ui.close();
        }
    });
    menu.response.on_hover_text(words::CLEAR.1);
}

/// The edits whose strokes are not there now, as a list.
fn asleep(ui: &mut Ui, editing: &mut Editing, scene: &Scene, actions: &mut Vec<Action>) {
    if scene.asleep.is_empty() {
        return;
    }
    let menu = ui.menu_button(words::asleep(scene.asleep.len()), |ui| {
        ui.label(RichText::new(words::ASLEEP_HINT).color(theme::of(ui).text_quiet));
        for edit in scene.asleep {
            ui.horizontal(|ui| {
                ui.label(&edit.says);
                let button = ui.button(words::FORGET);
                let name = format!("{}: {}", words::FORGET, edit.says);
                button.widget_info(|| WidgetInfo::labeled(Role::Button, true, name.clone()));
                if button.clicked() {
                    let (base, gesture) = (Base::of(scene.snapshot), editing.gesture());
                    actions.push(base.forget(edit.section, &edit.row, gesture));
                }
            });
        }
    });
    menu.response.on_hover_text(words::ASLEEP_HINT);
}
