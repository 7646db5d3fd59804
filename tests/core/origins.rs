//! Why a stroke is there: what composes a stroke says it, and what is said is true.

use crate::support::*;
use fourlimb::engine::picture::BarPicture;
use fourlimb::engine::{Inputs, offline};
use fourlimb::groove::Origin::{self, *};
use fourlimb::groove::{
    Call, Hit, Limb, Part, Request, SectionPosition, StrokeTarget, compose_with,
};
use fourlimb::kit::Piece;
use fourlimb::riff::Attack;
use fourlimb::settings::{
    BarSettings, Crashes, Hand, KickSource, Play, RiffGrid, SectionFill, Settings, Start,
    StrokeSettings,
};
use fourlimb::song::{SongFile, Timeline};
use fourlimb::time::{Bar, Meter, TICKS_PER_QUARTER, Ticks};
use proptest::prelude::*;
use proptest::sample::select;
use std::collections::BTreeMap;

/// What density 0 may have.
const BARE: [Origin; 9] = [
    Beat,
    Fill,
    Landing,
    PhraseStart,
    SectionStart,
    UnderCrash,
    Riff,
    Ending,
    CountIn,
];

fn with_riff(bar: Bar, bpm: f64, plan: &BarSettings, riff: Option<&[Attack]>) -> Part {
    let mut part = Part::new();
    let request = Request {
        riff,
        ..Request::new(bar, bpm, plan)
    };
    compose_with(&request, &mut part);
    part
}

/// A hit's place, tick, limb and piece, and why it is there.
type Reason = (Ticks, Ticks, u8, Piece, Origin);

fn reasons(part: &Part, moment: &StrokeSettings) -> Vec<Reason> {
    let row = |hit: Hit| (hit.grid, hit.tick, hit.limb as u8, hit.piece, hit.origin);
    let mut rows: Vec<_> = part.hits(moment).map(row).collect();
    rows.sort_unstable_by_key(|&(grid, tick, limb, ..)| (grid, tick, limb));
    rows
}

/// Attacks of a guitar that plays gallops with gaps.
fn attacks() -> Vec<Attack> {
    (-16..2_000_i64)
        .filter(|i| i % 4 != 1 && i % 13 != 0)
        .map(|i| Attack {
            tick: i * 240,
            strength: if i % 5 == 0 { 0.2 } else { 0.9 },
        })
        .collect()
}

