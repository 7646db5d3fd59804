//! The strokes on show as they are edited: what names them, and which of them are selected.

use crate::editor::picture::Picture;
use crate::groove::{EditTarget, Hit, Limb};
use crate::time::{Bar, Ticks};
use std::collections::BTreeSet;

/// What names a stroke from one frame to the next.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Key {
    /// Its place on the grid, in ticks of the song; for a grace note, that of its main stroke.
    pub(super) tick: Ticks,
    /// What an edit calls it.
    pub(super) target: EditTarget,
    /// Whether it is a grace note.
    pub(super) grace: bool,
    /// Whether it is one of the drummer's that an edit leaves out.
    pub(super) out: bool,
}

impl Key {
    /// A stroke that sounds.
    pub(super) fn of(hit: &Hit) -> Self {
        Self {
            tick: hit.grid,
            target: hit.target,
            grace: hit.grace,
            out: false,
        }
    }

    /// A stroke that is added.
    pub(super) fn added(tick: Ticks, target: EditTarget) -> Self {
        Self {
            tick,
            target,
            grace: false,
            out: false,
        }
    }
}

/// A stroke on show.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Mark {
    pub(super) key: Key,
    pub(super) hit: Hit,
    pub(super) bar: Bar,
    /// Whether its bar is played as a region that was edited by hand.
    pub(super) locked: bool,
}

impl Mark {
    /// Its lane, from the top.
    pub(super) fn lane(&self) -> usize {
        let lane = Limb::ALL.iter().position(|limb| *limb == self.hit.limb);
        lane.unwrap_or(0)
    }
}

/// The strokes of bars on show, in order of time: those that sound, and those of the drummer's that were left out.
pub(super) fn marks<'a>(bars: impl IntoIterator<Item = (&'a Picture, Vec<Hit>, Bar)>) -> Vec<Mark> {
    let mut marks = Vec::new();
    for (picture, left_out, bar) in bars {
        let locked = picture.played().is_locked();
        let mark = |hit: &Hit, out| Mark {
            key: Key {
                out,
                ..Key::of(hit)
            },
            hit: *hit,
            bar,
            locked,
        };
        marks.extend(picture.played().hits().iter().map(|hit| mark(hit, false)));
        marks.extend(left_out.iter().map(|hit| mark(hit, true)));
    }
    marks.sort_by_key(|mark| (mark.key.tick, mark.lane(), mark.key));
    marks
}

/// The selected strokes.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Selection {
    keys: BTreeSet<Key>,
    /// The one that was chosen last.
    last: Option<Key>,
}

impl Selection {
    pub(super) fn is_empty(&self) -> bool {
        self.keys.is_empty()
    }

    pub(super) fn has(&self, key: &Key) -> bool {
        self.keys.contains(key)
    }

    pub(super) fn clear(&mut self) {
        *self = Self::default();
    }

    /// Selects these alone, or besides those that are selected.
    pub(super) fn take(&mut self, keys: impl IntoIterator<Item = Key>, adds: bool) {
        if !adds {
            self.clear();
        }
        for key in keys {
            self.keys.insert(key);
            self.last = Some(key);
        }
    }

    /// A stroke was touched: it alone is selected, or with `adds` it comes to the others, or goes from them.
    pub(super) fn touch(&mut self, key: Key, adds: bool) {
        if adds && self.keys.remove(&key) {
            self.last = None;
        } else {
            self.take([key], adds);
        }
    }

    /// Selects the stroke after the one that was chosen last, or the one before it; from none, the first or the last.
    pub(super) fn step(&mut self, marks: &[Mark], forward: bool, adds: bool) {
        let at = self
            .last
            .and_then(|last| marks.iter().position(|mark| mark.key == last));
        let next = match (at, forward) {
            (None, true) => marks.first(),
            (None, false) => marks.last(),
            (Some(at), true) => marks.get(at + 1),
            (Some(at), false) => at.checked_sub(1).and_then(|at| marks.get(at)),
        };
        if let Some(next) = next {
            self.take([next.key], adds);
        }
    }

    /// The selected strokes that are on show.
    pub(super) fn marks<'a>(&self, marks: &'a [Mark]) -> Vec<&'a Mark> {
        marks.iter().filter(|mark| self.has(&mark.key)).collect()
    }

    /// Forgets those that are not wanted.
    pub(super) fn keep(&mut self, wanted: impl Fn(&Key) -> bool) {
        self.keys.retain(&wanted);
        self.last = self.last.filter(wanted);
    }

    /// What is selected is called otherwise now.
    pub(super) fn rename(&mut self, name: impl Fn(Key) -> Key) {
        self.keys = self.keys.iter().map(|key| name(*key)).collect();
        self.last = self.last.map(name);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::groove::Origin;
    use crate::kit::{Piece, Struck};
    use crate::time::Meter;

    fn mark(tick: Ticks, piece: Piece) -> Mark {
        let struck = Struck {
            piece,
            velocity: 90,
            lead: true,
            turn: 0,
            alternate: None,
            opening: 0,
        };
        let hit = Hit {
            tick,
            grid: tick,
            origin: Origin::Beat,
            asked: false,
            ..Hit::of(&struck)
        };
        Mark {
            key: Key::of(&hit),
            hit,
            bar: Bar {
                start: 0,
                meter: Meter::FOUR_FOUR,
            },
            locked: false,
        }
    }

    #[test]
    fn strokes_are_stepped_through_in_order() {
        let marks = [
            mark(0, Piece::Kick),
            mark(480, Piece::Ride),
            mark(960, Piece::Snare),
        ];
        let mut selection = Selection::default();
        let mut seen = Vec::new();
        for _ in 0..4 {
            selection.step(&marks, true, false);
            let [one] = selection.marks(&marks)[..] else {
                panic!("one");
            };
            seen.push(one.key.tick);
        }
        assert_eq!(seen, [0, 480, 960, 960], "the last one stays");
        selection.step(&marks, false, true);
        assert_eq!(selection.marks(&marks).len(), 2);
        selection.clear();
        selection.step(&marks, false, false);
        assert!(selection.has(&marks[2].key));
    }

    #[test]
    fn a_touch_with_shift_adds_and_takes_away() {
        let marks = [mark(0, Piece::Kick), mark(480, Piece::Ride)];
        let mut selection = Selection::default();
        selection.touch(marks[0].key, false);
        selection.touch(marks[1].key, true);
        assert_eq!(selection.marks(&marks).len(), 2);
        selection.touch(marks[0].key, true);
        assert!(!selection.has(&marks[0].key) && selection.has(&marks[1].key));
        selection.touch(marks[0].key, false);
        assert_eq!(selection.marks(&marks), [&marks[0]]);
    }
}
