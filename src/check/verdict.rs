//! The verdict of the playability check in words: bar and count, the conflict, and the smallest change that helps.

use crate::check::playable::{Change, Problem, TOLERANCE_S, TimedStroke, Why, problems};
use crate::kit::Piece;
use crate::settings::Player;
use crate::time::{Bar, Ticks};
use std::fmt;

/// The verdict on some strokes. Displays one line for each kind of problem and bar.
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
    beside: String,
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
        let same = |g: &&mut Group| {
            (g.bar, g.piece, g.why, g.change) == (number, it.piece, problem.why, problem.change)
        };
        let count = count(here, it.tick);
        if let Some(group) = groups.iter_mut().rev().find(same) {
            group.counts.push(count);
        } else {
            groups.push(Group {
                bar: number,
                piece: it.piece,
                why: problem.why,
                change: problem.change,
                counts: vec![count],
                beside: beside(strokes, problem, &bar),
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
            writeln!(
                f,
                "bar {}, count {}: {}: {} ({}). Nearest: {}.",
                group.bar,
                group.counts.join(", "),
                group.piece.name(),
                group.why,
                group.beside,
                group.change.words(group.piece),
            )?;
        }
        Ok(())
    }
}

/// The strokes that conflict with a stroke, in words.
fn beside(strokes: &[TimedStroke], problem: &Problem, bar: impl Fn(Ticks) -> (i64, Bar)) -> String {
    let it = strokes[problem.stroke];
    let mut others = problem.in_the_way.clone();
    others.sort_by(|&a, &b| strokes[a].seconds.total_cmp(&strokes[b].seconds));
    let words = others.into_iter().map(|i| {
        let other = strokes[i];
        let ms = (it.seconds - other.seconds) * 1000.0;
        let name = other.piece.name();
        if ms.abs() < TOLERANCE_S * 1000.0 {
            return format!("{name} at once");
        }
        let side = if ms > 0.0 { "after" } else { "before" };
        let count = count(bar(other.tick).1, other.tick);
        format!("{:.0} ms {side} the {name} on {count}", ms.abs())
    });
    words.collect::<Vec<_>>().join(", ")
}

/// A tick of a bar in a drummer's terms: the count, and `e`, `&`, `a` for the sixteenths of a quarter, or the note
/// of the group and its second half. Otherwise ticks.
fn count(bar: Bar, tick: Ticks) -> String {
    let at = tick - bar.start;
    let counts = bar.meter.counts();
    let i = counts.iter().rposition(|c| c.start <= at).unwrap_or(0);
    let (number, rest) = (i + 1, at - counts[i].start);
    let parts: &[&str] = match counts[i].units {
        3 => &["", "&", ".2", ".2&", ".3", ".3&"],
        _ => &["", "e", "&", "a"],
    };
    let step = counts[i].len / Ticks::try_from(parts.len()).unwrap_or(1);
    let nearest = usize::try_from((rest + step / 2) / step).unwrap_or(0);
    let nearest = nearest.min(parts.len() - 1);
    let off = rest - step * Ticks::try_from(nearest).unwrap_or(0);
    if off == 0 {
        format!("{number}{}", parts[nearest])
    } else {
        format!("{number}{} {off:+} ticks", parts[nearest])
    }
}
