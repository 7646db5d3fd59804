//! The rudiments that fills are made of, against the published list.
//!
//! Percussive Arts Society, *International Drum Rudiments*, 40, adopted 1984. Numbers and stickings as
//! read in public notes and code that were proofed against its chart; rows marked so are from memory.

use fourlimb::groove::rudiments::{RUDIMENTS, numbered};

/// Number, sticking from the right hand on, and whether it was read or remembered.
const PUBLISHED: [(u8, &str, &str); 26] = [
    (1, "RLRL", "memory"),
    (2, "RLRL", "read"),
    (3, "RLRLRLR", "read"),
    (5, "RRRLLL", "memory"),
    (6, "RRLL", "memory"),
    (7, "RRLLR>", "memory"),
    (8, "R>LLRRL>", "read"),
    (9, "RRLLRRL>", "memory"),
    (16, "R>LRRL>RLL", "read"),
    (17, "R>LRLRRL>RLRLL", "read"),
    (18, "R>LRLRLRRL>RLRLRLL", "read"),
    (19, "R>LRRLL", "read"),
    (20, "lRrL", "memory"),
    (21, "lR>LRrL>RL", "memory"),
    (22, "lR>RrL>L", "memory"),
    (24, "lR>LRRrL>RLL", "memory"),
    (25, "lR>RLRrL>LRL", "read"),
    (26, "lR>LRRLL", "memory"),
    (28, "lR>RL", "read"),
    (31, "llRrrL", "memory"),
    (32, "llRL>", "read"),
    (33, "llRllRL>", "read"),
    (34, "llRLR>", "read"),
    (35, "RRLRR", "read"),
    (38, "llRLRL>", "read"),
    (39, "llRllRLRL>", "read"),
];

#[test]
fn stickings_are_those_of_the_published_list() {
    let ours: Vec<_> = RUDIMENTS
        .iter()
        .map(|r| (r.number, r.sticking.replace(' ', "")))
        .collect();
    let theirs: Vec<_> = PUBLISHED
        .iter()
        .map(|&(number, sticking, _)| (number, sticking.to_owned()))
        .collect();
    assert_eq!(ours, theirs);
    assert!(numbered(16).is_some_and(|r| r.name == "single paradiddle"));
    assert!(numbered(41).is_none());
}

/// What a rudiment is: grace notes belong to the other hand, and no hand has more than three in a row
/// (the triple stroke roll). Arithmetic on the stickings; common practice, no source.
#[test]
fn stickings_are_stickings() {
    for rudiment in &RUDIMENTS {
        let mut hands = String::new();
        for word in rudiment.sticking.split(' ') {
            let main = word.chars().find(char::is_ascii_uppercase).unwrap();
            assert!("RL".contains(main), "{word}");
            let graces: Vec<char> = word.chars().take_while(char::is_ascii_lowercase).collect();
            let other = if main == 'R' { 'l' } else { 'r' };
            assert!(
                graces.iter().all(|&g| g == other),
                "{}: {word}",
                rudiment.name
            );
            hands.push(main);
        }
        assert!(
            !hands.contains("RRRR") && !hands.contains("LLLL"),
            "{hands}"
        );
    }
}
