//! Why, in words for the songwriter.

use super::role::Role;
use super::strokes::{Place, Used};
use crate::kit::Note;
use std::collections::BTreeSet;

/// Added where a region has several of a kind.
pub(super) const SEVERAL: &str = "; which of its kind it is, hear for yourself";

fn strokes(n: usize) -> String {
    if n == 1 {
        "1 stroke".to_owned()
    } else {
        format!("{n} strokes")
    }
}

/// Where its louder strokes fall, if they mostly fall on one kind of place: a snare's ghosts don't hide its backbeats.
fn falls(used: &Used) -> &'static str {
    let loudest = used.strokes.iter().map(|s| s.velocity).fold(0.0, f64::max);
    let loud = || used.strokes.iter().filter(|s| s.velocity >= 0.6 * loudest);
    let share = |places: &[Place]| {
        let on = loud().filter(|s| places.contains(&s.place));
        on.count() as f64 / loud().count().max(1) as f64
    };
    let most = 0.6;
    if share(&[Place::One]) >= most {
        "falls on the 1"
    } else if share(&[Place::Back]) >= most {
        "falls on the backbeats"
    } else if share(&[Place::One, Place::Strong]) >= most {
        "falls on the strong counts"
    } else if share(&[Place::Off]) >= most {
        "falls between the counts"
    } else if share(&[Place::Fine]) >= most {
        "falls on the fine places between the eighths"
    } else if share(&[Place::One, Place::Strong, Place::Back]) >= 0.8 {
        "falls on the counts"
    } else {
        "falls on counts and between them"
    }
}

/// In how many of the region's bars it sounds.
fn bars(key: usize, keys: &[Used]) -> (usize, usize) {
    let of = |used: &Used| used.strokes.iter().map(|s| s.bar).collect::<BTreeSet<_>>();
    let all: BTreeSet<i64> = keys.iter().flat_map(of).collect();
    (of(&keys[key]).len(), all.len())
}

/// How this key is used, as far as it speaks for its role.
pub(super) fn of(key: usize, role: Role, keys: &[Used]) -> String {
    let used = &keys[key];
    let (in_bars, all) = bars(key, keys);
    let like = match role {
        Role::Kick => "as a kick does",
        Role::Snare => "as a snare does",
        Role::SideStick => "in a snare's place, softly or seldom",
        Role::HatClosed => "as a hand that keeps time on the hi-hat",
        Role::HatOpen => "among the strokes of a hand that keeps time",
        Role::HatFoot => "as a foot that keeps time",
        Role::Ride | Role::RideBell => "as a hand that keeps time on the ride",
        Role::Crash | Role::China | Role::Splash => "as a cymbal for accents",
        Role::Tom => "as a drum of fills",
        Role::Other => "",
    };
    format!(
        "{}, in {in_bars} of {all} bars, {like}; {}",
        falls(used),
        strokes(used.strokes.len())
    )
}

/// A further key of a piece.
pub(super) fn second(first: Note, laid_over: bool) -> String {
    if laid_over {
        format!("; only together with key {}", first.key)
    } else {
        format!("; perhaps a second key beside key {}", first.key)
    }
}

/// A key that counts in.
pub(super) fn count_in(n: usize) -> String {
    format!("counts in before anything else plays; {}", strokes(n))
}

/// A key that was not looked at.
pub(super) fn beyond(most: usize) -> String {
    format!("more than {most} keys are used: the least used are not looked at")
}

/// What is known of a key that has no piece.
pub(super) fn unplaced(key: usize, keys: &[Used], few: bool) -> String {
    let used = &keys[key];
    let n = strokes(used.strokes.len());
    if few {
        format!("{n}: too few to tell")
    } else {
        let (in_bars, all) = bars(key, keys);
        format!(
            "{}, in {in_bars} of {all} bars; {n}: no piece is used like that alone",
            falls(used)
        )
    }
}
