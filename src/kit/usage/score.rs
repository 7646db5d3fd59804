//! How well each key fits each role: additive scores from two tables.
//!
//! The first table knows a key by its own strokes. The second also knows what it is to the keys that the first took
//! for kick, snare and so on. Each figure falls into one of [`BINS`] ranges, and each range speaks for or against each
//! role: a logistic regression on ranges, whose weights [`super::tables`] has from data.

use super::alone::{self, ALONE, Whole};
use super::role::{GROUPS, ROLES, Role};
use super::strokes::Used;
use super::tables::{self, BINS, Table};
use super::together::{self, WAYS};

/// Chances of the roles for one key; they add up to 1.
pub(super) type Chances = [f64; ROLES];

/// What is added to a chance before its logarithm is taken.
const LEAST: f64 = 1e-4;

/// The odds of a key that is alone in its region.
const UNRIVALLED: f64 = 9.0;

fn chances(table: &Table, figures: &[f64]) -> Chances {
    let mut scores = table.start.map(f64::from);
    for ((figure, edges), weights) in figures.iter().zip(table.edges).zip(table.weights) {
        if figure.is_nan() {
            continue;
        }
        // Below the first edge, between two, or from the last on. Unused edges are infinite.
        let bin = edges
            .iter()
            .filter(|edge| f64::from(**edge) <= *figure)
            .count();
        for (score, weight) in scores.iter_mut().zip(&weights[bin.min(BINS - 1)]) {
            *score += f64::from(*weight);
        }
    }
    let scores = scores.map(|score| score / tables::SCALE);
    let most = scores.iter().copied().fold(f64::MIN, f64::max);
    let weights = scores.map(|score| (score - most).exp());
    let sum: f64 = weights.iter().sum();
    weights.map(|weight| weight / sum)
}

/// What a key is to the groups of the other keys, how it stands against the best other key of each role, and what its
/// own strokes say.
fn relations(key: usize, between: &[Vec<[f64; WAYS]>], first: &[Chances]) -> Vec<f64> {
    let mut figures = vec![0.0; GROUPS * WAYS];
    let mut best = [f64::MIN; ROLES];
    for (other, chances) in first.iter().enumerate().filter(|(other, _)| *other != key) {
        for (role, chance) in Role::ALL.into_iter().zip(chances) {
            for (way, share) in between[key][other].iter().enumerate() {
                figures[way * GROUPS + role.group()] += share * chance;
            }
        }
        for (best, chance) in best.iter_mut().zip(chances) {
            *best = best.max((chance + LEAST).ln());
        }
    }
    for figure in &mut figures {
        *figure = figure.min(1.0);
    }
    let own = first[key].map(|chance| (chance + LEAST).ln());
    figures.extend(own.iter().zip(best).map(|(own, best)| {
        if first.len() > 1 {
            own - best
        } else {
            UNRIVALLED
        }
    }));
    figures.extend(own);
    figures
}

/// The chances of every key of a region.
pub(super) fn all(keys: &[Used]) -> Vec<Chances> {
    let whole = Whole::of(keys);
    let own: Vec<[f64; ALONE]> = (0..keys.len())
        .map(|key| alone::figures(key, keys, &whole))
        .collect();
    let first: Vec<Chances> = own
        .iter()
        .map(|figures| chances(&tables::ALONE, figures))
        .collect();
    let between: Vec<Vec<[f64; WAYS]>> = keys
        .iter()
        .map(|one| {
            keys.iter()
                .map(|other| together::between(one, other))
                .collect()
        })
        .collect();
    (0..keys.len())
        .map(|key| {
            let mut figures = own[key].to_vec();
            figures.extend(relations(key, &between, &first));
            chances(&tables::TOGETHER, &figures)
        })
        .collect()
}
