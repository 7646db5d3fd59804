//! The words of the song, its sections and its files.

/// By how much a level of the panel moves the chart's.
pub fn moved(by: f32) -> String {
    match (by * 100.0).round() {
        0.0 => "same as chart".to_owned(),
        percent => format!("chart {percent:+}%"),
    }
}

/// The bar that is played, counted from 1, and its section.
pub fn place(bar: usize, section: &str) -> String {
    format!("bar {bar}: {section}")
}

/// On the strip, before there is a section.
pub const NONE: &str =
    "No sections yet: the panel plays. Drag along the bars to draw the first one.";
/// Makes one.
pub const NEW: &str = "New section";
/// Explains [`NEW`].
pub const NEW_HINT: &str = "A section that says no more than its name and length: the panel plays in it, with whatever automates it.";
/// Shows the demo song.
pub const DEMO: &str = "Demo song";
/// Explains [`DEMO`].
pub const DEMO_HINT: &str = "A song of our own with everything that a chart can say.";
/// The song's title.
pub const TITLE: &str = "Title";
/// The bar at which the first section begins.
pub const START_BAR: &str = "Starts at bar ";
/// Explains [`START_BAR`].
pub const START_BAR_HINT: &str =
    "The bar of the project at which the first section begins. The drummer rests before it.";
/// Forgets the chart.
pub const CLEAR: &str = "Clear song";
/// Explains [`CLEAR`].
pub const CLEAR_HINT: &str = "Forget all sections. Undo brings them back.";

/// What is done with the list of sections: names and explanations.
pub const LIST: [(&str, &str); 5] = [
    ("Add", "Another section after this one, with what it says."),
    (
        "Copy",
        "This section once more, note for note if it is kept as it is now (Ctrl+D).",
    ),
    (
        "Move left",
        "Play it before the section on its left (Alt+left).",
    ),
    (
        "Move right",
        "Play it after the section on its right (Alt+right).",
    ),
    ("Remove", "Take it out (Delete). Undo brings it back."),
];

/// Names of what a section says, and explanations.
pub const NAME: (&str, &str) = (
    "Name",
    "Verse, chorus, breakdown: a marker in what is exported.",
);
/// Its length.
pub const BARS: (&str, &str) = ("Bars", "How long it is.");
/// Its meter.
pub const METER: (&str, &str) = (
    "Meter",
    "Its own, or the one that the recording program has there.",
);
/// The choice to go by the host's meter.
pub const HOST_METER: &str = "from host";
/// The choice of an own meter.
pub const OWN_METER: &str = "own";
/// Its tempo.
pub const TEMPO: (&str, &str) = (
    "Tempo",
    "For exports that go by the chart's tempo. While you play, the recording program's counts. 0: goes \
     on as before.",
);
/// How it begins.
pub const START: (&str, &str) = (
    "Starts with",
    "Auto is a crash where the intensity asks for one. A count-in is played in the bar before.",
);
/// How it ends.
pub const FILL: (&str, &str) = (
    "Fill into the next",
    "What leads to the next section. Auto goes by the fill chance; a break is silence and one flam.",
);
/// How firmly a section is held.
pub const HOLD: (&str, &str) = (
    "Hold",
    "How firmly the section is held while you change things around it.",
);
/// How firmly sections are held, from loose to firm: names and explanations.
pub const HELD: [(&str, &str); 4] = [
    ("as it comes", "The drummer plays the panel's take."),
    (
        "this take",
        "The drummer keeps this take, whatever the panel says.",
    ),
    (
        "as it is now",
        "Keep as is: whatever comes, goes or changes around it, the drummer plays it as it is now.",
    ),
    (
        "by hand",
        "Use my edit: the drummer plays the strokes of a MIDI file that you edited. Choose another to give it back \
         to the drummer; your strokes then go to a new MIDI file.",
    ),
];
/// Whatever levels say between their two ends.
pub const TO: &str = "to";
/// Explains the two ends of a level.
pub const LEVEL_HINT: &str = "Where it begins, and where it ends if that is elsewhere.";

