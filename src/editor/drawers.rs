//! What is set once, in drawers: each says in a line what it is set to while it is closed.
//!
//! - [`guitar`]: the riff, and what the kick follows
//! - [`filing`]: song files and exports; [`played`]: keeping what was played
//! - `sound`: the preview, and the way to the sampler

pub mod filing;
pub mod guitar;
pub mod played;

use super::action::Action;
use super::controls::Values;
use super::snapshot::Snapshot;
use super::text::{chart, drawers as words};
use super::touch::Touch;
use super::{theme, widgets};
use crate::project::Song;
use crate::settings::SettingId;
use egui::{Align2, DragValue, Role, Sense, TextEdit, Ui, WidgetInfo, vec2};

/// A drawer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Drawer {
    /// The riff, and what the kick follows.
    Guitar,
    /// Phrases, crashes, what is played at all.
    Phrasing,
    /// What is of the drummer as a person.
    Limbs,
    /// The preview, and the way to the sampler.
    Sound,
    /// Songs, exports, what was played.
    Files,
}

impl Drawer {
    /// Every drawer, from left to right.
    pub const ALL: [Self; 5] = [
        Self::Guitar,
        Self::Phrasing,
        Self::Limbs,
        Self::Sound,
        Self::Files,
    ];

    /// Its name.
    pub fn name(self) -> &'static str {
        words::NAMES[self as usize]
    }

    /// What it is set to, in a line.
    pub fn says(self, snapshot: &Snapshot, values: &Values) -> String {
        let text = |setting| values.text(setting);
        match self {
            Self::Guitar => words::guitar(
                &text(SettingId::KickSource),
                snapshot.riff.attacks,
                snapshot.riff.known,
            ),
            Self::Phrasing => words::phrasing(&text(SettingId::Phrase), &text(SettingId::Crashes)),
            Self::Limbs => words::limbs(
                &text(SettingId::Player),
                &text(SettingId::Feel),
                &text(SettingId::Swing),
            ),
            Self::Sound => {
                let level = values
                    .settings
                    .preview
                    .then(|| text(SettingId::PreviewLevel));
                words::sound(level.as_deref(), &snapshot.map.name)
            }
            Self::Files => {
                let song = snapshot.song.as_ref();
                words::files(song.map(|song| song.file.title.as_str()))
            }
        }
    }
}

/// Shows the drawers' fronts; a click opens one and closes the other.
pub fn fronts(ui: &mut Ui, open: &mut Option<Drawer>, snapshot: &Snapshot, values: &Values) {
    let count = Drawer::ALL.len() as f32;
    let width = (ui.available_width() - theme::GAP * (count - 1.0)) / count;
    ui.horizontal(|ui| {
        for drawer in Drawer::ALL {
            let size = vec2(width, theme::FRONT_HEIGHT);
            let (rect, front) = ui.allocate_exact_size(size, Sense::click());
            let (is_open, says) = (*open == Some(drawer), drawer.says(snapshot, values));
            paint(ui, rect, (drawer.name(), &says), is_open, &front);
            front.widget_info(|| {
                WidgetInfo::selected(Role::DisclosureTriangle, true, is_open, drawer.name())
            });
            if front.clicked() {
                *open = (!is_open).then_some(drawer);
            }
            front.on_hover_text(format!("{says}. {}", words::HINTS[drawer as usize]));
        }
    });
}

fn paint(
    ui: &Ui,
    rect: egui::Rect,
    (name, says): (&str, &str),
    is_open: bool,
    front: &egui::Response,
) {
    let palette = theme::of(ui);
    let fill = if is_open {
        palette.chosen
    } else if front.hovered() {
        palette.button_hover
    } else {
        palette.button
    };
    let painter = ui.painter_at(rect);
    painter.rect_filled(rect, theme::CORNER, fill);
    if front.has_focus() {
        widgets::focus_ring(&painter, rect, palette);
    }
    let left = rect.left() + theme::GAP;
    let at = egui::pos2(left, rect.top() + rect.height() * 0.3);
    let font = egui::FontId::proportional(theme::TYPE_BODY);
    painter.text(at, Align2::LEFT_CENTER, name, font, palette.text);
    let at = egui::pos2(left, rect.top() + rect.height() * 0.73);
    let line = widgets::shortened(ui, says, rect.width() - 2.0 * theme::GAP, &theme::small());
    let colour = if is_open {
        palette.text
    } else {
        palette.text_quiet
    };
    painter.text(at, Align2::LEFT_CENTER, line, theme::small(), colour);
}

