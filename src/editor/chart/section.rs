//! What one section says.

use crate::bridge::standalone_transport::{MOST_COUNTS, UNITS};
use crate::choice::Choice;
use crate::editor::text::{self, chart as words};
use crate::editor::theme;
use crate::settings::{KickSource, SettingId, TAKES};
use crate::song::file::{Level, Section, SectionMeter};
use crate::time::Meter;
use crate::time::tempo::MAX_BPM;
use egui::{ComboBox, DragValue, Grid, Response, TextEdit, Ui, WidgetText};

/// Whether something was changed in a frame, and by which gesture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Touch {
    /// Nothing.
    #[default]
    None,
    /// A change of its own.
    Once,
    /// A change of a gesture.
    Gesture(u64),
}

impl Touch {
    /// Heeds what may be dragged or typed in: all that belongs to one gesture.
    pub fn heed(&mut self, response: &Response) {
        if response.changed() {
            *self = Self::Gesture(gesture(response));
        }
    }

    /// Something was chosen or pressed: a change of its own.
    pub fn once(&mut self) {
        *self = Self::Once;
    }
}

/// What makes the changes of one drag, or of one typing, one.
pub(crate) fn gesture(response: &Response) -> u64 {
    let pressed = response.ctx.input(|input| input.pointer.press_start_time());
    response.id.value() ^ pressed.unwrap_or_default().to_bits()
}

/// Shows a section; `take` is the panel's. Returns whether it is to be frozen.
pub fn show(ui: &mut Ui, section: &mut Section, take: u32, touch: &mut Touch) -> bool {
    let freezes = takes(ui, section, take, touch);
    ui.add_space(theme::GAP);
    Grid::new("section")
        .num_columns(6)
        .spacing([theme::GAP_WIDE, theme::GAP])
        .show(ui, |ui| {
            let of = |setting: SettingId| (setting.name(), setting.hint());
            name_and_length(ui, section, touch);
            meter(ui, section, touch);
            ui.end_row();
            tempo(ui, section, touch);
            pick(ui, of(SettingId::Style), &mut section.style, touch);
            pick(ui, of(SettingId::Play), &mut section.play, touch);
            ui.end_row();
            pick(ui, of(SettingId::Hand), &mut section.hand, touch);
            let rate = &mut section.hand_rate;
            pick(ui, of(SettingId::HandRate), rate, touch);
            feet(ui, section, touch);
            ui.end_row();
            level(ui, of(SettingId::Intensity), &mut section.intensity, touch);
            level(ui, of(SettingId::Density), &mut section.density, touch);
            level(ui, of(SettingId::Accent), &mut section.accent, touch);
            ui.end_row();
            level(
                ui,
                of(SettingId::FillChance),
                &mut section.fill_chance,
                touch,
            );
            let shape = &mut section.fill_shape;
            pick(ui, of(SettingId::FillShape), shape, touch);
            pick(ui, words::FILL, &mut section.fill, touch);
            ui.end_row();
            pick(ui, words::START, &mut section.start, touch);
            pick(ui, of(SettingId::Crashes), &mut section.crashes, touch);
            ui.end_row();
        });
    freezes
}

/// The section's take and whether it is frozen; whether it is to be frozen now.
fn takes(ui: &mut Ui, section: &mut Section, panel: u32, touch: &mut Touch) -> bool {
    let mut freeze = false;
    ui.horizontal(|ui| {
        let mut own = section.take.is_some();
        let checkbox = ui.checkbox(&mut own, words::TAKE.0);
        if checkbox.on_hover_text(words::TAKE.1).changed() {
            section.take = own.then_some(panel);
            touch.once();
        }
        if let Some(take) = &mut section.take {
            let number = DragValue::new(take)
                .range(u32::from(TAKES.0)..=u32::from(TAKES.1))
                .speed(0.2);
            touch.heed(&ui.add(number).on_hover_text(words::TAKE.1));
        }
        let keep = ui.button(words::KEEP_TAKE);
        if keep.on_hover_text(words::KEEP_TAKE_HINT).clicked() {
            section.take = Some(panel);
            touch.once();
        }
        let mut frozen = section.frozen.is_some();
        let checkbox = ui.checkbox(&mut frozen, words::FREEZE);
        if checkbox.on_hover_text(words::FREEZE_HINT).changed() {
            freeze = frozen;
            section.frozen = None;
            touch.once();
        }
    });
    freeze
}

fn name_and_length(ui: &mut Ui, section: &mut Section, touch: &mut Touch) {
    let label = ui.label(words::NAME.0);
    let name = TextEdit::singleline(&mut section.name).desired_width(theme::PICK_WIDTH);
    let name = ui.add(name).labelled_by(label.id);
    touch.heed(&name.on_hover_text(words::NAME.1));
    let label = ui.label(words::BARS.0);
    let bars = DragValue::new(&mut section.bars).range(1..=999).speed(0.1);
    let bars = ui.add(bars).labelled_by(label.id);
    touch.heed(&bars.on_hover_text(words::BARS.1));
}

