//! The words of the first steps.

/// Before them.
pub const FIRST: &str = "First:";
/// What to do, and how.
pub const STEPS: [(&str, &str); 3] = [
    (
        "1 hear it: press play in the recording program",
        "Fourlimb plays while the recording program rolls. The built-in sound is on and starts quiet.",
    ),
    (
        "2 choose a beat",
        "The large button on the left opens the list; type a word to search, as \"chorus\".",
    ),
    (
        "3 send it to your sampler",
        "Opens the page that fits the notes to your sampler. In the drawer Sound stands how the notes get there.",
    ),
];
/// Ends them.
pub const HIDE: (&str, &str) = ("Hide the steps", "Do not show these steps again.");
