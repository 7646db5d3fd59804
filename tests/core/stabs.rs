//! Hits of the band: each is caught, time goes on between, and two hands and two feet can play it. And *catch*.

use crate::brute_force::{Blow, two_hands_and_two_feet};
use crate::chart::{BAR, live_is_export};
use crate::support::cases;
use fourlimb::engine::offline;
use fourlimb::groove::{Hit, Limb, Origin, Stab};
use fourlimb::kit::{NoteMap, Piece, Ring};
use fourlimb::riff::{Attack, Riff};
use fourlimb::settings::{Player, Style};
use fourlimb::song::hits::HitRow;
use fourlimb::song::{SongFile, Timeline};
use fourlimb::time::{TICKS_PER_QUARTER, Ticks};
use proptest::collection::btree_map;
use proptest::prelude::*;
use proptest::sample::select;

const EIGHTH: Ticks = TICKS_PER_QUARTER / 2;
const PLAYERS: [Player; 3] = [Player::Everyday, Player::Skilled, Player::Extreme];

fn song(style: Style, bpm: f64, intensity: f32, hits: &[(Ticks, bool)]) -> SongFile {
    let json = format!(
        r#"{{"fourlimb_song": 1, "title": "T", "sections": [
            {{"name": "A", "bars": 2, "bpm": {bpm}, "style": "rock", "intensity": {intensity}}},
            {{"name": "B", "bars": 4, "style": "{}"}},
            {{"name": "C", "bars": 2, "style": "rock"}}]}}"#,
        style.name(),
    );
    let mut song = SongFile::parse(&json).unwrap();
    song.sections[1].hits = hits
        .iter()
        .map(|&(at, held)| HitRow(Stab { at, held }))
        .collect();
    song
}

fn play(song: &SongFile, player: Player) -> (Timeline, Vec<Hit>) {
    let mut timeline = Timeline::new(song).unwrap();
    timeline.start_mut().bar_settings.player = player;
    let hits = offline::play(&timeline);
    (timeline, hits)
}

fn is_cymbal(piece: Piece) -> bool {
    !matches!(
        piece,
        Piece::Kick
            | Piece::Snare
            | Piece::SideStick
            | Piece::HiHatFoot
            | Piece::RackHigh
            | Piece::RackLow
            | Piece::FloorHigh
            | Piece::FloorLow
            | Piece::Sticks
    )
}

/// Hits on eighths of the section, some held.
fn marks() -> impl Strategy<Value = Vec<(Ticks, bool)>> {
    btree_map(0..32_i64, any::<bool>(), 1..10).prop_map(|marks| {
        marks
            .into_iter()
            .map(|(at, held)| (at * EIGHTH, held))
            .collect()
    })
}

proptest! {
    #![proptest_config(cases(64))]

    /// Every hit has a cymbal and a drum, whatever the beat; after a short one the drums wait; and it can be played.
    #[test]
    fn every_hit_is_caught(
        style in select(Style::ALL.to_vec()),
        player in select(PLAYERS.to_vec()),
        bpm in select(vec![80.0, 120.0, 160.0]),
        intensity in 0.3..1.0_f32,
        marks in marks(),
    ) {
        let (timeline, hits) = play(&song(style, bpm, intensity, &marks), player);
        let on = |tick: Ticks| hits.iter().filter(move |hit| hit.grid == tick && !hit.grace);
        let places: Vec<Ticks> = marks.iter().map(|(at, _)| at + 2 * BAR).collect();
        for (&place, (_, held)) in places.iter().zip(&marks) {
            let here: Vec<&Hit> = on(place).collect();
            prop_assert!(here.iter().any(|hit| is_cymbal(hit.piece)), "no cymbal at {place}: {here:?}");
            prop_assert!(
                here.iter().any(|hit| matches!(hit.piece, Piece::Kick | Piece::Snare | Piece::SideStick)),
                "no drum at {place}: {here:?}"
            );
            if *held {
                continue;
            }
            let crash = here.iter().find(|hit| is_cymbal(hit.piece)).unwrap();
            prop_assert_eq!(crash.ring, Ring::Grabbed);
            let count = (place + EIGHTH + TICKS_PER_QUARTER - 1) / TICKS_PER_QUARTER * TICKS_PER_QUARTER;
            let next = places.iter().copied().find(|next| *next > place).unwrap_or(Ticks::MAX);
            let silent = place + 1..count.min(next);
            let beside = |hit: &&Hit| silent.contains(&hit.grid) && !hit.grace;
            prop_assert!(!hits.iter().any(|hit| beside(&hit)), "{silent:?}");
        }
        let blows: Vec<Blow> = hits
            .iter()
            .map(|hit| (timeline.tempo().seconds(hit.tick as f64) * 1000.0, hit.piece))
            .collect();
        prop_assert!(two_hands_and_two_feet(player, &blows));
    }

    /// Live as exported, from anywhere, in blocks of any size.
    #[test]
    fn hits_are_played_live_as_they_are_exported(
        style in select(Style::ALL.to_vec()),
        marks in marks(),
        block in select(vec![64, 333, 4096]),
        bar in 0..8_usize,
    ) {
        let timeline = Timeline::new(&song(style, 140.0, 0.8, &marks)).unwrap();
        prop_assert_eq!(live_is_export(&timeline, block, bar), Ok(()));
    }
}

