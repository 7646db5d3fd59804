//! Bars as text that a drummer can read: one line for each piece, one column for each step.
//!
//! `x` is a cymbal, `o` a drum, in capitals where accented; `,` a ghost note, `f` a flam, `d` a drag, `-` a rest,
//! `|` a count. This is the established plain-text notation for drum parts. Above them, `^` is a short hit of the band
//! and `>` a long one.

pub mod read;

use crate::groove::{Hit, Limb, Origin};
use crate::kit::{Piece, Ring};
use crate::song::Timeline;
use crate::time::{Bar, Count, Ticks};
use std::fmt::Write as _;
use std::ops::Range;

/// What else stands below each bar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Also {
    /// Lines that say which hand and which foot strikes: `R`, `L`, `B` for both.
    pub stickings: bool,
    /// A line that says how hard the hardest stroke of a column is, 1 to 9.
    pub dynamics: bool,
}

/// A whole song's hits, section by section. A bar that repeats an earlier bar of its section is not written again.
pub fn chart(song: &Timeline, hits: &[Hit]) -> String {
    chart_of(song, hits, &(0..song.end()), Also::default())
}

/// The same for a part of a song, which begins and ends with a bar, and with what else is asked for. The hits are in order
/// of time.
pub fn chart_of(song: &Timeline, hits: &[Hit], span: &Range<Ticks>, also: Also) -> String {
    let mut text = format!("{}\n", song.title());
    let _ = writeln!(
        text,
        "x cymbal, o drum, capitals accented, , ghost note, f flam, d drag, | count"
    );
    if also.stickings {
        let _ = writeln!(text, "R lead hand or foot, L the other, B both");
    }
    if also.dynamics {
        let _ = writeln!(text, "dynamics: 1 soft to 9 hard");
    }
    let names = song.markers().map(|(_, name)| name).collect::<Vec<_>>();
    let mut last = None;
    let mut section: Vec<(usize, String)> = Vec::new();
    for (i, &bar) in song
        .bars()
        .iter()
        .enumerate()
        .filter(|(_, bar)| span.contains(&bar.start))
    {
        let here = song.section_at(bar.start);
        if let Some(now) = here.filter(|_| here != last) {
            let (name, bpm) = (names[now], song.tempo().bpm_at(bar.start));
            let _ = write!(text, "\n== {name}: {}, {bpm} BPM ==\n", bar.meter);
            section.clear();
        }
        last = here;
        // Hits are in order of time, and stray from the grid by less than a bar.
        let near = |tick: Ticks| hits.partition_point(|hit| hit.tick < tick);
        let length = bar.meter.bar_len();
        let hits = &hits[near(bar.start - length)..near(bar.end() + length)];
        let written = bar_with(bar, hits, also);
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
    bar_with(bar, hits, Also::default())
}

fn bar_with(bar: Bar, hits: &[Hit], also: Also) -> String {
    let hits: Vec<_> = hits
        .iter()
        .filter(|hit| (bar.start..bar.end()).contains(&hit.grid))
        .collect();
    let counts = bar.meter.counts();
    let step = finest(&counts, bar.start, &hits);
    let mut text = String::new();
    let _ = writeln!(text, "{:<14} {}", "", ruler(&counts, step));
    let places = Places {
        bar,
        counts: &counts,
        step,
        hits: &hits,
    };
    if hits.iter().any(|hit| hit.origin == Origin::Stab) {
        places.row(&mut text, "hits", band);
    }
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
    if also.stickings {
        places.row(&mut text, "hands", |hits| {
            side(hits, Limb::LeadHand, Limb::OtherHand)
        });
        places.row(&mut text, "feet", |hits| {
            side(hits, Limb::LeadFoot, Limb::OtherFoot)
        });
    }
    if also.dynamics {
        places.row(&mut text, "dynamics", |hits| {
            let hardest = hits.iter().map(|hit| hit.velocity).max();
            hardest.map_or('-', |velocity| char::from(b'1' + velocity.min(127) / 15))
        });
    }
    text
}

/// The columns of a bar, with what is struck in it.
struct Places<'a> {
    bar: Bar,
    counts: &'a [Count],
    step: Ticks,
    hits: &'a [&'a Hit],
}

impl Places<'_> {
    /// Writes a line with a letter for each column, from what is struck there.
    fn row(&self, text: &mut String, name: &str, letter: impl Fn(&[&Hit]) -> char) {
        let _ = write!(text, "{name:<14} ");
        for count in self.counts {
            text.push('|');
            for i in 0..(count.len / self.step).max(1) {
                let from = self.bar.start + count.start + i * self.step;
                let inside = from..from + self.step;
                let here = |hit: &&&Hit| inside.contains(&hit.grid) && !hit.grace;
                let here: Vec<&Hit> = self.hits.iter().filter(here).copied().collect();
                text.push(letter(&here));
            }
        }
        text.push_str("|\n");
    }
}

/// A hit of the band, short or long.
fn band(hits: &[&Hit]) -> char {
    let stabs = || hits.iter().filter(|hit| hit.origin == Origin::Stab);
    if stabs().any(|hit| hit.ring == Ring::Grabbed) {
        '^'
    } else if stabs().next().is_some() {
        '>'
    } else {
        '-'
    }
}

/// Which of two limbs strikes.
fn side(hits: &[&Hit], lead: Limb, other: Limb) -> char {
    let is = |limb| hits.iter().any(|hit| hit.limb == limb);
    match (is(lead), is(other)) {
        (true, true) => 'B',
        (true, false) => 'R',
        (false, true) => 'L',
        (false, false) => '-',
    }
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

/// The finest step, in ticks.
const FINEST: Ticks = 20;

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
                    // Between the places of the finest grid it stands at the one before.
                    let after = |count: &Count| (tick - start - count.start) / FINEST * FINEST;
                    count.is_some_and(|count| after(count) % step == 0)
                })
        })
        .unwrap_or(FINEST)
}

fn ruler(counts: &[Count], step: Ticks) -> String {
    let mut text = String::new();
    for (i, count) in counts.iter().enumerate() {
        let columns = usize::try_from((count.len / step).max(1)).unwrap_or(1);
        let _ = write!(text, " {:<columns$}", i + 1);
    }
    text
}
