//! MIDI: notes with their note-offs, and Standard MIDI Files read and written.
//!
//! - [`Region`], [`RegionNote`]: notes on the timeline
//! - [`note_offs`]: every note-on gets its note-off
//! - [`smf_tracks`]: the one reader of Standard MIDI Files; [`smf_read`]: what it reads as strokes on the kit
//! - [`smf_write`]: writes them

pub mod note_offs;
pub mod region;
pub mod smf_read;
pub mod smf_tracks;
pub mod smf_write;

pub use note_offs::{NoteEvent, NoteOffTracker, NoteOut};
pub use region::{NOTE_TICKS, RING_TICKS, Region, RegionNote};
