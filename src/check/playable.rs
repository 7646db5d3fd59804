//! Whether two hands and two feet can play some strokes, and what to change where they can't.
//!
//! The input is pieces and times alone, since a region may have been edited by hand. An exact solver (`solve`)
//! assigns limbs so that the fewest strokes remain unplayable, and of those the least important. The rules:
//!
//! - Kicks go to either foot, the hi-hat pedal to one of the two; one foot needs
//!   [`Limits::foot_s`] from stroke to stroke, and two feet [`Limits::feet_s`] from kick to kick.
//! - Everything else goes to either hand. A hand needs [`Limits::hand_s`] from stroke to stroke and,
//!   on the way to another piece, [`Limits::travel_s`] times [`reach::distance`] on top.
//! - One motion of a hand can give two strokes on one drum, [`Limits::rebound_s`] apart. On the toms two in a row,
//!   then `hand_s` to the next. On the snare any number, since the rim is the fulcrum (the freehand technique). Not
//!   on cymbals, nor on the rim.
//! - A tolerance of a millisecond covers rounding. Strokes within it are simultaneous, and one limb never has two
//!   at once, whatever the player's limits.
//! - The hi-hat is one instrument: two hands do not strike it closed and open, or loose, at once. Where the pedal is
//!   played there too, the closed stroke stays. Nor does the foot close it while a hand strikes it open or loose: the
//!   pedal's stroke is the one that goes.
//!
//! Not considered: how hard the strokes are, crossed arms, and what else the hi-hat foot holds shut. Judged, no source,
//! except for the figures of the limits.

mod importance;
mod solve;

use crate::groove::Limits;
use crate::kit::{Piece, reach};
use crate::time::{TICKS_PER_QUARTER, Ticks};
use solve::{State, solve};
use std::collections::BTreeSet;
use std::fmt;

/// Strokes closer than this are simultaneous, and limits hold within this tolerance, in seconds. Judged: it covers
/// the rounding of tempi and ticks in MIDI files.
pub const TOLERANCE_S: f64 = 0.001;

/// Floating-point tolerance for sums of seconds.
const HAIR_S: f64 = 1e-9;

/// A stroke known only by piece and time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TimedStroke {
    /// Its position, in ticks.
    pub tick: Ticks,
    /// When it sounds, in seconds.
    pub seconds: f64,
    /// What is struck.
    pub piece: Piece,
}

/// Why a stroke can't be played.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Why {
    /// Both hands strike something else at that moment.
    ThirdHand,
    /// Both feet play something else at that moment.
    ThirdFoot,
    /// A hand can't strike again so soon.
    HandTooFast,
    /// A foot can't strike again so soon.
    FootTooFast,
    /// A hand can't reach the piece, or return from it, in time.
    TooFar,
    /// The foot on the hi-hat pedal is needed for the second kick, or the second kick's foot for the pedal.
    PedalFoot,
    /// The hi-hat can't be open and closed at once.
    OneHiHat,
}

impl fmt::Display for Why {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::ThirdHand => "needs a third hand",
            Self::ThirdFoot => "needs a third foot",
            Self::HandTooFast => "a hand would have to be faster than it can be",
            Self::FootTooFast => "a foot would have to be faster than it can be",
            Self::TooFar => "too far for a hand to go in the time",
            Self::OneHiHat => "the hi-hat can't be open and closed at once",
            Self::PedalFoot => "the foot on the hi-hat pedal is needed for the second kick",
        })
    }
}

/// The smallest change that makes a stroke playable.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Change {
    /// Leave it out.
    LeaveOut,
    /// Move it earlier by this many ticks.
    Earlier(Ticks),
    /// Move it later by this many ticks.
    Later(Ticks),
}

impl Change {
    /// The change in plain words: "move the snare a sixteenth later".
    pub fn words(self, piece: Piece) -> String {
        let step = |by: Ticks| match TICKS_PER_QUARTER / by.max(1) {
            4 => "a sixteenth",
            _ => "a thirty-second",
        };
        match self {
            Self::LeaveOut => format!("leave out the {}", piece.name()),
            Self::Earlier(by) => format!("move the {} {} earlier", piece.name(), step(by)),
            Self::Later(by) => format!("move the {} {} later", piece.name(), step(by)),
        }
    }
}

/// A stroke that can't be played.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Its index in the strokes that were checked.
    pub stroke: usize,
    /// Indices of the strokes that conflict with it.
    pub in_the_way: Vec<usize>,
    /// Why.
    pub why: Why,
    /// The proposed change. Each change holds with every other problem's stroke left out.
    pub change: Change,
}

