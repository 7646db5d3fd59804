//! Whether two hands and two feet can play some strokes, and what to change where they can't.
//!
//! - [`playable`]: finds the unplayable strokes
//! - [`verdict`]: describes them in words

pub mod playable;
pub mod verdict;
