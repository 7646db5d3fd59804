//! The words of the sampler's page.

use crate::kit::hi_hat::Controller;
use crate::kit::map_file::NamedMap;
use crate::kit::note_map::{Choke, Length, PieceNotes, Turns};
use crate::kit::proposal::Sureness;
use crate::kit::{MiddleC, Note, Piece, Response};

/// Opens and closes the page.
pub const PAGE: &str = "Sampler";
/// Explains [`PAGE`].
pub const PAGE_HINT: &str = "Which keys your drum sampler has for the pieces of the kit. Set it once; the project keeps it.";

/// In the head, where the map that the project saved can't be read.
pub const MAP_UNREAD: &str = "saved note map not read";
/// In the head, where the map for new instances can't be read.
pub const START_UNREAD: &str = "map for new instances not read";

/// Why a map can't be read.
pub fn unread(problem: &str) -> String {
    let mut letters = problem.chars();
    let first = letters.next().map(|first| first.to_uppercase().to_string());
    format!("{}{}", first.unwrap_or_default(), letters.as_str())
}

/// What plays a piece that is not sent: "splash plays crash left".
fn folded_line((piece, sounds): (Piece, Option<Piece>)) -> String {
    match sounds {
        Some(sounds) => format!("{} plays {}", piece.name(), sounds.name()),
        None => format!("{} is not sent", piece.name()),
    }
}

/// What is folded, in few words; `None` where nothing is.
pub fn folded(pieces: &[(Piece, Option<Piece>)]) -> Option<String> {
    match pieces {
        [] => None,
        [(piece, Some(sounds))] => Some(format!(
            "{} has no key: {} plays",
            piece.name(),
            sounds.name()
        )),
        [one] => Some(folded_line(*one)),
        several => Some(format!(
            "the sampler lacks {} of {} pieces",
            several.len(),
            Piece::COUNT
        )),
    }
}

/// The same, piece by piece.
pub fn folded_whole(pieces: &[(Piece, Option<Piece>)]) -> String {
    let lines: Vec<_> = pieces.iter().copied().map(folded_line).collect();
    format!("What your sampler has no key for:\n{}", lines.join("\n"))
}

/// The groups of the list.
pub const FEET: &str = "feet";
/// The drums under the hands.
pub const DRUMS: &str = "drums";
/// The hi-hat under the hand.
pub const HI_HAT: &str = "hi-hat";
/// The cymbals.
pub const CYMBALS: &str = "cymbals";
/// The sticks.
pub const STICKS: &str = "sticks";

/// The heads of the columns.
pub const PIECE: &str = "piece";
/// The key that is sent.
pub const KEY: &str = "key";
/// Its channel.
pub const CHANNEL: &str = "channel";
/// How it answers velocity.
pub const VELOCITY: &str = "velocity";
/// Whether it is sent.
pub const STATE: &str = "state";
/// Its sound.
pub const HEAR: &str = "hear";
/// What else is set.
pub const MORE: &str = "also";

/// Explains a piece's name.
pub const PIECE_HINT: &str =
    "Click for the settings that are seldom needed: alternates, velocity, length, choke, hi-hat.";
/// Explains a key.
pub const KEY_HINT: &str =
    "Drag, or click and type a number (36) or a name (C1). \"none\" takes the key away.";
/// Explains a channel.
pub const CHANNEL_HINT: &str = "The MIDI channel of all keys of this piece, 1 to 16.";
/// Explains a velocity curve.
pub const CURVE_HINT: &str =
    "Which velocity is sent for the one that is played. Click to change it.";
/// Explains the state.
pub const STATE_HINT: &str = "Whether the sampler has this piece, and what is played where it has not. Type or learn a key \
     to send it again.";

/// Where a piece has no key.
pub const NO_KEY: &str = "no key";
/// How no key can be typed.
pub const NONE: &str = "none";

/// A key by number and name; [`NO_KEY`] without one.
pub fn key(key: Option<u8>, middle_c: MiddleC) -> String {
    key.map_or_else(
        || NO_KEY.to_owned(),
        |key| format!("{key} {}", middle_c.name(key)),
    )
}

/// A note: its key, and its channel as programs count it.
pub fn note(note: Note, middle_c: MiddleC) -> String {
    let key = key(Some(note.key), middle_c);
    format!("{key} on channel {}", note.channel + 1)
}

/// The accessible name of what is of a piece, or of the hi-hat: "kick: key".
pub fn of(whose: &str, what: &str) -> String {
    format!("{whose}: {what}")
}

/// A velocity response in words.
pub fn response(response: Response) -> String {
    let Response {
        floor,
        ceiling,
        bend,
    } = response;
    match bend {
        0 => format!("{VELOCITY} {floor} to {ceiling}"),
        bend => format!("{VELOCITY} {floor} to {ceiling}, bend {bend:+}"),
    }
}

/// The state of a piece that is sent.
pub const SENT: &str = "sent";
/// The state of a piece that nothing plays.
pub const NOTHING: &str = "not played";

