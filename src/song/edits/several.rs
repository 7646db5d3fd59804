//! What people do to several strokes at once: they are all found before any is changed, so one may go where another
//! was.

use super::{EditRow, Shown, of_shown, take, tidied};
use crate::groove::{Edit, EditAction, EditTarget};
use crate::time::Ticks;

/// Changes strokes that are seen, all at once. One that comes to where another stroke of its piece is takes that one's
/// place. An edit that then changes nothing is gone.
pub fn change(edits: &mut Vec<EditRow>, shown: &[Shown], mut by: impl FnMut(&Shown, &mut Edit)) {
    let taken: Vec<Edit> = shown.iter().map(|shown| take(edits, shown)).collect();
    for (shown, mut edit) in shown.iter().zip(taken) {
        by(shown, &mut edit);
        if let Some(edit) = tidied(edit) {
            settle(edits, edit);
        }
    }
}

/// Puts an edit among the others: a stroke of the same piece at its place goes, and one of the same name that is
/// elsewhere by now gets another.
fn settle(edits: &mut Vec<EditRow>, edit: Edit) {
    let there = |edit: &Edit| (edit.played_at(), edit.struck(), edit.grace);
    let mut gone = Vec::new();
    if edit.played_at().is_some() {
        edits.retain(|EditRow(other)| {
            let is_there = there(other) == there(&edit);
            if is_there && other.action == EditAction::Change && other.name() != edit.name() {
                gone.push(EditRow(Edit {
                    grace: other.grace,
                    ..Edit::leave_out(other.at, other.target)
                }));
            }
            !is_there
        });
    }
    let named = edits.iter().position(|row| row.0.name() == edit.name());
    if let Some(i) = named {
        let other = edits.swap_remove(i).0;
        if other.played_at().is_some() {
            let elsewhere = elsewhere(other);
            let is_free = !edits.iter().any(|row| row.0.name() == elsewhere.name());
            edits.extend(is_free.then_some(EditRow(elsewhere)));
        }
    }
    edits.extend(gone);
    edits.push(EditRow(edit));
}

/// Moves strokes that are seen by so many ticks, all at once; those with an exact time keep their distance to the grid.
/// A grace note goes with its stroke.
pub fn shift(edits: &mut Vec<EditRow>, shown: &[Shown], by: Ticks) {
    let leads = |grace: &Shown| {
        let main = |s: &Shown| !s.grace && (s.at, s.target) == (grace.at, grace.target);
        grace.grace && shown.iter().any(main)
    };
    let alone: Vec<Shown> = shown.iter().filter(|s| !leads(s)).copied().collect();
    change(edits, &alone, |shown, edit| {
        edit.to = Some(shown.at + by);
        edit.tick = edit.tick.map(|tick| tick + by);
    });
}

/// Makes two edits of each that moves a stroke into another bar, one that leaves out and one that adds, for where the bars
/// are not known when edits are played. `bar` numbers the bar of a place.
pub fn split(edits: &mut Vec<EditRow>, bar: impl Fn(Ticks) -> i64) {
    let leaves = |EditRow(edit): &EditRow| {
        let to = edit.to.filter(|_| edit.action == EditAction::Change);
        to.is_some_and(|to| bar(to) != bar(edit.at))
    };
    let (moved, stay) = std::mem::take(edits)
        .into_iter()
        .partition(|row| leaves(row));
    *edits = stay;
    let moved: Vec<EditRow> = moved;
    for EditRow(edit) in moved {
        settle(
            edits,
            Edit {
                grace: edit.grace,
                ..Edit::leave_out(edit.at, edit.target)
            },
        );
        settle(edits, elsewhere(edit));
    }
}

/// The stroke of an edit as one that is added where it is played.
fn elsewhere(edit: Edit) -> Edit {
    Edit {
        at: edit.to.unwrap_or(edit.at),
        target: edit.struck(),
        action: EditAction::Add,
        to: None,
        onto: None,
        grace: false,
        ..edit
    }
}

/// Leaves out strokes that are seen.
pub fn leave_out(edits: &mut Vec<EditRow>, shown: &[Shown]) {
    for shown in shown {
        super::leave_out(edits, shown);
    }
}

/// Has strokes of the drummer's that were left out played again, by what an edit calls them.
pub fn put_back(edits: &mut Vec<EditRow>, names: &[(Ticks, EditTarget, bool)]) {
    edits.retain(|EditRow(edit)| {
        edit.action != EditAction::LeaveOut || !names.contains(&edit.name())
    });
}

