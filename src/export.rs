//! Exports and imports: a song as a MIDI file or a text chart, and a section edited by hand.
//!
//! - [`song`]: a song, some of its bars or a section as a MIDI file
//! - [`difference`]: what such a section does otherwise than the drummer, as edits
//! - [`hand_edit`]: a section edited by hand in a recording program
//! - [`recording`]: live playing as a MIDI file
//! - [`score`]: a song as drummers read it: MusicXML, or a page to print
//! - [`taught`]: a songwriter's own beat from a MIDI file or a text chart
//! - [`text_chart`]: bars as text that a drummer can read, and read back

pub mod difference;
pub mod hand_edit;
pub mod recording;
pub mod score;
pub mod song;
pub mod taught;
pub mod text_chart;

use song::span;
pub use song::*;
