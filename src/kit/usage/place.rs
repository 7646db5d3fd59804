//! From chances to lines: a piece for each key, or none, and how sure.

use super::reason;
use super::role::Role;
use super::score::Chances;
use super::strokes::{TOGETHER, Used, any_in};
use super::toms;
use crate::kit::Piece;
use crate::kit::proposal::{Line, Proposal, Sureness, Unplaced};
use crate::time::TICKS_PER_QUARTER;

/// A key with fewer strokes is left alone. Our judgement, no source.
const FEWEST: usize = 3;

/// A key with fewer strokes is a guess at most. Our judgement, no source.
const FEW: usize = 12;

/// A smaller chance is no proposal.
const GUESS: f64 = 0.3;

/// From this chance on a line is likely.
const LIKELY: f64 = 0.6;

/// At which chance a line is sure where no other key has more than [`RIVAL`] for that role, and at which it is sure all
/// the same. None where use alone can't make sure. Chosen by cross-validation on the regions of the fit, so that less
/// than 5 in 100 sure lines were wrong: kick 3.7 and 3.8, snare 1.0 and 2.2. No chance made the hi-hat that sure.
fn sure(role: Role) -> Option<(f64, f64)> {
    match role {
        Role::Kick => Some((0.6, 0.85)),
        Role::Snare => Some((0.6, 0.8)),
        _ => None,
    }
}

/// A chance of another key that leaves a line sure.
const RIVAL: f64 = 0.1;

/// A key that was given a role.
struct Placed {
    key: usize,
    role: Role,
    chance: f64,
}

/// Whether this key only counts in: all its strokes, 2 to 16 and a quarter apart or more, before anything else plays.
/// Common practice, no source.
fn counts_in(key: usize, keys: &[Used]) -> bool {
    let strokes = &keys[key].strokes;
    let mut others = keys.iter().enumerate().filter(|(other, _)| *other != key);
    let last = strokes[strokes.len() - 1].tick;
    keys.len() > 1
        && (2..=16).contains(&strokes.len())
        && others.all(|(_, other)| other.strokes[0].tick > last)
        && strokes
            .windows(2)
            .all(|pair| pair[1].tick - pair[0].tick > TICKS_PER_QUARTER - TOGETHER)
}

/// Whether another key runs in sixteenths or faster, with more strokes than this one. Feet that run under a hand in
/// quarters or eighths are used as a fast hand over a kick is, and the regions of the fit have few of them: no kick is
/// sure then. Common practice, no source.
fn another_runs(key: usize, keys: &[Used]) -> bool {
    let runs = |used: &Used| {
        let gaps = used
            .strokes
            .windows(2)
            .map(|pair| pair[1].tick - pair[0].tick);
        let fast = gaps
            .filter(|gap| *gap <= TICKS_PER_QUARTER / 4 + TOGETHER)
            .count();
        2 * fast > used.strokes.len() && used.strokes.len() > keys[key].strokes.len()
    };
    keys.iter()
        .enumerate()
        .any(|(other, used)| other != key && runs(used))
}

fn sureness(placed: &Placed, keys: &[Used], chances: &[Chances]) -> Sureness {
    let others = chances
        .iter()
        .enumerate()
        .filter(|(key, _)| *key != placed.key);
    let rival = others.map(|(_, other)| other[placed.role as usize]);
    let rival = rival.fold(0.0, f64::max);
    let unclear = placed.role == Role::Kick && another_runs(placed.key, keys);
    let enough = keys[placed.key].strokes.len() >= FEW;
    let is_sure = |(unrivalled, anyhow)| {
        placed.chance >= anyhow || (placed.chance >= unrivalled && rival <= RIVAL)
    };
    if enough && !unclear && sure(placed.role).is_some_and(is_sure) {
        Sureness::Sure
    } else if enough && placed.chance >= LIKELY {
        Sureness::Likely
    } else {
        Sureness::Guess
    }
}

fn lower(sureness: Sureness) -> Sureness {
    match sureness {
        Sureness::Sure => Sureness::Likely,
        Sureness::Likely | Sureness::Guess => Sureness::Guess,
    }
}

/// Whether one key's strokes are mostly the other's: laid over it.
fn laid_over(one: &Used, other: &Used) -> bool {
    let mut together = one.strokes.iter();
    together.all(|stroke| {
        any_in(
            &other.strokes,
            stroke.tick - TOGETHER,
            stroke.tick + TOGETHER,
        )
    })
}

/// Gives the keys of one role to its pieces.
fn lines(role: Role, mut placed: Vec<Placed>, keys: &[Used], chances: &[Chances]) -> Vec<Line> {
    let pieces = role.pieces();
    if role == Role::Tom {
        let toms: Vec<usize> = placed.iter().map(|tom| tom.key).collect();
        let order = toms::smallest_first(&toms, keys);
        placed.sort_by_key(|tom| order.iter().position(|key| *key == tom.key));
    } else {
        placed.sort_by(|a, b| b.chance.total_cmp(&a.chance));
    }
    let most = placed.iter().map(|one| one.chance).fold(0.0, f64::max);
    let first = placed.first().map(|first| first.key);
    let n = placed.len();
    placed
        .into_iter()
        .enumerate()
        .map(|(nth, one)| {
            let mut how = sureness(&one, keys, chances);
            let mut reason = reason::of(one.key, role, keys);
            let piece = match role {
                Role::Tom => toms::piece(nth, n),
                _ => pieces[nth.min(pieces.len() - 1)],
            };
            if role == Role::Tom || role == Role::Crash {
                // Which of several is which can't be told from how they are used.
                if n > 1 {
                    how = how.max(Sureness::Likely);
                    reason.push_str(reason::SEVERAL);
                }
            } else if let Some(first) = first.filter(|_| nth > 0) {
                // A second key is never surer than the first.
                how = lower(how).max(lower(if most >= LIKELY {
                    Sureness::Sure
                } else {
                    Sureness::Likely
                }));
                let over = laid_over(&keys[one.key], &keys[first]);
                reason.push_str(&reason::second(keys[first].note, over));
            }
            Line {
                piece,
                note: keys[one.key].note,
                sureness: how,
                reason,
            }
        })
        .collect()
}

/// The proposal for these keys.
pub(super) fn place(keys: &[Used], chances: &[Chances]) -> Proposal {
    let mut proposal = Proposal::default();
    let mut by_role: Vec<Vec<Placed>> = Role::ALL.iter().map(|_| Vec::new()).collect();
    for (key, used) in keys.iter().enumerate() {
        let note = used.note;
        if counts_in(key, keys) {
            proposal.lines.push(Line {
                piece: Piece::Sticks,
                note,
                sureness: Sureness::Guess,
                reason: reason::count_in(used.strokes.len()),
            });
            continue;
        }
        let best = Role::ALL
            .into_iter()
            .max_by(|a, b| chances[key][*a as usize].total_cmp(&chances[key][*b as usize]));
        let role = best.unwrap_or(Role::Other);
        let chance = chances[key][role as usize];
        if used.strokes.len() < FEWEST || role == Role::Other || chance < GUESS {
            let reason = reason::unplaced(key, keys, used.strokes.len() < FEWEST);
            proposal.unplaced.push(Unplaced { note, reason });
        } else {
            by_role[role as usize].push(Placed { key, role, chance });
        }
    }
    for (role, placed) in Role::ALL.into_iter().zip(by_role) {
        proposal.lines.extend(lines(role, placed, keys, chances));
    }
    proposal.sort();
    proposal
}