/// Takes back what was done to strokes that are seen. Returns how many edits that were.
pub fn clear(edits: &mut Vec<EditRow>, shown: &[Shown]) -> usize {
    let before = edits.len();
    for shown in shown {
        if let Some(i) = of_shown(edits, shown) {
            edits.swap_remove(i);
        }
    }
    before - edits.len()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kit::Piece;
    use crate::song::edits::louder;

    const SNARE: EditTarget = EditTarget::Piece(Piece::Snare);
    const CRASH: EditTarget = EditTarget::Piece(Piece::CrashLeft);

    fn own(at: Ticks) -> Shown {
        Shown {
            at,
            target: SNARE,
            grace: false,
            asked: false,
        }
    }

    fn asked(at: Ticks) -> Shown {
        Shown {
            asked: true,
            ..own(at)
        }
    }

    /// Where the strokes of the edits are, in order.
    fn played(edits: &[EditRow]) -> Vec<Ticks> {
        let mut at: Vec<_> = edits.iter().filter_map(|row| row.0.played_at()).collect();
        at.sort_unstable();
        at
    }

    /// A run of strokes goes along the grid step by step, each to where the one before it was, and back to nothing.
    #[test]
    fn strokes_go_together() {
        let mut edits = Vec::new();
        let all = [0, 240, 480];
        shift(&mut edits, &all.map(own), 240);
        assert_eq!(played(&edits), [240, 480, 720]);
        shift(&mut edits, &[240, 480, 720].map(asked), 240);
        assert_eq!(played(&edits), [480, 720, 960]);
        // Each is still the drummer's stroke, moved.
        let mut names: Vec<_> = edits.iter().map(|row| (row.0.at, row.0.action)).collect();
        names.sort_unstable();
        assert_eq!(names, all.map(|at| (at, EditAction::Change)));
        shift(&mut edits, &[480, 720, 960].map(asked), -480);
        assert_eq!(edits, []);
    }

    #[test]
    fn a_stroke_takes_the_place_of_another() {
        // An added one: gone.
        let mut edits = vec![EditRow(Edit::add(480, SNARE))];
        shift(&mut edits, &[own(240)], 240);
        assert_eq!(played(&edits), [480]);
        assert_eq!(edits.len(), 1);
        // One of the drummer's that was moved there: left out.
        shift(&mut edits, &[own(720)], -240);
        assert_eq!(played(&edits), [480]);
        assert!(edits.contains(&EditRow(Edit::leave_out(240, SNARE))));
        // One that was changed where it is.
        let mut edits = Vec::new();
        change(&mut edits, &[own(480)], |_, edit| louder(edit, 10));
        shift(&mut edits, &[own(240)], 240);
        assert_eq!(played(&edits), [480]);
        assert!(edits.contains(&EditRow(Edit::leave_out(480, SNARE))));
    }

    /// A stroke that is added where one of the drummer's was taken from does not bring that one back.
    #[test]
    fn what_was_moved_away_stays_where_it_is() {
        let mut edits = vec![EditRow(Edit::add(0, SNARE))];
        shift(&mut edits, &[own(240)], 480);
        shift(&mut edits, &[asked(0)], 240);
        assert_eq!(played(&edits), [240, 720]);
        let names: Vec<_> = edits.iter().map(|row| row.0.name()).collect();
        assert_eq!(names.len(), 2);
        assert_ne!(names[0], names[1]);
    }

    /// Over a bar line a stroke is left out and added, and comes back as the songwriter's own.
    #[test]
    fn a_move_over_a_bar_line_is_two_edits() {
        let mut edits = Vec::new();
        shift(&mut edits, &[own(3600), own(240)], 240);
        split(&mut edits, |tick| tick / 3840);
        let mut actions: Vec<_> = edits.iter().map(|row| (row.0.at, row.0.action)).collect();
        actions.sort_unstable();
        let wanted = [
            (240, EditAction::Change),
            (3600, EditAction::LeaveOut),
            (3840, EditAction::Add),
        ];
        assert_eq!(actions, wanted);
        shift(&mut edits, &[asked(3840)], -240);
        split(&mut edits, |tick| tick / 3840);
        assert_eq!(played(&edits), [480, 3600]);
        assert_eq!(edits.len(), 2);
    }

    #[test]
    fn the_same_is_done_to_all() {
        let mut edits = Vec::new();
        let strokes = [0, 960].map(own);
        change(&mut edits, &strokes, |_, edit| edit.onto = Some(CRASH));
        assert!(edits.iter().all(|row| row.0.struck() == CRASH));
        let crashes = [0, 960].map(|at| Shown {
            target: CRASH,
            ..asked(at)
        });
        leave_out(&mut edits, &crashes);
        assert!(played(&edits).is_empty());
        put_back(&mut edits, &[(0, SNARE, false)]);
        assert_eq!(edits, [EditRow(Edit::leave_out(960, SNARE))]);
        change(&mut edits, &[own(0)], |_, edit| louder(edit, 5));
        assert_eq!(clear(&mut edits, &[asked(0), own(960)]), 1);
    }

    /// A flam that is moved is one edit: its grace note goes along.
    #[test]
    fn a_grace_note_goes_with_its_stroke() {
        let grace = Shown {
            grace: true,
            ..own(960)
        };
        let mut edits = Vec::new();
        shift(&mut edits, &[grace, own(960)], 240);
        assert_eq!(edits.len(), 1);
        assert!(!edits[0].0.grace);
        let mut edits = Vec::new();
        shift(&mut edits, &[grace], 240);
        assert_eq!(edits.len(), 1);
    }

    /// What sounds at an exact time moves as far.
    #[test]
    fn an_exact_time_goes_along() {
        let mut edits = vec![EditRow(Edit {
            tick: Some(955),
            ..Edit::add(960, SNARE)
        })];
        shift(&mut edits, &[asked(960)], 240);
        let edit = edits[0].0;
        assert_eq!((edit.at, edit.tick), (1200, Some(1195)));
    }
}