/// The strokes that two hands and two feet with these limits can't play, in order of time; empty where all can be
/// played. Strokes may come in any order.
///
/// Exact as long as fewer than a few hundred strokes fall into a limb's shortest interval. The cost is linear in
/// the strokes.
pub fn problems(strokes: &[TimedStroke], limits: &Limits) -> Vec<Problem> {
    let mut order: Vec<usize> = (0..strokes.len()).collect();
    order.sort_by(|&a, &b| {
        let (a, b) = (strokes[a], strokes[b]);
        a.seconds.total_cmp(&b.seconds).then(a.piece.cmp(&b.piece))
    });
    let is_foot = |i: &usize| matches!(strokes[*i].piece, Piece::Kick | Piece::HiHatFoot);
    let (feet, hands): (Vec<usize>, Vec<usize>) = order.iter().partition(|i| is_foot(i));
    let pedals: Vec<_> = feet.iter().map(|&i| strokes[i]).filter(is_pedal).collect();
    let judge = |side, pick: &[usize]| -> Vec<Problem> {
        let limbs = Limbs {
            side,
            limits,
            strokes: pick.iter().map(|&i| strokes[i]).collect(),
            pedals: &pedals,
        };
        let own = |mut problem: Problem| {
            problem.stroke = pick[problem.stroke];
            problem.in_the_way.iter_mut().for_each(|i| *i = pick[*i]);
            problem
        };
        limbs.problems().into_iter().map(own).collect()
    };
    let mut problems = judge(Side::Hands, &hands);
    let left_out: BTreeSet<usize> = problems.iter().map(|p| p.stroke).collect();
    let kept = hands.iter().copied().filter(|i| !left_out.contains(i));
    let open: Vec<usize> = kept.filter(|&i| is_open(&strokes[i])).collect();
    let (closing, feet) = closing(strokes, feet, &open);
    problems.extend(closing);
    problems.extend(judge(Side::Feet, &feet));
    problems.sort_by(|a, b| {
        let at = |p: &Problem| strokes[p.stroke].seconds;
        at(a).total_cmp(&at(b)).then(a.stroke.cmp(&b.stroke))
    });
    problems
}

/// Divides the strokes of the feet into those of the pedal at which a hand strikes the hi-hat open, as problems, and the
/// others. `open` has those of the hands, in order of time.
///
/// Leaving out the pedal is never worse than leaving out the stroke of the hand: no foot needs it any more.
fn closing(
    strokes: &[TimedStroke],
    feet: Vec<usize>,
    open: &[usize],
) -> (Vec<Problem>, Vec<usize>) {
    let mut problems = Vec::new();
    let mut others = Vec::new();
    for stroke in feet {
        let it = strokes[stroke];
        let from = open.partition_point(|&i| before(strokes[i], it));
        let to = open.partition_point(|&i| !before(it, strokes[i]));
        let in_the_way = open.get(from..to).unwrap_or_default().to_vec();
        if !is_pedal(&it) || in_the_way.is_empty() {
            others.push(stroke);
            continue;
        }
        problems.push(Problem {
            stroke,
            in_the_way,
            why: Why::OneHiHat,
            change: Change::LeaveOut,
        });
    }
    (problems, others)
}

/// Whether a stroke comes before another one, and not at once with it.
fn before(it: TimedStroke, other: TimedStroke) -> bool {
    other.seconds - it.seconds + HAIR_S >= TOLERANCE_S
}

fn is_pedal(stroke: &TimedStroke) -> bool {
    stroke.piece == Piece::HiHatFoot
}

/// Whether a hand strikes the hi-hat while it is not shut.
fn is_open(stroke: &TimedStroke) -> bool {
    matches!(stroke.piece, Piece::HiHatOpen | Piece::HiHatLoose)
}

fn is_hi_hat(stroke: &TimedStroke) -> bool {
    stroke.piece == Piece::HiHatClosed || is_open(stroke)
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Side {
    Hands,
    Feet,
}

/// Two hands, or two feet, and the strokes they have to play.
struct Limbs<'a> {
    side: Side,
    limits: &'a Limits,
    /// In order of time.
    strokes: Vec<TimedStroke>,
    /// The strokes of the hi-hat pedal, in order of time.
    pedals: &'a [TimedStroke],
}

/// The foot on the hi-hat pedal.
const PEDAL: usize = 1;

