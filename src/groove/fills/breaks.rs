//! Breaks: the band stops, and the drummer plays a few hits against the silence.
//!
//! Any two have at least three strokes at places that the other leaves silent, so that no two sound alike whatever
//! is struck. Each has a quarter or more of silence, except that it may end on the last sixteenth. Judged, no
//! source.

use super::figures::{Figure, a_break};

/// Every break: first those of a bar, then those of two counts. The names count in 4/4. A change of this list changes
/// which break a take draws: value-breaking.
#[rustfmt::skip] // A line a break is easier to read.
pub(super) static BREAKS: [Figure; 44] = [
    a_break("C . . . B . . . rL . . . C . B .", "break: 1, 2, 3, 4, 4&"),
    a_break("D . rL . C . . . . . . . rL . . .", "break: 1, 1&, 2, 4"),
    a_break("D . . C . . . . B . . rL . . B .", "break: 1, 1a, 3, 3a, 4&"),
    a_break("C . B . rL . . . . . . . . . R L", "break: 1, 1&, 2, 4&, 4a"),
    a_break("D . . rL . . C . B . . . B . . .", "break: 1, 1a, 2&, 3, 4"),
    a_break("D . C . B . . . rL . . C . . rL .", "break: 1, 1&, 2, 3, 3a, 4&"),
    a_break("C . . . . . . . . . B . rL . B .", "break: 1, 3&, 4, 4&"),
    a_break("D . . . . . rL . K L . B . . rL .", "break: 1, 2&, 3, 3e, 3a, 4&"),
    a_break("D . . C . . . . B . . . rL . R L", "break: 1, 1a, 3, 4, 4&, 4a"),
    a_break("C . . . B . . . rL . K K L . . .", "break: 1, 2, 3, 3&, 3a, 4"),
    a_break("D . . . rL . . . C . . . . L R L", "break: 1, 2, 3, 4e, 4&, 4a"),
    a_break("D . . . . . C . . R L R L . . .", "break: 1, 2&, 3e, 3&, 3a, 4"),
    a_break("C . . B . . rL . . . . . . . R L", "break: 1, 1a, 2&, 4&, 4a"),
    a_break("D . . . rL . . . K L . . B . . rL", "break: 1, 2, 3, 3e, 4, 4a"),
    a_break("D . . . . . . K L . . . R L R L", "break: 1, 2a, 3, 4, 4e, 4&, 4a"),
    a_break("C . . . . . . K L . . . . . rL .", "break: 1, 2a, 3, 4&"),
    a_break("D . . . . . . . . . rL . . L R L", "break: 1, 3&, 4e, 4&, 4a"),
    a_break("D . R L K . . . . . B . rL . rL .", "break: 1, 1&, 1a, 2, 3&, 4, 4&"),
    a_break("C . . . . . . . B . rL . C . . L", "break: 1, 3, 3&, 4, 4a"),
    a_break("D . R L K . . . . . . . R L R L", "break: 1, 1&, 1a, 2, 4, 4e, 4&, 4a"),
    a_break("D . . . . . C . . K L . . . B .", "break: 1, 2&, 3e, 3&, 4&"),
    a_break("C . . . . . K L . . . . rL . rL .", "break: 1, 2&, 2a, 4, 4&"),
    a_break("D . . rL . . . . L R L R L . . .", "break: 1, 1a, 3, 3e, 3&, 3a, 4"),
    a_break("D . . C . . B . rL . C . . . rL .", "break: 1, 1a, 2&, 3, 3&, 4&"),
    a_break("C . K K L . . . rL . . . C . . L", "break: 1, 1&, 1a, 2, 3, 4, 4a"),
    a_break("D . . . rL . C . . . . B . . rL .", "break: 1, 2, 2&, 3a, 4&"),
    a_break("D . . . C . B . . . . . rL . R L", "break: 1, 2, 2&, 4, 4&, 4a"),
    a_break("C . . B . . rL . . . . . K K L .", "break: 1, 1a, 2&, 4, 4e, 4&"),
    a_break("D . rL . . . . . . . . . L R L .", "break: 1, 1&, 4, 4e, 4&"),
    a_break("D . K L . . . . . . K K L . . .", "break: 1, 1&, 1a, 3&, 3a, 4"),
    a_break("C . K L . . . . . . . . . . B .", "break: 1, 1&, 1a, 4&"),
    a_break("R L R L . . . . . . . . rL . . .", "break: 1, 1e, 1&, 1a, 4"),
    a_break("D . . . . . K L . . . . . L R L", "break: 1, 2&, 2a, 4e, 4&, 4a"),
    a_break("C . . . . . R L K . K K L . . .", "break: 1, 2&, 2a, 3, 3&, 3a, 4"),
    a_break("D . . . . . L R L . . . C . . L", "break: 1, 2&, 2a, 3, 4, 4a"),
    a_break("D . C . . . B . . . . . rL . . rL", "break: 1, 1&, 2&, 4, 4a"),
    a_break("C . B . . . rL . C . B . rL . B .", "break: 1, 1&, 2&, 3, 3&, 4, 4&"),
    a_break("R L R L . . . . . . . . . K K L", "break: 1, 1e, 1&, 1a, 4e, 4&, 4a"),
    a_break("R L R L . . . . C . B . rL . B .", "break: 1, 1e, 1&, 1a, 3, 3&, 4, 4&"),
    a_break("C . . . rL . . .", "break: 3, 4"),
    a_break("D . . . . . R L", "break: 3, 4&, 4a"),
    a_break(". . . . R L R L", "break: 4, 4e, 4&, 4a"),
    a_break(". . . C . . B .", "break: 3a, 4&"),
    a_break(". . K K L . . .", "break: 3&, 3a, 4"),
];