proptest! {
    #![proptest_config(cases(384))]

    /// At density 0 nothing is an extra, a variation or an opening of the hi-hat.
    #[test]
    fn density_0_has_no_extras(
        index in 0..64_i64, meter in likely_meters(), bpm in bpms(), plan in plans(), moment in moments(),
    ) {
        let part = part(bar(index, meter), bpm, &plan);
        let bare = StrokeSettings { density: 0.0, ..moment };
        for hit in part.hits(&bare) {
            let in_fill = part.fill().is_some_and(|fill| (fill.start..fill.end).contains(&hit.grid));
            prop_assert!(
                BARE.contains(&hit.origin) || (hit.origin == Grace && in_fill),
                "{:?} at density 0", hit
            );
        }
    }

    /// Strokes of a fill lie in it, its hands play nothing else, and a bar without one has none.
    #[test]
    fn fills_are_told_where_they_are(
        index in 0..64_i64, meter in likely_meters(), bpm in bpms(), plan in plans(),
    ) {
        let part = part(bar(index, meter), bpm, &plan);
        let fill = part.fill();
        for stroke in part.strokes() {
            let main = stroke.tick + stroke.grace;
            let inside = fill.is_some_and(|fill| (fill.start..fill.end).contains(&main));
            let told = stroke.origin == Fill;
            let kick = stroke.target == StrokeTarget::Piece(Piece::Kick);
            prop_assert!(inside || !told, "{:?} outside of {:?}", stroke, fill);
            // The feet may go on under the hands.
            prop_assert!(!inside || told || kick || stroke.grace > 0, "{:?} inside of {:?}", stroke, fill);
        }
    }

    /// A bar begins with a landing exactly where the bar before ends in a fill, unless it is one fill itself.
    #[test]
    fn every_landing_is_told(
        index in 0..64_i64, meter in likely_meters(), bpm in bpms(), plan in plans(),
    ) {
        // Over a single count no drum has time to carry the crash: the hand rides on.
        prop_assume!(meter.counts().len() > 1);
        let plan = BarSettings { play: Play::Beat, ..plan };
        let [before, part] = [0, 1].map(|i| part(bar(index + i, meter), bpm, &plan));
        let line = part.bar().start;
        let led = before.fill().is_some_and(|fill| fill.end == line);
        let lands = part.strokes().iter().any(|s| s.origin == Landing && s.tick == line && s.rank == 0.0);
        let goes_on = part.fill().is_some_and(|fill| fill.start == line);
        prop_assert!(led == lands || goes_on, "{:?}, then {:?}", before.fill(), part.strokes());
        prop_assert!(part.strokes().iter().all(|s| s.origin != Landing || s.tick == line));
    }

    /// More density changes nobody's reason, and brings in only what waits for density.
    #[test]
    fn more_density_adds_only_what_waits_for_it(
        index in 0..64_i64, meter in likely_meters(), bpm in bpms(), plan in plans(), moment in moments(),
        source in select(KickSource::ALL), low in 0.001..1.0_f32, more in 0.0..0.2_f32,
    ) {
        let plan = BarSettings { kick_source: source, ..plan };
        let riff = attacks();
        let part = with_riff(bar(index, meter), bpm, &plan, Some(&riff));
        let [sparse, dense] = [low, (low + more).min(1.0)]
            .map(|density| reasons(&part, &StrokeSettings { density, ..moment }));
        for row in &sparse {
            prop_assert!(dense.contains(row), "{:?} is gone or has another reason", row);
        }
        for row in dense.iter().filter(|row| !sparse.contains(row)) {
            prop_assert!(row.4.may_wait_for_density(), "{:?} came in", row);
        }
    }

    /// What is told as the beat's own is what the bar has at density 0, but for the piece that a hand cymbal becomes.
    #[test]
    fn the_beats_own_is_there_at_density_0(
        index in 0..64_i64, meter in likely_meters(), bpm in bpms(), plan in plans(), moment in moments(),
    ) {
        let part = part(bar(index, meter), bpm, &plan);
        let [bare, dense] = [0.0, 1.0].map(|density| reasons(&part, &StrokeSettings { density, ..moment }));
        for row in dense.iter().filter(|row| row.4 == Beat) {
            let is_there = bare.iter().any(|own| (own.0, own.3, own.4) == (row.0, row.3, Beat));
            // The pedal rests where its foot kicks, and the variation may have given that kick to nobody.
            let kicks = |own: &Reason| own.2 == row.2 && own.3 == Piece::Kick && (own.0 - row.0).abs() < TICKS_PER_QUARTER;
            let rests = row.3 == Piece::HiHatFoot && bare.iter().any(kicks);
            prop_assert!(is_there || rests, "{:?} is not among {:?}", row, bare);
        }
    }

    /// Kicks are the guitar's where there is a riff that the feet heed, and only there.
    #[test]
    fn the_guitar_is_named_where_it_plays(
        index in 0..64_i64, meter in likely_meters(), bpm in bpms(), plan in plans(), source in select(KickSource::ALL),
    ) {
        let plan = BarSettings { kick_source: source, riff_grid: RiffGrid::Sixteenths, play: Play::Beat, ..plan };
        let riff = attacks();
        let here = bar(index, meter);
        let alone = with_riff(here, bpm, &plan, None);
        prop_assert!(alone.strokes().iter().all(|s| s.origin != Riff));
        let part = with_riff(here, bpm, &plan, Some(&riff));
        let guitar = part.strokes().iter().filter(|s| s.origin == Riff);
        for kick in guitar.clone() {
            prop_assert!(source.heeds_riff(plan.beat()));
            let near = |attack: &Attack| (attack.tick - kick.tick).abs() <= 120;
            prop_assert!(riff.iter().any(near), "no attack is near {:?}", kick);
            prop_assert_eq!(kick.target, StrokeTarget::Piece(Piece::Kick));
        }
        if source == KickSource::Riff {
            let beats = |s: &&fourlimb::groove::Stroke| s.target == StrokeTarget::Piece(Piece::Kick) && s.origin == Beat;
            prop_assert_eq!(part.strokes().iter().find(beats), None);
        }
    }
}

