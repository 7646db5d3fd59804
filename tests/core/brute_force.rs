//! A drummer by trial and error: an answer to "can this be played" that shares nothing with the
//! engine but the map of the kit.
//!
//! Figures are copied here, not read from the engine, so that a slip there is seen. Hands: 5 to 7 Hz
//! is the review figure for rapid tapping with one hand (170 ms is 6 Hz), 10 Hz with one stick was
//! measured on the fastest known drummer (Fujii, Kudo, Ohtsuki & Oda 2009, *Neuroscience Letters*
//! 459(2):69-73, abstract); between them experts held 400 a minute, 150 ms, at their least precise
//! (*Motor Control* 25:644-679, 2021, abstract). Feet, rebound and moves: judged, no source.

use fourlimb::groove::{Hit, Limb};
use fourlimb::kit::{Piece, reach};
use fourlimb::settings::Player;
use std::collections::BTreeSet;

/// Milliseconds: one hand, one hand with two strokes a motion, one foot, a hand across the kit.
fn figures(player: Player) -> (f64, f64, f64, f64) {
    match player {
        Player::Everyday => (170.0, 85.0, 200.0, 80.0),
        Player::Skilled => (125.0, 65.0, 150.0, 50.0),
        Player::Extreme => (105.0, 50.0, 115.0, 30.0),
        Player::Machine => (0.0, 0.0, 0.0, 0.0),
    }
}

/// Rounding of a tick and of a tempo, in milliseconds; what is closer than this is at once.
const ROUNDING_MS: f64 = 1.0;

/// A piece and when it is struck, in milliseconds.
pub type Blow = (f64, Piece);

fn by_foot(piece: Piece) -> bool {
    piece == Piece::Kick || piece == Piece::HiHatFoot
}

fn late_enough(gap: f64, needed: f64) -> bool {
    gap + 1e-6 >= ROUNDING_MS && gap + 1e-6 >= needed - ROUNDING_MS
}

/// Whether a limb that struck `from`, as second stroke of a motion or not, can strike `to`; and
/// whether that is then a second stroke.
fn follows(player: Player, from: Blow, second: bool, to: Blow) -> Option<bool> {
    let (hand, rebound, foot, travel) = figures(player);
    let gap = to.0 - from.0;
    if by_foot(to.1) {
        return late_enough(gap, foot).then_some(false);
    }
    let way = if from.1 == to.1 {
        0.0
    } else {
        reach::distance(from.1, to.1)
    };
    if late_enough(gap, hand + travel * way) {
        return Some(false);
    }
    let toms = [
        Piece::RackHigh,
        Piece::RackLow,
        Piece::FloorHigh,
        Piece::FloorLow,
    ];
    let bounces = to.1 == Piece::Snare || (toms.contains(&to.1) && !second);
    (from.1 == to.1 && bounces && late_enough(gap, rebound)).then_some(true)
}

/// Whether two hands and two feet can play these.
pub fn two_hands_and_two_feet(player: Player, blows: &[Blow]) -> bool {
    hands_can(player, blows) && feet_can(player, blows) && pedal_can(blows)
}

/// Whether the foot never shuts the hi-hat while a hand strikes it open.
pub fn pedal_can(blows: &[Blow]) -> bool {
    let open = |b: &&Blow| matches!(b.1, Piece::HiHatOpen | Piece::HiHatLoose);
    let pedals = blows.iter().filter(|b| b.1 == Piece::HiHatFoot);
    let mut pedals = pedals.copied();
    !pedals.any(|pedal| blows.iter().filter(open).any(|b| at_once(*b, pedal)))
}

fn at_once(a: Blow, b: Blow) -> bool {
    (a.0 - b.0).abs() + 1e-6 < ROUNDING_MS
}

/// Whether one hi-hat would have to be in two states.
fn two_hi_hats(a: Blow, b: Blow) -> bool {
    let hat = |b: Blow| {
        matches!(
            b.1,
            Piece::HiHatClosed | Piece::HiHatOpen | Piece::HiHatLoose
        )
    };
    hat(a) && hat(b) && a.1 != b.1 && at_once(a, b)
}

pub fn hands_can(player: Player, blows: &[Blow]) -> bool {
    let mut hands: Vec<_> = blows.iter().copied().filter(|b| !by_foot(b.1)).collect();
    hands.sort_by(|a, b| a.0.total_cmp(&b.0));
    try_on(player, &hands, 0, [None; 2], &mut BTreeSet::new())
}

pub fn feet_can(player: Player, blows: &[Blow]) -> bool {
    let mut feet: Vec<_> = blows.iter().copied().filter(|b| by_foot(b.1)).collect();
    feet.sort_by(|a, b| a.0.total_cmp(&b.0));
    try_on(player, &feet, 0, [None; 2], &mut BTreeSet::new())
}

/// What each of two limbs struck last, and whether as a second stroke.
type Lasts = [Option<(usize, bool)>; 2];

