//! The chart's page: the sections in order, what the chosen one says, and files.
//!
//! - [`section`]: what one section says
//! - [`filing`]: the row that loads, saves and exports

pub mod filing;
pub mod section;

use super::controls::{Control, Intent};
use super::snapshot::Snapshot;
use super::text::chart as words;
use super::theme;
use crate::output::export::Options;
use crate::plugin::song::Song;
use crate::song::SongFile;
use crate::song::file::{Level, Section};
use egui::{
    Button, CentralPanel, DragValue, Frame, Panel, RichText, Role, ScrollArea, TextEdit, Ui,
    WidgetInfo,
};
use filing::FileRow;
use section::Touch;
use std::path::PathBuf;

/// What the user wants done with the song.
#[derive(Debug, Clone, PartialEq)]
pub enum SongAct {
    /// Put this song in place of the one that is there; changes of one gesture are undone together.
    Change(Box<SongFile>, Option<u64>),
    /// Take this song up as one that was loaded.
    Open(Box<SongFile>),
    /// Forget it.
    Clear,
    /// Take the last change back.
    Undo,
    /// Make it again.
    Redo,
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
    /// The chosen section, from 0.
    chosen: usize,
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

    /// The first bar of the chosen section in the song, from 0.
    pub fn first_bar(&self, snapshot: &Snapshot) -> Option<i64> {
        let timeline = &snapshot.song.as_ref()?.timeline;
        let (start, _) = timeline.markers().nth(self.chosen)?;
        let bars = timeline.bars().partition_point(|bar| bar.start < start);
        i64::try_from(bars).ok()
    }

    /// Shows the page.
    pub fn show(
        &mut self,
        ui: &mut Ui,
        snapshot: &Snapshot,
        intents: &mut Vec<Intent>,
        acts: &mut Vec<SongAct>,
    ) {
        let Some(song) = snapshot.song.clone() else {
            self.empty(ui, snapshot, intents, acts);
            return;
        };
        self.chosen = self.chosen.min(song.file.sections.len() - 1);
        let mut file = song.file.spelled_out();
        let mut touch = Touch::default();
        top(ui, snapshot, &mut file, &mut touch, acts);
        self.files.show(ui, Some(&song.file), self.chosen, acts);
        if let Some(trouble) = &self.trouble {
            ui.label(RichText::new(trouble).color(theme::of(ui).fill_text));
        }
        for warning in song.timeline.warnings() {
            ui.label(RichText::new(warning.to_string()).color(theme::of(ui).fill_text));
        }
        lanes(ui, &mut file, &mut touch);
        ui.add_space(theme::GAP);
        Panel::left("sections")
            .frame(Frame::NONE)
            .resizable(false)
            .show_separator_line(false)
            .exact_size(theme::SECTIONS_WIDTH)
            .show(ui, |ui| {
                self.tools(ui, &mut file, &mut touch);
                self.list(ui, &song, snapshot);
            });
        let take = snapshot.values.settings.plan.take;
        let margin = egui::Margin {
            left: theme::MARGIN,
            ..egui::Margin::ZERO
        };
        let rest = CentralPanel::no_frame().frame(Frame::NONE.inner_margin(margin));
        rest.show(ui, |ui| {
            ScrollArea::vertical().show(ui, |ui| {
                section::show(ui, &mut file, self.chosen, take, &mut touch);
            });
        });
        let gesture = match touch {
            Touch::None => return,
            Touch::Once => None,
            Touch::Gesture(gesture) => Some(gesture),
        };
        acts.push(SongAct::Change(Box::new(file), gesture));
    }

    fn empty(
        &mut self,
        ui: &mut Ui,
        snapshot: &Snapshot,
        intents: &mut Vec<Intent>,
        acts: &mut Vec<SongAct>,
    ) {
        let said = snapshot.unread.as_deref();
        ui.label(said.map_or_else(|| words::NONE.to_owned(), words::unread));
        ui.horizontal(|ui| {
            let new = ui.button(words::NEW).on_hover_text(words::NEW_HINT);
            if new.clicked() {
                let section = Section::of("Verse", 8, &snapshot.values.settings);
                let song = SongFile::of("Song", section);
                acts.push(SongAct::Change(Box::new(song), None));
                // What the panel says is the section's now.
                for control in [Control::Intensity, Control::Density, Control::Accent] {
                    intents.push(Intent::Set(control, crate::song::chart::MIDDLE));
                }
                intents.push(Intent::Set(Control::FollowChart, 1.0));
            }
            let demo = ui.button(words::DEMO).on_hover_text(words::DEMO_HINT);
            if demo.clicked()
                && let Ok(song) = SongFile::parse(SongFile::DEMO)
            {
                acts.push(SongAct::Open(Box::new(song)));
            }
            undo(ui, snapshot, acts);
        });
        self.files.show(ui, None, 0, acts);
    }