/// Every reason is given by some bar: one that no bar has would make the tests above empty. The other two have tests
/// below.
#[test]
fn every_reason_is_given() {
    let mut told: BTreeMap<String, usize> = BTreeMap::new();
    let riff = attacks();
    for style in 0..BEATS {
        for index in 0..24 {
            for (play, source) in [
                (Play::Beat, KickSource::Beat),
                (Play::Beat, KickSource::Both),
                (Play::Ending, KickSource::Beat),
                (Play::CountIn, KickSource::Beat),
            ] {
                let plan = BarSettings {
                    style,
                    play,
                    kick_source: source,
                    fill_chance: 0.5,
                    ..Settings::default().bar_settings
                };
                let here = bar(index, Meter::FOUR_FOUR);
                let part = with_riff(here, 120.0, &plan, Some(&riff));
                let dense = StrokeSettings {
                    density: 1.0,
                    intensity: 0.9,
                    ..Settings::default().stroke_settings
                };
                let on_ride = StrokeSettings {
                    hand: Hand::Ride,
                    ..dense
                };
                for hit in part.hits(&dense).chain(part.hits(&on_ride)) {
                    *told.entry(format!("{:?}", hit.origin)).or_default() += 1;
                }
            }
        }
    }
    println!("{told:?}");
    // Those that the songwriter asks for have tests of their own, in `stabs.rs` and `edits.rs`.
    let elsewhere = [ByHand, UnderCrash, Stab, SetUp, Catch];
    for origin in Origin::ALL
        .into_iter()
        .filter(|origin| !elsewhere.contains(origin))
    {
        let times = told.get(&format!("{origin:?}")).copied().unwrap_or(0);
        assert!(times >= 10, "{origin:?} is given {times} times: {told:?}");
    }
}

/// Where the guitar rests on the 1, the crash that a section states has a kick all the same.
#[test]
fn a_kick_carries_a_crash_over_a_resting_guitar() {
    let plan = BarSettings {
        kick_source: KickSource::Riff,
        ..Settings::default().bar_settings
    };
    let riff = [Attack {
        tick: 5 * 480,
        strength: 1.0,
    }];
    let position = SectionPosition {
        index: 0,
        bars: 4,
        start: Start::Crash,
        fill: SectionFill::Auto,
        led: false,
        low: false,
    };
    let mut part = Part::new();
    let request = Request {
        riff: Some(&riff),
        section_position: Some(position),
        ..Request::new(bar(0, Meter::FOUR_FOUR), 120.0, &plan)
    };
    compose_with(&request, &mut part);
    let at = |tick, limb| {
        let found = part
            .strokes()
            .iter()
            .find(|s| (s.tick, s.limb) == (tick, limb));
        found.map(|s| s.origin)
    };
    assert_eq!(at(0, Limb::LeadFoot), Some(UnderCrash));
    assert_eq!(at(0, Limb::LeadHand), Some(SectionStart));
    assert_eq!(at(5 * 480, Limb::LeadFoot), Some(Riff));
}

/// The crash that a quiet part leaves out is the beat's own cymbal, not a crash.
#[test]
fn what_a_quiet_phrase_opens_on_is_the_beat() {
    let plan = BarSettings {
        fill_chance: 0.0,
        ..Settings::default().bar_settings
    };
    let first = part(bar(4, Meter::FOUR_FOUR), 120.0, &plan);
    let at = |intensity| {
        let moment = StrokeSettings {
            intensity,
            density: 0.3,
            ..Settings::default().stroke_settings
        };
        let hits: Vec<Hit> = first.hits(&moment).collect();
        let on_1 = hits
            .iter()
            .find(|hit| hit.grid == 4 * 3840 && hit.limb == Limb::LeadHand);
        on_1.map(|hit| hit.origin)
    };
    assert_eq!((at(0.1), at(0.9)), (Some(Beat), Some(PhraseStart)));
}

/// No crashes, no fills, no density: all that is left is the beat.
#[test]
fn a_bare_beat_is_all_its_own() {
    let plan = |style| BarSettings {
        style,
        fill_chance: 0.0,
        crashes: Crashes::None,
        ..Settings::default().bar_settings
    };
    let moment = StrokeSettings {
        density: 0.0,
        ..Settings::default().stroke_settings
    };
    for style in 0..BEATS {
        for index in 0..16 {
            let part = part(bar(index, Meter::FOUR_FOUR), 140.0, &plan(style));
            let other = part.hits(&moment).find(|hit| hit.origin != Beat);
            assert_eq!(other, None, "{} bar {index}", plan(style).beat().name());
        }
    }
}

