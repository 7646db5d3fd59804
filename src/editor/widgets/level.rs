//! A level: its name, its value, and a bar that is dragged.

use super::{cut_name, ends, line, reset, state};
use crate::editor::action::Action;
use crate::editor::controls::Values;
use crate::editor::{text, theme};
use crate::settings::SettingId;
use egui::{
    Align, DragValue, EventFilter, Key, Layout, Rect, Response, RichText, Role, Sense, Ui,
    WidgetInfo, vec2,
};

/// How far an arrow key moves a level.
const KEY_STEP: f32 = 0.05;
/// How much slower a level moves than the pointer while shift is held.
const FINE: f32 = 0.1;

/// A level over its range: its name, its value in words, and a bar that is dragged. Shift drags
/// finely, arrow keys step, a double click asks for the default. Of a section, also where it ends.
pub fn level(ui: &mut Ui, control: SettingId, values: &Values, actions: &mut Vec<Action>) {
    let label = ends(
        ui,
        |ui| {
            level_value(ui, control, values, actions);
        },
        |ui| cut_name(ui, control),
    );
    reset(&label, control, actions);
    let width = ui.available_width();
    dragged_bar(ui, control, values, width, actions).labelled_by(label.id);
}

/// The same in one line.
pub fn level_line(ui: &mut Ui, control: SettingId, values: &Values, actions: &mut Vec<Action>) {
    line(ui, control, values, actions, |ui, label, actions| {
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            level_ends(ui, control, values, actions);
            let width = ui.available_width();
            dragged_bar(ui, control, values, width, actions).labelled_by(label);
        });
    });
}

/// A level's value, and where it ends, from right to left; what is to be known of it at the very right.
fn level_value(ui: &mut Ui, control: SettingId, values: &Values, actions: &mut Vec<Action>) {
    state(ui, control, values, actions);
    level_ends(ui, control, values, actions);
}

fn level_ends(ui: &mut Ui, control: SettingId, values: &Values, actions: &mut Vec<Action>) {
    ui.spacing_mut().item_spacing.x = theme::GAP * 0.5;
    if values.section.is_some() && control.is_of_section() {
        ended_level(ui, control, values, actions);
        ui.label(RichText::new(text::chart::TO).color(theme::of(ui).text_quiet));
    }
    typed_level(ui, control, values, actions);
}

/// The value of a level, to be typed: a click opens it, return sets it.
fn typed_level(ui: &mut Ui, control: SettingId, values: &Values, actions: &mut Vec<Action>) {
    let shown = (values.get(control), values.words(control));
    let (field, typed) = typed(ui, control, control.name(), shown);
    if let Some(value) = typed {
        actions.push(Action::Set(control, value));
    }
    field.on_hover_text(text::TYPED_HINT);
}

/// Where the level of a section ends, to be typed or dragged.
fn ended_level(ui: &mut Ui, control: SettingId, values: &Values, actions: &mut Vec<Action>) {
    let end = values.end(control);
    let quiet = end == values.get(control);
    let name = text::end_of(control.name());
    let (field, typed) = ui
        .scope(|ui| {
            if quiet {
                ui.visuals_mut().override_text_color = Some(theme::of(ui).text_quiet);
            }
            typed(ui, control, &name, (end, control.kind().text(end)))
        })
        .inner;
    if let Some(value) = typed {
        actions.push(Action::SetEnd(control, value));
    }
    field.on_hover_text(text::chart::LEVEL_HINT);
}

/// A number that is typed, by its name, its value and what stands in its place; `None` as long as none was.
fn typed(
    ui: &mut Ui,
    control: SettingId,
    name: &str,
    (now, words): (f32, String),
) -> (Response, Option<f32>) {
    let scale = control.kind().scale();
    let (least, most) = control.kind().range();
    let old = f64::from(now) * scale;
    let mut value = old;
    let field = DragValue::new(&mut value)
        .range(f64::from(least) * scale..=f64::from(most) * scale)
        .speed(0.0)
        .update_while_editing(false)
        .custom_formatter(move |_, _| words.clone())
        .custom_parser(|text| {
            let number = |c: char| c.is_ascii_digit() || c == '.' || c == '-';
            text.trim().trim_end_matches(|c| !number(c)).parse().ok()
        });
    let field = ui
        .scope(|ui| {
            let visuals = &mut ui.visuals_mut().widgets.inactive;
            visuals.weak_bg_fill = egui::Color32::TRANSPARENT;
            ui.spacing_mut().button_padding.x = 2.0;
            ui.spacing_mut().interact_size.x = 0.0;
            ui.add(field)
        })
        .inner;
    let typed = (field.changed() && value != old).then(|| {
        #[expect(clippy::cast_possible_truncation)]
        let value = (value / scale) as f32;
        value.clamp(least, most)
    });
    field.widget_info(|| {
        let mut info = WidgetInfo::labeled(Role::SpinButton, true, name);
        info.value = Some(old);
        info
    });
    (field, typed)
}

