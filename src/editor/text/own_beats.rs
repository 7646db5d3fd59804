//! Words of the songwriter's own beats.

/// What a beat is called that has no section to be named after.
pub const NAME: &str = "own";
/// Keeps the phrase on show as a beat, and says what that is.
pub const KEEP: (&str, &str) = (
    "Keep this phrase as a beat",
    "Makes an own beat of the bars in the lanes, your edits included. What stands in each repetition is its core, what \
     stands in some comes in with density.",
);
/// Reads one.
pub const READ: (&str, &str) = (
    "Read a beat…",
    "From a beat file, from a MIDI file of drums, or from a text chart. It becomes the next free own beat.",
);
/// Writes the chosen one.
pub const WRITE: (&str, &str) = (
    "Write this beat…",
    "As a file, to share or for another song.",
);
/// Forgets the chosen one.
pub const FORGET: (&str, &str) = (
    "Forget this beat",
    "The slot is free again. Undo brings the beat back.",
);
/// The title of the dialogs.
pub const DIALOG: &str = "Own beat";

/// An own beat in the list: "own 3: limping".
pub fn own(number: u8, name: &str) -> String {
    format!("own {number}: {name}")
}

/// What one is good for, below its name.
pub const ABOUT: &str = "Your own beat: all that acts on a beat acts on it.";

/// It was kept.
pub fn kept(number: u8, name: &str, report: &str) -> String {
    let report = report.trim_end();
    if report.is_empty() {
        format!("\"{name}\" is own {number}")
    } else {
        format!("\"{name}\" is own {number}\n{report}")
    }
}
