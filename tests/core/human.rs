//! How near the drummer is to people: the structure everywhere, the range of people at feel and accent 100 %, and a
//! default that is tight. The figures of people and their source stand in `tests/support/people.rs`.

use crate::people::{FEATURES, comparisons, measure, table};

/// Where the medians of four bars must lie: at the defaults, and with feel, accent and density at 100 %. Beside each
/// stands people's median.
const WANTED: [(&str, [f64; 2], [f64; 2]); 15] = [
    // People 32. The contract: 20 at the defaults.
    ("velocity, SD of all", [19.0, 28.0], [24.0, 34.0]),
    // 26; the contract: 11.
    ("cymbal velocity, SD", [11.0, 17.0], [20.0, 29.0]),
    // 64.
    ("cymbal velocity, range", [42.0, 62.0], [64.0, 95.0]),
    // 14; the contract: 5.5.
    ("kick velocity, SD", [5.2, 9.0], [8.0, 15.0]),
    // 127.
    ("loudest stroke", [119.0, 127.0], [122.0, 127.0]),
    // 12.
    ("softest stroke", [18.0, 42.0], [10.0, 28.0]),
    // 5.7.
    ("bars' mean velocity, SD", [2.4, 6.0], [2.4, 7.0]),
    // A third of the backbeat; the contract: 25 to 45.
    ("ghost notes, median velocity", [28.0, 40.0], [28.0, 40.0]),
    // 16, 18 and 19 ms; the contract: a third at the defaults.
    ("time, SD, cymbal, ms", [4.2, 6.5], [13.5, 18.0]),
    ("time, SD, kick, ms", [4.8, 7.0], [15.5, 20.0]),
    ("time, SD, snare, ms", [4.0, 6.5], [13.0, 20.0]),
    // .49.
    ("time, lag-1 autocorrelation", [0.3, 0.6], [0.3, 0.6]),
    // 25 ms.
    ("time, range of bar means, ms", [6.0, 9.5], [19.0, 29.0]),
    // .87.
    (
        "time, snare and cymbal together, r",
        [0.82, 0.95],
        [0.82, 0.95],
    ),
    // 3.
    ("different cymbal bars of 4", [2.0, 3.0], [2.0, 4.0]),
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
