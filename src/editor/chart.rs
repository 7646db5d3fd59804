//! What is of the whole song, what the chosen section says, and files.
//!
//! - [`section`]: what one section says
//! - [`filing`]: the row that loads, saves and exports

pub mod filing;
pub mod section;

use super::snapshot::Snapshot;
use super::text::chart as words;
use super::theme;
use crate::editor::action::Action;
use crate::export::Options;
use crate::project::Song;
use crate::settings::SettingId;
use crate::song::SongFile;
use crate::song::file::Section;
use egui::{DragValue, RichText, ScrollArea, TextEdit, Ui};
use filing::FileRow;
use section::Touch;
use std::path::PathBuf;

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
        actions: &mut Vec<Action>,
    ) {
        let place = place.min(song.whole.sections.len() - 1);
        // A frame copies no more than what it shows.
        let mut edited = Edited {
            title: song.whole.title.clone(),
            start_bar: song.whole.start_bar,
            section: song.whole.sections[place].clone(),
            drops_lanes: false,
        };
        let mut touch = Touch::default();
        top(ui, &mut edited, &mut touch, actions);
        self.files.show(ui, Some(&song.file), place, actions);
        if let Some(trouble) = &self.trouble {
            ui.label(RichText::new(trouble).color(theme::of(ui).fill_text));
        }
        for warning in song.timeline.warnings() {
            ui.label(RichText::new(warning.to_string()).color(theme::of(ui).fill_text));
        }
        lanes(ui, &song.file, &mut edited, &mut touch);
        ui.add_space(theme::GAP);
        let freezes = ScrollArea::vertical().show(ui, |ui| {
            section::show(ui, &mut edited.section, take, &mut touch)
        });
        let gesture = match touch {
            Touch::None => return,
            Touch::Once => None,
            Touch::Gesture(gesture) => Some(gesture),
        };
        let mut file = edited.put_into(&song.whole, place);
        if freezes.inner {
            file = file.frozen(place, file.sections[place].take.unwrap_or(take));
        }
        actions.push(Action::ChangeSong(Box::new(file), gesture));
    }

    /// Shows how a chart is begun, where there is none.
    pub fn empty(&mut self, ui: &mut Ui, snapshot: &Snapshot, actions: &mut Vec<Action>) {
        let said = snapshot.unread.as_deref();
        ui.horizontal(|ui| {
            let new = ui.button(words::NEW).on_hover_text(words::NEW_HINT);
            if new.clicked() {
                let section = Section::of("Verse", 8, &snapshot.values.settings);
                let song = SongFile::of("Song", section);
                actions.push(Action::ChangeSong(Box::new(song), None));
                // What the panel says is the section's now.
                for control in [SettingId::Intensity, SettingId::Density, SettingId::Accent] {
                    actions.push(Action::Set(control, crate::song::chart::MIDDLE));
                }
                actions.push(Action::Set(SettingId::FollowChart, 1.0));
            }
            let demo = ui.button(words::DEMO).on_hover_text(words::DEMO_HINT);
            if demo.clicked()
                && let Ok(song) = SongFile::parse(SongFile::DEMO)
            {
                actions.push(Action::OpenSong(Box::new(song)));
            }
            let said = said.map_or_else(|| words::NONE.to_owned(), words::unread);
            ui.label(RichText::new(said).color(theme::of(ui).text_quiet));
        });
        self.files.show(ui, None, 0, actions);
    }
}

/// What a frame may change of the song.
struct Edited {
    title: String,
    start_bar: u32,
    section: Section,
    /// Its automation goes.
    drops_lanes: bool,
}

impl Edited {
    /// The song with that changed, its section at a place.
    fn put_into(self, song: &SongFile, place: usize) -> SongFile {
        let mut file = song.clone();
        file.title = self.title;
        file.start_bar = self.start_bar;
        file.sections[place] = self.section;
        if self.drops_lanes {
            file.automation.clear();
        }
        file
    }
}

/// What is of the whole song.
fn top(ui: &mut Ui, edited: &mut Edited, touch: &mut Touch, actions: &mut Vec<Action>) {
    ui.horizontal(|ui| {
        let label = ui.label(words::TITLE);
        let title = TextEdit::singleline(&mut edited.title).desired_width(200.0);
        touch.heed(&ui.add(title).labelled_by(label.id));
        let start = DragValue::new(&mut edited.start_bar).range(1..=9999);
        let start = ui.add(start.prefix(words::START_BAR));
        touch.heed(&start.on_hover_text(words::START_BAR_HINT));
        let clear = ui.button(words::CLEAR).on_hover_text(words::CLEAR_HINT);
        if clear.clicked() {
            actions.push(Action::ClearSong);
        }
    });
}

/// What of the song is automated, and the button that leaves it to the sections.
fn lanes(ui: &mut Ui, file: &SongFile, edited: &mut Edited, touch: &mut Touch) {
    if file.automation.is_empty() {
        return;
    }
    ui.horizontal(|ui| {
        let names: Vec<_> = file.automation.keys().map(|lane| lane.row().id).collect();
        let said = words::lanes(&names.join(", "));
        ui.label(RichText::new(said).color(theme::of(ui).text_quiet).small());
        let (name, hint) = words::DROP_LANES;
        if ui.button(name).on_hover_text(hint).clicked() {
            edited.drops_lanes = true;
            touch.once();
        }
    });
}
