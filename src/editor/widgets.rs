//! The few widgets that the views are made of: a control's name, a level, a row of choices.

use super::{text, theme};
use crate::editor::action::Action;
use crate::editor::controls::Values;
use crate::settings::{SettingId, whole};
use egui::{
    Align, Align2, Button, DragValue, EventFilter, Key, Label, Layout, Rect, Response, RichText,
    Role, Sense, TextStyle, Ui, WidgetInfo, vec2,
};

/// How far an arrow key moves a level.
const KEY_STEP: f32 = 0.05;
/// How much slower a level moves than the pointer while shift is held.
const FINE: f32 = 0.1;

/// A level over its range: its name, its value in words, and a bar that is dragged. Shift drags
/// finely, arrow keys step, a double click asks for the default. Of a section, also where it ends.
pub fn level(ui: &mut Ui, control: SettingId, values: &Values, actions: &mut Vec<Action>) {
    let label = ends(ui, |ui| {
        level_value(ui, control, values, actions);
    }, |ui| cut_name(ui, control));
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

/// What stands at the right end of a line, and what has the rest of it.
fn ends<R>(ui: &mut Ui, right: impl FnOnce(&mut Ui), left: impl FnOnce(&mut Ui) -> R) -> R {
    ui.horizontal(|ui| {
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            right(ui);
            ui.with_layout(Layout::left_to_right(Align::Center), left).inner
        })
        .inner
    })
    .inner
}

/// A control's name as far as there is room for it.
fn cut_name(ui: &mut Ui, control: SettingId) -> Response {
    let name = Label::new(control.name()).sense(Sense::click()).truncate();
    ui.add(name).on_hover_ui(|ui| {
        ui.label(control.name());
        ui.label(control.hint());
        ui.label(RichText::new(text::RESET_HINT).weak());
    })
}

fn reset(label: &Response, control: SettingId, actions: &mut Vec<Action>) {
    if label.double_clicked() {
        actions.push(Action::reset(control));
    }
}

/// A control in one line: its name, what is added, and what is to be known of it.
pub fn line(
    ui: &mut Ui,
    control: SettingId,
    values: &Values,
    actions: &mut Vec<Action>,
    add: impl FnOnce(&mut Ui, egui::Id, &mut Vec<Action>),
) {
    ui.horizontal(|ui| {
        let size = vec2(theme::LINE_NAME, theme::PRESS_HEIGHT);
        let layout = Layout::left_to_right(Align::Center);
        let label = ui
            .allocate_ui_with_layout(size, layout, |ui| {
                ui.set_min_size(size);
                cut_name(ui, control)
            })
            .inner;
        reset(&label, control, actions);
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            state(ui, control, values, actions);
            let layout = Layout::left_to_right(Align::Center);
            ui.with_layout(layout, |ui| add(ui, label.id, actions));
        });
    });
}

