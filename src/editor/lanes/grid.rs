//! The places that strokes are put on: sixteenths, or three to a count where the beat is felt so.

use crate::groove::beat::Feel;
use crate::time::place::named;
use crate::time::{Bar, TICKS_PER_QUARTER, Ticks};

/// The places of bars that follow each other, in ticks of the song, in order.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Grid(Vec<Ticks>);

impl Grid {
    /// The grid of bars, each with how its beat is felt.
    pub(super) fn of(bars: impl IntoIterator<Item = (Bar, Feel)>) -> Self {
        Self(
            bars.into_iter()
                .flat_map(|(bar, feel)| places(bar, feel))
                .collect(),
        )
    }

    /// The place nearest to a tick.
    pub(super) fn nearest(&self, tick: Ticks) -> Option<Ticks> {
        let distance = |place: &&Ticks| (**place - tick).abs();
        self.0.iter().min_by_key(distance).copied()
    }

    /// The place after a tick, or the one before it.
    pub(super) fn next(&self, tick: Ticks, forward: bool) -> Option<Ticks> {
        if forward {
            self.0.iter().find(|place| **place > tick).copied()
        } else {
            self.0.iter().rfind(|place| **place < tick).copied()
        }
    }

    /// The first place.
    pub(super) fn first(&self) -> Option<Ticks> {
        self.0.first().copied()
    }
}

/// The places of a bar, in ticks of the song.
fn places(bar: Bar, feel: Feel) -> Vec<Ticks> {
    let counts = bar.meter.counts().into_iter();
    let of_count = counts.flat_map(|count| {
        let (mut parts, widest) = match feel {
            Feel::Straight => (Ticks::from(count.units) * 2, TICKS_PER_QUARTER / 4),
            Feel::Triplets => (3, TICKS_PER_QUARTER / 3),
        };
        while count.len / parts > widest {
            parts *= 2;
        }
        (0..parts).map(move |part| bar.start + count.start + count.len * part / parts)
    });
    of_count.collect()
}

/// The tick of a place of a bar that was typed as it is counted, "2 and", or as a decimal number of counts, "2.25".
pub(super) fn parse(bar: Bar, typed: &str) -> Option<Ticks> {
    let typed = typed.trim().replace('&', "and");
    let words: Vec<&str> = typed.split_whitespace().collect();
    let typed = words.join(" ");
    let all = [Feel::Straight, Feel::Triplets];
    let all = all.into_iter().flat_map(|feel| places(bar, feel));
    let mut named = all.filter_map(|tick| Some((tick, named(bar, tick)?)));
    if let Some((tick, _)) = named.find(|(_, name)| *name == typed) {
        return Some(tick);
    }
    let number: f64 = typed.parse().ok()?;
    let counts = bar.meter.counts();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let count = counts.get((number.max(0.0) as usize).checked_sub(1)?)?;
    #[expect(clippy::cast_possible_truncation)]
    let into = (number.fract() * count.len as f64).round() as Ticks;
    Some(bar.start + count.start + into)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bar(meter: &str) -> Bar {
        Bar {
            start: 7680,
            meter: meter.parse().unwrap(),
        }
    }

    #[test]
    fn a_grid_has_sixteenths_or_three_to_a_count() {
        for (meter, feel, each) in [
            ("4/4", Feel::Straight, 240),
            ("4/4", Feel::Triplets, 320),
            ("6/8", Feel::Straight, 240),
            ("6/8", Feel::Triplets, 240),
            ("7/8", Feel::Straight, 240),
            ("3/2", Feel::Straight, 240),
        ] {
            let places = places(bar(meter), feel);
            let steps: Vec<_> = places.windows(2).map(|pair| pair[1] - pair[0]).collect();
            assert!(steps.iter().all(|step| *step == each), "{meter} {steps:?}");
            assert_eq!(places[0], 7680);
            assert_eq!(
                *places.last().unwrap() + each,
                bar(meter).end(),
                "{meter}: up to its end"
            );
        }
    }

    #[test]
    fn places_follow_each_other_over_the_bar_line() {
        let first = bar("4/4");
        let second = Bar {
            start: first.end(),
            ..bar("3/4")
        };
        let grid = Grid::of([(first, Feel::Straight), (second, Feel::Triplets)]);
        assert_eq!(grid.next(first.end() - 240, true), Some(first.end()));
        assert_eq!(grid.next(first.end(), true), Some(first.end() + 320));
        assert_eq!(grid.next(first.end(), false), Some(first.end() - 240));
        assert_eq!(grid.next(first.start, false), None);
        assert_eq!(grid.nearest(first.start + 130), Some(first.start + 240));
        assert_eq!(grid.nearest(0), grid.first());
    }

    #[test]
    fn a_place_is_typed_as_it_is_counted() {
        let four = bar("4/4");
        for (typed, at) in [
            ("1", 0),
            ("2 and", 1440),
            ("2&", 1440),
            (" 4  a ", 3600),
            ("1 trip", 320),
            ("3 let", 2560),
            ("2.25", 1200),
        ] {
            let typed_well = typed.replace('&', " &");
            assert_eq!(parse(four, &typed_well), Some(7680 + at), "{typed}");
        }
        for nonsense in ["", "9", "0", "2 und", "-1"] {
            assert_eq!(parse(four, nonsense), None, "{nonsense}");
        }
    }
}
