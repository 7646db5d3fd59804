//! Assigns strokes in order of time to two limbs, and leaves out as little as possible.
//!
//! Dynamic programming over the last stroke of each limb. A last stroke that is long enough ago no longer counts,
//! so only a handful of states exist at a time, and the answer is exact.

use std::collections::BTreeMap;

/// The last stroke of a limb.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Last {
    /// Its index.
    pub(super) stroke: usize,
    /// Whether it was the second stroke of one motion.
    pub(super) doubled: bool,
}

/// What each limb struck last; `None` where that no longer matters.
pub(super) type State = [Option<Last>; 2];

/// A path to a state: its cost, and the last link of its chain of choices.
#[derive(Debug, Clone, Copy)]
struct Way {
    cost: u64,
    link: usize,
}

/// One choice: the link before it, and the limb that took the stroke.
#[derive(Debug, Clone, Copy)]
struct Link {
    before: usize,
    limb: Option<usize>,
}

/// Most states kept; the costliest are dropped first. Playable strokes never reach this number.
const MOST_STATES: usize = 4096;

/// Most choices kept, unless 16 states a stroke are more: 64 MB. The input may be a damaged file with thousands of
/// simultaneous strokes. Judged.
const MOST_LINKS: usize = 1 << 22;

/// The limb (0 or 1) of each of `n` strokes; `None` for those left out.
///
/// `may` tells whether a limb can take a stroke after what each limb struck last, and whether as the second of one
/// motion.
/// `forgotten` tells whether a stroke is too long before another to hinder it or any later one. `cost` is the cost
/// of leaving out a stroke.
pub(super) fn solve(
    n: usize,
    may: impl Fn(usize, State, usize) -> Option<bool>,
    forgotten: impl Fn(usize, usize) -> bool,
    cost: impl Fn(usize) -> u64,
) -> Vec<Option<usize>> {
    let most = (MOST_LINKS / n.max(1)).clamp(16, MOST_STATES);
    let mut links: Vec<Link> = Vec::new();
    let mut ways: BTreeMap<State, Way> = BTreeMap::new();
    let none = usize::MAX;
    ways.insert(
        [None; 2],
        Way {
            cost: 0,
            link: none,
        },
    );
    for stroke in 0..n {
        let mut next: BTreeMap<State, (u64, Link)> = BTreeMap::new();
        for (state, way) in &ways {
            let state = state.map(|last| last.filter(|l| !forgotten(l.stroke, stroke)));
            let mut offer = |state: State, cost: u64, limb: Option<usize>| {
                let link = Link {
                    before: way.link,
                    limb,
                };
                let best = next.entry(state).or_insert((cost, link));
                if cost < best.0 {
                    *best = (cost, link);
                }
            };
            for limb in 0..2 {
                if let Some(doubled) = may(limb, state, stroke) {
                    let mut taken = state;
                    taken[limb] = Some(Last { stroke, doubled });
                    offer(taken, way.cost, Some(limb));
                }
            }
            offer(state, way.cost + cost(stroke), None);
        }
        let mut kept: Vec<_> = next.into_iter().collect();
        if kept.len() > most {
            kept.sort_by_key(|(_, (cost, _))| *cost);
            kept.truncate(most);
        }
        ways.clear();
        for (state, (cost, link)) in kept {
            let at = links.len();
            links.push(link);
            ways.insert(state, Way { cost, link: at });
        }
    }
    let mut limbs = vec![None; n];
    let best = ways.values().min_by_key(|way| way.cost);
    let mut link = best.map_or(none, |way| way.link);
    for limb in limbs.iter_mut().rev() {
        let Some(&Link {
            before,
            limb: taken,
        }) = links.get(link)
        else {
            break;
        };
        *limb = taken;
        link = before;
    }
    limbs
}