/// Gives blow `i` to one limb, then to the other, and goes on; `dead` holds what has failed.
fn try_on(
    player: Player,
    blows: &[Blow],
    i: usize,
    lasts: Lasts,
    dead: &mut BTreeSet<(usize, Lasts)>,
) -> bool {
    if i == blows.len() {
        return true;
    }
    if dead.contains(&(i, lasts)) {
        return false;
    }
    for limb in [0, 1] {
        // The pedal of the hi-hat is under the second foot.
        if blows[i].1 == Piece::HiHatFoot && limb == 0 {
            continue;
        }
        if lasts[1 - limb].is_some_and(|(last, _)| two_hi_hats(blows[last], blows[i])) {
            continue;
        }
        let kicks = |last: usize| blows[last].1 == Piece::Kick && blows[i].1 == Piece::Kick;
        let alternating = figures(player).2 / 2.0 - ROUNDING_MS;
        let hurries = |last: usize| blows[i].0 - blows[last].0 + 1e-6 < alternating;
        if lasts[1 - limb].is_some_and(|(last, _)| kicks(last) && hurries(last)) {
            continue;
        }
        let second = match lasts[limb] {
            None => Some(false),
            Some((last, second)) => follows(player, blows[last], second, blows[i]),
        };
        if let Some(second) = second {
            let mut then = lasts;
            then[limb] = Some((i, second));
            if try_on(player, blows, i + 1, then, dead) {
                return true;
            }
        }
    }
    dead.insert((i, lasts));
    false
}

/// The fewest blows that have to be left out, by trying every choice; for few blows only.
pub fn fewest_left_out(player: Player, blows: &[Blow]) -> usize {
    (0..1_u32 << blows.len())
        .filter(|gone| {
            let kept = (0..blows.len()).filter(|i| gone & (1 << i) == 0);
            let kept: Vec<_> = kept.map(|i| blows[i]).collect();
            two_hands_and_two_feet(player, &kept)
        })
        .map(u32::count_ones)
        .min()
        .unwrap() as usize
}

/// What is wrong with what a limb is said to strike.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fault {
    WrongLimb,
    AtOnce,
    TooFast,
    TooFar,
}

/// A hit and when it sounds, in milliseconds.
pub type Timed = (f64, Hit);

/// The first stroke of each limb that it can't play as it is said to, with the stroke before it.
/// Hits in order of time, each with its time in milliseconds.
pub fn faults(player: Player, hits: &[Timed]) -> Vec<(Fault, Timed, Timed)> {
    let (hand, ..) = figures(player);
    let mut faults = Vec::new();
    for limb in Limb::ALL {
        let foot = matches!(limb, Limb::LeadFoot | Limb::OtherFoot);
        let mut last: Option<(Timed, bool)> = None;
        for &hit in hits.iter().filter(|hit| hit.1.limb == limb) {
            if foot != by_foot(hit.1.piece)
                || (hit.1.piece == Piece::HiHatFoot && limb != Limb::OtherFoot)
            {
                faults.push((Fault::WrongLimb, hit, hit));
                break;
            }
            let mut second = false;
            if let Some((before, was_second)) = last {
                let blow = |hit: Timed| (hit.0, hit.1.piece);
                match follows(player, blow(before), was_second, blow(hit)) {
                    Some(is_second) => second = is_second,
                    None => {
                        let gap = hit.0 - before.0;
                        let fault = if gap < ROUNDING_MS {
                            Fault::AtOnce
                        } else if foot || !late_enough(gap, hand) {
                            Fault::TooFast
                        } else {
                            Fault::TooFar
                        };
                        faults.push((fault, before, hit));
                        break;
                    }
                }
            }
            last = Some((hit, second));
        }
    }
    faults
}

/// The trial-and-error drummer himself, on what a drummer knows.
#[test]
fn what_a_drummer_knows() {
    use Piece::{CrashLeft, HiHatClosed, HiHatFoot, Kick, Snare};
    let can = |player, blows: &[Blow]| two_hands_and_two_feet(player, blows);
    let beat = [
        (0.0, HiHatClosed),
        (0.0, Kick),
        (250.0, HiHatClosed),
        (500.0, Snare),
        (500.0, HiHatClosed),
    ];
    assert!(can(Player::Everyday, &beat));
    let three = [(0.0, HiHatClosed), (0.0, Snare), (0.0, CrashLeft)];
    assert!(!can(Player::Machine, &three));
    assert!(can(Player::Machine, &[(0.0, Kick), (0.0, Kick)]));
    assert!(!can(
        Player::Machine,
        &[(0.0, Kick), (0.0, Kick), (0.0, HiHatFoot)]
    ));
    // Sixteenths at 200 BPM: 75 ms hand to hand, too much for weekends.
    let run: Vec<_> = (0..16)
        .map(|i| (f64::from(i) * 75.0, HiHatClosed))
        .collect();
    assert!(can(Player::Skilled, &run));
    assert!(!can(Player::Everyday, &run));
    assert_eq!(fewest_left_out(Player::Everyday, &run[..3]), 1);
}
