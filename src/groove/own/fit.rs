//! How the counts of an own beat fit a bar of another meter: whole counts are left out or repeated.
//!
//! The vocabulary's roles say where a backbeat lies in every meter. An own beat says only where its strokes lay in its own
//! meter, so its counts are matched with the counts of the other bar by what they carry: see [`Anchor`]. Judged, after
//! what the vocabulary does: in 5/4 a backbeat stays on 2 and 5, a half-time snare on 4.

use crate::time::meter::{Counts, MAX_NUMERATOR};
use crate::time::{Count, Meter, Ticks};

/// What a beat's counts hang on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// Its snare stands on the backbeats: strong counts become strong counts, backbeats become backbeats, and a count that
    /// is neither repeats the one before.
    Back,
    /// Its snare stands on the half-time count: so it does in the other bar, and counts before and after it are left out or
    /// repeated.
    Middle,
    /// Neither: its counts follow each other, and begin again where the other bar is longer.
    Row,
}

/// A place in an own beat.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Place {
    /// The beat's own meter.
    pub meter: Meter,
    /// What its counts hang on.
    pub anchor: Anchor,
    /// The count, from 0.
    pub count: u8,
    /// Ticks after it.
    pub at: u16,
}

/// For each count of a bar the count of the beat that it plays, from 0.
pub(in super::super) type Fit = [u8; MAX_NUMERATOR as usize];

/// Fits a beat of one meter to a bar of another.
pub(in super::super) fn fit(own: Meter, anchor: Anchor, bar: Meter) -> Fit {
    let mut fit = [0; MAX_NUMERATOR as usize];
    let (of, counts) = (own.counts(), bar.counts());
    let of_last = of.len().saturating_sub(1);
    if own == bar {
        anchor_row(&mut fit, counts.len(), of.len());
        return fit;
    }
    match anchor {
        Anchor::Row => anchor_row(&mut fit, counts.len(), of.len()),
        Anchor::Middle => {
            let (middle_of, middle) = (of.len().div_ceil(2), counts.len().div_ceil(2));
            for (i, to) in fit.iter_mut().enumerate().take(counts.len()) {
                let count = if i < middle {
                    i.min(middle_of.saturating_sub(1))
                } else {
                    (middle_of + i - middle).min(of_last)
                };
                *to = small(count);
            }
        }
        Anchor::Back => {
            let (own_strong, own_back) = places(own, &of);
            let (strong, back) = places(bar, &counts);
            let mut before = 0;
            for (i, to) in fit.iter_mut().enumerate().take(counts.len()) {
                let nth = |among: &[bool; MAX_NUMERATOR as usize]| {
                    among
                        .get(..i)
                        .unwrap_or_default()
                        .iter()
                        .filter(|is| **is)
                        .count()
                };
                let has = |among: &[bool; MAX_NUMERATOR as usize]| {
                    among.get(i).copied().unwrap_or_default()
                };
                let count = if has(&back) {
                    nth_of(&own_back, nth(&back))
                } else if has(&strong) {
                    nth_of(&own_strong, nth(&strong))
                } else {
                    None
                };
                before = count.unwrap_or(before);
                *to = small(before);
            }
        }
    }
    fit
}

fn anchor_row(fit: &mut Fit, counts: usize, of: usize) {
    for (i, to) in fit.iter_mut().enumerate().take(counts) {
        *to = small(i % of.max(1));
    }
}

fn small(count: usize) -> u8 {
    u8::try_from(count).unwrap_or_default()
}

/// Which counts are strong, and which are backbeats.
fn places(
    meter: Meter,
    counts: &Counts,
) -> (
    [bool; MAX_NUMERATOR as usize],
    [bool; MAX_NUMERATOR as usize],
) {
    let (strong, back) = meter.pairs();
    let mut is = [[false; MAX_NUMERATOR as usize]; 2];
    for (i, count) in counts.iter().enumerate() {
        for (is, pulses) in is.iter_mut().zip([&strong, &back]) {
            if let Some(is) = is.get_mut(i) {
                *is = pulses.iter().any(|pulse| pulse.start == count.start);
            }
        }
    }
    let [strong, back] = is;
    (strong, back)
}

/// The place of the nth that is set, going round; `None` where none is.
fn nth_of(among: &[bool], nth: usize) -> Option<usize> {
    let all = among.iter().filter(|is| **is).count();
    let set = |(i, is): (usize, &bool)| is.then_some(i);
    let nth = nth.checked_rem(all)?;
    among.iter().enumerate().filter_map(set).nth(nth)
}

/// Whether a bar has counts of two units and of three.
fn is_mixed(counts: &Counts) -> bool {
    let long = |count: &Count| count.units == 3;
    counts.iter().any(long) && !counts.iter().all(long)
}

