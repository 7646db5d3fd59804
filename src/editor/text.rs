//! Every word that the editor shows, but for the names that belong to the drummer (beats, fills,
//! pieces, limbs, choices).

pub mod chart;
pub mod compare;
pub mod drawers;
pub mod edit;
pub mod first_steps;
pub mod fit;
pub mod help;
pub mod hits;
pub mod own_beats;
pub mod sampler;
pub mod taken_out;

use crate::export::What;
use crate::groove::DRUMMER;
use crate::kit::Piece;
use crate::project::recording::Recording;

/// The product.
pub const NAME: &str = "Fourlimb";
/// In the field that searches the beats.
pub const SEARCH: &str = "search beats";
/// Where a search finds nothing.
pub const NOTHING_FOUND: &str = "no beat has these words";

/// The button of the beat, for whoever can't see it.
pub fn beat(name: &str) -> String {
    format!("Beat: {name}")
}

/// The strip of the song, for whoever can't see it.
pub const STRIP: &str = "song strip";
/// The lanes, for whoever can't see them.
pub const LANES: &str = "lanes";
/// What plays where a section states no beat.
pub const AS_PANEL: &str = "as the panel";
/// The title of a song that is begun on the strip.
pub const NEW_SONG: &str = "Song";
/// What the controls turn where no section is chosen.
pub const TURNS_PANEL: &str = "You are changing the panel: the whole song, wherever a section has no value of its own. Click a section to change it alone.";
/// Where there is a chart that is not played.
pub const CHART_IS_OFF: &str = "The sections are not played now: the panel plays everywhere.";
/// Chooses the panel.
pub const TO_PANEL: (&str, &str) = (
    "Back to the panel",
    "Choose no section, and change the whole song again (Escape).",
);

/// Plays the chosen section; in the stand-alone program.
pub const PLAY_FROM: (&str, &str) = ("Play from here", "Start the transport at this section.");
/// Loops over it.
pub const LOOP_SECTION: (&str, &str) = ("Loop it", "Play the chosen sections round and round.");

/// The name of a section that is made, by its place from 1.
pub fn new_section(place: usize) -> String {
    format!("Section {place}")
}

/// What the controls turn.
pub fn turns(names: &[&str]) -> String {
    match names {
        [name] => format!("You are changing {name}"),
        names => format!("You are changing {} sections together", names.len()),
    }
}

/// Beside a control of the panel that the host moves.
pub const AUTOMATED: &str = "host moves it";
/// Explains it.
pub const AUTOMATED_HINT: &str =
    "The recording program moves this parameter, as its automation has it.";
/// Beside a control of the panel that the section at the playhead does not go by: what that one says.
pub fn unheard(here: &str) -> String {
    format!("here: {here}")
}

/// Explains it.
pub const UNHEARD_HINT: &str = "The section here states its own value. Choose it on the strip to change that, or to leave it to the panel.";

/// Beside a control of a section: whose value it is; `short` where there is little room.
pub fn whose(left: bool, differ: bool, short: bool) -> &'static str {
    match (differ, left) {
        (true, _) => "mixed",
        (false, true) if short => "panel",
        (false, true) => "from panel",
        (false, false) => "own",
    }
}

/// Explains it.
pub fn whose_hint(left: bool) -> &'static str {
    if left {
        "The section leaves this to the panel, and to what automates it. Click, or turn the control, for a value of its own."
    } else {
        "The section states this itself. Click to leave it to the panel, and to what automates it."
    }
}

/// The same for whoever can't see it.
pub fn left_to_panel(control: &str) -> String {
    format!("{control}: from panel")
}

/// Where a level of a section ends, for whoever can't see it.
pub fn end_of(control: &str) -> String {
    format!("{control}: end")
}
/// Moves on by one take.
pub const NEXT_TAKE: &str = "Another take";
/// Explains [`NEXT_TAKE`].
pub const NEXT_TAKE_HINT: &str = "Played once more: other small decisions, the same beat. \
     You can go back to the one that was there: compare, other.";
/// While the transport stands.
pub const STOPPED: &str = "stopped";
/// Looks at the bars before.
pub const PREVIOUS: (&str, &str) = ("Previous", "Look at the bars before.");
/// Looks at the bars after.
pub const NEXT: (&str, &str) = (
    "Next",
    "Look at the bars after. A fill, if there is one, is in a phrase's last bar.",
);

/// The bars on show, counted from 1.
pub fn bars(first: i64, last: i64) -> String {
    if first == last {
        bar(first)
    } else {
        format!("bars {first}-{last}")
    }
}

