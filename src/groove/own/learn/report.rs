//! What was understood how, and what was not.

use std::fmt;

/// What was understood how, and what was left out.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Report {
    /// The bars of the cycle.
    pub cycle: usize,
    /// How often the cycle was heard, whole.
    pub repetitions: usize,
    /// Bars that were read as fills and left out, from 1 among those that were heard.
    pub fills: Vec<usize>,
    /// Bars in another meter than the others, left out, from 1.
    pub other_meters: Vec<usize>,
    /// Grace notes that were left out: flams and drags.
    pub graces: usize,
    /// Strokes that double another on the same piece and count with it.
    pub doubled: usize,
    /// Strokes that lie between the places of the grid, and were moved there.
    pub between: usize,
    /// Strokes of the sticks, which count in and play no beat.
    pub sticks: usize,
    /// Strokes outside of the bars.
    pub outside: usize,
    /// Crashes in the riding hand's place, which the drummer places himself.
    pub openings: usize,
}

impl fmt::Display for Report {
    /// One line for each thing.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "a cycle of {}, heard {}",
            plural(self.cycle, "bar"),
            match self.repetitions {
                1 => "once: all of it is the core".to_owned(),
                n => format!("{n} times"),
            }
        )?;
        if !self.fills.is_empty() {
            let bars = numbers(&self.fills);
            writeln!(f, "{bars}: read as a fill and left out")?;
        }
        if !self.other_meters.is_empty() {
            let bars = numbers(&self.other_meters);
            writeln!(f, "{bars}: in another meter than the rest and left out")?;
        }
        if self.openings > 0 {
            writeln!(
                f,
                "{} in the riding hand's place: the drummer places crashes himself",
                plural(self.openings, "crash")
            )?;
        }
        for (count, what, is) in [
            (
                self.graces,
                "grace note",
                "left out: the drummer adds flams and drags himself",
            ),
            (
                self.doubled,
                "stroke",
                "on a piece that is struck at that place already: counted with it",
            ),
            (
                self.between,
                "stroke",
                "between the places of the grid: moved to the nearest",
            ),
            (
                self.sticks,
                "stroke",
                "of the sticks left out: they count in",
            ),
            (self.outside, "stroke", "outside of the bars left out"),
        ] {
            if count > 0 {
                writeln!(f, "{} {is}", plural(count, what))?;
            }
        }
        Ok(())
    }
}

fn plural(count: usize, what: &str) -> String {
    match (count, what) {
        (1, what) => format!("1 {what}"),
        (n, "crash") => format!("{n} crashes"),
        (n, what) => format!("{n} {what}s"),
    }
}

fn numbers(bars: &[usize]) -> String {
    let all: Vec<_> = bars.iter().map(ToString::to_string).collect();
    let bar = if bars.len() == 1 { "bar" } else { "bars" };
    format!("{bar} {}", all.join(", "))
}
