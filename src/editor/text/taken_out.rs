//! The words of what is dragged out of the window and dropped into it.

use std::path::Path;

/// On what is taken hold of.
pub const GRIP: &str = "Drag as MIDI";
/// What it does.
pub const GRIP_HINT: &str = "Drag it onto a track of the recording program, or to a folder: it arrives as a MIDI file. A \
     click writes the file and says where it is.";
/// The grip of the bars on show, of the chosen sections, of the song, for whoever can't see where it stands.
pub const GRIPS: [&str; 3] = [
    "Drag the bars on show as MIDI",
    "Drag the chosen sections as MIDI",
    "Drag the song as MIDI",
];
/// Where the system broke a drag off.
pub const REFUSED: &str = "the system refused";

/// Where there is no host to ask for its main thread.
pub const ALONE: &str = "the program on its own can't on this system";

/// A drag that could not be.
pub fn cannot(why: &str) -> String {
    format!(
        "Nothing can be dragged here ({why}). The file is written all the same: drag it from its folder."
    )
}

/// What a dropped file can become.
pub const OPEN: &str = "Open it as the song";
/// Explains [`OPEN`].
pub const OPEN_HINT: &str = "Undo brings back what was there.";
/// As the note map.
pub const MAP: &str = "Use it as the note map";
/// Explains [`MAP`].
pub const MAP_HINT: &str = "What it says of the keys is what the sampler is sent.";
/// Explains edits of a region.
pub const COMPARE_HINT: &str = "What it does otherwise than the drummer becomes edits, and the drummer plays the rest. Undo takes them back.";
/// Explains an own beat.
pub const BEAT_HINT: &str = "It stands at the end of the list of beats. Undo takes it away again.";
/// Explains a lock.
pub const LOCK_HINT: &str =
    "The drummer plays its strokes as they are. Undo gives the section back.";
/// Explains a riff.
pub const GUITAR_HINT: &str = "The kick can follow its strokes.";
/// Above what a file can become.
pub const WHAT: &str = "What should become of it?";
/// Leaves it.
pub const NOTHING: &str = "Nothing";
/// Several files at once.
pub const ONE: &str = "Drop one file at a time.";

/// As edits of a section.
pub fn compare(section: &str) -> String {
    format!("Make edits of {section} of it")
}

/// As all that a section plays.
pub fn lock(section: &str) -> String {
    format!("Have {section} play all of it as it is")
}

/// As an own beat.
pub fn beat(number: u8) -> String {
    format!("Make a beat of it: own {number}")
}

/// As the guitar, from a bar on, from 1.
pub fn guitar(bar: i64) -> String {
    format!("Use it as the guitar, from bar {bar}")
}

/// A file that nothing can be made of.
pub fn unknown(file: &Path) -> String {
    format!(
        "{} can't be used here: drop a song (.json), a MIDI file, a recording of the guitar (.wav, .flac) or a note map.",
        name(file)
    )
}

/// A file that can't be read.
pub fn unread(file: &Path, why: &str) -> String {
    format!("{} can't be read: {why}", name(file))
}

/// A file's name.
pub fn name(file: &Path) -> String {
    let name = file.file_name().unwrap_or(file.as_os_str());
    name.to_string_lossy().into_owned()
}
