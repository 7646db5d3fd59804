//! Whether two hands and two feet can play some strokes, and what to change where they can't.
//!
//! - [`playable`]: the judge
//! - [`verdict`]: its judgement in words

pub mod playable;
pub mod verdict;
