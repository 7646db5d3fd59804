//! Drum rudiments: the stickings that fills are made of.
//!
//! The names and numbers are those of the Percussive Arts Society's list of 40 International Drum Rudiments (1984).
//! Included are the rudiments that suit a fill. `tests/core/rudiments.rs` compares the stickings with the published
//! list.

/// A rudiment of the published list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rudiment {
    /// Its number in the list, 1..=40.
    pub number: u8,
    /// Its name in the list.
    pub name: &'static str,
    /// Its sticking, starting with the right hand, one word for each stroke: `R` and `L` are the hands, small
    /// letters before one are its grace notes, `>` after one is an accent.
    pub sticking: &'static str,
}

const fn rudiment(number: u8, name: &'static str, sticking: &'static str) -> Rudiment {
    Rudiment {
        number,
        name,
        sticking,
    }
}

/// The rudiments that fills use, by number.
pub static RUDIMENTS: [Rudiment; 26] = [
    rudiment(1, "single stroke roll", "R L R L"),
    rudiment(2, "single stroke four", "R L R L"),
    rudiment(3, "single stroke seven", "R L R L R L R"),
    rudiment(5, "triple stroke roll", "R R R L L L"),
    rudiment(6, "double stroke open roll", "R R L L"),
    rudiment(7, "five stroke roll", "R R L L R>"),
    rudiment(8, "six stroke roll", "R> L L R R L>"),
    rudiment(9, "seven stroke roll", "R R L L R R L>"),
    rudiment(16, "single paradiddle", "R> L R R L> R L L"),
    rudiment(17, "double paradiddle", "R> L R L R R L> R L R L L"),
    rudiment(18, "triple paradiddle", "R> L R L R L R R L> R L R L R L L"),
    rudiment(19, "single paradiddle-diddle", "R> L R R L L"),
    rudiment(20, "flam", "lR rL"),
    rudiment(21, "flam accent", "lR> L R rL> R L"),
    rudiment(22, "flam tap", "lR> R rL> L"),
    rudiment(24, "flam paradiddle", "lR> L R R rL> R L L"),
    rudiment(25, "single flammed mill", "lR> R L R rL> L R L"),
    rudiment(26, "flam paradiddle-diddle", "lR> L R R L L"),
    rudiment(28, "Swiss army triplet", "lR> R L"),
    rudiment(31, "drag", "llR rrL"),
    rudiment(32, "single drag tap", "llR L>"),
    rudiment(33, "double drag tap", "llR llR L>"),
    rudiment(34, "lesson 25", "llR L R>"),
    rudiment(35, "single dragadiddle", "R R L R R"),
    rudiment(38, "single ratamacue", "llR L R L>"),
    rudiment(39, "double ratamacue", "llR llR L R L>"),
];

/// The rudiment with this number in the published list; `None` for those that no fill uses.
pub const fn numbered(number: u8) -> Option<&'static Rudiment> {
    let mut i = 0;
    while i < RUDIMENTS.len() {
        if RUDIMENTS[i].number == number {
            return Some(&RUDIMENTS[i]);
        }
        i += 1;
    }
    None
}
