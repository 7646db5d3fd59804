//! What was seen of a host's tempi and meters: by stretches, against a plain list of every tick.

use crate::support::{cases, likely_meters};
use fourlimb::time::observed::{
    MAX_CHANGES, ObservedData, ObservedError, ObservedTempoMap, Stretch,
};
use fourlimb::time::{Bar, Meter, Ticks};
use proptest::prelude::*;
use proptest::sample::select;

const BAR: Ticks = 3840;

fn meter(text: &str) -> Meter {
    text.parse().unwrap()
}

fn stretch(from: Ticks, to: Ticks, bpm: f64, line: Ticks, text: &str) -> Stretch {
    let bar = Bar {
        start: line,
        meter: meter(text),
    };
    Stretch { from, to, bpm, bar }
}

fn seen(stretches: &[Stretch]) -> ObservedTempoMap {
    let mut map = ObservedTempoMap::default();
    for stretch in stretches {
        assert!(map.pass(stretch));
    }
    map
}

fn tempi(map: &ObservedTempoMap) -> Vec<(Ticks, f64)> {
    map.tempo().changes().collect()
}

#[test]
fn a_steady_song_is_one_entry_of_each_however_it_is_cut() {
    let mut map = ObservedTempoMap::default();
    for at in (0..400 * BAR).step_by(977) {
        // A host's tempo from floats that are worked out anew in every block.
        let bpm = 133.0 * (1.0 + (at % 7) as f64 * 1e-8);
        map.pass(&stretch(at, at + 977, bpm, at / BAR * BAR, "4/4"));
    }
    assert_eq!(tempi(&map), [(0, 133.0)]);
    assert_eq!(map.meters(), [(0, Meter::FOUR_FOUR)]);
}

/// Beyond the end of what was seen, the last values go on; before the beginning, the first ones.
#[test]
fn what_was_not_seen_is_as_what_was_before_it() {
    let map = seen(&[
        stretch(8 * BAR, 12 * BAR, 160.0, 8 * BAR, "4/4"),
        stretch(0, 4 * BAR, 140.0, 0, "4/4"),
    ]);
    assert_eq!(tempi(&map), [(0, 140.0), (8 * BAR, 160.0)]);
    let map = seen(&[stretch(8 * BAR, 12 * BAR, 160.0, 8 * BAR, "4/4")]);
    assert_eq!(tempi(&map), [(0, 160.0)]);
}

#[test]
fn what_is_passed_again_replaces_what_was_there_alone() {
    let map = seen(&[
        stretch(0, 8 * BAR, 120.0, 0, "4/4"),
        stretch(2 * BAR, 4 * BAR, 90.0, 0, "4/4"),
    ]);
    assert_eq!(tempi(&map), [(0, 120.0), (2 * BAR, 90.0), (4 * BAR, 120.0)]);
    let map = seen(&[
        stretch(0, 8 * BAR, 120.0, 0, "4/4"),
        stretch(2 * BAR, 4 * BAR, 90.0, 0, "4/4"),
        stretch(0, 8 * BAR, 120.0, 0, "4/4"),
    ]);
    assert_eq!(tempi(&map), [(0, 120.0)]);
}

/// A meter holds for whole bars: playing that begins or ends inside one says so of all of it.
#[test]
fn meters_begin_at_bar_lines() {
    let map = seen(&[
        stretch(BAR + 500, 2 * BAR, 120.0, BAR, "4/4"),
        stretch(2 * BAR, 2 * BAR + 100, 120.0, 2 * BAR, "7/8"),
        stretch(2 * BAR + 100, 2 * BAR + 3360, 120.0, 2 * BAR, "7/8"),
        stretch(2 * BAR + 3360, 4 * BAR, 120.0, 2 * BAR + 3360, "4/4"),
    ]);
    let four = meter("4/4");
    assert_eq!(
        map.meters(),
        [(0, four), (2 * BAR, meter("7/8")), (2 * BAR + 3360, four)]
    );
    let number = |tick| map.bar_number(tick);
    assert_eq!(
        [0, BAR - 1, 2 * BAR, 2 * BAR + 3359, 2 * BAR + 3360, -1].map(number),
        [1, 1, 3, 3, 4, 0]
    );
    assert_eq!(map.bar_at(2 * BAR + 3360 + 10).start, 2 * BAR + 3360);
}

/// After a jump the bars can lie elsewhere, since there may be an odd bar in what was jumped over.
#[test]
fn bars_are_counted_anew_from_a_line_of_their_own() {
    let odd = 4 * BAR + 3360;
    let map = seen(&[
        stretch(0, 2 * BAR, 120.0, 0, "4/4"),
        stretch(odd, odd + BAR, 120.0, odd, "4/4"),
    ]);
    let four = meter("4/4");
    assert_eq!(map.meters(), [(0, four), (odd, four)]);
    assert_eq!(map.line_after(4 * BAR), odd);
    // The first bar before the song: its bar lines count, its start does not.
    let map = seen(&[stretch(-960, 2 * BAR, 120.0, -960, "4/4")]);
    assert_eq!(map.meters(), [(0, four), (BAR - 960, four)]);
}