fn meter(ui: &mut Ui, section: &mut Section, touch: &mut Touch) {
    let label = ui.label(words::METER.0);
    let own = match section.meter {
        Some(SectionMeter::Own(meter)) => Some(meter),
        _ => None,
    };
    let (mut counts, mut unit): (u32, u32) =
        own.map_or((4, 4), |m| (m.numerator().into(), m.denominator().into()));
    ui.horizontal(|ui| {
        let names = [words::HOST_METER, words::OWN_METER];
        let chosen = names[usize::from(own.is_some())];
        let choice = combo(ui, "meter", chosen, &names, None);
        choice.0.labelled_by(label.id).on_hover_text(words::METER.1);
        let mut is_own = own.is_some();
        if let Some(i) = choice.1 {
            is_own = i == 1;
            touch.once();
        }
        if is_own {
            let drag = DragValue::new(&mut counts)
                .range(1..=MOST_COUNTS)
                .speed(0.1);
            touch.heed(&ui.add(drag).labelled_by(label.id));
            ui.label("/");
            let units = UNITS.map(|unit| unit.to_string());
            let units: Vec<&str> = units.iter().map(String::as_str).collect();
            let shown = unit.to_string();
            let (list, picked) = combo(ui, "unit", &shown, &units, Some(theme::UNIT_WIDTH));
            list.labelled_by(label.id);
            if let Some(i) = picked {
                unit = UNITS[i];
                touch.once();
            }
            section.meter = Meter::new(counts.into(), unit.into())
                .ok()
                .map(SectionMeter::Own);
        } else {
            section.meter = Some(SectionMeter::Host);
        }
    });
}

fn tempo(ui: &mut Ui, section: &mut Section, touch: &mut Touch) {
    let label = ui.label(words::TEMPO.0);
    let mut bpm = section.bpm.unwrap_or_default();
    let drag = DragValue::new(&mut bpm).range(0.0..=MAX_BPM).speed(0.5);
    let drag = ui.add(drag.max_decimals(2).suffix(text::BPM));
    let drag = drag.labelled_by(label.id).on_hover_text(words::TEMPO.1);
    if drag.changed() {
        // The slowest that a file can say; below it, none.
        section.bpm = Some(bpm.max(4.0)).filter(|_| bpm > 0.0);
    }
    touch.heed(&drag);
}

/// A choice by name.
fn pick<T: Choice>(
    ui: &mut Ui,
    (name, hint): (&str, &str),
    chosen: &mut Option<T>,
    touch: &mut Touch,
) {
    let label = ui.label(name).on_hover_text(hint);
    let shown = chosen.map_or("auto", |choice| T::TEXTS[usize::from(choice.place())]);
    let (response, picked) = combo(ui, name, shown, T::TEXTS, Some(theme::PICK_WIDTH));
    response.labelled_by(label.id).on_hover_text(hint);
    if let Some(place) = picked {
        *chosen = Some(T::at(place));
        touch.once();
    }
}

/// What the feet follow, or the panel's.
fn feet(ui: &mut Ui, section: &mut Section, touch: &mut Touch) {
    let (name, hint) = words::FEET;
    let names = [&[words::OF_PANEL], KickSource::NAMES].concat();
    let shown = section
        .kick_source
        .map_or(words::OF_PANEL, KickSource::name);
    let label = ui.label(name).on_hover_text(hint);
    let (response, picked) = combo(ui, name, shown, &names, Some(theme::PICK_WIDTH));
    response.labelled_by(label.id).on_hover_text(hint);
    if let Some(place) = picked {
        section.kick_source = place.checked_sub(1).map(Choice::at);
        touch.once();
    }
}

/// A level: where it begins and where it ends. As long as both are the same they move together.
fn level(ui: &mut Ui, (name, hint): (&str, &str), level: &mut Option<Level>, touch: &mut Touch) {
    let label = ui.label(name).on_hover_text(hint);
    let (from, to) = match *level {
        Some(Level::Ramp { from, to }) => (from, to),
        Some(Level::Steady(value)) => (value, value),
        None => (0.0, 0.0),
    };
    let (mut first, mut last) = (from * 100.0, to * 100.0);
    ui.horizontal(|ui| {
        let drag = |ui: &mut Ui, value: &mut f32| {
            let drag = DragValue::new(value).range(0.0..=100.0).speed(0.5);
            let drag = ui.add(drag.max_decimals(0).suffix("%"));
            drag.labelled_by(label.id).on_hover_text(words::LEVEL_HINT)
        };
        let begins = drag(ui, &mut first);
        ui.label(words::TO);
        let ends = drag(ui, &mut last);
        if begins.changed() && from == to {
            last = first;
        }
        if begins.changed() || ends.changed() {
            let (from, to) = (first / 100.0, last / 100.0);
            *level = Some(if from == to {
                Level::Steady(from)
            } else {
                Level::Ramp { from, to }
            });
        }
        touch.heed(&begins);
        touch.heed(&ends);
    });
}

/// A list that opens; the place of what was chosen in it.
pub(in crate::editor) fn combo(
    ui: &mut Ui,
    id: &str,
    shown: impl Into<WidgetText>,
    names: &[&str],
    width: Option<f32>,
) -> (Response, Option<usize>) {
    let shown = shown.into();
    let chosen = shown.text().to_owned();
    let mut picked = None;
    let list = ComboBox::from_id_salt(id)
        .selected_text(shown)
        .height(320.0);
    let list = width.into_iter().fold(list, ComboBox::width);
    let list = list.show_ui(ui, |ui| {
        for (i, name) in names.iter().enumerate() {
            if ui.selectable_label(*name == chosen, *name).clicked() {
                picked = Some(i);
            }
        }
    });
    (list.response, picked)
}
