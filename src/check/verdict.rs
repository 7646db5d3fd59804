//! The verdict of the playability check in words: bar and count, the conflict, and the smallest change that helps.

use crate::check::playable::{Change, Problem, TOLERANCE_S, TimedStroke, Why, problems};
use crate::kit::Piece;
use crate::settings::Player;
use crate::time::place::nearest;
use crate::time::{Bar, Ticks};
use std::cmp::Ordering;
use std::fmt;

/// The verdict on some strokes. Displays one line for each kind of problem and bar; its times hold for every stroke
/// that the line names.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Verdict {
    /// How many strokes can't be played.
    pub problems: usize,
    groups: Vec<Group>,
}

/// Problems of one kind in one bar.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Group {
    bar: i64,
    piece: Piece,
    why: Why,
    change: Change,
    counts: Vec<String>,
    beside: Vec<Beside>,
}

/// A stroke that conflicts with those of a group.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Beside {
    piece: Piece,
    /// Whether it comes before those of the group, after them, or at once with them.
    order: Ordering,
    /// How far from them, at least and at most, in whole milliseconds.
    ms: (u32, u32),
}

/// Judges strokes in order of time. `bar` returns the bar of a tick and its displayed number. Not for the audio
/// thread.
pub fn judge(
    strokes: &[TimedStroke],
    player: Player,
    bar: impl Fn(Ticks) -> (i64, Bar),
) -> Verdict {
    let found = problems(strokes, &player.limits());
    let mut groups: Vec<Group> = Vec::new();
    for problem in &found {
        let it = strokes[problem.stroke];
        let (number, here) = bar(it.tick);
        let beside = beside(strokes, problem);
        let same = |g: &&mut Group| {
            (g.bar, g.piece, g.why, g.change) == (number, it.piece, problem.why, problem.change)
                && g.beside
                    .iter()
                    .map(Beside::kind)
                    .eq(beside.iter().map(Beside::kind))
        };
        let count = nearest(here, it.tick);
        if let Some(group) = groups.iter_mut().rev().find(same) {
            group.counts.push(count);
            for (wide, new) in group.beside.iter_mut().zip(&beside) {
                wide.ms = (wide.ms.0.min(new.ms.0), wide.ms.1.max(new.ms.1));
            }
        } else {
            groups.push(Group {
                bar: number,
                piece: it.piece,
                why: problem.why,
                change: problem.change,
                counts: vec![count],
                beside,
            });
        }
    }
    Verdict {
        problems: found.len(),
        groups,
    }
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for group in &self.groups {
            let beside: Vec<_> = group.beside.iter().map(Beside::to_string).collect();
            writeln!(
                f,
                "bar {}, count {}: {}: {} ({}). Nearest: {}.",
                group.bar,
                group.counts.join(", "),
                group.piece.name(),
                group.why,
                beside.join(", "),
                group.change.words(group.piece),
            )?;
        }
        Ok(())
    }
}

impl Beside {
    fn kind(&self) -> (Piece, Ordering) {
        (self.piece, self.order)
    }
}

impl fmt::Display for Beside {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (name, (least, most)) = (self.piece.name(), self.ms);
        let side = match self.order {
            Ordering::Equal => return write!(f, "{name} at once"),
            Ordering::Less => "after",
            Ordering::Greater => "before",
        };
        if least == most {
            write!(f, "{least} ms {side} the {name}")
        } else {
            write!(f, "{least} to {most} ms {side} the {name}")
        }
    }
}

/// The strokes that conflict with a stroke, in order of time.
fn beside(strokes: &[TimedStroke], problem: &Problem) -> Vec<Beside> {
    let it = strokes[problem.stroke];
    let mut others: Vec<_> = problem.in_the_way.iter().map(|&i| strokes[i]).collect();
    others.sort_by(|a, b| a.seconds.total_cmp(&b.seconds));
    let beside = |other: TimedStroke| {
        let gap_s = other.seconds - it.seconds;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let ms = (gap_s.abs() * 1000.0).round() as u32;
        Beside {
            piece: other.piece,
            order: if gap_s.abs() < TOLERANCE_S {
                Ordering::Equal
            } else {
                gap_s.total_cmp(&0.0)
            },
            ms: (ms, ms),
        }
    };
    others.into_iter().map(beside).collect()
}