#[test]
fn a_full_map_takes_no_more_and_keeps_what_it_has() {
    let mut map = ObservedTempoMap::default();
    let at = |i: i64| i * 240;
    let bpm = |i: i64| 100.0 + (i % 50) as f64;
    let mut taken = 0;
    for i in 0..2 * MAX_CHANGES as i64 {
        let fits = map.pass(&stretch(at(i), at(i + 1), bpm(i), 0, "4/4"));
        taken += i64::from(fits && i == taken);
    }
    assert!(taken >= MAX_CHANGES as i64 - 3, "{taken}");
    let tempi = tempi(&map);
    assert!(tempi.len() <= MAX_CHANGES);
    for i in 0..taken {
        assert_eq!(tempi[i as usize], (at(i), bpm(i)));
    }
    assert_eq!(ObservedTempoMap::load(&map.save()), Ok(map));
}

#[test]
fn damaged_maps_are_refused() {
    let good = seen(&[stretch(0, BAR, 90.0, 0, "7/8")]).save();
    assert!(ObservedTempoMap::load(&good).is_ok());
    assert_eq!(
        ObservedTempoMap::load(&ObservedData::default()),
        Ok(ObservedTempoMap::default())
    );
    let damage: [fn(&mut ObservedData); 11] = [
        |s| s.tempi.clear(),
        |s| s.meters.clear(),
        |s| s.tempi[0].0 = 5,
        |s| s.tempi[0].1 = f64::NAN,
        |s| s.tempi[0].1 = 0.0,
        |s| s.meters[0].1 = "seven".to_owned(),
        |s| s.meters[0].1 = "7/0".to_owned(),
        |s| s.tempi.push((0, 90.0)),
        |s| s.tempi.push((Ticks::MAX, 90.0)),
        |s| s.tempi_known.push((7, 7)),
        |s| s.meters_known.push((Ticks::MIN, Ticks::MAX)),
    ];
    for (i, damage) in damage.iter().enumerate() {
        let mut saved = good.clone();
        damage(&mut saved);
        assert_eq!(
            ObservedTempoMap::load(&saved),
            Err(ObservedError::Damaged),
            "{i}"
        );
    }
    for schema in [0, 2] {
        let saved = ObservedData {
            schema,
            ..good.clone()
        };
        assert_eq!(
            ObservedTempoMap::load(&saved),
            Err(ObservedError::Schema(schema))
        );
    }
}

/// The end of the timeline in the property, in eighths.
const EIGHTHS: usize = 64;

prop_compose! {
    fn a_pass()(
        from in -8..EIGHTHS as i64 - 1,
        eighths in 1..40_i64,
        bpm in select(vec![90.0, 120.0, 180.0]),
        meter in likely_meters(),
        line in 0..16_i64,
    ) -> Stretch {
        let to = (from + eighths).min(EIGHTHS as i64);
        let bar = Bar { start: line * 480, meter };
        Stretch { from: from * 480, to: to * 480, bpm, bar }
    }
}

proptest! {
    #![proptest_config(cases(256))]

    /// Every place that was passed has the tempo of its latest pass, whatever else was passed.
    #[test]
    fn every_place_has_the_tempo_of_its_latest_pass(passes in proptest::collection::vec(a_pass(), 1..12)) {
        let mut truth = [None; EIGHTHS];
        for pass in &passes {
            for at in (pass.from.max(0) / 480)..pass.to / 480 {
                truth[at as usize] = Some(pass.bpm);
            }
        }
        let map = seen(&passes);
        let mut last = truth.iter().flatten().next().copied().unwrap_or(120.0);
        for (i, bpm) in truth.iter().enumerate() {
            last = bpm.unwrap_or(last);
            prop_assert_eq!(map.tempo().bpm_at(i as Ticks * 480 + 17), last);
        }
        prop_assert_eq!(ObservedTempoMap::load(&map.save()), Ok(map));
    }

    /// The latest pass's bars are in the map as it had them; every entry begins a bar.
    #[test]
    fn the_latest_pass_has_its_bars(passes in proptest::collection::vec(a_pass(), 1..12)) {
        let map = seen(&passes);
        let last = passes[passes.len() - 1];
        let len = last.bar.meter.bar_len();
        for at in (last.from.max(0)..last.to).step_by(480) {
            let start = last.bar.start + (at - last.bar.start).div_euclid(len) * len;
            if start >= 0 {
                prop_assert_eq!(map.bar_at(at), Bar { start, meter: last.bar.meter });
            }
        }
        prop_assert_eq!(map.meters()[0].0, 0);
        for pair in map.meters().windows(2) {
            prop_assert!(pair[0].0 < pair[1].0);
            let again = pair[0].1 == pair[1].1 && (pair[1].0 - pair[0].0) % pair[0].1.bar_len() == 0;
            prop_assert!(!again, "{:?} says nothing new", pair);
        }
    }
}
