//! The riff: the guitar's attacks on the song's timeline, for the kick to follow.
//!
//! - [`Riff`], [`Attack`]: kept, in order
//! - [`Around`]: those around one bar
//! - [`import`]: from a MIDI file or a recording
//! - [`onset`]: hears where a guitar is struck
//! - [`sound`]: a recording, from WAV or FLAC
//! - [`Capture`]: writes what is heard into the riff while the transport runs

mod around;
pub mod attacks;
pub mod capture;
pub mod import;
pub mod onset;
mod plain;
pub mod sound;

pub use around::Around;
pub use attacks::{Attack, Edit, Riff};
pub use capture::{Capture, Struck};