/// Yields the ticks of a place in a bar with these counts, in order.
pub(in super::super) fn each_tick(
    place: Place,
    fit: &Fit,
    counts: &Counts,
    mut tick: impl FnMut(Ticks),
) {
    let of = place.meter.counts();
    let Some(own) = of.get(usize::from(place.count)) else {
        return;
    };
    let (own_mixed, mixed) = (is_mixed(&of), is_mixed(counts));
    let at = Ticks::from(place.at);
    for (count, &plays) in counts.iter().zip(fit) {
        if plays == place.count {
            if let Some(within) = within(own, own_mixed, count, mixed, at) {
                tick(count.start + within);
            }
        } else if mixed
            && count.units == 3
            && own.units == 2
            && plays + 1 == place.count
            && at < own.unit()
        {
            // The long count of 7/8 is a count and a half: the half begins the beat's next one.
            tick(count.start + 2 * count.unit() + at * count.unit() / own.unit());
        }
    }
}

/// Where a place in a count comes to lie in another one; `None` where that has no room for it.
fn within(own: &Count, own_mixed: bool, count: &Count, mixed: bool, at: Ticks) -> Option<Ticks> {
    let (from, to) = (own.unit(), count.unit());
    Some(match (own.units, count.units) {
        (2, 3) if mixed => at * to / from,
        // As it is spoken: e, and, a. Triplets become units.
        (2, 3) if at * 3 % own.len != 0 => {
            let half = from / 2;
            if at <= half {
                at * to / from
            } else if at <= from {
                to / 2 + (at - half) * 3 * to / from
            } else {
                2 * to + (at - from) * to / from
            }
        }
        (3, 2) if own_mixed => {
            if at >= 2 * from {
                return None;
            }
            at * to / from
        }
        _ => at * count.len / own.len,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fitted(own: &str, anchor: Anchor, bar: &str) -> Vec<u8> {
        let bar: Meter = bar.parse().unwrap();
        let fit = fit(own.parse().unwrap(), anchor, bar);
        // As people count, from 1.
        fit[..bar.counts().len()].iter().map(|c| c + 1).collect()
    }

    #[test]
    fn whole_counts_are_left_out_or_repeated() {
        use Anchor::{Back, Middle, Row};
        for (anchor, bar, counts) in [
            (Back, "4/4", vec![1, 2, 3, 4]),
            (Back, "3/4", vec![1, 1, 2]),
            (Back, "5/4", vec![1, 2, 3, 3, 4]),
            (Back, "6/4", vec![1, 2, 3, 4, 1, 2]),
            (Back, "6/8", vec![1, 2]),
            (Back, "12/8", vec![1, 2, 3, 4]),
            (Back, "7/8", vec![1, 2, 3]),
            (Back, "1/4", vec![1]),
            (Middle, "3/4", vec![1, 2, 3]),
            (Middle, "5/4", vec![1, 2, 2, 3, 4]),
            (Middle, "7/4", vec![1, 2, 2, 2, 3, 4, 4]),
            (Middle, "6/8", vec![1, 3]),
            (Row, "3/4", vec![1, 2, 3]),
            (Row, "5/4", vec![1, 2, 3, 4, 1]),
            (Row, "2/4", vec![1, 2]),
        ] {
            assert_eq!(fitted("4/4", anchor, bar), counts, "{anchor:?} in {bar}");
        }
        assert_eq!(fitted("7/8", Back, "4/4"), [1, 2, 3, 2]);
        assert_eq!(fitted("3/4", Row, "4/4"), [1, 2, 3, 1]);
    }

    fn ticks(own: &str, (count, at): (u8, u16), bar: &str) -> Vec<Ticks> {
        let (meter, bar): (Meter, Meter) = (own.parse().unwrap(), bar.parse().unwrap());
        let anchor = Anchor::Back;
        let place = Place {
            meter,
            anchor,
            count: count - 1,
            at,
        };
        let mut found = Vec::new();
        each_tick(place, &fit(meter, anchor, bar), &bar.counts(), |tick| {
            found.push(tick);
        });
        found
    }

    #[test]
    fn places_within_a_count_are_as_they_are_spoken() {
        // 1 e, and, a in 6/8: the half of the first eighth, the last eighth, its half.
        assert_eq!(ticks("4/4", (1, 240), "6/8"), [240]);
        assert_eq!(ticks("4/4", (1, 480), "6/8"), [960]);
        assert_eq!(ticks("4/4", (1, 720), "6/8"), [1200]);
        // Triplets become eighths, and eighths of 6/8 triplets.
        assert_eq!(ticks("4/4", (1, 320), "6/8"), [480]);
        assert_eq!(ticks("6/8", (1, 960), "4/4"), [640, 2560]);
        // Of 7/8 the last eighth begins count 4.
        assert_eq!(ticks("4/4", (4, 0), "7/8"), [2880]);
        assert_eq!(ticks("4/4", (4, 480), "7/8"), [0; 0]);
        assert_eq!(ticks("4/4", (3, 480), "7/8"), [2400]);
        // And back: the third eighth of the long count has no room in a quarter.
        assert_eq!(ticks("7/8", (3, 960), "4/4"), [0; 0]);
        assert_eq!(ticks("4/4", (2, 720), "2/2"), [1920 + 1440]);
    }
}
