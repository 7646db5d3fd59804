//! The few widgets that the views are made of: a control's name, a level, a row of choices.
//!
//! - `level`: what is dragged, typed and stepped

mod level;

pub use level::{level, level_line};

use super::{text, theme};
use crate::editor::action::Action;
use crate::editor::controls::Values;
use crate::settings::{SettingId, whole};
use egui::{
    Align, Align2, Button, Label, Layout, Rect, Response, RichText, Role, Sense, TextStyle, Ui,
    WidgetInfo, vec2,
};

/// What stands at the right end of a line, and what has the rest of it.
fn ends<R>(ui: &mut Ui, right: impl FnOnce(&mut Ui), left: impl FnOnce(&mut Ui) -> R) -> R {
    ui.horizontal(|ui| {
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            right(ui);
            ui.with_layout(Layout::left_to_right(Align::Center), left)
                .inner
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
        let said = text::whose(left, values.differs(control), theme::is_compact(ui));
        let chip = ui
            .add(Button::new(RichText::new(said).small()).selected(!left))
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
        let said = ui.label(
            RichText::new(text::AUTOMATED)
                .small()
                .color(theme::of(ui).accent_text),
        );
        said.on_hover_text(text::AUTOMATED_HINT);
    } else if (values.is_unheard(control) || values.moves_chart(control)) && !theme::is_compact(ui)
    {
        let here = control.kind().text(values.here.get(control));
        let said = RichText::new(text::unheard(&here)).small().color(quiet);
        ui.label(said).on_hover_text(text::UNHEARD_HINT);
    }
}

/// A control's name, and what is to be known of it.
pub fn head(
    ui: &mut Ui,
    control: SettingId,
    values: &Values,
    actions: &mut Vec<Action>,
) -> Response {
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
    let mut on = values.get(control) >= 0.5;
    if control == SettingId::FollowChart {
        // No button: nothing starts with it.
        let ticked = ui.checkbox(&mut on, control.name());
        if ticked.on_hover_text(control.hint()).changed() {
            actions.push(Action::Set(control, f32::from(u8::from(on))));
        }
        return;
    }
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
    let mut shown = RichText::new(values.text(control));
    if values.is_unheard(control) || values.is_left(control) {
        shown = shown.color(theme::of(ui).text_quiet);
    }
    egui::ComboBox::from_id_salt(control.name())
        .selected_text(shown)
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
    ui.data(|data| data.get_temp(types_paths_id()))
        .unwrap_or(false)
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
pub fn shortened(ui: &Ui, text: &str, width: f32, font: &egui::FontId) -> String {
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
