//! The riff: the guitar's attacks on the song's timeline, for the kick to follow.
//!
//! - [`Riff`], [`Attack`]: kept, in order
//! - [`RiffWindow`]: those around one bar
//! - [`import`]: from a MIDI file or a recording
//! - [`onset`]: hears where a guitar is struck
//! - [`sound`]: a recording, from WAV or FLAC
//! - [`Capture`]: writes what is heard into the riff while the transport runs

pub mod attacks;
pub mod capture;
pub mod import;
pub mod onset;
pub mod sound;
mod strip_metadata;
pub mod weight;
pub mod window;

pub use attacks::{Attack, Edit, Riff};
pub use capture::{Capture, GuitarStroke};
pub use window::RiffWindow;
