//! The riff: the guitar's attacks on the song's timeline, for the kick to follow.
//!
//! - [`onset`]: hears where a guitar is struck
//! - [`sound`]: a recording, from WAV or FLAC

pub mod onset;
pub mod sound;