/// Before the numbers of bars that can be shown.
pub const BARS: &str = "bars";
/// Shows the phrase.
pub const PHRASE: &str = "Phrase";
/// Explains both.
pub const ZOOM_LANES: &str = "How many bars the lanes show. Over the lanes: Ctrl and the wheel; the wheel alone goes on and back.";

/// How many bars are shown, for whoever can't see it.
pub fn shows(count: Option<usize>) -> String {
    match count {
        None => "show the phrase".to_owned(),
        Some(1) => "show 1 bar".to_owned(),
        Some(count) => format!("show {count} bars"),
    }
}

/// Opens the page of marks and keys.
pub const HELP: &str = "Help";
/// Explains it.
pub const HELP_HINT: &str = "What the marks mean, and what keys do (F1).";
/// Changes a section's name.
pub const RENAME: &str = "Rename";
/// Explains a section's block.
pub const STRIP_HINT: &str = "Click to turn it with the controls, once more for the panel. Drag to carry it elsewhere, its right edge \
     to lengthen it, the ends of its line for the intensity. Double-click to rename. Keys: F1.";
/// Explains a block's right edge.
pub const LENGTH_HINT: &str = "Drag to lengthen or shorten the section.";
/// Explains the ends of the intensity.
pub const RAMP_HINT: &str = "Intensity: drag up or down. With shift both ends go.";

/// A section's right edge.
pub fn length_of(section: &str) -> String {
    format!("{section}: length")
}

/// An end of a section's intensity.
pub fn ramp_of(section: &str, end: bool) -> String {
    let which = if end { "last" } else { "first" };
    format!("{section}: {which} intensity")
}

/// A section in words: name, bars, what it plays; intensity, where it states one; how it starts and ends; how firmly it
/// is held.
pub fn section(
    (name, bars, plays): (&str, &str, &str),
    intensity: Option<(f32, f32)>,
    (start, fill): (&str, &str),
    held: &str,
) -> String {
    let intensity = intensity.map_or_else(
        || "from panel".to_owned(),
        |(from, to)| format!("{:.0}% to {:.0}%", from * 100.0, to * 100.0),
    );
    format!(
        "{name}, bars {bars}: {plays}, intensity {intensity}, starts: {start}, fill into the next: {fill}, held: {held}"
    )
}

/// The name of the riff's strip.
pub const GUITAR: &str = "guitar";
/// Explains it.
pub const GUITAR_HINT: &str = "What is known of the guitar here. Strokes with a square get a kick.";
/// Where nothing is known of it.
pub fn no_guitar(none: bool) -> &'static str {
    if none {
        "no riff yet: open Guitar, above"
    } else {
        "the riff has nothing in these bars"
    }
}

/// What the riff's strip shows, in words.
pub fn guitar(bars: usize, followed: usize) -> String {
    match (bars, followed) {
        (0, _) => "guitar: no riff in these bars".to_owned(),
        (_, 1) => "guitar: the feet follow 1 stroke".to_owned(),
        (_, n) => format!("guitar: the feet follow {n} strokes"),
    }
}

/// Takes back the last change.
pub const UNDO: &str = "Undo";
/// Explains [`UNDO`].
pub const UNDO_HINT: &str = "Take the last change of song, riff or note map back (Ctrl+Z). Parameters are the recording program's to undo, but for what a song brought along.";
/// Makes it again.
pub const REDO: &str = "Redo";
/// Explains [`REDO`].
pub const REDO_HINT: &str = "Make the change again that was last taken back (Ctrl+Shift+Z).";
/// How large everything is drawn.
pub const ZOOM: &str = "Zoom";
/// Explains [`ZOOM`].
pub const ZOOM_HINT: &str =
    "How large everything is drawn (Ctrl and plus, minus or 0). The window grows along.";
/// Explains the theme.
pub const THEME_HINT: &str = "Light or dark ground.";

/// A zoom, in percent.
pub fn zoom(percent: u16) -> String {
    format!("{percent}%")
}

/// The theme that is changed to.
pub fn theme(light: bool) -> &'static str {
    if light { "Dark" } else { "Light" }
}

/// Explains a value that can be typed.
pub const TYPED_HINT: &str = "Click to type a value.";
/// Ends every control's explanation.
pub const RESET_HINT: &str = "Double-click the name for the default.";

