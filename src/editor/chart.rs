//! What is of the whole song, what the chosen section says, and files.
//!
//! - [`section`]: what one section says
//! - [`filing`]: the row that loads, saves and exports

pub mod filing;
pub mod section;

use super::controls::Intent;
use super::snapshot::Snapshot;
use super::text::chart as words;
use super::theme;
use crate::export::Options;
use crate::plugin::song::Song;
use crate::settings::SettingId;
use crate::song::SongFile;
use crate::song::file::Section;
use egui::{DragValue, RichText, ScrollArea, TextEdit, Ui};
use filing::FileRow;
use section::Touch;
use std::path::{Path, PathBuf};

/// What the user wants done with the song.
#[derive(Debug, Clone, PartialEq)]
pub enum SongAct {
    /// Put this song in place of the one that is there; changes of one gesture are undone together.
    Change(Box<SongFile>, Option<u64>),
    /// Take this song up as one that was loaded.
    Open(Box<SongFile>),
    /// Forget it.
    Clear,
    /// Read a song file.
    Load(PathBuf),
    /// Write the song to a file, over one that is there if so wanted.
    Save(PathBuf, bool),
    /// Write a MIDI file.
    Export(Export),
    /// Lock the section at a place with a MIDI file.
    Lock(PathBuf, usize),
    /// Unlock it; its strokes go to a MIDI file.
    Unlock(PathBuf, usize),
}

impl SongAct {
    /// The file that it is about; an empty path is one that is still to be chosen.
    pub fn path(&self) -> Option<&Path> {
        match self {
            Self::Load(path)
            | Self::Save(path, _)
            | Self::Export(Export { path, .. })
            | Self::Lock(path, _)
            | Self::Unlock(path, _) => Some(path),
            Self::Change(..) | Self::Open(_) | Self::Clear => None,
        }
    }
}

/// A MIDI file that is to be written.
#[derive(Debug, Clone, PartialEq)]
pub struct Export {
    /// Where to.
    pub path: PathBuf,
    /// What of the song, and how.
    pub options: Options,
    /// Whether a file that is there is replaced.
    pub replace: bool,
    /// Whether it has the host's tempi as far as they were seen; else the chart's.
    pub host_tempo: bool,
}

/// What the page remembers between frames.
#[derive(Debug, Default)]
pub struct ChartPage {
    /// Why the last change could not be made.
    trouble: Option<String>,
    /// The row of files.
    pub files: FileRow,
}

impl ChartPage {
    /// Tells how a change went.
    pub fn tell(&mut self, trouble: Option<String>) {
        self.trouble = trouble;
    }

    /// Shows what is of the whole song, and what the section at a place says.
    pub fn show(
        &mut self,
        ui: &mut Ui,
        song: &Song,
        place: usize,
        take: u32,
        acts: &mut Vec<SongAct>,
    ) {
        let mut file = song.file.spelled_out();
        let place = place.min(file.sections.len() - 1);
        let mut touch = Touch::default();
        top(ui, &mut file, &mut touch, acts);
        self.files.show(ui, Some(&song.file), place, acts);
        if let Some(trouble) = &self.trouble {
            ui.label(RichText::new(trouble).color(theme::of(ui).fill_text));
        }
        for warning in song.timeline.warnings() {
            ui.label(RichText::new(warning.to_string()).color(theme::of(ui).fill_text));
        }
        lanes(ui, &mut file, &mut touch);
        ui.add_space(theme::GAP);
        ScrollArea::vertical().show(ui, |ui| {
            section::show(ui, &mut file, place, take, &mut touch);
        });
        let gesture = match touch {
            Touch::None => return,
            Touch::Once => None,
            Touch::Gesture(gesture) => Some(gesture),
        };
        acts.push(SongAct::Change(Box::new(file), gesture));
    }

    /// Shows how a chart is begun, where there is none.
    pub fn empty(
        &mut self,
        ui: &mut Ui,
        snapshot: &Snapshot,
        intents: &mut Vec<Intent>,
        acts: &mut Vec<SongAct>,
    ) {
        let said = snapshot.unread.as_deref();
        ui.horizontal(|ui| {
            let new = ui.button(words::NEW).on_hover_text(words::NEW_HINT);
            if new.clicked() {
                let section = Section::of("Verse", 8, &snapshot.values.settings);
                let song = SongFile::of("Song", section);
                acts.push(SongAct::Change(Box::new(song), None));
                // What the panel says is the section's now.
                for control in [SettingId::Intensity, SettingId::Density, SettingId::Accent] {
                    intents.push(Intent::Set(control, crate::song::chart::MIDDLE));
                }
                intents.push(Intent::Set(SettingId::FollowChart, 1.0));
            }
            let demo = ui.button(words::DEMO).on_hover_text(words::DEMO_HINT);
            if demo.clicked()
                && let Ok(song) = SongFile::parse(SongFile::DEMO)
            {
                acts.push(SongAct::Open(Box::new(song)));
            }
            let said = said.map_or_else(|| words::NONE.to_owned(), words::unread);
            ui.label(RichText::new(said).color(theme::of(ui).text_quiet));
        });
        self.files.show(ui, None, 0, acts);
    }
}

/// What is of the whole song.
fn top(ui: &mut Ui, file: &mut SongFile, touch: &mut Touch, acts: &mut Vec<SongAct>) {
    ui.horizontal(|ui| {
        let label = ui.label(words::TITLE);
        let title = TextEdit::singleline(&mut file.title).desired_width(200.0);
        touch.heed(&ui.add(title).labelled_by(label.id));
        let start = DragValue::new(&mut file.start_bar).range(1..=9999);
        let start = ui.add(start.prefix(words::START_BAR));
        touch.heed(&start.on_hover_text(words::START_BAR_HINT));
        let clear = ui.button(words::CLEAR).on_hover_text(words::CLEAR_HINT);
        if clear.clicked() {
            acts.push(SongAct::Clear);
        }
    });
}

/// What of the song is automated, and the button that leaves it to the sections.
fn lanes(ui: &mut Ui, file: &mut SongFile, touch: &mut Touch) {
    if file.automation.is_empty() {
        return;
    }
    ui.horizontal(|ui| {
        let names: Vec<_> = file.automation.keys().map(|lane| lane.row().id).collect();
        let said = words::lanes(&names.join(", "));
        ui.label(RichText::new(said).color(theme::of(ui).text_quiet).small());
        let (name, hint) = words::DROP_LANES;
        if ui.button(name).on_hover_text(hint).clicked() {
            file.automation.clear();
            touch.once();
        }
    });
}
