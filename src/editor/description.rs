//! The bar in words, for whoever can't see it and for the pointer's tooltip.

use crate::groove::{Hit, Limb};
use crate::time::{Bar, Ticks};
use std::fmt::Write as _;

/// A place in a bar as a drummer counts it: "2", "2 and", "2 a", "2 trip"; where there is no word
/// for it, as a decimal fraction of the count.
pub fn place(bar: Bar, tick: Ticks) -> String {
    let at = tick - bar.start;
    let counts = bar.meter.counts();
    let Some(i) = counts.iter().rposition(|count| count.start <= at) else {
        return String::new();
    };
    let count = counts[i];
    let (number, offset) = (i + 1, at - count.start);
    let is = |numerator: Ticks, denominator: Ticks| offset * denominator == count.len * numerator;
    let word = if offset == 0 {
        return number.to_string();
    } else if is(1, 3) {
        "trip"
    } else if is(2, 3) {
        "let"
    } else if count.units == 2 && is(1, 4) {
        "e"
    } else if count.units == 2 && is(1, 2) {
        "and"
    } else if count.units == 2 && is(3, 4) {
        "a"
    } else {
        return format!("{:.2}", number as f64 + offset as f64 / count.len as f64);
    };
    format!("{number} {word}")
}

/// One stroke: "snare on 2, velocity 118".
pub fn stroke(bar: Bar, hit: &Hit) -> String {
    let place = place(bar, hit.grid);
    format!("{} on {place}, velocity {}", hit.piece.name(), hit.velocity)
}

/// One stroke with its limb: "other hand: snare on 2, velocity 118".
pub fn stroke_of_limb(bar: Bar, hit: &Hit) -> String {
    format!("{}: {}", hit.limb.name(), stroke(bar, hit))
}

/// The same with the number of its bar: "bar 3, other hand: snare on 2, velocity 118".
pub fn in_bar(number: i64, what: &str) -> String {
    format!("bar {number}, {what}")
}

/// A stroke that the player's limits took away: "beyond this player: kick on 2 e".
pub fn beyond(bar: Bar, hit: &Hit) -> String {
    format!(
        "beyond this player: {} on {}",
        hit.piece.name(),
        place(bar, hit.grid)
    )
}

/// What a limb does in a bar: "lead hand: crash right on 1; ride on 2, 3, 4".
pub fn lane(bar: Bar, limb: Limb, hits: &[Hit]) -> String {
    let mut text = limb.name().to_owned();
    let mut last = None;
    for hit in hits.iter().filter(|hit| hit.limb == limb) {
        let place = place(bar, hit.grid);
        let _ = match last {
            None => write!(text, ": {} on {place}", hit.piece.name()),
            Some(piece) if piece == hit.piece => write!(text, ", {place}"),
            Some(_) => write!(text, "; {} on {place}", hit.piece.name()),
        };
        last = Some(hit.piece);
    }
    if last.is_none() {
        text.push_str(": rests");
    }
    text
}