/// The stand-alone's transport, standing.
pub const START: &str = "Start";
/// The same, rolling.
pub const STOP: &str = "Stop";
/// Explains both.
pub const START_HINT: &str = "Starts and stops; the space bar does so too.";
/// Goes to the start.
pub const TO_START: &str = "to the start";
/// Explains it.
pub const TO_START_HINT: &str = "Goes to bar 1, or to the first bar of the loop.";
/// The tempo that is set.
pub const TEMPO: &str = "Tempo";
/// Behind it.
pub const BPM: &str = " BPM";
/// Explains it.
pub const TEMPO_HINT: &str = "Drag, or click and type.";
/// The upper number of the meter.
pub const COUNTS: &str = "Counts of a bar";
/// The lower number.
pub const UNIT: &str = "Note value of a count";
/// Explains both.
pub const METER_HINT: &str = "The meter. With another one the song begins again.";
/// Where tempo and meter are the song's.
pub const WRITTEN: (&str, &str) = (
    "as the song has it",
    "The song that is played gives tempo and meter. Switch Play the chart off to set your own.",
);
/// Whether it loops.
pub const LOOP: &str = "Loop";
/// The loop's first bar.
pub const LOOP_FROM: &str = "First bar of the loop";
/// The loop's last bar.
pub const LOOP_TO: &str = "Last bar of the loop";
/// Before it.
pub const LOOP_TO_PREFIX: &str = "to ";
/// Explains the loop.
pub const LOOP_HINT: &str = "Repeats these bars. A phrase of 4 bars is a good length to practise.";
/// Whether JACK's transport is followed.
pub const FOLLOW_JACK: &str = "Follow JACK";
/// Explains it.
pub const FOLLOW_JACK_HINT: &str = "Tempo, meter and position come from the JACK transport, so that \
     Fourlimb starts and stops with other programs.";
/// The list of devices that play sound.
pub const SOUND: &str = "Sound";
/// The list of ports that take notes.
pub const MIDI_OUT: &str = "MIDI out";
/// No device was chosen.
pub const DEFAULT_SOUND: &str = "the system's default";
/// No port was chosen.
pub const NO_PORT: &str = "none";
/// Explains both lists.
pub const DEVICES_HINT: &str = "What it is heard through, and which program or instrument gets the \
     notes. The window closes and opens again.";

/// Which way the sound goes.
pub fn through(way: &str) -> String {
    format!("sound: {way}")
}

/// What is known of the riff.
pub fn riff(attacks: usize, known: bool) -> String {
    match (attacks, known) {
        (0, false) => "no riff yet".to_owned(),
        (1, _) => "1 attack".to_owned(),
        (n, _) => format!("{n} attacks"),
    }
}

/// Where the path of a guitar's file is typed.
pub const FILE: &str = "path of a guitar's file";
/// Explains [`FILE`].
pub const FILE_HINT: &str =
    "The guitar as a file: MIDI, WAV or FLAC. A recording is heard at the song's present tempo.";
/// Before the bar at which a file begins.
pub const AT_BAR: &str = "from bar ";
/// Explains [`AT_BAR`].
pub const AT_BAR_HINT: &str = "The bar of the song at which the file begins, in the present meter.";
/// Before the track of a MIDI file.
pub const TRACK: &str = "track ";
/// A track of a MIDI file as it is shown: 0 is the only one with notes.
pub fn track(track: f64) -> String {
    if track < 1.0 {
        "auto".to_owned()
    } else {
        format!("{track:.0}")
    }
}

/// The same as it is typed.
pub fn parse_track(typed: &str) -> Option<f64> {
    match typed.trim() {
        "auto" => Some(0.0),
        number => number.parse().ok(),
    }
}

/// Explains [`TRACK`].
pub const TRACK_HINT: &str = "Which track of a MIDI file, from 1. 0 is the only one with notes.";
/// Reads the file.
pub const LOAD: &str = "Load a guitar";

/// Ends the reading of a file.
pub const CANCEL: (&str, &str) = ("Cancel", "Read no further; the riff stays as it was.");

/// While a file is read: how much is done, 0..=1.
pub fn loading(share: f32) -> String {
    format!("listening: {:.0}%", share * 100.0)
}

/// How the reading of a file ended.
pub fn loaded(outcome: Result<usize, String>) -> String {
    match outcome {
        Ok(attacks) => format!("{attacks} attacks loaded"),
        Err(problem) => format!("This file gives no riff: {problem}"),
    }
}

/// Where the path of the file for what was played is typed.
pub const KEEP_FILE: &str = "path of a new MIDI file";
/// Explains [`KEEP_FILE`].
pub const KEEP_FILE_HINT: &str = "Where to keep what was played: a file, or a folder to put it in. A \
     file that is there already stays, and the new one gets a number.";
