//! Changes of what is kept, to be taken back and made again. Riff and song have a stack each; changes are
//! numbered through, so that both can be taken back in the order in which they came.

use std::collections::VecDeque;
use std::sync::atomic::{AtomicU64, Ordering};

/// Numbers every change of this program.
static CHANGES: AtomicU64 = AtomicU64::new(1);

/// What changes replaced. Any thread but the audio thread.
#[derive(Debug)]
pub struct Undo<T> {
    before: VecDeque<(u64, T)>,
    after: Vec<(u64, T)>,
    /// What the last change was a part of.
    gesture: Option<u64>,
    most: usize,
}

impl<T> Undo<T> {
    /// Without a change yet; the last `most` can be taken back.
    pub fn new(most: usize) -> Self {
        Self {
            before: VecDeque::new(),
            after: Vec::new(),
            gesture: None,
            most,
        }
    }

    /// A change replaced this. Changes of one `gesture`, one after the other, are taken back together.
    pub fn replaced(&mut self, before: T, gesture: Option<u64>) {
        let number = CHANGES.fetch_add(1, Ordering::Relaxed);
        match self.before.back_mut() {
            Some((last, _)) if gesture.is_some() && self.gesture == gesture => *last = number,
            _ => {
                self.before.push_back((number, before));
                if self.before.len() > self.most {
                    self.before.pop_front();
                }
            }
        }
        self.after.clear();
        self.gesture = gesture;
    }

    /// Takes the last change back: `now` becomes what was before it. Whether there was one.
    pub fn undo(&mut self, now: &mut T) -> bool {
        self.gesture = None;
        let Some((number, before)) = self.before.pop_back() else {
            return false;
        };
        self.after.push((number, std::mem::replace(now, before)));
        true
    }

    /// Makes the change again that was last taken back. Whether there was one.
    pub fn redo(&mut self, now: &mut T) -> bool {
        self.gesture = None;
        let Some((number, after)) = self.after.pop() else {
            return false;
        };
        self.before
            .push_back((number, std::mem::replace(now, after)));
        true
    }

    /// Forgets all changes, as when a project is loaded.
    pub fn forget(&mut self) {
        self.before.clear();
        self.after.clear();
        self.gesture = None;
    }

    /// Which changes come next.
    pub fn turns(&self) -> Turns {
        Turns {
            undo: self.before.back().map(|(number, _)| *number),
            redo: self.after.last().map(|(number, _)| *number),
        }
    }
}

/// The numbers of the changes that would be taken back and made again next.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Turns {
    /// The change that would be taken back.
    pub undo: Option<u64>,
    /// The change that would be made again.
    pub redo: Option<u64>,
}

impl Turns {
    /// Whether these changes are taken back before the others.
    pub fn undoes_before(self, other: Self) -> bool {
        self.undo.is_some() && self.undo > other.undo
    }

    /// Whether these changes are made again before the others: in the order in which they first came, and
    /// not where something else was changed since.
    pub fn redoes_before(self, other: Self) -> bool {
        let earlier = other
            .redo
            .is_none_or(|theirs| self.redo.is_some_and(|own| own < theirs));
        self.redo.is_some() && earlier && self.redo > self.undo.max(other.undo)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    struct Both {
        kept: [u32; 2],
        undo: [Undo<u32>; 2],
    }

    impl Both {
        fn change(&mut self, i: usize, to: u32, gesture: Option<u64>) {
            let before = std::mem::replace(&mut self.kept[i], to);
            self.undo[i].replaced(before, gesture);
        }

        fn turn(&mut self, undo: bool) -> Option<[u32; 2]> {
            let [a, b] = [self.undo[0].turns(), self.undo[1].turns()];
            let first = |x: Turns, y: Turns| {
                if undo {
                    x.undoes_before(y)
                } else {
                    x.redoes_before(y)
                }
            };
            let i = if first(a, b) {
                0
            } else if first(b, a) {
                1
            } else {
                return None;
            };
            let now = &mut self.kept[i];
            let done = if undo {
                self.undo[i].undo(now)
            } else {
                self.undo[i].redo(now)
            };
            assert!(done);
            Some(self.kept)
        }
    }

    #[test]
    fn two_stacks_are_undone_and_redone_in_the_order_of_their_changes() {
        let mut both = Both {
            kept: [0, 0],
            undo: [Undo::new(3), Undo::new(3)],
        };
        both.change(0, 1, None);
        both.change(1, 10, None);
        both.change(0, 2, Some(5));
        both.change(0, 3, Some(5));
        both.change(1, 20, None);
        let back: Vec<_> = std::iter::from_fn(|| both.turn(true)).collect();
        assert_eq!(back, [[3, 10], [1, 10], [1, 0], [0, 0]]);
        let again: Vec<_> = std::iter::from_fn(|| both.turn(false)).collect();
        assert_eq!(again, [[1, 0], [1, 10], [3, 10], [3, 20]]);
        // A change of one voids what was undone of the other.
        both.turn(true);
        both.change(0, 9, None);
        assert_eq!(both.turn(false), None);
        assert_eq!(both.turn(true), Some([3, 10]));
    }

    #[test]
    fn only_so_many_are_kept() {
        let mut undo = Undo::new(3);
        (0..10).for_each(|i| undo.replaced(i, None));
        let mut now = 10;
        let back: Vec<_> = std::iter::from_fn(|| undo.undo(&mut now).then_some(now)).collect();
        assert_eq!(back, [9, 8, 7]);
    }
}
