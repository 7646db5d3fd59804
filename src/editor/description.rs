//! The bar in words, for whoever can't see it and for the pointer's tooltip.

use crate::groove::{Hit, Limb};
use crate::kit::{NoteMap, Piece};
use crate::time::Bar;
use crate::time::place::counted;
use crate::time::tempo::ticks_per_second;
use std::borrow::Cow;
use std::fmt::Write as _;

/// One stroke: "snare on 2, velocity 118".
pub fn stroke(bar: Bar, hit: &Hit) -> String {
    let place = counted(bar, hit.grid);
    format!("{} on {place}, velocity {}", hit.piece.name(), hit.velocity)
}

/// One stroke with all that is known of it, in lines: piece, count and velocity; its limb; how early or late it sounds; and
/// why it is there. `bpm` in quarter notes a minute.
pub fn whole(bar: Bar, hit: &Hit, bpm: f64) -> String {
    let late = hit.offset() as f64 / ticks_per_second(bpm) * 1000.0;
    let time = match late.round() {
        _ if hit.grace => "just before its main stroke".to_owned(),
        0.0 => "on the grid".to_owned(),
        ms if ms < 0.0 => format!("{:.0} ms early", -ms),
        ms => format!("{ms:.0} ms late"),
    };
    let why = hit.origin.reason();
    format!("{}\n{}, {time}\n{why}", stroke(bar, hit), hit.limb.name())
}

/// One stroke with its limb: "other hand: snare on 2, velocity 118".
pub fn stroke_of_limb(bar: Bar, hit: &Hit) -> String {
    format!("{}: {}", hit.limb.name(), stroke(bar, hit))
}

/// The same with the number of its bar: "bar 3, other hand: snare on 2, velocity 118".
pub fn in_bar(number: i64, what: &str) -> String {
    format!("bar {number}, {what}")
}

/// A stroke that the player's limits took away: "left out, too fast for these chops: kick on 2 e".
pub fn beyond(bar: Bar, hit: &Hit) -> String {
    format!(
        "left out, too fast for these chops: {} on {}",
        hit.piece.name(),
        counted(bar, hit.grid)
    )
}

/// A stroke of what is compared: "in the other one: kick on 2 e".
pub fn other(bar: Bar, hit: &Hit) -> String {
    let place = counted(bar, hit.grid);
    format!("in the other one: {} on {place}", hit.piece.name())
}

/// A piece, and what sounds where the sampler lacks it: "splash (plays crash left)".
pub fn sounding(piece: Piece, map: &NoteMap) -> Cow<'static, str> {
    match map.sounding(piece) {
        Some(sounds) if sounds == piece => piece.name().into(),
        Some(sounds) => format!("{} (plays {})", piece.name(), sounds.name()).into(),
        None => format!("{} (not sent)", piece.name()).into(),
    }
}

/// What a limb does in a bar: "lead hand: crash right on 1; ride on 2, 3, 4".
pub fn lane(bar: Bar, limb: Limb, hits: &[Hit], map: &NoteMap) -> String {
    let mut text = limb.name().to_owned();
    let mut last = None;
    for hit in hits.iter().filter(|hit| hit.limb == limb) {
        let place = counted(bar, hit.grid);
        let _ = match last {
            None => write!(text, ": {} on {place}", sounding(hit.piece, map)),
            Some(piece) if piece == hit.piece => write!(text, ", {place}"),
            Some(_) => write!(text, "; {} on {place}", sounding(hit.piece, map)),
        };
        last = Some(hit.piece);
    }
    if last.is_none() {
        text.push_str(": rests");
    }
    text
}