fn dragged_bar(
    ui: &mut Ui,
    control: SettingId,
    values: &Values,
    width: f32,
    actions: &mut Vec<Action>,
) -> Response {
    let size = vec2(width, theme::PRESS_HEIGHT);
    let (rect, mut bar) = ui.allocate_exact_size(size, Sense::click_and_drag());
    let (least, most) = control.kind().range();
    let part = |value: f32| (value - least) / (most - least);
    let whole = |part: f32| least + part * (most - least);
    let old = part(values.get(control));
    let wished = if bar.double_clicked() {
        Some(part(values.home(control)))
    } else {
        dragged(ui, &bar, old).or_else(|| stepped(ui, &bar, old, control))
    };
    if let Some(value) = wished {
        actions.push(Action::Set(control, whole(value)));
        bar.mark_changed();
    }
    let shown = wished.unwrap_or(old).clamp(0.0, 1.0);
    let painter = ui.painter();
    painter.rect_filled(rect, theme::CORNER, theme::of(ui).sunk);
    let mut filled = rect;
    filled.set_width(rect.width() * shown);
    let faint = values.is_left(control) || values.is_unheard(control);
    let fill = if faint {
        theme::of(ui).chosen.gamma_multiply(0.5)
    } else {
        theme::of(ui).chosen
    };
    painter.rect_filled(filled, theme::CORNER, fill);
    if let Some(section) = &values.section {
        // Where a ramp ends.
        let end = part(section.end.get(control)).clamp(0.0, 1.0);
        if control.is_of_section() && (end - shown).abs() > f32::EPSILON {
            let (from, to) = (shown.min(end), shown.max(end));
            let x = |part: f32| rect.left() + rect.width() * part;
            let ramp = Rect::from_x_y_ranges(x(from)..=x(to), rect.bottom() - 4.0..=rect.bottom());
            painter.rect_filled(ramp, 0.0, theme::of(ui).accent_text);
        }
    }
    if values.moves_chart(control) {
        // Where it leaves the chart as it is.
        let middle = rect.center_bottom() - vec2(0.0, 5.0);
        let line = egui::Stroke::new(2.0, theme::of(ui).accent_text);
        painter.line_segment([middle, rect.center_bottom()], line);
    }
    let x = (rect.left() + rect.width() * shown).clamp(rect.left() + 1.0, rect.right() - 1.0);
    let grip = Rect::from_center_size(egui::pos2(x, rect.center().y), vec2(2.0, rect.height()));
    let grip_colour = if bar.hovered() || bar.has_focus() {
        theme::of(ui).text
    } else {
        theme::of(ui).text_quiet
    };
    painter.rect_filled(grip, 0.0, grip_colour);
    let scale = control.kind().scale();
    bar.widget_info(|| WidgetInfo::slider(true, f64::from(whole(shown)) * scale, ""));
    bar.on_hover_text(control.hint())
}

/// Where the pointer holds a level.
fn dragged(ui: &Ui, bar: &Response, old: f32) -> Option<f32> {
    let held = bar.is_pointer_button_down_on() && ui.input(|i| i.pointer.primary_down());
    // A click may begin and end between two frames.
    let at = bar
        .interact_pointer_pos()
        .filter(|_| held || bar.clicked())?;
    let width = bar.rect.width().max(1.0);
    let value = if ui.input(|i| i.modifiers.shift) {
        old + bar.drag_delta().x / width * FINE
    } else {
        (at.x - bar.rect.left()) / width
    };
    Some(value.clamp(0.0, 1.0))
}

/// Where a key, or whoever reads the screen aloud, moves a level.
fn stepped(ui: &Ui, bar: &Response, old: f32, control: SettingId) -> Option<f32> {
    use egui::accesskit::Action;
    let ((least, most), scale) = (control.kind().range(), control.kind().scale());
    let mut steps = 0.0;
    // Asked before the input is locked: both sit behind the same lock.
    let focused = bar.has_focus();
    if focused {
        let filter = EventFilter {
            horizontal_arrows: true,
            ..EventFilter::default()
        };
        ui.memory_mut(|memory| memory.set_focus_lock_filter(bar.id, filter));
    }
    ui.input(|input| {
        if focused {
            let pressed = |key| input.num_presses(key) as f32;
            steps += pressed(Key::ArrowRight) - pressed(Key::ArrowLeft);
        }
        let asked = |action| input.num_accesskit_action_requests(bar.id, action) as f32;
        steps += asked(Action::Increment) - asked(Action::Decrement);
    });
    if bar.hovered() {
        // The wheel is this level's: what scrolls around it stays.
        let turned = |event: &egui::Event| match event {
            egui::Event::MouseWheel { delta, .. } => delta.y.signum() * f32::from(delta.y != 0.0),
            _ => 0.0,
        };
        steps += ui.input(|input| input.events.iter().map(turned).sum::<f32>());
    }
    ui.ctx().accesskit_node_builder(bar.id, |node| {
        node.add_action(Action::Increment);
        node.add_action(Action::Decrement);
        node.set_min_numeric_value(f64::from(least) * scale);
        node.set_max_numeric_value(f64::from(most) * scale);
    });
    (steps != 0.0).then(|| (old + steps * KEY_STEP).clamp(0.0, 1.0))
}
