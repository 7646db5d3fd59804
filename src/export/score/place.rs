//! Where strokes are written: their place on the grid as it is, or the nearest that can be read.
//!
//! What the drummer composes lies on values and triplets, and is written where it is. A riff without a grid and a
//! section edited by hand may lie anywhere; then the count takes the grid that fits its strokes best.

use super::spell::is_of_threes;
use crate::time::{Bar, Count, TICKS_PER_QUARTER, Ticks};

/// Grids of a count of two, as parts of the count, and what each costs: the finer, the more.
const OF_TWO: [(Ticks, f64); 6] = [(2, 0.0), (4, 0.1), (3, 0.2), (6, 0.5), (8, 0.6), (12, 0.9)];
/// Grids of a count of three.
const OF_THREE: [(Ticks, f64); 4] = [(3, 0.0), (6, 0.1), (4, 0.6), (12, 0.6)];

/// A stroke that lies so close before a bar line, in ticks, and on no value, is meant as the 1: a thirty-second. Judged.
const MEANT_AS_THE_1: Ticks = TICKS_PER_QUARTER / 8;

/// Whether a place in a count can be written as it is.
fn is_exact(count: Count, at: Ticks) -> bool {
    let from = at - count.start;
    // A sixty-fourth, and the triplets of thirty-seconds; in a count of three, four in its place.
    let plain = from % (TICKS_PER_QUARTER / 16) == 0;
    let finest = if is_of_threes(count.len) { 16 } else { 24 };
    plain || (count.len % finest == 0 && from % (count.len / finest) == 0)
}

/// The place of a stroke in its bar and whether it is meant as the 1 of the next, where `at` is in ticks from the bar's
/// start.
pub(super) fn is_of_next_bar(bar: Bar, at: Ticks) -> bool {
    let length = bar.meter.bar_len();
    let counts = bar.meter.counts();
    let count = counts.iter().rev().find(|count| count.start <= at);
    length - at < MEANT_AS_THE_1 && count.is_some_and(|count| !is_exact(*count, at))
}

/// The places of the strokes of one voice of a bar, in ticks from its start, ascending: each as it is written.
pub(super) fn places(bar: Bar, onsets: &[Ticks]) -> Vec<Ticks> {
    let mut placed = Vec::with_capacity(onsets.len());
    for count in bar.meter.counts() {
        let inside = |at: &&Ticks| (count.start..count.start + count.len).contains(*at);
        let here: Vec<Ticks> = onsets.iter().filter(inside).copied().collect();
        if here.iter().all(|at| is_exact(count, *at)) && is_one_grid(count, &here) {
            placed.extend(here);
        } else {
            placed.extend(nearest(count, &here, bar.meter.bar_len()));
        }
    }
    placed
}

/// Whether the places of a count lie on plain values, or on those of one tuplet, or do so in each of its parts.
fn is_one_grid(count: Count, onsets: &[Ticks]) -> bool {
    let from = |at: &Ticks| at - count.start;
    let plain = |at: &Ticks| from(at) % (TICKS_PER_QUARTER / 16) == 0;
    let finest = if is_of_threes(count.len) { 16 } else { 24 };
    let tuplet = |at: &Ticks| count.len % finest == 0 && from(at) % (count.len / finest) == 0;
    if onsets.iter().all(plain) || onsets.iter().all(tuplet) {
        return true;
    }
    let parts = if is_of_threes(count.len) { 3 } else { 2 };
    let length = count.len / parts;
    length >= TICKS_PER_QUARTER / 4
        && (0..parts).all(|part| {
            let start = count.start + part * length;
            let part = Count {
                start,
                len: length,
                units: 2,
            };
            let inside = |at: &&Ticks| (start..start + length).contains(*at);
            let here: Vec<Ticks> = onsets.iter().filter(inside).copied().collect();
            is_one_grid(part, &here)
        })
}

/// The nearest places of the grid that fits best.
fn nearest(count: Count, onsets: &[Ticks], bar_len: Ticks) -> Vec<Ticks> {
    let grids: &[(Ticks, f64)] = if is_of_threes(count.len) {
        &OF_THREE
    } else {
        &OF_TWO
    };
    let on = |parts: Ticks| -> Vec<Ticks> {
        let step = count.len / parts;
        let snap = |at: &Ticks| {
            let steps = (at - count.start + step / 2) / step;
            // The 1 of the next bar is not in this one.
            let last = if count.start + count.len == bar_len {
                parts - 1
            } else {
                parts
            };
            count.start + steps.min(last) * step
        };
        onsets.iter().map(snap).collect()
    };
    let cost = |(parts, cost): &(Ticks, f64)| {
        let snapped = on(*parts);
        let unit = count.len as f64 / 16.0;
        let error: f64 = snapped
            .iter()
            .zip(onsets)
            .map(|(to, at)| ((to - at) as f64 / unit).powi(2))
            .sum();
        let together = snapped.windows(2).zip(onsets.windows(2));
        let together = together
            .filter(|(to, at)| to[0] == to[1] && at[0] != at[1])
            .count();
        cost + error / onsets.len().max(1) as f64 + together as f64 * 0.5
    };
    let fits = grids.iter().filter(|(parts, _)| count.len % parts == 0);
    let best = fits.min_by(|a, b| cost(a).total_cmp(&cost(b)));
    best.map_or_else(|| onsets.to_vec(), |(parts, _)| on(*parts))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::time::Meter;

    const BAR: Bar = Bar {
        start: 0,
        meter: Meter::FOUR_FOUR,
    };

    #[test]
    fn what_lies_on_a_grid_stays() {
        for onsets in [
            vec![0, 240, 480, 720],
            vec![0, 320, 640, 960, 1120, 1280],
            vec![0, 480, 640, 800],
            vec![3780],
        ] {
            assert_eq!(places(BAR, &onsets), onsets);
            assert!(onsets.iter().all(|at| !is_of_next_bar(BAR, *at)));
        }
    }

    #[test]
    fn what_lies_beside_goes_to_what_fits() {
        for (played, written) in [
            (vec![7, 233, 495, 711], vec![0, 240, 480, 720]),
            (vec![5, 331, 629], vec![0, 320, 640]),
            (vec![0, 949], vec![0, 960]),
        ] {
            assert_eq!(places(BAR, &played), written);
        }
        assert!(is_of_next_bar(BAR, 3827) && !is_of_next_bar(BAR, 3600));
    }
}
