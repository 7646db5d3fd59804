//! Changes of the document, to be taken back and made again.

use super::document::{Document, SongState};
use crate::kit::map_file::NamedMap;
use crate::riff::Riff;
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
}

/// The parts of the document that a change touches.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Touched {
    /// The song.
    pub song: bool,
    /// The riff.
    pub riff: bool,
    /// The note map.
    pub map: bool,
}

impl Change {
    /// The parts that it touches.
    pub fn touched(&self) -> Touched {
        Touched {
            song: self.song.is_some(),
            riff: self.riff.is_some(),
            map: self.map.is_some(),
        }
    }

    /// Whether the document would be another one after it.
    pub fn differs(&self, document: &Document) -> bool {
        let Document {
            song, riff, map, ..
        } = document;
        self.song.as_ref().is_some_and(|other| !other.is(song))
            || self.riff.as_ref().is_some_and(|other| other != riff)
            || self.map.as_ref().is_some_and(|other| other != map)
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

    /// Takes the last change back, and says which parts it touched.
    pub fn undo(&mut self, document: &mut Document) -> Option<&Change> {
        self.gesture = None;
        let mut change = self.before.pop_back()?;
        change.swap(document);
        self.after.push(change);
        self.after.last()
    }

    /// Makes the change again that was last taken back, and says which parts it touched.
    pub fn redo(&mut self, document: &mut Document) -> Option<&Change> {
        self.gesture = None;
        let mut change = self.after.pop()?;
        change.swap(document);
        self.before.push_back(change);
        self.before.back()
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
        while undo.undo(&mut document).is_some() {
            seen.push(length(&document));
        }
        assert_eq!(seen, [3, 1, 0]);
        undo.redo(&mut document);
        undo.redo(&mut document);
        assert_eq!(length(&document), 3);
        // The gesture is over: one more change of its own kind is another one, and voids what was undone.
        undo.change(riff(9), Some(7), &mut document);
        assert!(!undo.can_redo());
        undo.undo(&mut document);
        assert_eq!(length(&document), 3);
    }

    #[test]
    fn only_so_many_are_kept() {
        let (mut undo, mut document) = (Undo::default(), Document::default());
        for _ in 0..2 * MOST {
            undo.change(riff(1), None, &mut document);
        }
        let count = std::iter::from_fn(|| undo.undo(&mut document).map(|_| ())).count();
        assert_eq!(count, MOST);
    }
}
