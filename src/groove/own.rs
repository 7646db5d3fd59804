//! The songwriter's own beats: kept in a project or a song, shared as files, played as any beat.
//!
//! [`OwnBeat`] is what is kept: strokes at places of their counts. [`Plan`] is that, made ready for the composer: roles as
//! the vocabulary has them, so that every step that plays a beat of the vocabulary plays an own one. [`OwnBeats`] holds the
//! plans of the eight slots.

mod character;
mod error;
mod file;
pub mod fit;
pub mod learn;
mod model;
mod nearest;
mod plan;
pub mod sheet;
mod slots;
mod strokes;
mod table;

pub use error::OwnBeatError;
pub use file::VERSION;
pub use model::{MAX_BARS, MAX_STROKES_IN_BAR, OwnBeat, OwnHands, OwnStroke, Strikes};
pub use plan::Plan;
pub use slots::SLOTS;
pub use table::{Kept, OwnBeats};
