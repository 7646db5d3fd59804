//! The words of comparing.

/// Before the two states.
pub const NAME: &str = "compare";
/// Remembers a state.
pub const REMEMBER: (&str, &str) = (
    "Compare",
    "Remember how things are. Change what you like, then go back and forth between the two in one click.",
);
/// Forgets it.
pub const FORGET: (&str, &str) = ("Done", "Forget the one that is not played.");
/// The state that things were in.
pub const THIS: (&str, &str) = ("this", "How things are since you began to compare.");
/// The one that was remembered.
pub const OTHER: (&str, &str) = (
    "other",
    "How things were when you began to compare, or before another take.",
);
/// Marks the difference.
pub const MARK: (&str, &str) = (
    "mark",
    "Show the strokes of the one that is not played as hollow marks where the two differ.",
);
