//! From strokes to timed notes.
//!
//! - [`clock`]: what a host says about time, turned into ticks that never stutter
//! - [`bars`]: where the bar lines are
//! - [`sequencer`]: bars composed one after another, and their hits in a span of ticks
//! - [`gate`]: every note-on gets its note-off
//! - [`Performer`]: all of these together, block by block; what the plugin runs
//! - [`region`]: all of these together, offline; what an export is made of
//! - [`tape`], [`played`]: what was played live, told by the audio thread and kept for a while
//! - [`hand_edit`]: a section that was edited by hand in a recording program
//! - [`export`]: a song, some bars or a section as a file
//! - [`smf`]: a region as a Standard MIDI File
//! - [`smf_read`]: a Standard MIDI File from anywhere as strokes on the kit
//! - [`verdict`]: whether two hands and two feet can play some strokes, in words
//! - [`text`]: bars as text that a drummer can read

pub mod bars;
pub mod clock;
pub mod export;
pub mod gate;
pub mod hand_edit;
pub mod live;
mod performer;
pub mod played;
pub mod region;
pub mod sequencer;
pub mod smf;
pub mod smf_read;
pub mod tape;
pub mod text;
pub mod verdict;

pub use clock::{HostTime, Span};
pub use gate::{NoteEvent, NoteSink, Passing};
pub use performer::{Guitar, Performer};
pub use region::{Region, RegionNote};
pub use sequencer::Sequencer;

use crate::time::Ticks;

/// How long a note lasts, in ticks: a thirty-second, long enough to see and grab in a piano roll.
/// Drum samplers ignore it.
pub const NOTE_TICKS: Ticks = crate::time::TICKS_PER_QUARTER / 8;

/// How long a note lasts that rings, in ticks: the last hit of an ending, four quarters.
pub const RING_TICKS: Ticks = crate::time::TICKS_PER_QUARTER * 4;
