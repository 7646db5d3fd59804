//! The drum kit: its pieces, and the notes that sound them on a drum sampler.
//!
//! - [`Piece`]: one sound source of the kit
//! - [`reach`]: where the pieces stand
//! - [`note`]: MIDI notes and the names of keys
//! - [`note_map`]: what is sent for each piece; [`response`], [`hi_hat`]: its velocities and openings
//! - [`note_reader`]: from notes back to pieces
//! - [`map_file`]: the map as a file
//! - [`proposal`]: which notes may sound which pieces, for a person to confirm
//! - [`names`]: a proposal from the names of keys
//! - [`midnam`]: MIDI name documents, where hosts keep the names of keys
//! - [`usage`]: a proposal from how the keys of a region are used
//! - [`general_midi`]: the note maps that every General MIDI drum sampler understands

pub mod general_midi;
pub mod hi_hat;
pub mod map_file;
pub mod midnam;
pub mod names;
pub mod note;
pub mod note_map;
pub mod note_reader;
mod piece;
pub mod proposal;
pub mod reach;
pub mod response;
mod ring;
pub mod usage;

pub use note::{MiddleC, Note};
pub use note_map::{NoteMap, Sent, Struck};
pub use note_reader::NoteReader;
pub use piece::Piece;
pub use response::Response;
pub use ring::Ring;
