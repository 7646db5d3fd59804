//! The row that loads, saves and exports.

use super::Export;
use super::section::combo;
use crate::editor::action::Action;
use crate::editor::text::chart as words;
use crate::editor::{theme, widgets};
use crate::export::{Options, Tracks, What};
use crate::midi::smf_write::Format;
use crate::song::SongFile;
use egui::{Button, RichText, Role, TextEdit, Ui, WidgetInfo};
use std::path::{Path, PathBuf};

/// A file to write: a song, or a MIDI file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Song,
    Midi,
}

/// What the row remembers between frames.
#[derive(Debug, Default)]
pub struct FileRow {
    path: String,
    /// Only the chosen section is exported.
    section_alone: bool,
    options: Options,
    /// Exports have the chart's tempi, not the host's.
    chart_tempo: bool,
    busy: bool,
    told: String,
    /// What was last asked to be written.
    asked: Option<(PathBuf, Kind)>,
    /// What is there already, and is replaced where the same is asked once more.
    in_the_way: Option<(PathBuf, Kind)>,
}

impl FileRow {
    /// Tells whether a job is under way.
    pub fn set_busy(&mut self, busy: bool) {
        self.busy = busy;
    }

    /// Tells how a job ended.
    pub fn tell(&mut self, said: String) {
        self.told = said;
    }

    /// Tells that a file of that name is there.
    pub fn tell_exists(&mut self, path: &Path) {
        self.told = words::exists(path);
        self.in_the_way = self.asked.take();
    }

    /// Shows the row; what can be saved and exported is the song, or its section at a place.
    pub fn show(
        &mut self,
        ui: &mut Ui,
        song: Option<&SongFile>,
        place: usize,
        actions: &mut Vec<Action>,
    ) {
        ui.horizontal(|ui| {
            let path = TextEdit::singleline(&mut self.path).hint_text(words::PATH);
            let field = ui.add(path.desired_width(theme::PATH_WIDTH));
            field.widget_info(|| WidgetInfo::labeled(Role::TextInput, true, words::PATH));
            let ready = !self.busy;
            let path = widgets::typed_path(&self.path);
            let button = |ui: &mut Ui, on: bool, (name, hint): (&str, &str)| {
                let button = ui.add_enabled(on, Button::new(name));
                button.on_hover_text(hint).clicked()
            };
            if button(ui, ready, words::LOAD) {
                actions.push(Action::LoadSong(path.clone()));
            }
            if button(ui, ready && song.is_some(), words::SAVE) {
                let replace = self.replaces(&path, Kind::Song);
                actions.push(Action::SaveSong(path.clone(), replace));
            }
            if button(ui, ready && song.is_some(), words::EXPORT) {
                let replace = self.replaces(&path, Kind::Midi);
                let what = self.section_alone.then(|| (place + 1).to_string());
                let options = Options {
                    what: what.map_or(What::Whole, What::Section),
                    ..self.options.clone()
                };
                actions.push(Action::Export(Export {
                    path: path.clone(),
                    options,
                    replace,
                    host_tempo: !self.chart_tempo,
                }));
            }
            let section = song.and_then(|song| song.sections.get(place));
            let locked = section.is_some_and(|section| section.locked.is_some());
            if button(ui, ready && section.is_some(), words::LOCK) {
                actions.push(Action::Lock(path.clone(), place));
            }
            if button(ui, ready && locked, words::UNLOCK) {
                actions.push(Action::Unlock(path, place));
            }
        });
        if song.is_some() {
            ui.horizontal(|ui| self.choices(ui));
        }
        if self.busy {
            ui.ctx().request_repaint();
        }
        let said = if self.busy { words::BUSY } else { &self.told };
        if !said.is_empty() {
            ui.label(RichText::new(said).color(theme::of(ui).text_quiet));
        }
    }

    /// What of the song is exported, and how.
    fn choices(&mut self, ui: &mut Ui) {
        let shown = words::WHAT[usize::from(self.section_alone)];
        let label = ui.label(words::EXPORTED);
        let (list, picked) = combo(ui, "what", shown, &words::WHAT, None);
        list.labelled_by(label.id);
        if let Some(i) = picked {
            self.section_alone = i == 1;
        }
        let tracks = Tracks::name(self.options.tracks);
        let label = ui.label(words::TRACKS);
        let (list, picked) = combo(ui, "tracks", tracks, Tracks::NAMES, None);
        list.labelled_by(label.id);
        if let Some(i) = picked {
            self.options.tracks = Tracks::ALL[i];
        }
        let tempo = ui.checkbox(&mut self.chart_tempo, words::CHART_TEMPO.0);
        tempo.on_hover_text(words::CHART_TEMPO.1);
        let mut exact = self.options.feel.is_some();
        let box_ = ui.checkbox(&mut exact, words::EXACT.0);
        if box_.on_hover_text(words::EXACT.1).changed() {
            self.options.feel = exact.then_some(0.0);
        }
        let mut single = self.options.format == Format::Single;
        let box_ = ui.checkbox(&mut single, words::SINGLE.0);
        if box_.on_hover_text(words::SINGLE.1).changed() {
            self.options.format = if single {
                Format::Single
            } else {
                Format::Parallel
            };
        }
    }

    /// Whether a file that is there is to be replaced: where it was asked for twice.
    fn replaces(&mut self, path: &Path, kind: Kind) -> bool {
        let asked = Some((path.to_owned(), kind));
        let twice = self.in_the_way.take() == asked;
        self.asked = asked;
        twice
    }
}