/// Keeps what was played.
pub const KEEP: &str = "Keep what was played";
/// Explains [`KEEP`].
pub const KEEP_HINT: &str = "Writes what was played last, from where the song last started to where it \
     is or stopped, as a MIDI file; of a loop, the last whole round. Ten minutes are remembered.";

/// What came of keeping what was played.
pub fn kept(outcome: &Result<Recording, String>) -> String {
    let Recording {
        notes,
        bars,
        lost,
        path,
    } = match outcome {
        Ok(saved) => saved,
        Err(problem) => return format!("Not kept: {problem}"),
    };
    let notes = match notes {
        1 => "1 note".to_owned(),
        n => format!("{n} notes"),
    };
    let lost = match lost {
        0 => String::new(),
        n => format!(" ({n} came too fast and are missing: play it once more)"),
    };
    let (bars, path) = (What::Bars(bars.0, bars.1), path.display());
    format!("kept {notes}, {bars}{lost}: {path}")
}

/// Forgets the riff.
pub const CLEAR_RIFF: &str = "Clear riff";
/// Explains [`CLEAR_RIFF`].
pub const CLEAR_RIFF_HINT: &str = "Forget the captured riff. Undo brings it back.";
/// Keeps the strong strokes alone.
pub const THIN_RIFF: &str = "Strong hits only";
/// Explains [`THIN_RIFF`].
pub const THIN_RIFF_HINT: &str =
    "Leave out the strokes that are less than half as strong as can be. Undo brings them back.";
/// Moves the riff.
pub const NUDGE: [(&str, &str); 2] = [
    ("Earlier", "Move the riff a 64th note earlier."),
    ("Later", "Move the riff a 64th note later."),
];
/// Has the riff go on after its end.
pub const REPEAT: &str = "Repeat";
/// Explains [`REPEAT`].
pub const REPEAT_HINT: &str = "After its end the riff begins again, over whole bars.";

/// A project of a newer drummer.
pub const NEWER: &str = "made by a newer Fourlimb";

/// What that means.
pub fn newer_hint(drummer: u64) -> String {
    format!(
        "A newer Fourlimb saved this project, with its drummer {drummer}. This is drummer {DRUMMER}, who may play \
         other notes. The project keeps what this Fourlimb does not know."
    )
}

/// How many strokes of the bar the player's limits took away.
pub fn thinned(strokes: usize) -> String {
    match strokes {
        1 => "1 hit left out: too fast for these chops".to_owned(),
        n => format!("{n} hits left out: too fast for these chops"),
    }
}

/// What to do about it.
pub const THINNED_HINT: &str = "The bars on show ask more of hands or feet than this drummer can play. Choose better chops in the drawer Limbs, \
     or less density.";

/// A short name for a piece, to stand under a stroke.
pub fn short(piece: Piece) -> &'static str {
    match piece {
        Piece::Kick => "kick",
        Piece::Snare => "snare",
        Piece::SideStick => "stick",
        Piece::HiHatClosed => "closed",
        Piece::HiHatLoose => "loose",
        Piece::HiHatOpen => "open",
        Piece::HiHatFoot => "foot",
        Piece::Ride => "ride",
        Piece::RideBell => "bell",
        Piece::CrashLeft | Piece::CrashRight => "crash",
        Piece::China => "china",
        Piece::Splash => "splash",
        Piece::RackHigh => "rack hi",
        Piece::RackLow => "rack lo",
        Piece::FloorHigh => "floor hi",
        Piece::FloorLow => "floor lo",
        Piece::Sticks => "sticks",
    }
}

/// Under a stroke that the sampler is not sent.
pub const NOT_SENT: &str = "not sent";

/// The tempo, as the head shows it.
pub fn tempo(bpm: f64) -> String {
    format!("{bpm:.1} BPM")
}

/// The bar's number, counted from 1.
pub fn bar(number: i64) -> String {
    format!("bar {number}")
}

/// A fill's name, over its part of the bar.
pub fn fill(name: &str) -> String {
    format!("fill: {name}")
}

/// What the riding hand is on, for the line above the lanes.
pub fn riding(piece: Piece) -> String {
    format!("hand on {}", piece.name())
}

/// What a slot without a beat of its own does.
pub fn free_slot(slot: u8, plays: &str) -> String {
    format!("Slot {} is free and plays {plays}.", u16::from(slot) + 1)
}
