//! A region that came back, as edits: what it does otherwise than the drummer.
//!
//! The songwriter exports a section, edits it in the recording program, and brings it back. Where little has changed, the
//! difference is worth more than a locked section: the drummer goes on around it. Played again, it gives the region.

use crate::groove::{Edit, EditAction, EditTarget, Exact, Hit};
use crate::song::edits::EditRow;
use crate::song::locked::{EARLY, Row};
use crate::time::{TICKS_PER_QUARTER, Ticks};
use std::collections::BTreeSet;

/// Where at most one stroke of so many is edited, the difference is small: edits say more than a lock. Judged: more, and
/// little of the drummer is left.
const ONE_OF: usize = 4;
/// How often what is played with the edits is compared with the region again. Judged: an added stroke takes its neighbour
/// away, which is then added too, and so on stroke by stroke; more than in a bar of sixty-fourths are no small difference.
const ROUNDS: usize = 64;
/// The grid that a stroke's place is drawn to: sixteenths and triplets.
const STEPS: [Ticks; 2] = [TICKS_PER_QUARTER / 4, TICKS_PER_QUARTER / 3];
/// A stroke this near to a place of the grid is at that place, in ticks: a sixty-fourth.
const NEAR: Ticks = TICKS_PER_QUARTER / 16;

/// What a region does otherwise than the drummer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// The edits, exact in velocity and time.
    pub edits: Vec<EditRow>,
    /// The strokes of the region.
    pub strokes: usize,
    /// How many strokes still differ when the edits are played.
    pub left: usize,
}

impl Difference {
    /// Whether edits serve better than a lock.
    pub fn is_small(&self) -> bool {
        self.left == 0 && self.edits.len() * ONE_OF <= self.strokes
    }
}

/// The difference between the strokes of a region, in ticks from the start of the section, and what the drummer plays.
/// `play` plays the section with edits: its hits, moved to the start of the section. Main thread; allocates.
pub fn difference(rows: &[Row], mut play: impl FnMut(&[EditRow]) -> Vec<Hit>) -> Difference {
    let mut edits: Vec<EditRow> = Vec::new();
    let mut found = compare(rows, &play(&edits));
    for _ in 0..ROUNDS {
        if found.is_none() {
            break;
        }
        found.apply(&mut edits);
        found = compare(rows, &play(&edits));
    }
    edits.sort_by_key(|row| row.0.name());
    Difference {
        edits,
        strokes: rows.len(),
        left: found.changed.len() + found.missing.len() + found.extra.len(),
    }
}

/// How a region and what is played differ.
struct Compared<'a> {
    /// Strokes that are played otherwise.
    changed: Vec<(Hit, &'a Row)>,
    /// Rows that nothing plays.
    missing: Vec<&'a Row>,
    /// Strokes that the region has not.
    extra: Vec<Hit>,
}

/// Whether a hit sounds as a row says.
fn is_same(hit: &Hit, row: &Row) -> bool {
    let opened = row.opening.is_none_or(|opening| opening == hit.opening);
    let turned = row.alternate.is_none() || row.alternate == hit.alternate;
    (hit.tick, hit.velocity) == (row.tick, row.velocity) && opened && turned
}

/// Pairs rows with the nearest hits on their pieces.
fn compare<'a>(rows: &'a [Row], hits: &[Hit]) -> Compared<'a> {
    let mut pairs = Vec::new();
    for (r, row) in rows.iter().enumerate() {
        // Hits are in order of time.
        let first = hits.partition_point(|hit| hit.tick <= row.tick - EARLY);
        let near = hits[first..]
            .iter()
            .take_while(|hit| hit.tick < row.tick + EARLY);
        for (h, hit) in (first..).zip(near) {
            if hit.piece == row.piece {
                pairs.push(((hit.tick - row.tick).abs(), r, h));
            }
        }
    }
    pairs.sort_unstable();
    let (mut of_row, mut of_hit) = (vec![None; rows.len()], vec![false; hits.len()]);
    for (_, r, h) in pairs {
        if of_row[r].is_none() && !of_hit[h] {
            (of_row[r], of_hit[h]) = (Some(h), true);
        }
    }
    let mut found = Compared {
        changed: Vec::new(),
        missing: Vec::new(),
        extra: Vec::new(),
    };
    for (row, hit) in rows.iter().zip(of_row) {
        match hit.map(|h| hits[h]) {
            Some(hit) if is_same(&hit, row) => {}
            Some(hit) => found.changed.push((hit, row)),
            None => found.missing.push(row),
        }
    }
    let extra = hits.iter().zip(of_hit).filter(|(_, paired)| !paired);
    found.extra.extend(extra.map(|(hit, _)| *hit));
    found
}

impl Compared<'_> {
    fn is_none(&self) -> bool {
        self.changed.is_empty() && self.missing.is_empty() && self.extra.is_empty()
    }

    /// Adds what would make both the same.
    fn apply(&self, edits: &mut Vec<EditRow>) {
        for hit in &self.extra {
            let name = (hit.grid, hit.target, hit.grace);
            // One that an edit brought goes with it.
            edits.retain(|row| (row.0.played_at(), row.0.struck()) != (Some(hit.grid), hit.target));
            if !hit.asked && !edits.iter().any(|row| row.0.name() == name) {
                edits.push(EditRow(Edit {
                    grace: hit.grace,
                    ..Edit::leave_out(hit.grid, hit.target)
                }));
            }
        }
        for (hit, row) in &self.changed {
            let name = (hit.grid, hit.target, hit.grace);
            let edit = Edit {
                grace: hit.grace,
                tick: (hit.tick != row.tick).then_some(row.tick.max(0)),
                exact: exact(row, (hit.velocity != row.velocity).then_some(row.velocity)),
                ..Edit::new(hit.grid, hit.target, EditAction::Change)
            };
            match edits.iter_mut().find(|edited| edited.0.name() == name) {
                Some(edited) => {
                    edited.0.tick = edit.tick.or(edited.0.tick);
                    edited.0.exact.velocity = edit.exact.velocity.or(edited.0.exact.velocity);
                    edited.0.exact.opening = row.opening;
                    edited.0.exact.alternate = row.alternate;
                }
                None => edits.push(EditRow(edit)),
            }
        }
        let mut names: BTreeSet<_> = edits.iter().map(|row| row.0.name()).collect();
        for row in &self.missing {
            let target = EditTarget::Piece(row.piece);
            let tick = row.tick.max(0);
            let places = [place(tick), tick].into_iter().chain(tick + 1..);
            let mut free = places.filter(|at| !names.contains(&(*at, target, false)));
            let at = free.next().unwrap_or(tick);
            names.insert((at, target, false));
            edits.push(EditRow(Edit {
                tick: Some(tick),
                exact: exact(row, Some(row.velocity)),
                rings: row.rings,
                ..Edit::add(at, target)
            }));
        }
    }
}

fn exact(row: &Row, velocity: Option<u8>) -> Exact {
    Exact {
        velocity,
        opening: row.opening,
        alternate: row.alternate,
    }
}

/// The place of the grid that a tick is at, or the tick where it is at none.
fn place(tick: Ticks) -> Ticks {
    let near = STEPS.map(|step| (tick + step / 2) / step * step);
    let nearest = near.into_iter().min_by_key(|place| (place - tick).abs());
    nearest
        .filter(|place| (place - tick).abs() <= NEAR)
        .unwrap_or(tick)
}
