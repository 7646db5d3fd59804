//! From the names of keys to pieces, by the trade's words.
//!
//! A name is read as a drummer reads it: "BD 1" is a kick, "Standtom" is a floor tom, "Crash L" is the left crash. A
//! name that says nothing of the kit, or two things at once, is left out and listed. How sure a line is depends on
//! how plain its name is: a shade ("Snare edge"), a second one ("Kick 2") or a word that is not known make it likely,
//! not sure.

mod several;
mod words;

use super::proposal::{Line, Proposal, Sureness, Unplaced};
use super::{Note, Piece};
use several::{Key, Mark, Placed};
use words::{Reading, Word};

/// What a name stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Meaning {
    Piece(Piece, Sureness, &'static str),
    /// One of the toms.
    Tom(Sureness),
    /// One of the crashes.
    Crash(Sureness),
    Nothing(&'static str),
}

const NOTHING: Meaning = Meaning::Nothing("it names no piece of the kit");
const SEVERAL: Meaning = Meaning::Nothing("it names more than one piece");
const ON_THE_RIM: &str = "a rimshot, or a side stick";

/// What a name stands for, as if it said nothing else.
fn meaning(reading: &Reading) -> Meaning {
    use Meaning::{Crash, Piece as Is, Tom};
    use Sureness::{Guess, Likely, Sure};
    for (word, why) in [
        (Word::Other, "another instrument"),
        (Word::Choke, "it stops a sound"),
        (Word::Figure, "more than one stroke"),
    ] {
        if reading.has(word) {
            return Meaning::Nothing(why);
        }
    }
    match reading.struck()[..] {
        [] if reading.has(Word::Unknown) => NOTHING,
        [] if reading.has(Word::Floor) || reading.has(Word::Rack) => Tom(Likely),
        [] => NOTHING,
        [Word::Rim | Word::Bell | Word::Bow | Word::Stick] if reading.has(Word::Unknown) => {
            Meaning::Nothing("it doesn't say of what")
        }

        [Word::Kick] => Is(Piece::Kick, Sure, ""),

        [Word::Snare] => Is(Piece::Snare, Sure, ""),
        [Word::RimShot] | [Word::Snare, Word::RimShot] => Is(Piece::Snare, Likely, "a rimshot"),
        [Word::Rim] | [Word::Snare, Word::Rim] => Is(Piece::Snare, Guess, ON_THE_RIM),
        [Word::SideStick]
        | [Word::Snare, Word::SideStick]
        | [Word::SideStick, Word::Rim]
        | [Word::Snare, Word::SideStick, Word::Rim] => Is(Piece::SideStick, Sure, ""),
        [Word::Rim | Word::Snare, Word::Stick] | [Word::Snare, Word::Rim, Word::Stick] => {
            let why = "a side stick, or a stroke with the stick";
            Is(Piece::SideStick, Guess, why)
        }

        [Word::Hat]
        | [
            Word::Hat,
            Word::Bell | Word::Bow | Word::Splash | Word::Stick,
        ] => hi_hat(reading),

        [Word::Ride] | [Word::Ride, Word::Bow] => Is(Piece::Ride, Sure, ""),
        [Word::Ride, Word::Stick] => Is(Piece::Ride, Likely, ""),
        [Word::Bow] => Is(Piece::Ride, Guess, "of the ride, or of another cymbal"),
        [Word::Ride, Word::Crash] => Is(Piece::Ride, Guess, "the edge of the ride, or a crash"),
        [Word::Ride, Word::Bell] => Is(Piece::RideBell, Sure, ""),
        [Word::Bell] => Is(
            Piece::RideBell,
            Guess,
            "the bell of the ride, or another one",
        ),

        [Word::Crash] => Crash(Sure),
        [Word::Bow, Word::Crash] => Crash(Likely),
        [Word::Bell, Word::Crash] => Crash(Guess),

        [Word::China] | [Word::Crash, Word::China] => Is(Piece::China, Sure, ""),
        [Word::Bow, Word::China] => Is(Piece::China, Likely, ""),
        [Word::Bell, Word::China] => Is(Piece::China, Guess, "its bell"),
        [Word::China, Word::Splash] => Is(Piece::China, Guess, "a small china, or a splash"),

        [Word::Splash] => Is(Piece::Splash, Sure, ""),
        [Word::Crash, Word::Splash] => Is(Piece::Splash, Guess, "a splash, or a small crash"),
        [Word::Bell, Word::Splash] => Is(Piece::Splash, Guess, "its bell"),

        [Word::Tom] => Tom(Sure),
        [Word::RimShot, Word::Tom] | [Word::Tom, Word::Stick] => Tom(Likely),
        [Word::Rim, Word::Tom] => Tom(Guess),

        [Word::Sticks] => Is(Piece::Sticks, Sure, ""),
        [Word::Stick] => Is(Piece::Sticks, Guess, "the sticks, or a stroke with one"),

        _ => SEVERAL,
    }
}

/// How the hi-hat is struck.
fn hi_hat(reading: &Reading) -> Meaning {
    let has = |word| reading.has(word);
    let (piece, sureness, why) = if has(Word::Splash) || has(Word::Foot) && has(Word::Open) {
        let why = "the foot opens it again";
        (Piece::HiHatFoot, Sureness::Likely, why)
    } else if has(Word::Foot) {
        (Piece::HiHatFoot, Sureness::Sure, "")
    } else if has(Word::Half) || has(Word::Mid) {
        (Piece::HiHatLoose, Sureness::Sure, "")
    } else {
        match (has(Word::Closed), has(Word::Open)) {
            (true, true) => return Meaning::Nothing("it says closed and open"),
            (true, false) => (Piece::HiHatClosed, Sureness::Sure, ""),
            (false, true) => (Piece::HiHatOpen, Sureness::Sure, ""),
            (false, false) => {
                let why = "it doesn't say how far open";
                (Piece::HiHatClosed, Sureness::Guess, why)
            }
        }
    };
    Meaning::Piece(piece, sureness, why)
}

/// Whether a name says nothing beyond its meaning. The right hand and foot lead (see [`super::reach`]), and the
/// first is the main one.
fn is_plain(reading: &Reading, meaning: Meaning) -> bool {
    let (words, number): (&[Word], bool) = match meaning {
        Meaning::Tom(_) | Meaning::Crash(_) => (
            &[
                Word::High,
                Word::Mid,
                Word::Half,
                Word::Low,
                Word::Very,
                Word::Floor,
                Word::Rack,
                Word::Left,
                Word::Right,
            ],
            true,
        ),
        Meaning::Piece(Piece::HiHatFoot, ..) => (&[Word::Foot, Word::Closed, Word::Open], false),
        Meaning::Piece(Piece::HiHatLoose, ..) => {
            let words = &[Word::Half, Word::Mid, Word::Open, Word::Closed];
            (words, false)
        }
        Meaning::Piece(Piece::HiHatClosed, ..) => (&[Word::Closed], false),
        Meaning::Piece(Piece::HiHatOpen, ..) => (&[Word::Open], false),
        Meaning::Piece(..) | Meaning::Nothing(_) => (&[Word::Right], false),
    };
    let mut further = reading.words.iter().filter(|word| **word > Word::Stick);
    let second = !number && reading.numbers.iter().any(|number| *number != 1);
    !second && further.all(|word| words.contains(word))
}

/// The most characters of a name that are shown.
const SHOWN: usize = 80;

fn shown(name: &str) -> String {
    let name = name.trim();
    match name.char_indices().nth(SHOWN) {
        Some((at, _)) => format!("{} ...", &name[..at]),
        None => name.to_owned(),
    }
}

fn named(name: &str, why: &str) -> String {
    let colon = if why.is_empty() { "" } else { ": " };
    format!("its name is \"{}\"{colon}{why}", shown(name))
}

/// Places keys of several of a kind.
type Place = fn(&[Key]) -> Vec<Placed>;

/// Proposes pieces for notes by their names. A note that could not be placed is in `unplaced`, with the reason.
///
/// Toms go from the highest to the lowest by words, numbers or keys, and are folded to four where there are more;
/// crashes go left and right by words, numbers, size or keys.
pub fn propose(notes: &[(Note, String)]) -> Proposal {
    let mut proposal = Proposal::default();
    let (mut toms, mut crashes) = (Vec::new(), Vec::new());
    for (at, (note, name)) in notes.iter().enumerate() {
        let reading = Reading::new(name, Some(note.key));
        let meaning = meaning(&reading);
        let plain = is_plain(&reading, meaning);
        let key = Key {
            note: *note,
            mark: Mark::new(&reading),
            plain,
            rack: reading.has(Word::Rack),
        };
        match meaning {
            Meaning::Piece(piece, sureness, why) => proposal.lines.push(Line {
                piece,
                note: *note,
                sureness: several::shaded(sureness, plain),
                reason: named(name, why),
            }),
            Meaning::Tom(sureness) => toms.push((at, key, sureness)),
            Meaning::Crash(sureness) => crashes.push((at, key, sureness)),
            Meaning::Nothing(_) if name.trim().is_empty() => proposal.unplaced.push(Unplaced {
                note: *note,
                reason: "it has no name".to_owned(),
            }),
            Meaning::Nothing(why) => proposal.unplaced.push(Unplaced {
                note: *note,
                reason: named(name, why),
            }),
        }
    }
    for (found, place) in [(toms, several::toms as Place), (crashes, several::crashes)] {
        let keys: Vec<Key> = found.iter().map(|(_, key, _)| *key).collect();
        for ((at, key, sureness), placed) in found.into_iter().zip(place(&keys)) {
            proposal.lines.push(Line {
                piece: placed.piece,
                note: key.note,
                sureness: sureness.max(placed.sureness),
                reason: named(&notes[at].1, &placed.why),
            });
        }
    }
    proposal.sort();
    proposal
}

/// The name of a key in a group of keys: with the group in front where the group says what is struck ("Snare: edge"),
/// else alone ("Kick" of the group "Drums").
pub fn in_group(group: &str, name: &str) -> String {
    let of_group = Reading::new(group, None);
    let says = !of_group.struck().is_empty() || of_group.has(Word::Other);
    let joined = format!("{}: {}", group.trim(), name.trim());
    let fits = meaning(&Reading::new(&joined, None)) != SEVERAL;
    if says && fits {
        joined
    } else {
        name.to_owned()
    }
}

#[cfg(test)]
mod tests;
