//! A composer keeps what it chose, and none of it is heard.

use crate::support::*;
use fourlimb::groove::{Composer, Part, Request, compose_with};
use fourlimb::settings::{BarSettings, Play};
use fourlimb::time::Meter;
use proptest::prelude::*;

/// A run of bars: meter, tempo, settings, first bar, number of bars.
type Run = (Meter, f64, BarSettings, i64, i64);

fn runs() -> impl Strategy<Value = Vec<Run>> {
    let run = (likely_meters(), bpms(), plans(), 0..40_i64, 1..6_i64);
    let filled = run.prop_map(|(meter, bpm, bar_settings, first, bars)| {
        let bar_settings = BarSettings {
            fill_chance: 1.0,
            play: Play::Beat,
            ..bar_settings
        };
        (meter, bpm, bar_settings, first, bars)
    });
    prop::collection::vec(filled, 1..4)
}

proptest! {
    #![proptest_config(cases(64))]

    /// Whatever a composer has composed before, a bar has the same strokes as from a new one: runs of bars with fills,
    /// each run twice, in and out of turn.
    #[test]
    fn a_bar_does_not_depend_on_what_was_composed_before(runs in runs()) {
        let (mut composer, mut part, mut anew) = (Composer::new(), Part::new(), Part::new());
        let again = runs.iter().rev();
        for (meter, bpm, bar_settings, first, bars) in runs.iter().chain(again) {
            for i in *first..first + bars {
                let request = Request::new(bar(i, *meter), *bpm, bar_settings);
                composer.compose(&request, &mut part);
                compose_with(&request, &mut anew);
                prop_assert_eq!(part.strokes(), anew.strokes());
                prop_assert_eq!(part.fill(), anew.fill());
            }
        }
    }
}
