//! Loads, saves and exports songs.

use crate::editor::action::Action;
use crate::editor::action::Export;
use crate::editor::file_form::FileForm;
use crate::editor::text::chart as words;
use crate::editor::theme;
use crate::editor::widgets::combo;
use crate::export::{Options, Tracks, What};
use crate::midi::smf_write::Format;
use crate::song::SongFile;
use egui::Ui;
use std::path::PathBuf;

/// A file to write: a song, or a MIDI file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A song.
    Song,
    /// A MIDI file.
    Midi,
    /// A chart for a drummer.
    Score,
}

/// What the row remembers between frames.
#[derive(Debug, Default)]
pub struct FileRow {
    /// The path, and how the last job ended.
    pub form: FileForm<(PathBuf, Kind)>,
    /// Only the chosen section is exported.
    section_alone: bool,
    options: Options,
    /// Exports have the chart's tempi, not the host's.
    chart_tempo: bool,
}

impl FileRow {
    /// Shows the drawer's first part; what can be saved and exported is the song, or the section at a place.
    pub fn show(
        &mut self,
        ui: &mut Ui,
        song: Option<&SongFile>,
        place: Option<usize>,
        actions: &mut Vec<Action>,
    ) {
        let width = ui.available_width();
        let path = self.form.path(ui, words::PATH, width);
        ui.horizontal(|ui| {
            if self.form.button(ui, true, words::LOAD).clicked() {
                actions.push(Action::LoadSong(path.clone()));
            }
            let has_song = song.is_some();
            if self.form.button(ui, has_song, words::SAVE).clicked() {
                let replace = self.form.replaces((path.clone(), Kind::Song));
                actions.push(Action::SaveSong(path.clone(), replace));
            }
        });
        if song.is_some() {
            ui.add_space(theme::GAP);
            ui.horizontal_wrapped(|ui| self.choices(ui, place.is_some()));
            for (words, kind, action) in [
                (words::EXPORT, Kind::Midi, Action::Export as fn(_) -> _),
                (words::SCORE, Kind::Score, Action::Score),
            ] {
                if self.form.button(ui, true, words).clicked() {
                    let replace = self.form.replaces((path.clone(), kind));
                    actions.push(action(self.export(path.clone(), place, replace)));
                }
            }
        }
        let section = place.filter(|place| {
            let section = song.and_then(|song| song.sections.get(*place));
            section.is_some_and(|section| section.locked.is_none())
        });
        if let Some(place) = section
            && self.form.button(ui, true, words::COMPARE).clicked()
        {
            actions.push(Action::Compare(path, place));
        }
        self.form.show_told(ui, theme::of(ui).text_quiet);
    }

    /// What is to be written of the song, or of the section at a place.
    fn export(&self, path: PathBuf, place: Option<usize>, replace: bool) -> Export {
        let section = place.filter(|_| self.section_alone);
        let what = section.map(|place| What::Section((place + 1).to_string()));
        Export {
            path,
            options: Options {
                what: what.unwrap_or(What::Whole),
                ..self.options.clone()
            },
            replace,
            host_tempo: !self.chart_tempo,
        }
    }

    /// The path that was typed, where no dialog can open.
    pub fn typed(&self) -> PathBuf {
        self.form.typed()
    }

    /// What of the song is exported, and how.
    fn choices(&mut self, ui: &mut Ui, has_section: bool) {
        if has_section {
            let shown = words::WHAT[usize::from(self.section_alone)];
            let label = ui.label(words::EXPORTED);
            let (list, picked) = combo(ui, "what", shown, &words::WHAT, None);
            list.labelled_by(label.id);
            if let Some(i) = picked {
                self.section_alone = i == 1;
            }
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
}