/// Where the path of a song is typed.
pub const PATH: &str = "path of a file";
/// Where nothing was chosen.
pub const NOT_CHOSEN: &str = "No file was chosen.";
/// Where no dialog could open.
pub const NO_DIALOG: &str = "No dialog could open here: type the path in the field.";
/// Reads a song.
pub const LOAD: (&str, &str) = (
    "Load song",
    "Read a song file. Take, phrase and kick source of the panel go with it, and its levels to the \
     middle. Undo brings back what was there.",
);
/// Writes a song.
pub const SAVE: (&str, &str) = (
    "Save song",
    "Write the chart as a song file, with take, phrase and riff.",
);
/// Writes a MIDI file.
pub const EXPORT: (&str, &str) = (
    "Export MIDI",
    "Write a MIDI file of the chart, as the panel and the riff have it now.",
);
/// Writes a chart for a drummer.
pub const SCORE: (&str, &str) = (
    "Chart for a drummer",
    "Write the song, or the chosen section, as drummers read it. The ending of the name says how: .pdf or .svg for a short \
     chart to print, .musicxml or .mxl for a notation program, .txt for plain text.",
);
/// Has the chosen section play an edit by hand.
pub const LOCK: (&str, &str) = (
    "Use my edit",
    "Read a MIDI file that you edited by hand: the chosen section plays it as it is, stroke by stroke. Undo brings back what it played.",
);
/// Makes edits of a region.
pub const COMPARE: (&str, &str) = (
    "Edits from a region…",
    "Read a MIDI file of this section that you edited elsewhere: what it does otherwise than the drummer becomes edits, \
     and the drummer plays the rest. Undo takes them back.",
);
/// Gives it back to the drummer.
pub const UNLOCK: (&str, &str) = (
    "Back to the drummer",
    "The drummer plays the section again. Your strokes are written to a new MIDI file, so that nothing is \
     lost.",
);
/// In place of a beat, where a section plays an edit by hand.
pub const LOCKED: &str = "edited by hand";
/// What is exported: all of it, or the section that is chosen.
pub const WHAT: [&str; 2] = ["whole song", "this section"];
/// Before what is exported.
pub const EXPORTED: &str = "Export the";
/// Before how notes go onto tracks.
pub const TRACKS: &str = "on tracks:";
/// The tempo of an export.
pub const CHART_TEMPO: (&str, &str) = (
    "chart's tempo",
    "Without it, the recording program's as far as it was seen while it played, the chart's before that.",
);
/// The exact grid.
pub const EXACT: (&str, &str) = ("exact grid", "Without the drummer's small deviations.");
/// In format 0.
pub const SINGLE: (&str, &str) = (
    "format 0",
    "Everything in one track, for programs that can't read several.",
);
/// While a file is read or written.
pub const BUSY: &str = "working…";

/// After a file was in the way.
pub fn exists(path: &std::path::Path) -> String {
    format!(
        "{} exists already. Press again to replace it, or choose another name.",
        path.display()
    )
}

/// After a song was loaded.
pub fn loaded(sections: usize, title: &str) -> String {
    format!("{title}: {sections} sections")
}

/// A saved chart that can't be read.
pub fn unread(problem: &str) -> String {
    format!(
        "This project brought a chart that can't be read ({problem}). It stays in the project as it is \
         until there is another chart."
    )
}

/// That lanes stay where they are.
pub fn lanes(names: &str) -> String {
    format!("The song file automates, bar by bar: {names}")
}

/// Removes them.
pub const DROP_LANES: (&str, &str) = (
    "Remove automation",
    "The sections alone say what is played. Undo brings it back.",
);

/// The bars of a section in the song, from 1.
pub fn bars(first: usize, last: usize) -> String {
    if first == last {
        first.to_string()
    } else {
        format!("{first}-{last}")
    }
}