/// The state of a piece that another one plays.
pub fn played_by(other: Piece) -> String {
    format!("played by {}", other.name())
}

/// The state of a piece that the next best one plays, or nothing.
pub fn nearest(other: Option<Piece>) -> String {
    let played = other.map_or_else(|| NOTHING.to_owned(), played_by);
    format!("{played} (auto)")
}

/// The strengths at which a piece is heard.
pub const STRENGTHS: [&str; 3] = ["soft", "middle", "hard"];
/// Explains them.
pub const HEAR_HINT: &str = "Plays it at once, also while the transport stands. Where it has several keys, one after the other.";
/// Hears every piece.
pub const HEAR_ALL: (&str, &str) = (
    "Hear all",
    "Plays every piece that is sent, in the order of the list. What sounds wrong has the wrong key.",
);
/// Ends it.
pub const HEAR_NO_MORE: &str = "Stop hearing";

/// What is heard now.
pub fn heard(piece: Piece) -> String {
    format!("now: {}", piece.name())
}

/// Learns a key.
pub const LEARN: (&str, &str) = (
    "Learn",
    "Then strike the pad or press the key of your sampler: the next note that comes in is this piece's.",
);
/// Learns an alternate.
pub const LEARN_ALTERNATE: (&str, &str) = (
    "Learn one more",
    "The next note that comes in is a further key of this piece.",
);
/// Learns every piece.
pub const LEARN_ALL: (&str, &str) = (
    "Learn all",
    "Goes through the pieces one by one: strike each on your pads or keys. S or the right arrow skips one, the left \
     arrow goes back, Escape ends.",
);
/// Skips a piece.
pub const SKIP: (&str, &str) = ("Skip", "Leave this piece as it is (S or right arrow).");
/// Goes back to the piece before.
pub const BACK: (&str, &str) = ("Back", "To the piece before (left arrow).");
/// Ends learning.
pub const END: (&str, &str) = ("End", "Learn no more (Escape).");
/// Whether each piece is played as it is asked for.
pub const HEAR_EACH: (&str, &str) = (
    "hear each",
    "Plays the piece that is asked for, as it is set now.",
);

/// What is to be struck now; with its place among all, from 1, where all are learned.
pub fn strike(piece: Piece, place: Option<(usize, usize)>) -> String {
    let name = piece.name();
    match place {
        Some((place, of)) => format!("{place} of {of}: strike the {name} now"),
        None => format!("strike the {name} now"),
    }
}

/// The sampler's name.
pub const NAME: (&str, &str) = ("Name", "What this map is for: the name of a kit, say.");
/// Which octave middle C is in.
pub const MIDDLE_C: (&str, &str) = (
    "Key 60 is",
    "Programs name octaves in different ways: choose as your sampler does. Only names change, no keys.",
);
/// The built-in maps.
pub const BUILT_IN: [(&str, &str); 2] = [
    (
        "General MIDI 1",
        "The percussion keys of General MIDI, Level 1, on channel 10.",
    ),
    ("General MIDI 2", "The same, with sticks."),
];
/// In the field that searches the pieces.
pub const SEARCH: &str = "search pieces";
/// Where a search finds nothing.
pub const NOTHING_FOUND: &str = "no piece has these words";

/// Reads a map.
pub const LOAD: (&str, &str) = (
    "Load map",
    "Read a note map. Undo brings the last one back.",
);
/// Writes a map.
pub const SAVE: (&str, &str) = ("Save map", "Write this note map as a file.");
/// Keeps a map for new instances.
pub const KEEP: (&str, &str) = (
    "Use for new instances",
    "Every Fourlimb that you add from now on starts with this map.",
);
/// Where the path of a map is typed.
pub const PATH: &str = "path of a map";

/// After a map was loaded.
pub fn loaded(map: &NamedMap) -> String {
    let lacking = map.map.folded().count();
    let (name, pieces) = (&map.name, Piece::COUNT - lacking);
    format!("{name}: {pieces} of {} pieces", Piece::COUNT)
}

/// A file that gives no map.
pub fn not_loaded(why: &str) -> String {
    format!("Not loaded, the map stays as it is. {why}")
}

/// A file that could not be written.
pub fn not_written(why: &str) -> String {
    format!("Not written: {why}")
}

/// After a file was in the way, as where a song is.
pub use super::chart::exists;

/// Above the lines of a proposal.
pub const PROPOSED: &str = "What the file says. Listen before you keep it; undo takes it back.";
/// Lets the lines go.
pub const DISMISS: (&str, &str) = ("Done", "Put this list away. The map stays.");

/// How sure a line of a proposal is.
pub fn sureness(sureness: Sureness) -> &'static str {
    match sureness {
        Sureness::Sure => "sure",
        Sureness::Likely => "likely",
        Sureness::Guess => "a guess",
    }
}

/// Above the notes that were left out.
pub const UNPLACED: &str = "Left out, since it could be no piece or any:";

/// The lists of the file that were not read.
pub fn others(names: &[String]) -> String {
    format!("The file has other lists, too: {}", names.join(", "))
}

