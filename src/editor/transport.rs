//! The strip of the stand-alone: start and stop, tempo, meter, loop, and what it is heard through.
//! In a host there is none.

use super::{text, theme};
use crate::bridge::standalone_transport::{
    DeviceChoice, Devices, LAST_BAR, MOST_COUNTS, TEMPI, UNITS, Wishes,
};
use crate::time::Meter;
use egui::{
    Align, Button, ComboBox, DragValue, Key, Layout, Response, RichText, Role, Ui, WidgetInfo,
};

/// What the strip asks for.
#[derive(Debug, Clone, PartialEq)]
pub enum Ask {
    /// These wishes in place of the present ones.
    Set(Wishes),
    /// The start of the song, or of the loop.
    Rewind,
    /// Other devices.
    Choose(DeviceChoice),
}

/// Shows the strip.
/// `written` has the tempo, in quarter notes a minute, and the meter of the song where it gives them.
pub fn show(
    ui: &mut Ui,
    (wishes, written): (Wishes, Option<(f64, Meter)>),
    devices: &Devices,
    asks: &mut Vec<Ask>,
) {
    let mut new = wishes;
    ui.horizontal(|ui| {
        let follows = wishes.follow;
        ui.add_enabled_ui(!follows, |ui| {
            roll(ui, &mut new, asks);
            if let Some((bpm, meter)) = written {
                let (said, hint) = text::WRITTEN;
                let said = format!("{}  {meter}  {said}", text::tempo(bpm));
                let said = RichText::new(said).color(theme::of(ui).text_quiet);
                ui.label(said).on_hover_text(hint);
                ui.add_space(theme::GAP);
            } else {
                tempo(ui, &mut new);
                meter(ui, &mut new);
            }
            looping(ui, &mut new);
        });
        if devices.can_follow {
            let name = text::FOLLOW_JACK;
            if toggle(ui, name, follows)
                .on_hover_text(text::FOLLOW_JACK_HINT)
                .clicked()
            {
                new.follow = !follows;
            }
        }
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            device(ui, devices, asks);
        });
    });
    if let Some(trouble) = &devices.trouble {
        ui.label(RichText::new(trouble).color(theme::of(ui).fill_text));
    }
    if new != wishes {
        asks.push(Ask::Set(new.sane()));
    }
}

fn toggle(ui: &mut Ui, name: &str, on: bool) -> Response {
    let button = ui.add(Button::new(name).selected(on));
    button.widget_info(|| WidgetInfo::selected(Role::CheckBox, true, on, name));
    button
}

fn roll(ui: &mut Ui, new: &mut Wishes, asks: &mut Vec<Ask>) {
    let name = if new.playing { text::STOP } else { text::START };
    let button = ui
        .add_sized(
            [theme::ROLL_WIDTH, theme::PRESS_HEIGHT],
            Button::new(name).selected(new.playing),
        )
        .on_hover_text(text::START_HINT);
    // A focused button takes the space bar itself.
    let typing = ui.ctx().egui_wants_keyboard_input();
    let space = ui.is_enabled() && !typing && ui.input(|input| input.key_pressed(Key::Space));
    if button.clicked() || space {
        new.playing = !new.playing;
    }
    if ui
        .button(text::TO_START)
        .on_hover_text(text::TO_START_HINT)
        .clicked()
    {
        asks.push(Ask::Rewind);
    }
    ui.add_space(theme::GAP);
}

fn tempo(ui: &mut Ui, new: &mut Wishes) {
    let tempo = DragValue::new(&mut new.bpm)
        .range(TEMPI.0..=TEMPI.1)
        .speed(0.5)
        .max_decimals(1)
        .suffix(text::BPM);
    let shown = ui.add(tempo).on_hover_text(text::TEMPO_HINT);
    named(&shown, text::TEMPO);
    ui.add_space(theme::GAP);
}

fn meter(ui: &mut Ui, new: &mut Wishes) {
    let counts = ui
        .add(
            DragValue::new(&mut new.meter.0)
                .range(1..=MOST_COUNTS)
                .speed(0.1),
        )
        .on_hover_text(text::METER_HINT);
    named(&counts, text::COUNTS);
    let unit = ComboBox::from_id_salt(text::UNIT)
        .selected_text(format!("/ {}", new.meter.1))
        .width(theme::UNIT_WIDTH)
        .show_ui(ui, |ui| {
            for unit in UNITS {
                if ui
                    .selectable_label(unit == new.meter.1, unit.to_string())
                    .clicked()
                {
                    new.meter.1 = unit;
                }
            }
        });
    named(&unit.response, text::UNIT);
    unit.response.on_hover_text(text::METER_HINT);
    ui.add_space(theme::GAP);
}

fn looping(ui: &mut Ui, new: &mut Wishes) {
    if toggle(ui, text::LOOP, new.looping)
        .on_hover_text(text::LOOP_HINT)
        .clicked()
    {
        new.looping = !new.looping;
    }
    let (first, last) = &mut new.loop_bars;
    let from = ui.add(DragValue::new(first).range(1..=LAST_BAR).speed(0.1));
    named(&from, text::LOOP_FROM);
    from.on_hover_text(text::LOOP_HINT);
    let least = *first;
    let to = DragValue::new(last).range(least..=LAST_BAR).speed(0.1);
    let to = ui.add(to.prefix(text::LOOP_TO_PREFIX));
    named(&to, text::LOOP_TO);
    to.on_hover_text(text::LOOP_HINT);
}

fn named(response: &Response, name: &'static str) {
    let node = response
        .ctx
        .accesskit_node_builder(response.id, |node| node.set_label(name));
    let _ = node;
}

/// What it is heard through, and the choice of other devices.
fn device(ui: &mut Ui, devices: &Devices, asks: &mut Vec<Ask>) {
    if devices.sounds.is_empty() && devices.ports.is_empty() {
        if devices.trouble.is_none() {
            ui.label(RichText::new(text::through(&devices.way)).color(theme::of(ui).text_quiet))
                .on_hover_text(text::DEVICES_HINT);
        }
        return;
    }
    let now = DeviceChoice {
        sound: devices.sound.clone(),
        port: devices.port.clone(),
        values: Vec::new(),
    };
    let list = |ui: &mut Ui, name: &str, none: &str, names: &[String], chosen: &Option<String>| {
        let shown = chosen.as_deref().unwrap_or(none);
        let mut wanted = None;
        ComboBox::from_id_salt(name)
            .selected_text(format!("{name}: {shown}"))
            .width(theme::DEVICE_WIDTH)
            .truncate()
            .show_ui(ui, |ui| {
                if ui.selectable_label(chosen.is_none(), none).clicked() {
                    wanted = Some(None);
                }
                for device in names {
                    let is_chosen = chosen.as_ref() == Some(device);
                    if ui.selectable_label(is_chosen, device).clicked() {
                        wanted = Some(Some(device.clone()));
                    }
                }
            })
            .response
            .on_hover_text(text::DEVICES_HINT);
        wanted
    };
    if let Some(port) = list(
        ui,
        text::MIDI_OUT,
        text::NO_PORT,
        &devices.ports,
        &devices.port,
    ) {
        asks.push(Ask::Choose(DeviceChoice {
            port,
            ..now.clone()
        }));
    }
    if let Some(sound) = list(
        ui,
        text::SOUND,
        text::DEFAULT_SOUND,
        &devices.sounds,
        &devices.sound,
    ) {
        asks.push(Ask::Choose(DeviceChoice { sound, ..now }));
    }
}
