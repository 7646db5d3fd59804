//! Changes of the document, to be taken back and made again.

use super::document::{Document, SongState};
use crate::groove::own::OwnBeats;
use crate::kit::map_file::NamedMap;
use crate::riff::Riff;
use crate::settings::{SettingId, Settings};
use crate::song::edits::EditRow;
use std::collections::VecDeque;
use std::sync::Arc;

/// How many changes can be taken back. Judged.
const MOST: usize = 100;

/// What a change replaced, or would put back: the parts that it touched.
#[derive(Debug, Clone, Default)]
pub struct Change {
    /// The song, where it was changed.
    pub song: Option<SongState>,
    /// The riff, where it was changed.
    pub riff: Option<Arc<Riff>>,
    /// The note map, where it was changed.
    pub map: Option<Arc<NamedMap>>,
    /// The edits by hand where no chart is followed, where they were changed.
    pub edits: Option<Arc<Vec<EditRow>>>,
    /// The project's own beats, where they were changed.
    pub own_beats: Option<Arc<OwnBeats>>,
    /// Values of the panel that belong to it: what a song brought along. The panel is no part of the document, so
    /// whoever takes a change back puts them there.
    pub panel: Vec<(SettingId, f32)>,
}

/// The parts of the document that a change touches.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(clippy::struct_excessive_bools, reason = "each is a part of its own")]
pub struct Touched {
    /// The song.
    pub song: bool,
    /// The riff.
    pub riff: bool,
    /// The note map.
    pub map: bool,
    /// The edits by hand where no chart is followed.
    pub edits: bool,
    /// The project's own beats.
    pub own_beats: bool,
}

/// What taking a change back or making it again did.
#[derive(Debug, Clone, PartialEq)]
pub struct Turned {
    /// The parts of the document that have changed.
    pub touched: Touched,
    /// The values that the panel is to have.
    pub panel: Vec<(SettingId, f32)>,
}

impl Change {
    /// The parts that it touches.
    pub fn touched(&self) -> Touched {
        Touched {
            song: self.song.is_some(),
            riff: self.riff.is_some(),
            map: self.map.is_some(),
            edits: self.edits.is_some(),
            own_beats: self.own_beats.is_some(),
        }
    }

    /// Whether the document would be another one after it.
    pub fn differs(&self, document: &Document) -> bool {
        let Document {
            song,
            riff,
            map,
            edits,
            own_beats,
            ..
        } = document;
        self.song.as_ref().is_some_and(|other| !other.is(song))
            || self.riff.as_ref().is_some_and(|other| other != riff)
            || self.map.as_ref().is_some_and(|other| other != map)
            || self.edits.as_ref().is_some_and(|other| other != edits)
            || self
                .own_beats
                .as_ref()
                .is_some_and(|other| other != own_beats)
            || !self.panel.is_empty()
    }

    /// Changes places with the document and the panel.
    fn turn(&mut self, document: &mut Document, panel: &Settings) -> Turned {
        self.swap(document);
        Turned {
            touched: self.touched(),
            panel: self.swap_panel(panel),
        }
    }

    /// Returns the values of the panel that belong to it, and holds those that stand there now.
    fn swap_panel(&mut self, panel: &Settings) -> Vec<(SettingId, f32)> {
        let now = |&(setting, _): &(SettingId, f32)| (setting, panel.get(setting));
        let stand = self.panel.iter().map(now).collect();
        std::mem::replace(&mut self.panel, stand)
    }

    /// Puts its parts into the document, and holds what stood there.
    fn swap(&mut self, document: &mut Document) {
        if let Some(song) = &mut self.song {
            std::mem::swap(song, &mut document.song);
        }
        if let Some(riff) = &mut self.riff {
            std::mem::swap(riff, &mut document.riff);
        }
        if let Some(map) = &mut self.map {
            std::mem::swap(map, &mut document.map);
        }
        if let Some(edits) = &mut self.edits {
            std::mem::swap(edits, &mut document.edits);
        }
        if let Some(own_beats) = &mut self.own_beats {
            std::mem::swap(own_beats, &mut document.own_beats);
        }
    }
}

/// The changes, in their order.
#[derive(Debug, Default)]
pub struct Undo {
    before: VecDeque<Change>,
    after: Vec<Change>,
    /// What the last change was a part of.
    gesture: Option<u64>,
}

impl Undo {
    /// Makes a change. Changes of one `gesture`, one after the other, are taken back together.
    pub fn change(&mut self, mut change: Change, gesture: Option<u64>, document: &mut Document) {
        change.swap(document);
        self.after.clear();
        if gesture.is_none() || self.gesture != gesture || self.before.is_empty() {
            self.before.push_back(change);
            if self.before.len() > MOST {
                self.before.pop_front();
            }
        }
        self.gesture = gesture;
    }

    /// Takes the last change back. Returns which parts it touched, and what the panel, which stands so now, is to be.
    pub fn undo(&mut self, document: &mut Document, panel: &Settings) -> Option<Turned> {
        self.gesture = None;
        let mut change = self.before.pop_back()?;
        let turned = change.turn(document, panel);
        self.after.push(change);
        Some(turned)
    }

    /// Makes the change again that was last taken back. Returns what [`Undo::undo`] does.
    pub fn redo(&mut self, document: &mut Document, panel: &Settings) -> Option<Turned> {
        self.gesture = None;
        let mut change = self.after.pop()?;
        let turned = change.turn(document, panel);
        self.before.push_back(change);
        Some(turned)
    }

    /// Forgets all changes, as when a project is loaded.
    pub fn forget(&mut self) {
        *self = Self::default();
    }

    /// Whether there is a change to take back.
    pub fn can_undo(&self) -> bool {
        !self.before.is_empty()
    }

    /// Whether there is one to make again.
    pub fn can_redo(&self) -> bool {
        !self.after.is_empty()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn riff(ticks: i64) -> Change {
        Change {
            riff: Some(Arc::new(Riff::new([], 0, ticks))),
            ..Change::default()
        }
    }

    fn length(document: &Document) -> i64 {
        (0..=9)
            .rev()
            .find(|end| *end == 0 || document.riff.knows(end - 1, *end))
            .unwrap_or(0)
    }

    #[test]
    fn a_gesture_is_undone_at_once_and_changes_one_by_one() {
        let (mut undo, mut document) = (Undo::default(), Document::default());
        for (ticks, gesture) in [(1, None), (2, Some(7)), (3, Some(7)), (4, Some(8))] {
            undo.change(riff(ticks), gesture, &mut document);
        }
        let mut seen = Vec::new();
        while undo.undo(&mut document, &Settings::default()).is_some() {
            seen.push(length(&document));
        }
        assert_eq!(seen, [3, 1, 0]);
        undo.redo(&mut document, &Settings::default());
        undo.redo(&mut document, &Settings::default());
        assert_eq!(length(&document), 3);
        // The gesture is over: one more change of its own kind is another one, and voids what was undone.
        undo.change(riff(9), Some(7), &mut document);
        assert!(!undo.can_redo());
        undo.undo(&mut document, &Settings::default());
        assert_eq!(length(&document), 3);
    }

    #[test]
    fn only_so_many_are_kept() {
        let (mut undo, mut document) = (Undo::default(), Document::default());
        for _ in 0..2 * MOST {
            undo.change(riff(1), None, &mut document);
        }
        let count =
            std::iter::from_fn(|| undo.undo(&mut document, &Settings::default()).map(|_| ()))
                .count();
        assert_eq!(count, MOST);
    }
}