/// Between hits that lie apart the lead hand keeps time, and all other bars are what they were.
#[test]
fn time_goes_on_between() {
    let beats = [
        Style::Rock,
        Style::HalfTime,
        Style::DoubleKick,
        Style::FourOnTheFloor,
    ];
    for style in beats {
        let marks = [(BAR + EIGHTH, false), (BAR + 5 * EIGHTH, true)];
        let (_, before) = play(&song(style, 120.0, 0.7, &[]), Player::Skilled);
        let (_, after) = play(&song(style, 120.0, 0.7, &marks), Player::Skilled);
        let start = 3 * BAR;
        let rides = |from: Ticks, to: Ticks| {
            let inside = after
                .iter()
                .filter(move |hit| (from..to).contains(&hit.grid));
            inside
                .filter(|hit| hit.limb == Limb::LeadHand && is_cymbal(hit.piece))
                .count()
        };
        // From count 2 up to the second hit, and from the count after it.
        assert!(
            rides(start + 2 * EIGHTH, start + 5 * EIGHTH) >= 1,
            "{}",
            style.name()
        );
        assert!(
            rides(start + 6 * EIGHTH, start + 8 * EIGHTH) >= 1,
            "{}",
            style.name()
        );
        let far = |hit: &&Hit| hit.grid < start - EIGHTH || hit.grid >= start + BAR + EIGHTH;
        let decisions = |hits: &[Hit]| -> Vec<_> {
            hits.iter()
                .filter(far)
                .map(|hit| (hit.grid, hit.piece, hit.limb))
                .collect()
        };
        assert_eq!(decisions(&before), decisions(&after), "{}", style.name());
    }
}

/// Louder parts take both hands, quiet ones stay on the hand cymbal. Common practice, no source.
#[test]
fn a_hit_is_as_big_as_the_part() {
    let at = |intensity| {
        let marks = [(BAR + EIGHTH, true)];
        let (_, hits) = play(
            &song(Style::Rock, 120.0, intensity, &marks),
            Player::Skilled,
        );
        let here = hits
            .iter()
            .filter(|hit| hit.grid == 3 * BAR + EIGHTH && hit.limb < Limb::LeadFoot);
        here.map(|hit| hit.piece).collect::<Vec<_>>()
    };
    let quiet = at(0.1);
    assert!(
        !quiet
            .iter()
            .any(|piece| matches!(piece, Piece::CrashLeft | Piece::CrashRight))
    );
    assert_eq!(quiet.len(), 1, "{quiet:?}");
    assert_eq!(at(0.5), [Piece::CrashRight]);
    let mut both = at(0.9);
    both.sort();
    assert_eq!(both, [Piece::CrashLeft, Piece::CrashRight]);
}