/// What is of phrases, crashes, and what is played at all.
pub fn phrasing(ui: &mut Ui, values: &Values, actions: &mut Vec<Action>) {
    for control in [
        SettingId::Phrase,
        SettingId::Crashes,
        SettingId::Play,
        SettingId::SwitchAt,
    ] {
        widgets::row(ui, control, values, actions);
        ui.add_space(theme::GAP);
    }
}

/// What is of the drummer as a person.
pub fn limbs(ui: &mut Ui, values: &Values, actions: &mut Vec<Action>) {
    widgets::row(ui, SettingId::Player, values, actions);
    ui.add_space(theme::GAP);
    for control in [SettingId::Feel, SettingId::Swing] {
        widgets::level(ui, control, values, actions);
        ui.add_space(theme::GAP);
    }
}

/// The preview, and the way to the sampler. `page` is set where the sampler's page is wanted.
pub fn sound(ui: &mut Ui, snapshot: &Snapshot, page: &mut bool, actions: &mut Vec<Action>) {
    let values = &snapshot.values;
    widgets::switch(ui, SettingId::Preview, values, actions);
    ui.add_space(theme::GAP);
    for control in [SettingId::PreviewLevel, SettingId::PreviewRoom] {
        widgets::level(ui, control, values, actions);
        ui.add_space(theme::GAP);
    }
    ui.label(words::map(&snapshot.map.name));
    let button = ui.button(super::text::sampler::PAGE);
    if button
        .on_hover_text(super::text::sampler::PAGE_HINT)
        .clicked()
    {
        *page = true;
    }
    ui.label(
        egui::RichText::new(words::ROUTING)
            .small()
            .color(theme::of(ui).text_quiet),
    );
}

/// What is of the whole song: its title, where it begins, its automation.
pub fn song(ui: &mut Ui, song: &Song, actions: &mut Vec<Action>) {
    // A frame copies no more than what it shows.
    let (mut title, mut start_bar) = (song.whole.title.clone(), song.whole.start_bar);
    let lanes = &song.whole.automation;
    let mut drops_lanes = false;
    let mut touch = Touch::default();
    ui.horizontal(|ui| {
        let label = ui.label(chart::TITLE);
        let title = TextEdit::singleline(&mut title).desired_width(f32::INFINITY);
        touch.heed(&ui.add(title).labelled_by(label.id));
    });
    ui.horizontal(|ui| {
        let start = DragValue::new(&mut start_bar).range(1..=9999);
        let start = ui.add(start.prefix(chart::START_BAR));
        touch.heed(&start.on_hover_text(chart::START_BAR_HINT));
        let clear = ui.button(chart::CLEAR).on_hover_text(chart::CLEAR_HINT);
        if clear.clicked() {
            actions.push(Action::ClearSong);
        }
    });
    if !lanes.is_empty() {
        let names: Vec<_> = lanes.keys().map(|lane| lane.name()).collect();
        let said = chart::lanes(&names.join(", "));
        ui.label(egui::RichText::new(said).color(theme::of(ui).text_quiet));
        let (name, hint) = chart::DROP_LANES;
        if ui.button(name).on_hover_text(hint).clicked() {
            drops_lanes = true;
            touch.once();
        }
    }
    if let Some(gesture) = touch.made() {
        let mut file = song.whole.clone();
        (file.title, file.start_bar) = (title, start_bar);
        if drops_lanes {
            file.automation.clear();
        }
        actions.push(Action::ChangeSong(Box::new(file), gesture));
    }
}
