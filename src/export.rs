//! What leaves the project and comes back: a song as a MIDI file or a text chart, a section edited by hand.
//!
//! - [`song`]: a song, some of its bars or a section as a MIDI file
//! - [`hand_edit`]: a section that was edited by hand in a recording program
//! - [`recording`]: what was played live as a MIDI file
//! - [`text_chart`]: bars as text that a drummer can read

pub mod hand_edit;
pub mod recording;
pub mod song;
pub mod text_chart;

pub use song::*;
