//! MIDI: notes with their note-offs, and Standard MIDI Files read and written.
//!
//! - [`Region`], [`RegionNote`]: notes on the timeline
//! - [`note_offs`]: every note-on gets its note-off
//! - [`smf_read`], [`smf_write`]: Standard MIDI Files

pub mod note_offs;
pub mod region;
pub mod smf_read;
pub mod smf_write;

pub use note_offs::{NoteEvent, NoteOffTracker, NoteOut};
pub use region::{NOTE_TICKS, RING_TICKS, Region, RegionNote};