const SONG: &str = r#"{"fourlimb_song": 1, "title": "Whose", "take": 3, "sections": [
    {"name": "In", "bars": 1, "bpm": 140, "play": "count-in"},
    {"name": "A", "bars": 4, "play": "beat", "style": "rock", "fill": "long"},
    {"name": "Mine", "bars": 1, "style": "rock", "locked": [[0, "kick", 100], [960, "snare", 110]]},
    {"name": "B", "bars": 4, "style": "rock", "start": "crash", "fill": "short"},
    {"name": "C", "bars": 4, "style": "half-time"},
    {"name": "End", "bars": 1, "play": "ending"}]}"#;

/// A song in full: a section edited by hand is the songwriter's, and nothing else is; the picture of a bar
/// gives the same reasons.
#[test]
fn a_songs_strokes_say_where_they_come_from() {
    let file: SongFile = serde_json::from_str(SONG).unwrap();
    let song = Timeline::new(&file).unwrap();
    let starts: Vec<Ticks> = song.markers().map(|(at, _)| at).collect();
    let hits = offline::play(&song);
    let of = |section: usize| {
        let end = starts.get(section + 1).copied().unwrap_or(Ticks::MAX);
        let range = starts[section]..end;
        let inside = |hit: &&Hit| range.contains(&hit.grid);
        hits.iter().filter(inside).collect::<Vec<_>>()
    };
    assert!(of(0).iter().all(|hit| hit.origin == CountIn) && !of(0).is_empty());
    assert!(of(2).iter().all(|hit| hit.origin == ByHand) && of(2).len() == 2);
    assert!(of(5).iter().all(|hit| hit.origin == Ending) && !of(5).is_empty());
    let by_hand = hits.iter().filter(|hit| hit.origin == ByHand).count();
    assert_eq!(by_hand, 2);
    let first_of = |section: usize| {
        let first = of(section)[0].grid;
        let mut origins: Vec<_> = of(section)
            .iter()
            .filter(|hit| hit.grid == first)
            .map(|hit| hit.origin)
            .collect();
        origins.sort_unstable_by_key(|origin| *origin as u8);
        origins
    };
    // What the chart states is the section's, and the kick under it carries the song on.
    assert!(first_of(3).contains(&SectionStart), "{:?}", first_of(3));
    assert!(first_of(4).contains(&Landing), "{:?}", first_of(4));
    assert!(of(1).iter().any(|hit| hit.origin == Fill));

    let panel = Settings {
        follow_chart: true,
        ..Settings::default()
    };
    let mut picture = BarPicture::default();
    let expected = [CountIn, Beat, ByHand, SectionStart, Landing, Ending];
    for (&start, expected) in starts.iter().zip(expected) {
        let here = song.chart().at(start).unwrap().bar;
        let riff = fourlimb::riff::Riff::default();
        let inputs = Inputs {
            panel: &panel,
            chart: song.chart(),
            riff: &riff,
            bars: &here,
            bpm: 140.0,
        };
        picture.compose(here, Call::default(), &inputs);
        let told: Vec<_> = picture.hits().iter().map(|hit| hit.origin).collect();
        assert!(told.contains(&expected), "{expected:?} is not in {told:?}");
        let alone = matches!(expected, CountIn | ByHand | Ending);
        assert!(
            !alone || told.iter().all(|origin| *origin == expected),
            "{told:?}"
        );
        for hit in picture.hits() {
            assert_eq!(hit.grid + hit.offset(), hit.tick);
        }
    }
}

/// A byte each: neither a stroke nor a hit has grown by it.
#[test]
fn a_reason_costs_no_room() {
    assert_eq!(size_of::<Origin>(), 1);
    assert_eq!(size_of::<fourlimb::groove::Stroke>(), 64);
    assert_eq!(size_of::<Hit>(), 32);
}

/// Each reason reads differently.
#[test]
fn reasons_are_worded_apart() {
    let mut words: Vec<_> = Origin::ALL.map(Origin::reason).to_vec();
    words.sort_unstable();
    words.dedup();
    assert_eq!(words.len(), Origin::ALL.len());
}
