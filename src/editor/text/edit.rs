//! The words of edits by hand in the lanes.

use crate::groove::{Edit, EditAction, EditTarget, Limb};
use crate::kit::Piece;

/// How strokes are edited.
pub const HINT: &str = "Click a stroke to select it, with Shift more of them; drag over the ground: all in the frame. Drag a stroke up or \
     down: louder or softer; sideways: along the grid, with Alt between its places. Delete: leave out. Double-click: \
     add. All of it with keys: F1.";
/// Where there is little room for what is there while nothing is selected.
pub const TOOLS: (&str, &str) = ("Edits", "What is added, and what edits there are.");
/// What a double-click adds.
pub const ADDS: (&str, &str) = (
    "Adds",
    "What a double-click, or Insert, adds: the usual piece of the lane, or this one.",
);
/// The lane's usual piece.
pub const OF_LANE: &str = "lane's own";
/// What is struck.
pub const PIECE: (&str, &str) = ("Piece", "What the selected strokes are struck on.");
/// The cymbal that the lead hand rides on.
pub const HAND: &str = "hand cymbal";
/// The crash of the phrase.
const OPENING: &str = "opening crash";
/// Where the selected strokes differ.
pub const SEVERAL: &str = "several";
/// How hard it is struck.
pub const VELOCITY: (&str, &str) = (
    "Velocity",
    "Drag for louder or softer: the strokes still follow the intensity. Type a number for exactly that velocity.",
);
/// Where it is struck.
pub const PLACE: (&str, &str) = (
    "Place",
    "Drag along the grid, or type a place as it is counted: 2 and. A number goes between: 2.1",
);
/// Leaves strokes out.
pub const LEAVE_OUT: (&str, &str) = ("Leave out", "Leave the selected strokes out (Delete).");
/// Plays them again.
pub const PUT_BACK: (&str, &str) = (
    "Play it again",
    "The drummer plays what was left out (Delete).",
);
/// Takes edits back.
pub const CLEAR: (&str, &str) = (
    "Clear edits",
    "Back to what the drummer plays. Undo brings edits back.",
);
/// Of what is selected.
pub const CLEAR_SELECTED: &str = "of the selection";
/// Where there is little room for what is done to strokes.
pub const MORE: (&str, &str) = ("Change", "Piece, velocity and place of what is selected.");
/// Takes one edit back.
pub const FORGET: &str = "Forget it";
/// Explains sleeping edits.
pub const ASLEEP_HINT: &str =
    "Edits of strokes that the drummer does not play now. They wake when the strokes come back.";
/// Where there is no section.
pub const NO_SECTION: &str =
    "No section plays here: draw one on the strip, or switch Play the chart off.";
/// No hand is free.
pub const NO_HAND: &str = "no hand is free so soon";
/// Both hands strike something else.
pub const THIRD_HAND: &str = "a third hand";
/// Both feet play something else.
pub const THIRD_FOOT: &str = "a third foot";

/// A section that is played as a region edited by hand.
pub fn locked(section: &str) -> String {
    format!("{section} is held by hand, as a whole: set Hold otherwise to edit single strokes.")
}

/// Clears the edits of a bar.
pub fn clear_bar(number: i64) -> String {
    format!("of bar {number}")
}

/// Clears the edits of a section, or all of those beside the chart: so many.
pub fn clear_section(section: Option<&str>, count: usize) -> String {
    let of = section.map_or_else(|| "all of them".to_owned(), |name| format!("of {name}"));
    format!("{of}: {}", edits(count))
}

/// How many edits there are.
pub fn edits(count: usize) -> String {
    match count {
        1 => "1 edit".to_owned(),
        n => format!("{n} edits"),
    }
}

/// How many edits sleep.
pub fn asleep(count: usize) -> String {
    format!("Asleep: {count}")
}

/// What an edit calls a stroke.
pub fn target(target: EditTarget) -> &'static str {
    match target {
        EditTarget::Hand => HAND,
        EditTarget::Opening => OPENING,
        EditTarget::Piece(piece) => piece.name(),
    }
}

/// Whose a stroke is.
pub fn whose(asked: bool, out: bool) -> &'static str {
    match (out, asked) {
        (true, _) => "left out by hand",
        (false, true) => "yours",
        (false, false) => "the drummer's",
    }
}