impl Limbs<'_> {
    /// Whether a limb whose last stroke is `from` can play `to`; if so, whether as the second stroke of one motion.
    fn can(&self, from: TimedStroke, doubled: bool, to: TimedStroke) -> Option<bool> {
        let gap = to.seconds - from.seconds + HAIR_S;
        let enough = |limit: f64| gap >= (limit - TOLERANCE_S).max(TOLERANCE_S);
        match self.side {
            Side::Feet => enough(self.limits.foot_s).then_some(false),
            Side::Hands if enough(self.hand_s(from.piece, to.piece)) => Some(false),
            Side::Hands => {
                let drum = from.piece == to.piece
                    && match to.piece {
                        Piece::Snare => true,
                        Piece::RackHigh | Piece::RackLow | Piece::FloorHigh | Piece::FloorLow => {
                            !doubled
                        }
                        _ => false,
                    };
                (drum && enough(self.limits.rebound_s)).then_some(true)
            }
        }
    }

    /// The time a hand needs from one piece to another, in seconds.
    fn hand_s(&self, from: Piece, to: Piece) -> f64 {
        self.limits.hand_s + self.limits.travel_s * reach::distance(from, to)
    }

    fn problems(&self) -> Vec<Problem> {
        let at = |i: usize| self.strokes[i];
        let memory_s = match self.side {
            Side::Hands => self.limits.hand_s + self.limits.travel_s,
            Side::Feet => self.limits.foot_s,
        };
        let may = |limb: usize, lasts: State, i: usize| {
            if is_pedal(&at(i)) && limb != PEDAL {
                return None;
            }
            let other = lasts[1 - limb].map(|other| other.stroke);
            if other.is_some_and(|other| {
                self.another_hi_hat(other, i) || self.too_soon(at(other), at(i))
            }) {
                return None;
            }
            lasts[limb].map_or(Some(false), |last| {
                self.can(at(last.stroke), last.doubled, at(i))
            })
        };
        let forgotten = |old: usize, i: usize| {
            at(i).seconds - at(old).seconds > memory_s + TOLERANCE_S + HAIR_S
        };
        let costs: Vec<_> = (0..self.strokes.len()).map(|i| self.cost(i)).collect();
        let cost = |i: usize| costs[i];
        let limbs = solve(self.strokes.len(), may, forgotten, cost);
        (0..self.strokes.len())
            .filter(|&i| limbs[i].is_none())
            .map(|i| self.problem(i, &limbs))
            .collect()
    }

    /// Whether two strokes are the same one, twice.
    fn doubles(&self, i: usize, j: usize) -> bool {
        let (a, b) = (self.strokes[i], self.strokes[j]);
        a.piece == b.piece && !before(a, b) && !before(b, a)
    }

    /// Whether two hands strike the hi-hat at once, but not in the same way.
    fn another_hi_hat(&self, i: usize, j: usize) -> bool {
        let (a, b) = (self.strokes[i], self.strokes[j]);
        is_hi_hat(&a) && is_hi_hat(&b) && a.piece != b.piece && !before(a, b) && !before(b, a)
    }

    /// Whether two kicks are too close for one foot after the other.
    fn too_soon(&self, a: TimedStroke, b: TimedStroke) -> bool {
        let gap = (b.seconds - a.seconds).abs() + HAIR_S;
        a.piece == Piece::Kick && b.piece == Piece::Kick && gap < self.limits.feet_s - TOLERANCE_S
    }

    /// The strokes of a limb that leave it no time for a stroke at another time.
    fn in_the_way(&self, limbs: &[Option<usize>], limb: usize, new: TimedStroke) -> Vec<usize> {
        let blocks = |i: &usize| {
            let other = self.strokes[*i];
            let (a, b) = if other.seconds <= new.seconds {
                (other, new)
            } else {
                (new, other)
            };
            self.can(a, true, b).is_none()
        };
        let near = |i: &usize| limbs[*i] == Some(limb);
        let kick = |i: &usize| limbs[*i].is_some() && self.too_soon(self.strokes[*i], new);
        let from = self
            .strokes
            .partition_point(|s| s.seconds < new.seconds - NEAR_S);
        let to = self
            .strokes
            .partition_point(|s| s.seconds <= new.seconds + NEAR_S);
        let blocks = |i: &usize| (near(i) && blocks(i)) || kick(i);
        (from..to).filter(blocks).collect()
    }

    fn problem(&self, stroke: usize, limbs: &[Option<usize>]) -> Problem {
        let it = self.strokes[stroke];
        let own: &[usize] = if is_pedal(&it) { &[PEDAL] } else { &[0, 1] };
        let blocked: Vec<_> = own
            .iter()
            .map(|&limb| self.in_the_way(limbs, limb, it))
            .collect();
        let mut in_the_way: Vec<usize> = blocked.iter().flatten().copied().collect();
        let mut why = self.why(it, &blocked);
        let played = |&i: &usize| limbs[i].is_some() && self.another_hi_hat(i, stroke);
        let from = self.strokes.partition_point(|s| before(*s, it));
        let to = self.strokes.partition_point(|s| !before(it, *s));
        let other: Vec<usize> = (from..to).filter(played).collect();
        if !other.is_empty() && why != Why::ThirdHand {
            (in_the_way, why) = (other, Why::OneHiHat);
        }
        let change = match why {
            // Simultaneous strokes belong together, so none can move.
            Why::ThirdHand | Why::ThirdFoot | Why::PedalFoot | Why::OneHiHat => Change::LeaveOut,
            _ if in_the_way.iter().any(|&i| self.doubles(i, stroke)) => Change::LeaveOut,
            _ => self.change(stroke, limbs, own),
        };
        Problem {
            stroke,
            in_the_way,
            why,
            change,
        }
    }

    fn why(&self, it: TimedStroke, blocked: &[Vec<usize>]) -> Why {
        let gap = |i: usize| (self.strokes[i].seconds - it.seconds).abs();
        let at_once = |limb: &Vec<usize>| limb.iter().any(|&i| gap(i) < TOLERANCE_S);
        let feet: BTreeSet<usize> = blocked.iter().flatten().copied().collect();
        let feet_at_once = feet.iter().filter(|&&i| gap(i) < TOLERANCE_S).count();
        let all = || blocked.iter().flatten().map(|&i| self.strokes[i]);
        match self.side {
            Side::Feet => {
                let mixed = |s: TimedStroke| is_pedal(&s) != is_pedal(&it);
                if all().any(mixed) {
                    Why::PedalFoot
                } else if feet_at_once >= blocked.len() {
                    Why::ThirdFoot
                } else {
                    Why::FootTooFast
                }
            }
            Side::Hands if blocked.iter().all(at_once) => Why::ThirdHand,
            Side::Hands => {
                // A hand that is fast enough fails only because of the distance.
                let slow = |limb: &&Vec<usize>| {
                    let fast = |i: &usize| gap(*i) < self.limits.hand_s - TOLERANCE_S;
                    limb.iter().any(fast)
                };
                if blocked.iter().any(|limb| !slow(&limb)) {
                    Why::TooFar
                } else {
                    Why::HandTooFast
                }
            }
        }
    }

    /// Moves strokes that carry the beat where that helps, by a sixteenth rather than by a thirty-second, and
    /// leaves out the others.
    fn change(&self, stroke: usize, limbs: &[Option<usize>], own: &[usize]) -> Change {
        let it = self.strokes[stroke];
        if !self.moves(stroke) {
            return Change::LeaveOut;
        }
        let moves = [TICKS_PER_QUARTER / 4, TICKS_PER_QUARTER / 8]
            .into_iter()
            .flat_map(|by| [(by, Change::Later(by)), (-by, Change::Earlier(by))]);
        for (by, change) in moves {
            let Some(seconds) = self.seconds(stroke, it.tick + by) else {
                continue;
            };
            let moved = TimedStroke { seconds, ..it };
            let doubles =
                |s: &TimedStroke| s.piece == it.piece && (s.seconds - seconds).abs() < NEAR_S / 8.0;
            let free = |&limb: &usize| self.in_the_way(limbs, limb, moved).is_empty();
            if it.tick + by >= 0 && !self.strokes.iter().any(doubles) && own.iter().any(free) {
                return change;
            }
        }
        Change::LeaveOut
    }

    /// The time of a tick near a stroke, in seconds, at the tempo of the strokes around it.
    fn seconds(&self, stroke: usize, tick: Ticks) -> Option<f64> {
        let it = self.strokes[stroke];
        let after = self.strokes[stroke..].iter().find(|s| s.tick > it.tick);
        let before = || self.strokes[..stroke].iter().rfind(|s| s.tick < it.tick);
        let other = after.or_else(before)?;
        let pace = (other.seconds - it.seconds) / (other.tick - it.tick) as f64;
        Some(it.seconds + (tick - it.tick) as f64 * pace)
    }
}

/// Strokes further apart than this never conflict, in seconds. It exceeds the slowest player's limits.
const NEAR_S: f64 = 0.4;

#[cfg(test)]
mod tests;
