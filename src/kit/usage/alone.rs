//! What a key's own strokes say: how many, where, how loud, how regular.

use super::strokes::{Place, TOGETHER, Used, any_in};
use crate::time::{TICKS_PER_QUARTER, Ticks};
use std::collections::{BTreeMap, BTreeSet};

/// How many figures [`figures`] has.
pub(super) const ALONE: usize = 32;

/// Two gaps that differ by less are the same.
const SAME_GAP: Ticks = TICKS_PER_QUARTER / 8;

/// The whole region, for comparison.
pub(super) struct Whole {
    /// Strokes of all keys.
    strokes: f64,
    /// Of the most used key.
    most: f64,
    /// Bars in which anything sounds.
    bars: BTreeSet<i64>,
    velocity: (f64, f64),
    loudest: f64,
}

fn share(part: usize, whole: usize) -> f64 {
    part as f64 / whole.max(1) as f64
}

/// Mean and standard deviation.
fn spread(values: impl Iterator<Item = f64> + Clone) -> (f64, f64) {
    let n = values.clone().count().max(1) as f64;
    let mean = values.clone().sum::<f64>() / n;
    let square = values.map(|value| (value - mean).powi(2)).sum::<f64>() / n;
    (mean, square.sqrt())
}

impl Whole {
    /// Of these keys.
    pub(super) fn of(keys: &[Used]) -> Self {
        let all = || keys.iter().flat_map(|key| &key.strokes);
        let velocity = all().map(|stroke| stroke.velocity);
        let counts = keys.iter().map(|key| key.strokes.len());
        Self {
            strokes: all().count() as f64,
            most: counts.max().unwrap_or(0) as f64,
            bars: all().map(|stroke| stroke.bar).collect(),
            velocity: spread(velocity.clone()),
            loudest: velocity.fold(0.0, f64::max),
        }
    }
}

/// The figures of one key among all keys of its region. NaN where there is nothing to measure.
pub(super) fn figures(key: usize, keys: &[Used], whole: &Whole) -> [f64; ALONE] {
    let strokes = &keys[key].strokes;
    let n = strokes.len();
    let bars = whole.bars.len();
    let mut sixteenths: BTreeMap<i64, BTreeSet<i64>> = BTreeMap::new();
    for stroke in strokes {
        sixteenths
            .entry(stroke.bar)
            .or_default()
            .insert(stroke.sixteenth);
    }
    let used = sixteenths.len();
    let at = |place: Place| {
        strokes
            .iter()
            .filter(|stroke| stroke.place == place)
            .count()
    };
    let bars_with = |place: Place| {
        let bars: BTreeSet<i64> = strokes
            .iter()
            .filter(|stroke| stroke.place == place)
            .map(|stroke| stroke.bar)
            .collect();
        bars.len()
    };

    let gaps: Vec<Ticks> = strokes
        .windows(2)
        .map(|pair| pair[1].tick - pair[0].tick)
        .collect();
    let mut sorted = gaps.clone();
    sorted.sort_unstable();
    let median = sorted.get(sorted.len() / 2).copied();
    let same = |gap: Ticks| median.is_some_and(|median| (gap - median).abs() < SAME_GAP);
    let longest = |good: &dyn Fn(Ticks) -> bool| {
        let (mut run, mut best) = (0_u32, 0_u32);
        for &gap in &gaps {
            run = if good(gap) { run + 1 } else { 0 };
            best = best.max(run);
        }
        f64::from(best)
    };
    let quarters = |ticks: Ticks| ticks as f64 / TICKS_PER_QUARTER as f64;

    let others = || keys.iter().enumerate().filter(|(other, _)| *other != key);
    let with = |first: Ticks, last: Ticks| {
        strokes
            .iter()
            .filter(|s| others().any(|(_, o)| any_in(&o.strokes, s.tick + first, s.tick + last)))
            .count()
    };
    let fast = TICKS_PER_QUARTER / 4 + TOGETHER;
    let (mean, deviation) = spread(strokes.iter().map(|stroke| stroke.velocity));
    let flat = whole.velocity.1 < 1.0;
    let own_loudest = strokes.iter().map(|s| s.velocity).fold(0.0, f64::max);
    let soft = strokes
        .iter()
        .filter(|stroke| stroke.velocity < 0.6 * own_loudest)
        .count();
    let known = |value: f64| if flat { f64::NAN } else { value };
    let pairs = |step: i64| {
        let (mut both, mut either) = (0, 0);
        for (bar, places) in &sixteenths {
            if let Some(next) = sixteenths.get(&(bar + step)) {
                both += places.intersection(next).count();
                either += places.union(next).count();
            } else if whole.bars.contains(&(bar + step)) {
                either += places.len();
            }
        }
        share(both, either)
    };
    let places: BTreeSet<i64> = sixteenths.values().flatten().copied().collect();
    let most_struck = places
        .iter()
        .map(|place| {
            sixteenths
                .values()
                .filter(|bar| bar.contains(place))
                .count()
        })
        .max()
        .unwrap_or(0);
    let phrase = |of: i64| strokes.iter().filter(|s| s.bar.rem_euclid(4) == of).count();
    let lonely = gaps
        .iter()
        .filter(|gap| **gap > 4 * TICKS_PER_QUARTER)
        .count();
    let pause = gaps
        .iter()
        .filter(|gap| **gap > 2 * TICKS_PER_QUARTER)
        .count();
    let alone = strokes.len() - with(-TOGETHER, TOGETHER);

    [
        (n as f64).ln(),
        share(n, bars).ln(),
        share(used, bars),
        share(n, used),
        n as f64 / whole.strokes.max(1.0),
        n as f64 / whole.most.max(1.0),
        share(at(Place::One), n),
        share(at(Place::Strong), n),
        share(at(Place::Back), n),
        share(at(Place::Off), n),
        share(at(Place::Fine), n),
        share(bars_with(Place::One), bars),
        share(bars_with(Place::Back), bars),
        share(bars_with(Place::Strong), bars),
        share(bars_with(Place::Off), bars),
        share(gaps.iter().filter(|gap| same(**gap)).count(), gaps.len()),
        median.map_or(f64::NAN, |median| quarters(median.max(1)).ln()),
        longest(&|gap| gap <= fast),
        longest(&|gap| gap <= 2 * TICKS_PER_QUARTER + TOGETHER && same(gap)),
        share(alone, n),
        share(with(-fast, -TOGETHER - 1), n),
        share(with(TOGETHER + 1, fast), n),
        known((mean - whole.velocity.0) / whole.velocity.1.max(1.0)),
        known(deviation / mean),
        known(share(soft, n)),
        known(own_loudest / whole.loudest.max(1.0)),
        share(strokes.iter().filter(|stroke| stroke.late).count(), n),
        pairs(1),
        share(most_struck, used),
        share(phrase(0), n) - share(phrase(3), n),
        share(lonely + 1, n),
        share(pause + 1, n),
    ]
    .map(|figure: f64| if figure.is_finite() { figure } else { f64::NAN })
}