/// One selected stroke: piece, place, velocity, limb, and whose it is.
pub fn one(number: i64, stroke: &str, limb: Limb, whose: &str) -> String {
    format!("Bar {number}: {stroke}, {}, {whose}", limb.name())
}

/// Several selected strokes: how many, of which pieces, and how many of them are the songwriter's.
pub fn many(count: usize, pieces: &[&str], asked: usize) -> String {
    let whose = match asked {
        0 => "the drummer's".to_owned(),
        n if n == count => "yours".to_owned(),
        n => format!("{n} of them yours"),
    };
    format!("{count} strokes: {}; {whose}", pieces.join(", "))
}

/// That a stroke is the songwriter's, behind its name.
pub fn by_hand(stroke: &str) -> String {
    format!("{stroke}, by hand")
}

/// That it is beyond two hands and two feet.
pub fn beyond_two(stroke: &str) -> String {
    format!("{stroke}, beyond two hands and two feet")
}

/// A stroke of the drummer's that is left out by hand.
pub fn left_out(stroke: &str) -> String {
    format!("left out by hand: {stroke}")
}

/// What a limb does beside a stroke that can't be played: so many milliseconds after it, or before it.
pub fn busy(limb: Limb, piece: Piece, ms: i64) -> String {
    let when = match ms {
        0 => String::new(),
        ms if ms < 0 => format!(" {} ms before", -ms),
        ms => format!(" {ms} ms after"),
    };
    format!("{} on {}{when}", limb.name(), piece.name())
}

/// Why a stroke can't be played: "floor tom low on 2 asks for a third hand: lead hand on crash right, other hand on snare".
pub fn beyond((piece, place): (&str, &str), reason: &str, beside: &[String]) -> String {
    let asks = if reason == THIRD_HAND || reason == THIRD_FOOT {
        format!("asks for {reason}")
    } else {
        reason.to_owned()
    };
    let joint = if asks == reason { ": " } else { " " };
    let beside = if beside.is_empty() {
        String::new()
    } else {
        format!(" ({})", beside.join(", "))
    };
    format!("{piece} on {place}{joint}{asks}{beside}")
}

/// Explains a stroke that can't be played.
pub const BEYOND_HINT: &str = "It is played as you wrote it. The drummer's own strokes make room for yours; two of yours stand as they are.";

/// How many strokes on show are beyond two hands and two feet.
pub fn beyond_count(count: usize) -> String {
    match count {
        1 => "1 stroke beyond two hands and two feet, at your word".to_owned(),
        n => format!("{n} strokes beyond two hands and two feet, at your word"),
    }
}

/// The same in short: a button that goes to the first.
pub fn beyond_short(count: usize) -> String {
    format!("Beyond two hands: {count}")
}

/// Moves a stroke.
pub fn move_to(place: &str) -> String {
    format!("Move it to {place}")
}

/// Has it struck on another piece.
pub fn on_instead(piece: &str) -> String {
    format!("Strike the {piece}")
}

/// An edit in words, by the bar and the place of its stroke.
pub fn edit(edit: &Edit, bar: i64, place: &str) -> String {
    let does = does(edit);
    format!("Bar {bar}: {} on {place}: {does}", target(edit.target))
}

/// An edit that lies beyond the end of its section.
pub fn beyond_end(edit: &Edit, section: &str) -> String {
    let (stroke, does) = (target(edit.target), does(edit));
    format!("Beyond the end of {section}: {stroke}: {does}")
}

/// What an edit does.
fn does(edit: &Edit) -> String {
    match edit.action {
        EditAction::LeaveOut => "left out".to_owned(),
        EditAction::Add => "added".to_owned(),
        EditAction::Change => {
            let louder = match edit.louder {
                0 => None,
                steps if steps < 0 => Some(format!("{} softer", -i16::from(steps))),
                steps => Some(format!("{steps} louder")),
            };
            let velocity = edit.exact.velocity.map(|v| format!("velocity {v}"));
            let onto = edit.onto.map(|onto| format!("on {}", target(onto)));
            let moved = edit.to.map(|_| "moved".to_owned());
            let all = [moved, onto, louder, velocity];
            let all: Vec<String> = all.into_iter().flatten().collect();
            all.join(", ")
        }
    }
}