/// Keys that take turns.
pub const ALTERNATES: (&str, &str) = (
    "alternates",
    "Further keys of the piece. In turn: one after the other. By hand: the first for the lead limb, the second for \
     the other one.",
);
/// How they take turns.
pub const TURNS: &str = "turns";
/// Keys that are read.
pub const ALSO_READ: (&str, &str) = (
    "also read",
    "Keys that mean this piece in a region that you edited by hand. They are never sent.",
);
/// Adds a key.
pub const ADD: &str = "Add key";
/// Takes one away.
pub const REMOVE: &str = "Remove";
/// The parts of a velocity response.
pub const RESPONSE: [(&str, &str); 3] = [
    ("softest", "What velocity 1 becomes."),
    ("hardest", "What velocity 127 becomes."),
    (
        "bend",
        "Above 0 soft strokes are lifted, below 0 they are lowered.",
    ),
];
/// How long notes are.
pub const LENGTH: (&str, &str) = (
    "length",
    "How long its notes are. Some samplers cut a cymbal off where its note ends.",
);
/// How a cymbal is choked.
pub const CHOKE: (&str, &str) = (
    "choke",
    "How the sampler is told that a hand grabs the ringing cymbal.",
);
/// The ways to choke.
pub const CHOKES: [&str; 3] = ["end of the note", "a key of its own", "aftertouch"];
/// The key that chokes.
pub const CHOKE_KEY: &str = "choke key";

/// Whose the settings of the whole hi-hat are.
pub const WHOLE_HI_HAT: &str = "whole hi-hat";
/// How the sampler is told how far the hi-hat is open.
pub const OPENING: (&str, &str) = (
    "opens",
    "How the sampler is told how far the hi-hat is open. This is of all its pieces.",
);
/// The ways to tell it.
pub const OPENINGS: [&str; 2] = ["by keys", "by a controller"];
/// How far a key is open.
pub const OPEN_AT: (&str, &str) = (
    "open",
    "How far the hi-hat is open on this key: closed is 0%, loose 50%, open 100%.",
);
/// Adds a key between.
pub const ADD_OPENING: (&str, &str) = ("Add opening", "A further key between closed and open.");
/// A controller: number, channel, closed, open, lead.
pub const CONTROLLER: [(&str, &str); 5] = [
    (
        "controller",
        "Its number; 4 is the foot controller of MIDI.",
    ),
    ("channel", "Its MIDI channel, 1 to 16."),
    ("closed at", "Its value for the closed hi-hat."),
    ("open at", "Its value for the open hi-hat."),
    ("ahead by", "How long before its note it is sent."),
];
/// Behind the lead of a controller.
pub const MS: &str = " ms";

/// The accessible name of one of several keys, from 1.
pub fn nth(what: &str, place: usize) -> String {
    format!("{what} {place}")
}

/// What else is set of a piece, in few words; empty where nothing is.
pub fn also(notes: &PieceNotes, middle_c: MiddleC) -> String {
    let mut said = Vec::new();
    let further = notes.notes.get(1..).unwrap_or_default();
    if !further.is_empty() {
        let keys: Vec<_> = further.iter().map(|note| middle_c.name(note.key)).collect();
        said.push(format!("+ {} {}", keys.join(" "), Turns::name(notes.turns)));
    }
    if notes.length != Length::Rings {
        said.push(Length::name(notes.length).to_owned());
    }
    match notes.choke {
        Choke::NoteOff => {}
        Choke::Key(key) => said.push(format!("choked by {}", middle_c.name(key.key))),
        Choke::Aftertouch => said.push("choked by aftertouch".to_owned()),
    }
    said.join(", ")
}

/// What is set of the whole hi-hat, in few words.
pub fn also_hi_hat(controller: &Controller) -> String {
    format!("opened by controller {}", controller.number)
}

/// Pieces that share a key, but for this one.
pub fn shares(others: &[Piece]) -> String {
    let names: Vec<_> = others.iter().map(|piece| piece.name()).collect();
    format!("! same key as {}", names.join(", "))
}

/// A key of several pieces.
pub fn conflict(of: Note, pieces: &[Piece], middle_c: MiddleC) -> String {
    let names: Vec<_> = pieces.iter().map(|piece| piece.name()).collect();
    format!("! {}: {}", note(of, middle_c), names.join(" and "))
}

/// Where no key is of several pieces.
pub const NO_CONFLICT: &str = "no key is used twice";
/// Before the channel of the keyboard.
pub const KEYS_ON: (&str, &str) = (
    "Keys in use on channel",
    "The channel whose keys are shown below, 1 to 16.",
);

/// A key in use.
pub fn used(key_number: u8, pieces: &[Piece], middle_c: MiddleC) -> String {
    let names: Vec<_> = pieces.iter().map(|piece| piece.name()).collect();
    let twice = if pieces.len() > 1 { ", used twice" } else { "" };
    let key = key(Some(key_number), middle_c);
    format!("{key}: {}{twice}", names.join(" and "))
}