/// A hit is set up where there is room, and not from density 0 on.
#[test]
fn hits_are_set_up_where_there_is_room() {
    let set_ups = |density: f32, marks: &[(Ticks, bool)]| {
        let mut song = song(Style::Rock, 120.0, 0.7, marks);
        song.sections[1].density = Some(fourlimb::song::file::Level::Steady(density));
        let (_, hits) = play(&song, Player::Skilled);
        hits.iter()
            .filter(|hit| hit.origin == Origin::SetUp)
            .count()
    };
    let apart: Vec<_> = (0..4).map(|bar| (bar * BAR + 5 * EIGHTH, true)).collect();
    assert!(
        (1..=4).contains(&set_ups(0.6, &apart)),
        "{}",
        set_ups(0.6, &apart)
    );
    assert_eq!(set_ups(0.0, &apart), 0);
    let close: Vec<_> = (1..8).map(|i| (i * EIGHTH, true)).collect();
    assert!(set_ups(0.6, &close) <= 1);
}

/// The note of a grabbed cymbal lasts an eighth; where the sampler chokes by a note, that note follows.
#[test]
fn a_short_hit_is_choked_in_exports() {
    let marks = [(BAR, false)];
    let timeline = Timeline::new(&song(Style::Rock, 120.0, 0.9, &marks)).unwrap();
    let region = offline::render(&timeline, &NoteMap::default());
    let grabbed: Vec<_> = region
        .notes
        .iter()
        .filter(|note| note.length == EIGHTH)
        .collect();
    assert_eq!(grabbed.len(), 2, "{grabbed:?}");
}

fn caught(catch: f32, riff: &Riff, style: Style) -> Vec<(Ticks, Piece)> {
    let mut song = song(style, 120.0, 0.8, &[]);
    song.sections[1].catch = Some(fourlimb::song::file::Level::Steady(catch));
    let mut timeline = Timeline::new(&song).unwrap();
    timeline.set_riff(riff.clone());
    let hits = offline::play(&timeline);
    let hits = hits.iter().filter(|hit| hit.origin == Origin::Catch);
    hits.map(|hit| (hit.grid, hit.piece)).collect()
}

/// A riff of muted sixteenths with open chords on the "and" of 1 and on 4.
fn riff() -> Riff {
    let attacks = (0..6).flat_map(|bar| {
        let open = [2, 12];
        (0..16)
            .filter(move |i| !(3..5).contains(i) && *i < 13)
            .map(move |i| Attack {
                tick: bar * BAR + i * TICKS_PER_QUARTER / 4,
                strength: if open.contains(&i) { 1.0 } else { 0.3 },
            })
    });
    Riff::new(attacks, 0, 6 * BAR)
}

/// More *catch* only adds caught strokes; 0 is none; the strongest come first; backbeats stay.
#[test]
fn what_is_caught_only_grows() {
    for style in [
        Style::Rock,
        Style::HalfTime,
        Style::Breakdown,
        Style::Gallop,
    ] {
        let riff = riff();
        let steps: Vec<_> = (0..=10_u8)
            .map(|step| caught(f32::from(step) / 10.0, &riff, style))
            .collect();
        assert_eq!(steps[0], [], "{}", style.name());
        for pair in steps.windows(2) {
            let ticks = |of: &[(Ticks, Piece)]| of.iter().map(|hit| hit.0).collect::<Vec<_>>();
            let (less, more) = (ticks(&pair[0]), ticks(&pair[1]));
            assert!(
                less.iter().all(|tick| more.contains(tick)),
                "{}: {less:?} {more:?}",
                style.name()
            );
        }
        let first = steps.iter().find(|step| !step.is_empty());
        let first = first.unwrap_or_else(|| panic!("{} catches nothing", style.name()));
        let place = |tick: Ticks| tick.rem_euclid(BAR) / (TICKS_PER_QUARTER / 4);
        assert!(
            first.iter().all(|hit| [2, 12].contains(&place(hit.0))),
            "{}: {first:?}",
            style.name()
        );
        assert!(first.iter().all(|hit| is_cymbal(hit.1)));
    }
}
