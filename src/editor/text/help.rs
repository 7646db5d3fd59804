//! The words of the page of marks and keys.

/// Above the marks of the pieces.
pub const PIECES_TITLE: &str = "Marks of the pieces: drums are filled, cymbals are lines";
/// Above the marks of the strip.
pub const STRIP_TITLE: &str = "On the strip of the song";
/// What is to be seen there.
pub const STRIP: [(&str, &str); 6] = [
    (
        "click",
        "chooses a section: the controls turn it. Once more: the panel",
    ),
    (
        "Shift, Ctrl and click",
        "choose several, which are turned together",
    ),
    (
        "drag",
        "on free bars draws a section; a section is carried, its right edge lengthens it, the ends of its line are its intensity",
    ),
    ("tint", "the more intense, the warmer"),
    (
        "slanted lines",
        "how firmly it is held: none as it comes, then this take, as it is now, by hand",
    ),
    ("frame below", "the bars that the lanes show"),
];
/// Above the marks of the lanes.
pub const LANES_TITLE: &str = "In the lanes";
/// What is to be seen there.
pub const LANES: [(&str, &str); 8] = [
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
    (
        "frame, hollow mark",
        "only here, only in the other one, while you compare",
    ),
    ("shade", "a fill"),
    ("guitar", "the riff; strokes with a square get a kick"),
];
/// Above the keys.
pub const KEYS_TITLE: &str = "Keys";
/// What they do.
pub const KEYS: [(&str, &str); 12] = [
    ("Tab, Shift+Tab", "go from control to control"),
    (
        "arrows",
        "turn a level, step through beats, sections and bars, whichever has the keys",
    ),
    ("Enter", "on the empty strip: a new section"),
    ("Insert", "on a section: another new one after it"),
    ("F2, Delete", "rename it, remove it"),
    ("Ctrl+D", "copy it"),
    ("Alt and arrows", "move it left or right"),
    ("Escape", "turn the panel again"),
    (
        "+ and -",
        "in the lanes: fewer or more bars; also Ctrl and the wheel",
    ),
    (
        "Ctrl+Z, Ctrl+Shift+Z",
        "undo and redo changes of song, riff and note map",
    ),
    ("Ctrl and +, -, 0", "how large everything is drawn"),
    ("F1", "this page"),
];
/// The usual caution.
pub const EARS: &str = "Loud drums hurt ears, and what hurts them does not heal. Start quiet, above all with headphones.";
