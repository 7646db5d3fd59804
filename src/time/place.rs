//! The places of a bar as a drummer counts them: "2", "2 e", "2 and", "2 a", "2 trip", "2 let".

use super::{Bar, Count, Ticks};

/// The parts of a count of two units, each with its sixteenths in the fraction of a count.
const SIMPLE: [&str; 4] = ["", " e", " and", " a"];
/// The parts of a count of three units: its units and their halves.
const COMPOUND: [&str; 6] = ["", " and", " trip", " trip and", " let", " let and"];

/// The count that a tick falls in, its number from 1, and the ticks since it began. `None` before the bar.
fn count(bar: Bar, tick: Ticks) -> Option<(usize, Count, Ticks)> {
    let at = tick - bar.start;
    let counts = bar.meter.counts();
    let i = counts.iter().rposition(|count| count.start <= at)?;
    let count = *counts.get(i)?;
    Some((i + 1, count, at - count.start))
}

fn parts(count: Count) -> &'static [&'static str] {
    match count.units {
        3 => &COMPOUND,
        _ => &SIMPLE,
    }
}

/// The name of a place; `None` where it has none.
pub fn named(bar: Bar, tick: Ticks) -> Option<String> {
    let (number, count, offset) = count(bar, tick)?;
    let is = |numerator: Ticks, denominator: Ticks| offset * denominator == count.len * numerator;
    let parts = parts(count);
    let of = Ticks::try_from(parts.len()).unwrap_or(1);
    let part = (0..of).zip(parts).find(|(i, _)| is(*i, of));
    let word = match part {
        Some((_, word)) => word,
        None if is(1, 3) => " trip",
        None if is(2, 3) => " let",
        None => return None,
    };
    Some(format!("{number}{word}"))
}

/// The name of a place, or of the nearest one on the grid of sixteenths and how many ticks it is off: "2 e +7 ticks".
pub fn nearest(bar: Bar, tick: Ticks) -> String {
    if let Some(name) = named(bar, tick) {
        return name;
    }
    let Some((number, count, offset)) = count(bar, tick) else {
        return format!("{:+} ticks", tick - bar.start);
    };
    let parts = parts(count);
    let last = parts.len() - 1;
    let step = count.len / Ticks::try_from(parts.len()).unwrap_or(1);
    let part = usize::try_from((offset + step / 2) / step).map_or(last, |part| part.min(last));
    let off = offset - step * Ticks::try_from(part).unwrap_or(0);
    format!("{number}{} {off:+} ticks", parts[part])
}

/// The name of a place, or its count as a decimal number: "2.12".
pub fn counted(bar: Bar, tick: Ticks) -> String {
    named(bar, tick).unwrap_or_else(|| {
        count(bar, tick).map_or_else(String::new, |(number, count, offset)| {
            format!("{:.2}", number as f64 + offset as f64 / count.len as f64)
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_named_as_they_are_counted() {
        // meter, tick, on the grid of sixteenths, as a decimal
        for (meter, at, by_ticks, by_decimals) in [
            ("4/4", 0, "1", "1"),
            ("4/4", 960 + 240, "2 e", "2 e"),
            ("4/4", 960 + 480, "2 and", "2 and"),
            ("4/4", 720, "1 a", "1 a"),
            ("4/4", 320, "1 trip", "1 trip"),
            ("4/4", 2880 + 640, "4 let", "4 let"),
            ("4/4", 120, "1 e -120 ticks", "1.12"),
            ("4/4", 3840 - 7, "4 a +233 ticks", "4.99"),
            ("6/8", 1440 + 480, "2 trip", "2 trip"),
            ("6/8", 240, "1 and", "1 and"),
            ("6/8", 720 + 3, "1 trip and +3 ticks", "1.50"),
            ("7/8", 4 * 480, "3", "3"),
            ("7/8", 5 * 480, "3 trip", "3 trip"),
        ] {
            let start = 7 * 3840;
            let bar = Bar {
                start,
                meter: meter.parse().unwrap(),
            };
            assert_eq!(nearest(bar, start + at), by_ticks, "{meter} {at}");
            assert_eq!(counted(bar, start + at), by_decimals, "{meter} {at}");
        }
    }
}
