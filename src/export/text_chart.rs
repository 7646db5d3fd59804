//! Bars as text that a drummer can read: one line for each piece, one column for each step.
//!
//! `x` is a cymbal, `o` a drum, in capitals where accented; `,` a ghost note, `f` a flam, `d` a drag, `-` a rest,
//! `|` a count. This is the established plain-text notation for drum parts.

use crate::groove::Hit;
use crate::kit::Piece;
use crate::song::Timeline;
use crate::time::{Bar, Count, Ticks};
use std::fmt::Write as _;

/// A whole song's hits, section by section. A bar that repeats an earlier bar of its section is not written again.
pub fn chart(song: &Timeline, hits: &[Hit]) -> String {
    let mut text = format!("{}\n", song.title());
    let _ = writeln!(
        text,
        "x cymbal, o drum, capitals accented, , ghost note, f flam, d drag, | count"
    );
    let mut markers = song.markers().peekable();
    let mut section: Vec<(usize, String)> = Vec::new();
    for (i, &bar) in song.bars().iter().enumerate() {
        if let Some((_, name)) = markers.next_if(|(at, _)| *at <= bar.start) {
            let bpm = song.tempo().bpm_at(bar.start);
            let _ = write!(text, "\n== {name}: {}, {bpm} BPM ==\n", bar.meter);
            section.clear();
        }
        let written = self::bar(bar, hits);
        let number = i + 1;
        if let Some((like, _)) = section.iter().find(|(_, earlier)| *earlier == written) {
            let _ = writeln!(text, "\nbar {number}: as bar {like}");
        } else {
            let _ = write!(text, "\nbar {number}\n{written}");
            section.push((number, written));
        }
    }
    text
}

/// Velocity from which a stroke is printed as an accent.
const ACCENT: u8 = 106;

/// One bar's hits as lines of text, cymbals on top and kick at the bottom.
pub fn bar(bar: Bar, hits: &[Hit]) -> String {
    let hits: Vec<_> = hits
        .iter()
        .filter(|hit| (bar.start..bar.end()).contains(&hit.grid))
        .collect();
    let counts = bar.meter.counts();
    let step = finest(&counts, bar.start, &hits);
    let mut text = String::new();
    let _ = writeln!(text, "{:<14} {}", "", ruler(&counts, step));
    for piece in STAVE {
        let strokes: Vec<_> = hits.iter().filter(|hit| hit.piece == piece).collect();
        if strokes.is_empty() {
            continue;
        }
        let _ = write!(text, "{:<14} ", piece.name());
        for count in &counts {
            text.push('|');
            for i in 0..(count.len / step).max(1) {
                let from = bar.start + count.start + i * step;
                let here = |hit: &&&&Hit| (from..from + step).contains(&hit.grid);
                let graces = strokes.iter().filter(here).filter(|hit| hit.grace).count();
                let hit = strokes.iter().filter(here).find(|hit| !hit.grace);
                text.push(match (hit, graces) {
                    (None, _) => '-',
                    (Some(hit), 0) => letter(hit),
                    (Some(_), 1) => 'f',
                    (Some(_), _) => 'd',
                });
            }
        }
        text.push_str("|\n");
    }
    text
}

/// Pieces from the top of the page to the bottom.
const STAVE: [Piece; Piece::COUNT] = [
    Piece::China,
    Piece::CrashLeft,
    Piece::CrashRight,
    Piece::Splash,
    Piece::RideBell,
    Piece::Ride,
    Piece::HiHatOpen,
    Piece::HiHatLoose,
    Piece::HiHatClosed,
    Piece::Sticks,
    Piece::SideStick,
    Piece::Snare,
    Piece::RackHigh,
    Piece::RackLow,
    Piece::FloorHigh,
    Piece::FloorLow,
    Piece::Kick,
    Piece::HiHatFoot,
];

fn letter(hit: &Hit) -> char {
    let drum = matches!(
        hit.piece,
        Piece::Kick
            | Piece::Snare
            | Piece::RackHigh
            | Piece::RackLow
            | Piece::FloorHigh
            | Piece::FloorLow
    );
    if hit.ghost {
        return ',';
    }
    match (hit.velocity, drum) {
        (ACCENT.., true) => 'O',
        (ACCENT.., false) => 'X',
        (_, true) => 'o',
        (_, false) => 'x',
    }
}

/// The coarsest step that shows every stroke in a column of its own.
fn finest(counts: &[Count], start: Ticks, hits: &[&Hit]) -> Ticks {
    // Sixteenths, triplets, their halves, and the coarsest that fits both.
    [240, 320, 120, 160, 80, 60, 40]
        .into_iter()
        .find(|step| {
            counts.iter().all(|count| count.len % step == 0)
                && hits.iter().all(|hit| {
                    let tick = hit.grid;
                    let count = counts
                        .iter()
                        .rev()
                        .find(|count| count.start <= tick - start);
                    count.is_some_and(|count| (tick - start - count.start) % step == 0)
                })
        })
        .unwrap_or(20)
}

fn ruler(counts: &[Count], step: Ticks) -> String {
    let mut text = String::new();
    for (i, count) in counts.iter().enumerate() {
        let columns = usize::try_from((count.len / step).max(1)).unwrap_or(1);
        let _ = write!(text, " {:<columns$}", i + 1);
    }
    text
}
