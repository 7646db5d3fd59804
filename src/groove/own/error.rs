//! What is wrong with an own beat.

/// What is wrong with an own beat: where, and what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{place}: {problem}")]
pub struct OwnBeatError {
    /// The field, as a path: `bars[1][4].count`.
    pub place: String,
    /// The problem and its remedy.
    pub problem: String,
}

impl OwnBeatError {
    pub(super) fn new(place: impl Into<String>, problem: impl Into<String>) -> Self {
        Self {
            place: place.into(),
            problem: problem.into(),
        }
    }
}