    /// The buttons that add, copy, move and remove.
    fn tools(&mut self, ui: &mut Ui, file: &mut SongFile, touch: &mut Touch) {
        let (place, count) = (self.chosen, file.sections.len());
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = 2.0;
            for (i, (name, hint)) in words::LIST.into_iter().enumerate() {
                let can = match i {
                    2 => place > 0,
                    3 => place + 1 < count,
                    4 => count > 1,
                    _ => true,
                };
                let button = ui.add_enabled(can, Button::new(name)).on_hover_text(hint);
                if !button.clicked() {
                    continue;
                }
                touch.once();
                match i {
                    0 => file
                        .sections
                        .insert(place + 1, after(&file.sections[place])),
                    1 => file
                        .sections
                        .insert(place + 1, file.sections[place].clone()),
                    2 => file.sections.swap(place - 1, place),
                    3 => file.sections.swap(place, place + 1),
                    _ => drop(file.sections.remove(place)),
                }
                self.chosen = match i {
                    2 => place - 1,
                    4 => place.min(count - 2),
                    _ => place + 1,
                };
                return;
            }
        });
    }

    /// The sections in order; the one that is played stands out.
    fn list(&mut self, ui: &mut Ui, song: &Song, snapshot: &Snapshot) {
        let playing = snapshot.at.filter(|_| snapshot.followed().is_some());
        let playing = playing.and_then(|(_, tick)| song.timeline.section_at(tick));
        let whole = song.file.spelled_out();
        let mut bar = song.file.start_bar as usize;
        ScrollArea::vertical().show(ui, |ui| {
            for (i, section) in whole.sections.iter().enumerate() {
                let last = bar + section.bars as usize - 1;
                let mut name =
                    RichText::new(format!("{}  {}", words::bars(bar, last), section.name));
                bar = last + 1;
                if playing == Some(i) {
                    name = name.color(theme::of(ui).fill_text);
                }
                let row = Button::new(name)
                    .right_text(
                        RichText::new(summary(section))
                            .color(theme::of(ui).text_quiet)
                            .small(),
                    )
                    .selected(i == self.chosen)
                    .truncate()
                    .min_size(egui::vec2(ui.available_width(), theme::PRESS_HEIGHT));
                let row = ui.add(row);
                if row.clicked() {
                    self.chosen = i;
                }
                let chosen = i == self.chosen;
                row.widget_info(|| {
                    WidgetInfo::selected(Role::ListBoxOption, true, chosen, section.name.as_str())
                });
            }
        });
    }
}

/// What is of the whole song.
fn top(
    ui: &mut Ui,
    snapshot: &Snapshot,
    file: &mut SongFile,
    touch: &mut Touch,
    acts: &mut Vec<SongAct>,
) {
    ui.horizontal(|ui| {
        let label = ui.label(words::TITLE);
        let title = TextEdit::singleline(&mut file.title).desired_width(200.0);
        touch.heed(&ui.add(title).labelled_by(label.id));
        let start = DragValue::new(&mut file.start_bar).range(1..=9999);
        let start = ui.add(start.prefix(words::START_BAR));
        touch.heed(&start.on_hover_text(words::START_BAR_HINT));
        ui.add_space(theme::GAP_WIDE);
        undo(ui, snapshot, acts);
        let clear = ui.button(words::CLEAR).on_hover_text(words::CLEAR_HINT);
        if clear.clicked() {
            acts.push(SongAct::Clear);
        }
    });
}

/// The section that is added after another: the same, but for what is its alone.
fn after(section: &Section) -> Section {
    let steady = |level: Option<Level>| {
        level.map(|level| match level {
            Level::Steady(value) | Level::Ramp { to: value, .. } => Level::Steady(value),
        })
    };
    Section {
        name: format!("{} +", section.name.trim_end_matches([' ', '+'])),
        intensity: steady(section.intensity),
        density: steady(section.density),
        accent: steady(section.accent),
        fill_chance: steady(section.fill_chance),
        start: None,
        fill: None,
        take: None,
        frozen: None,
        locked: None,
        ..section.clone()
    }
}

/// What a section plays, in a few words.
fn summary(section: &Section) -> String {
    if section.locked.is_some() {
        return words::LOCKED.to_owned();
    }
    match section.play.as_deref() {
        Some("beat") | None => section.style.clone().unwrap_or_default(),
        Some(other) => other.to_owned(),
    }
}

fn undo(ui: &mut Ui, snapshot: &Snapshot, acts: &mut Vec<SongAct>) {
    for (name, can, act) in [
        (words::UNDO, snapshot.can.undo, SongAct::Undo),
        (words::REDO, snapshot.can.redo, SongAct::Redo),
    ] {
        if ui.add_enabled(can, Button::new(name)).clicked() {
            acts.push(act);
        }
    }
}

/// What of the song is automated, and the button that leaves it to the sections.
fn lanes(ui: &mut Ui, file: &mut SongFile, touch: &mut Touch) {
    if file.automation.is_empty() {
        return;
    }
    ui.horizontal(|ui| {
        let names: Vec<_> = file.automation.keys().map(|lane| lane.id()).collect();
        let said = words::lanes(&names.join(", "));
        ui.label(RichText::new(said).color(theme::of(ui).text_quiet).small());
        let (name, hint) = words::DROP_LANES;
        if ui.button(name).on_hover_text(hint).clicked() {
            file.automation.clear();
            touch.once();
        }
    });
}
