//! The drum kit: its pieces, and the keys that sound them.
//!
//! - [`Piece`]: one sound source of the kit
//! - [`reach`]: where the pieces stand
//! - [`KeyMap`]: from MIDI keys to pieces
//! - [`proposal`]: which notes may sound which pieces, for a person to confirm
//! - [`names`]: a proposal from the names of keys
//! - [`midnam`]: MIDI name documents, where hosts keep the names of keys
//! - [`general_midi`]: the note map that every General MIDI drum sampler understands

pub mod general_midi;
mod key_map;
pub mod midnam;
pub mod names;
mod piece;
pub mod proposal;
pub mod reach;

pub use general_midi::{Note, NoteMap};
pub use key_map::{KeyMap, KeyMapError};
pub use piece::Piece;
