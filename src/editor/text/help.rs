//! The words of the page of marks and keys.

/// Above the marks of the pieces.
pub const PIECES_TITLE: &str = "Marks of the pieces";
/// Above the marks of the strip.
pub const STRIP_TITLE: &str = "On the strip of the song";
/// What is to be seen there.
pub const STRIP: [(&str, &str); 11] = [
    (
        "click",
        "chooses a section: the controls change it alone. Once more: the panel, which is the whole song",
    ),
    (
        "Shift, Ctrl and click",
        "choose several, which are changed together",
    ),
    (
        "drag",
        "on free bars draws a section; on a section carries it; its right edge lengthens it",
    ),
    (
        "line with two dots",
        "the section's own intensity: drag the dots; none where it is from the panel",
    ),
    (
        "dashed line",
        "the intensity in force, where the song file automates it",
    ),
    ("warm tint", "the more intense, the warmer"),
    (
        "star, triangle, sticks",
        "the section starts with a crash, the china, a count-in",
    ),
    (
        "one tom, three toms, two lines",
        "a short fill, a long one, a break leads to the next section",
    ),
    (
        "slanted lines",
        "it is held: wide for this take, closer for as it is now, closest for by hand",
    ),
    (
        "3 edits",
        "so many of its strokes are edited by hand in the lanes; a short bar where it is narrow",
    ),
    ("thick line below", "the bars that the lanes show"),
];
/// Above the marks of the lanes.
pub const LANES_TITLE: &str = "In the lanes";
/// What is to be seen there.
pub const LANES: [(&str, &str); 13] = [
    ("grey glow", "it sounds now"),
    (
        "wedge on the guitar",
        "a hit of the band: click a stroke there to make one, again for a long or short one, once more to remove it; \
         hollow: suggested",
    ),
    ("height", "how hard it is struck; ghost notes are faint"),
    (
        "place",
        "when it sounds: beside the line where the drummer is loose",
    ),
    (
        "point at it",
        "piece, count, velocity, limb, how early or late, and why it is there",
    ),
    (
        "ring",
        "a change that you just made brought it; struck through while it fades: took it away",
    ),
    ("struck out", "left out: too fast for these chops"),
    ("short bar below", "your word: edited by hand"),
    ("struck out in a ring", "the drummer's, left out by hand"),
    (
        "triangle",
        "beyond two hands and two feet: played as you wrote it",
    ),
    (
        "frame, hollow circle",
        "only here, only in the other one, while you compare",
    ),
    ("shade", "a fill"),
    ("guitar", "the riff; strokes with a square get a kick"),
];
/// Above what is done to strokes.
pub const EDIT_TITLE: &str = "Edit strokes in the lanes";
/// What is done to them, with the pointer and with keys.
pub const EDIT: [(&str, &str); 9] = [
    (
        "click, dot and comma",
        "select a stroke, the next, the one before; with Shift more of them, Ctrl+A all",
    ),
    ("drag over the ground", "selects what is in the frame"),
    (
        "drag up and down, arrows",
        "louder, softer; arrows with Shift a little",
    ),
    (
        "drag sideways, arrows",
        "along the grid; with Alt between its places",
    ),
    ("Delete", "leaves out; once more: plays it again"),
    (
        "double-click",
        "adds a stroke: the lane's usual piece, or what Adds says",
    ),
    (
        "Enter or Insert",
        "a frame for where to add: arrows move it, Enter adds",
    ),
    ("Escape", "ends the frame, then the selection"),
    (
        "Clear edits",
        "back to the drummer: the selection, a bar, a section",
    ),
];
/// Above the keys.
pub const KEYS_TITLE: &str = "Keys";
/// What they do.
pub const KEYS: [(&str, &str); 12] = [
    ("Tab, Shift+Tab", "go from control to control"),
    (
        "arrows",
        "change a level, step through beats, sections and bars, whichever has the keys",
    ),
    ("Enter", "on the empty strip: a new section"),
    ("Insert", "on a section: another new one after it"),
    ("F2, Delete", "rename it, remove it"),
    ("Ctrl+D", "copy it"),
    ("Alt and arrows", "move it left or right"),
    ("Escape", "change the panel again"),
    (
        "+ and -",
        "in the lanes: fewer or more bars; also Ctrl and the wheel",
    ),
    (
        "Ctrl+Z, Ctrl+Shift+Z",
        "undo and redo changes of song, edits, beats, riff and note map",
    ),
    ("Ctrl and +, -, 0", "how large everything is drawn"),
    ("F1", "this page"),
];
/// The usual caution.
pub const EARS: &str = "Loud drums hurt ears, and what hurts them does not heal. Start quiet, above all with headphones.";
/// Above the words beside the controls.
pub const CONTROLS_TITLE: &str = "Beside the controls";
/// What they mean.
pub const CONTROLS: [(&str, &str); 5] = [
    (
        "own, from panel",
        "whose value the chosen section plays: click to change that",
    ),
    (
        "mixed",
        "the chosen sections differ; what you change becomes the same in all",
    ),
    (
        "here: ...",
        "the section at the playhead has this value of its own, so the panel's is not heard here",
    ),
    ("host moves it", "the recording program automates it"),
    (
        "Compare",
        "remembers how things are; then change what you like, and go back and forth with this and other",
    ),
];