/// A list in one line.
pub fn list_line(ui: &mut Ui, control: SettingId, values: &Values, actions: &mut Vec<Action>) {
    line(ui, control, values, actions, |ui, label, actions| {
        let width = ui.available_width();
        choices(ui, control, values, width, actions).labelled_by(label);
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
fn typed_level(
    ui: &mut Ui,
    control: SettingId,
    values: &Values,
    actions: &mut Vec<Action>,
) {
    let (field, typed) = typed(ui, control, values.get(control), values.words(control));
    if let Some(value) = typed {
        actions.push(Action::Set(control, value));
    }
    let now = f64::from(values.get(control)) * control.kind().scale();
    field.widget_info(|| {
        let mut info = WidgetInfo::labeled(Role::SpinButton, true, control.name());
        info.value = Some(now);
        info
    });
    field.on_hover_text(text::TYPED_HINT);
}

/// Where the level of a section ends, to be typed or dragged.
fn ended_level(ui: &mut Ui, control: SettingId, values: &Values, actions: &mut Vec<Action>) {
    let end = values.end(control);
    let (field, typed) = typed(ui, control, end, control.kind().text(end));
    if let Some(value) = typed {
        actions.push(Action::SetEnd(control, value));
    }
    let name = text::end_of(control.name());
    let scale = control.kind().scale();
    field.widget_info(|| {
        let mut info = WidgetInfo::labeled(Role::SpinButton, true, name.clone());
        info.value = Some(f64::from(end) * scale);
        info
    });
    field.on_hover_text(text::chart::LEVEL_HINT);
}

/// A number that is typed; `None` as long as none was.
fn typed(ui: &mut Ui, control: SettingId, now: f32, words: String) -> (Response, Option<f32>) {
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
    (field, typed)
}

/// What is to be known of a control beside its value. Of a section: whether it says it itself or leaves it to the
/// panel, which a click turns. Of the panel: whether the section that is played says its own, and whether the host
/// moves it.
pub fn state(ui: &mut Ui, control: SettingId, values: &Values, actions: &mut Vec<Action>) {
    let quiet = theme::of(ui).text_quiet;
    if values.section.is_some() {
        if !Values::is_of_section(control) {
            return;
        }
        let left = values.is_left(control);
        let said = text::whose(left, values.differs(control));
        let chip = ui
            .add(Button::new(RichText::new(said).small()).selected(left))
            .on_hover_text(text::whose_hint(left));
        if chip.clicked() {
            actions.push(if left {
                Action::Set(control, values.get(control))
            } else {
                Action::Leave(control)
            });
        }
        chip.widget_info(|| {
            let name = text::left_to_panel(control.name());
            WidgetInfo::selected(Role::CheckBox, true, left, name)
        });
    } else if values.automated.has(control) {
        let said = ui.label(RichText::new(text::AUTOMATED).small().color(theme::of(ui).accent_text));
        said.on_hover_text(text::AUTOMATED_HINT);
    } else if values.is_unheard(control) {
        let said = ui.label(RichText::new(text::UNHEARD).small().color(quiet));
        said.on_hover_text(text::UNHEARD_HINT);
    }
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

/// A control's name, and what is to be known of it.
pub fn head(ui: &mut Ui, control: SettingId, values: &Values, actions: &mut Vec<Action>) -> Response {
    let label = ends(
        ui,
        |ui| state(ui, control, values, actions),
        |ui| cut_name(ui, control),
    );
    reset(&label, control, actions);
    label
}

/// A row of choices, each a button.
pub fn row(ui: &mut Ui, control: SettingId, values: &Values, actions: &mut Vec<Action>) {
    head(ui, control, values, actions);
    let chosen = usize::from(whole(values.get(control)));
    let choices = control.kind().texts();
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing = vec2(2.0, 2.0);
        ui.spacing_mut().button_padding.x = 5.0;
        for (i, choice) in choices.iter().enumerate() {
            let button = ui
                .add(Button::new(*choice).selected(i == chosen))
                .on_hover_text(control.hint());
            if button.clicked() {
                actions.push(Action::Set(control, i as f32));
            }
            button.widget_info(|| {
                let label = format!("{}: {choice}", control.name());
                WidgetInfo::selected(Role::RadioButton, true, i == chosen, label)
            });
        }
    });
}

/// A button that switches a control on and off.
pub fn switch(ui: &mut Ui, control: SettingId, values: &Values, actions: &mut Vec<Action>) {
    let on = values.get(control) >= 0.5;
    let mut button = Button::new(control.name()).selected(on);
    if on && control == SettingId::Bypass {
        button = button.fill(theme::of(ui).bypassed);
    }
    let button = ui.add(button).on_hover_text(control.hint());
    if button.clicked() {
        actions.push(Action::Set(control, f32::from(u8::from(!on))));
    }
    button.widget_info(|| WidgetInfo::selected(Role::CheckBox, true, on, control.name()));
}

/// A button that switches a control on for as long as it is held. A key touches it.
pub fn held(
    ui: &mut Ui,
    control: SettingId,
    width: f32,
    values: &Values,
    actions: &mut Vec<Action>,
) {
    let on = values.get(control) >= 0.5;
    let size = vec2(width, theme::PRESS_HEIGHT);
    let layout = Layout::centered_and_justified(egui::Direction::TopDown);
    let button = ui
        .allocate_ui_with_layout(size, layout, |ui| {
            ui.add(Button::new(control.name()).selected(on))
        })
        .inner
        .on_hover_text(control.hint());
    // The host may hold it too: only what was pressed here is let go of here.
    let mine = button.id.with("held");
    let was_held = ui.data(|data| data.get_temp::<bool>(mine)).unwrap_or(false);
    let pointer = button.is_pointer_button_down_on() && ui.input(|i| i.pointer.primary_down());
    let is_held = pointer || (button.clicked() && !was_held);
    if is_held != was_held {
        actions.push(Action::Set(control, f32::from(u8::from(is_held))));
        ui.data_mut(|data| data.insert_temp(mine, is_held));
        ui.request_repaint();
    }
    button.widget_info(|| WidgetInfo::selected(Role::Button, true, on, control.name()));
}

/// A list that opens, for choices too many for a row.
pub fn list(ui: &mut Ui, control: SettingId, values: &Values, actions: &mut Vec<Action>) {
    let label = head(ui, control, values, actions);
    let width = ui.available_width();
    choices(ui, control, values, width, actions).labelled_by(label.id);
}

fn choices(
    ui: &mut Ui,
    control: SettingId,
    values: &Values,
    width: f32,
    actions: &mut Vec<Action>,
) -> Response {
    let chosen = usize::from(whole(values.get(control)));
    egui::ComboBox::from_id_salt(control.name())
        .selected_text(values.text(control))
        .width(width)
        .height(320.0)
        .show_ui(ui, |ui| {
            for (i, choice) in control.kind().texts().iter().enumerate() {
                if ui.selectable_label(i == chosen, *choice).clicked() {
                    actions.push(Action::Set(control, i as f32));
                }
            }
        })
        .response
        .on_hover_text(control.hint())
}

/// Text over a picture, in the small type.
pub fn caption(ui: &Ui, at: egui::Pos2, anchor: Align2, text: &str, colour: egui::Color32) {
    let font = TextStyle::Small.resolve(ui.style());
    ui.painter().text(at, anchor, text, font, colour);
}

/// How wide a caption is, in points.
pub fn caption_width(ui: &Ui, text: &str) -> f32 {
    let font = TextStyle::Small.resolve(ui.style());
    let galley = ui
        .painter()
        .layout_no_wrap(text.to_owned(), font, egui::Color32::PLACEHOLDER);
    galley.size().x
}

/// A field for the path of a file, with what stands in it while it is empty.
pub fn path_field(ui: &mut Ui, path: &mut String, empty: &str, hint: &str) {
    let field = egui::TextEdit::singleline(path).hint_text(empty);
    ui.add(field.desired_width(f32::INFINITY))
        .on_hover_text(hint);
}

/// The path that was typed, told whole, since nobody knows where a host looks for a short one; empty
/// where none was. Some programs copy paths in quotes.
pub fn typed_path(typed: &str) -> std::path::PathBuf {
    let path = std::path::PathBuf::from(typed.trim().trim_matches('"'));
    std::path::absolute(&path).unwrap_or(path)
}

/// Whether paths are typed, since no dialog of the system can open.
pub fn types_paths(ui: &Ui) -> bool {
    ui.data(|data| data.get_temp(types_paths_id())).unwrap_or(false)
}

/// Says whether they are.
pub fn set_types_paths(ui: &Ui, types: bool) {
    ui.data_mut(|data| data.insert_temp(types_paths_id(), types));
}

fn types_paths_id() -> egui::Id {
    egui::Id::unique("paths are typed")
}

/// Around what has the keyboard.
pub fn focus_ring(painter: &egui::Painter, rect: Rect, palette: &theme::Palette) {
    let line = egui::Stroke::new(1.5, palette.text);
    painter.rect_stroke(rect, theme::CORNER, line, egui::StrokeKind::Inside);
}

/// As much of a text as this width has room for: cut at the end of a word where that leaves most of it, and marked where
/// it is cut.
pub fn shortened(ui: &Ui, text: &str, width: f32, font: egui::FontId) -> String {
    let fits = |text: &str| {
        let galley =
            ui.painter()
                .layout_no_wrap(text.to_owned(), font.clone(), egui::Color32::PLACEHOLDER);
        galley.size().x <= width
    };
    if fits(text) {
        return text.to_owned();
    }
    let mut ends: Vec<usize> = text.char_indices().map(|(at, _)| at).collect();
    while let Some(end) = ends.pop() {
        let cut = format!("{}…", text[..end].trim_end());
        if !fits(&cut) {
            continue;
        }
        let word = text[..end].rfind(' ').filter(|word| *word * 2 > end);
        let inside = text[end..].chars().next().is_some_and(|next| next != ' ');
        return match word.filter(|_| inside) {
            Some(word) => format!("{}…", text[..word].trim_end()),
            None if end == 0 => String::new(),
            None => cut,
        };
    }
    String::new()
}

/// A list that opens; the place of what was chosen in it.
pub fn combo(
    ui: &mut Ui,
    id: &str,
    shown: impl Into<egui::WidgetText>,
    names: &[&str],
    width: Option<f32>,
) -> (Response, Option<usize>) {
    let shown = shown.into();
    let chosen = shown.text().to_owned();
    let mut picked = None;
    let list = egui::ComboBox::from_id_salt(id)
        .selected_text(shown)
        .height(320.0);
    let list = width.into_iter().fold(list, egui::ComboBox::width);
    let list = list.show_ui(ui, |ui| {
        for (i, name) in names.iter().enumerate() {
            if ui.selectable_label(*name == chosen, *name).clicked() {
                picked = Some(i);
            }
        }
    });
    (list.response, picked)
}
