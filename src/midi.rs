//! MIDI: notes with their note-offs, and Standard MIDI Files read and written.
//!
//! - [`Region`], [`RegionNote`]: notes on the timeline
//! - [`map_source`]: a note map from a file of any kind
//! - [`note_offs`]: sends a note-off for every note-on
//! - [`smf_tracks`]: the only reader of Standard MIDI Files; [`smf_read`] maps its notes to the kit
//! - [`smf_write`]: writes Standard MIDI Files

pub mod map_source;
pub mod note_offs;
pub mod region;
pub mod smf_read;
pub mod smf_tracks;
pub mod smf_write;

pub use note_offs::ExpressionEvent;
pub use note_offs::{NoteEvent, NoteOffTracker, NoteOut};
pub use region::{
    Expression, GRAB_TICKS, NOTE_TICKS, RING_TICKS, Region, RegionExpression, RegionNote,
};
