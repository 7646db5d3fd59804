//! How near the drummer is to people: the structure everywhere, the range of people at feel and accent 100 %, and a
//! default that is tight. The figures of people and their source stand in `tests/support/people.rs`.

use crate::people::{FEATURES, comparisons, measure, table};

/// Where the medians of four bars must lie: at the defaults, and with feel, accent and density at 100 %. Beside each
/// stands people's median.
const WANTED: [(&str, [f64; 2], [f64; 2]); 17] = [
    // People 32. The contract: 20 at the defaults.
    ("velocity, SD of all", [20.0, 21.5], [25.5, 28.5]),
    // 26; the contract: 11.
    ("cymbal velocity, SD", [13.0, 15.0], [22.5, 26.0]),
    // 64.
    ("cymbal velocity, range", [50.0, 56.0], [82.0, 92.0]),
    // 14; the contract: 5.5.
    ("kick velocity, SD", [5.5, 6.5], [8.4, 9.8]),
    // 127.
    ("loudest stroke", [120.0, 124.0], [122.0, 126.0]),
    // 12.
    ("softest stroke", [33.0, 39.0], [19.0, 25.0]),
    // 5.7.
    ("bars' mean velocity, SD", [2.5, 3.1], [3.0, 3.8]),
    // A third of the backbeat; the contract: 25 to 45.
    ("ghost notes, median velocity", [33.0, 37.0], [33.0, 37.0]),
    // 16, 18 and 19 ms; the contract: a third at the defaults.
    ("time, SD, cymbal, ms", [4.6, 5.5], [14.5, 17.0]),
    ("time, SD, kick, ms", [5.0, 5.9], [16.0, 19.0]),
    ("time, SD, snare, ms", [4.3, 5.2], [13.5, 15.5]),
    // .49.
    ("time, lag-1 autocorrelation", [0.34, 0.44], [0.34, 0.44]),
    // 25 ms.
    ("time, range of bar means, ms", [6.8, 7.9], [20.5, 24.0]),
    // .87.
    (
        "time, snare and cymbal together, r",
        [0.88, 0.94],
        [0.88, 0.94],
    ),
    // 3.
    ("different cymbal bars of 4", [2.0, 3.0], [3.0, 3.0]),
    // .74.
    (
        "likeness of cymbal bars (Jaccard)",
        [0.78, 0.86],
        [0.75, 0.83],
    ),
    // .25.
    ("grace notes a bar", [0.25, 0.25], [0.25, 0.5]),
];

#[test]
fn four_bars_have_peoples_structure() {
    println!("{}", table());
    let windows = comparisons();
    for (name, usual, full) in WANTED {
        let feature = FEATURES.iter().find(|f| f.name == name).unwrap();
        for (windows, [low, high]) in windows.iter().zip([usual, full]) {
            let [_, median, _] = measure(feature, windows).unwrap();
            assert!(
                (low..=high).contains(&median),
                "{name}: {median}, not {low}..{high}"
            );
        }
    }
}
