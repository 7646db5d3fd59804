//! The drum kit: its pieces, and the keys that sound them.
//!
//! - [`Piece`]: one sound source of the kit
//! - [`reach`]: where the pieces stand
//! - [`KeyMap`]: from MIDI keys to pieces
//! - [`proposal`]: which notes may sound which pieces, for a person to confirm
//! - [`usage`]: such a proposal from how the keys of a region are used
//! - [`general_midi`]: the note map that every General MIDI drum sampler understands

pub mod general_midi;
mod key_map;
mod piece;
pub mod proposal;
pub mod reach;
pub mod usage;

pub use general_midi::{Note, NoteMap};
pub use key_map::{KeyMap, KeyMapError};
pub use piece::Piece;
