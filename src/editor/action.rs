//! Everything that a view can ask for.

use crate::export::{Options, What};
use crate::groove::own::OwnBeat;
use crate::kit::Struck;
use crate::kit::map_file::NamedMap;
use crate::riff::Riff;
use crate::settings::SettingId;
use crate::song::SongFile;
use crate::song::edits::EditRow;
use crate::time::Ticks;
use std::ops::Range;
use std::path::{Path, PathBuf};

/// What a view asks for. Where there is a path, an empty one is still to be chosen in a dialog.
#[derive(Debug, Clone, PartialEq)]
pub enum Action {
    /// Give a setting this value, in the terms of [`Settings::get`](crate::settings::Settings::get). It may be
    /// repeated while the pointer is held; the root makes one gesture of it.
    Set(SettingId, f32),
    /// Have a level of the sections that are turned end on this value.
    SetEnd(SettingId, f32),
    /// Have the sections that are turned leave a setting to the panel.
    Leave(SettingId),
    /// Have the stand-alone's transport play from a tick of the song.
    PlayFrom(Ticks),
    /// Have it loop over bars of the song, from 1, or over none any more.
    Loop(Option<(u32, u32)>),
    /// Remember how things are, to go back to.
    Remember,
    /// Go back to what was remembered, and remember how things are.
    Swap,
    /// Take the last change of the project back.
    Undo,
    /// Make it again.
    Redo,
    /// Change the riff.
    Riff(RiffAct),
    /// Read a riff from a file: the bar at which it begins, from 1, and the track of a MIDI file.
    LoadRiff(PathBuf, i64, Option<usize>),
    /// Have the reading of a riff end.
    CancelRiff,
    /// Write what was played last.
    KeepPlayed(PathBuf),
    /// Put this song in place of the one that is there; changes of one gesture are undone together.
    ChangeSong(Box<SongFile>, Option<u64>),
    /// Put these edits by hand in place of those of the section at a place, from 0, or of those that hold where no chart
    /// is followed; changes of one gesture are undone together.
    Edit(Option<usize>, Vec<EditRow>, Option<u64>),
    /// Take this song up as one that was loaded.
    OpenSong(Box<SongFile>),
    /// Forget it.
    ClearSong,
    /// Read a song file.
    LoadSong(PathBuf),
    /// Write the song to a file, over one that is there if so wanted.
    SaveSong(PathBuf, bool),
    /// Write a MIDI file.
    Export(Export),
    /// Write a chart for a drummer.
    Score(Export),
    /// Lock the section at a place with a MIDI file.
    Lock(PathBuf, usize),
    /// Make edits of what a MIDI file does otherwise than the drummer in the section at a place.
    Compare(PathBuf, usize),
    /// Keep an own beat, by its number from 1; `None` forgets it.
    KeepBeat(u8, Option<Box<OwnBeat>>),
    /// Read an own beat for this number from a file.
    LoadBeat(PathBuf, u8),
    /// Write the own beat of this number to a file, over one that is there if so wanted.
    SaveBeat(PathBuf, u8, bool),
    /// Unlock it; its strokes go to a MIDI file.
    Unlock(PathBuf, usize),
    /// Send the sampler what this map says; changes of one gesture are undone together.
    ChangeMap(Box<NamedMap>, Option<u64>),
    /// Play a stroke at once.
    Hear(Struck),
    /// Learn the notes that come in, or no longer.
    Learn(bool),
    /// Read a note map from a file.
    LoadMap(PathBuf),
    /// Write the note map to a file, over one that is there if so wanted.
    SaveMap(PathBuf, bool),
    /// Have new instances start with the note map.
    KeepMap,
    /// Have a part of what is played leave the window as a MIDI file; whether it is dragged, with the button held.
    TakeOut(Part, bool),
}

impl Action {
    /// Goes back to the value of a new project.
    pub fn reset(setting: SettingId) -> Self {
        Self::Set(setting, setting.default_value())
    }

    /// The file that it is about; an empty path is one that is still to be chosen.
    pub fn path(&self) -> Option<&Path> {
        match self {
            Self::LoadRiff(path, ..)
            | Self::KeepPlayed(path)
            | Self::LoadSong(path)
            | Self::SaveSong(path, _)
            | Self::Export(Export { path, .. })
            | Self::Score(Export { path, .. })
            | Self::Lock(path, _)
            | Self::Compare(path, _)
            | Self::LoadBeat(path, _)
            | Self::SaveBeat(path, ..)
            | Self::Unlock(path, _)
            | Self::LoadMap(path)
            | Self::SaveMap(path, _) => Some(path),
            _ => None,
        }
    }

    /// The same with the path that was chosen; whether a file that is there is replaced, the dialog has asked.
    #[must_use]
    pub fn at(mut self, chosen: PathBuf) -> Self {
        match &mut self {
            Self::SaveSong(path, replace)
            | Self::SaveBeat(path, _, replace)
            | Self::SaveMap(path, replace)
            | Self::Score(Export { path, replace, .. })
            | Self::Export(Export { path, replace, .. }) => {
                (*path, *replace) = (chosen, true);
            }
            Self::LoadRiff(path, ..)
            | Self::KeepPlayed(path)
            | Self::LoadSong(path)
            | Self::Lock(path, _)
            | Self::Compare(path, _)
            | Self::LoadBeat(path, _)
            | Self::Unlock(path, _)
            | Self::LoadMap(path) => *path = chosen,
            _ => {}
        }
        self
    }
}

/// A MIDI file or a chart for a drummer that is to be written.
#[derive(Debug, Clone, PartialEq)]
pub struct Export {
    /// Where to.
    pub path: PathBuf,
    /// What of the song, and how; a chart heeds the former alone.
    pub options: Options,
    /// Whether a file that is there is replaced.
    pub replace: bool,
    /// Whether it has the host's tempi as far as they were observed; else the chart's.
    pub host_tempo: bool,
}

/// A part of what is played.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Part {
    /// The bars that are on show, counted from 1: the first, and how many.
    Shown(u32, u32),
    /// A part of the song.
    Song(What),
}

impl Part {
    /// Bars on show, from 0.
    pub fn shown(bars: &Range<usize>) -> Self {
        let number = |bar: usize| u32::try_from(bar).unwrap_or(u32::MAX - 1);
        Self::Shown(number(bars.start) + 1, number(bars.len()).max(1))
    }
}

/// What the user wants done with the riff.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RiffAct {
    /// Forget it.
    Clear,
    /// Keep its strong strokes alone.
    Thin,
    /// Move it by so many ticks.
    Nudge(Ticks),
    /// Go on after its end, or not.
    Repeat(bool),
}

/// Strokes weaker than this go where the strong ones alone are wanted. Judged.
const WEAK: f32 = 0.5;

impl RiffAct {
    /// Does it; `bar` is the length of a bar in ticks.
    pub fn apply(self, riff: &mut Riff, bar: Ticks) {
        match self {
            Self::Clear => riff.clear(),
            Self::Thin => riff.thin(WEAK),
            Self::Nudge(by) => riff.nudge(by),
            Self::Repeat(repeats) => {
                let bars = riff.whole_bars(bar).filter(|_| repeats);
                riff.set_repeat(bars);
            }
        }
    }
}
