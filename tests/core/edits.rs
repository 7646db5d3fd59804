//! Edits by hand as a layer: the songwriter's word stands, the drummer plays around it, and nothing else changes.

use crate::brute_force::{Blow, two_hands_and_two_feet};
use crate::chart::{BAR, live_is_export};
use crate::support::cases;
use fourlimb::engine::offline;
use fourlimb::export::difference::Difference;
use fourlimb::export::hand_edit::as_edits;
use fourlimb::export::sections;
use fourlimb::groove::{Edit, EditAction, EditTarget, Exact, Hit};
use fourlimb::kit::Piece;
use fourlimb::settings::{Player, Style};
use fourlimb::song::edits::{self, EditRow, Shown};
use fourlimb::song::locked::Row;
use fourlimb::song::{SongFile, Timeline};
use fourlimb::time::{TICKS_PER_QUARTER, Ticks};
use proptest::prelude::*;
use proptest::sample::select;
use std::collections::BTreeMap;

const SIXTEENTH: Ticks = TICKS_PER_QUARTER / 4;

/// What an edit may name or put down.
fn targets() -> impl Strategy<Value = EditTarget> {
    let pieces = Piece::ALL
        .into_iter()
        .filter(|piece| *piece != Piece::Sticks);
    let all = [EditTarget::Hand, EditTarget::Opening]
        .into_iter()
        .chain(pieces.map(EditTarget::Piece));
    select(all.collect::<Vec<_>>())
}

/// An edit in a section of so many sixteenths, at most one for each place and stroke.
fn random_edit(sixteenths: Ticks) -> impl Strategy<Value = Edit> {
    let place = (0..sixteenths, targets());
    let how = (
        0..3_u8,
        0..sixteenths,
        targets(),
        -30..30_i8,
        any::<[bool; 5]>(),
    );
    (place, how).prop_map(|((at, target), (action, to, onto, louder, say))| {
        let at = at * SIXTEENTH;
        match action {
            0 => Edit::leave_out(at, target),
            1 => Edit {
                louder,
                ..Edit::add(at, target)
            },
            _ => Edit {
                to: Some(to * SIXTEENTH).filter(|_| say[0]),
                onto: Some(onto).filter(|_| say[1]),
                louder: if say[2] { louder } else { 0 },
                tick: Some(at + 10).filter(|_| say[3] && !say[0]),
                exact: Exact {
                    velocity: Some(77).filter(|_| say[4]),
                    ..Exact::default()
                },
                ..Edit::new(at, target, EditAction::Change)
            },
        }
    })
}

fn random_edits(sixteenths: Ticks, most: usize) -> impl Strategy<Value = Vec<EditRow>> {
    proptest::collection::vec(random_edit(sixteenths), 0..most).prop_map(|all| {
        let named: BTreeMap<_, _> = all.into_iter().map(|edit| (edit.name(), edit)).collect();
        named.into_values().map(EditRow).collect()
    })
}

/// A song of three sections, the middle one of a beat.
fn song(style: Style, level: f32) -> SongFile {
    let json = format!(
        r#"{{"fourlimb_song": 1, "title": "T", "sections": [
            {{"name": "A", "bars": 2, "bpm": 140, "style": "rock", "intensity": 0.5, "density": 0.6}},
            {{"name": "B", "bars": 4, "style": "{}", "intensity": {level}}},
            {{"name": "C", "bars": 2, "style": "double-kick"}}]}}"#,
        style.name(),
    );
    SongFile::parse(&json).unwrap()
}

fn with(mut song: SongFile, section: usize, rows: &[EditRow]) -> SongFile {
    song.sections[section].edits = rows.to_vec();
    song
}

fn play(song: &SongFile) -> Vec<Hit> {
    offline::play(&Timeline::new(song).unwrap())
}

fn play_as(song: &SongFile, player: Player) -> (Timeline, Vec<Hit>) {
    let mut timeline = Timeline::new(song).unwrap();
    timeline.start_mut().bar_settings.player = player;
    let hits = offline::play(&timeline);
    (timeline, hits)
}

fn blows<'a>(song: &Timeline, hits: impl IntoIterator<Item = &'a Hit>) -> Vec<Blow> {
    let ms = |hit: &Hit| song.tempo().seconds(hit.tick as f64) * 1000.0;
    hits.into_iter().map(|hit| (ms(hit), hit.piece)).collect()
}

fn styles() -> impl Strategy<Value = Style> {
    select(Style::ALL.to_vec())
}

proptest! {
    #![proptest_config(cases(48))]

    /// Whatever is asked for, the drummer's own strokes can be played, together with any one stroke that was asked for.
    #[test]
    fn the_rest_of_the_part_is_playable(
        style in styles(),
        player in select(vec![Player::Everyday, Player::Skilled, Player::Extreme]),
        level in 0.2..1.0_f32,
        rows in random_edits(64, 40),
    ) {
        let (timeline, hits) = play_as(&with(song(style, level), 1, &rows), player);
        let own: Vec<&Hit> = hits.iter().filter(|hit| !hit.asked).collect();
        prop_assert!(two_hands_and_two_feet(player, &blows(&timeline, own.iter().copied())), "own");
        for asked in hits.iter().filter(|hit| hit.asked) {
            let near = |hit: &&&Hit| (hit.tick - asked.tick).abs() < 2 * TICKS_PER_QUARTER;
            let mut around: Vec<Hit> = own.iter().filter(near).map(|hit| **hit).collect();
            around.push(*asked);
            around.sort_by_key(|hit| hit.tick);
            prop_assert!(
                two_hands_and_two_feet(player, &blows(&timeline, &around)),
                "{asked:?} among {around:?}"
            );
        }
    }

    /// Live as exported, in blocks of any size and from any bar on.
    #[test]
    fn edits_are_played_live_as_they_are_exported(
        style in styles(),
        rows in random_edits(64, 30),
        others in random_edits(32, 10),
        block in select(vec![64, 333, 4096]),
        bar in 0..8_usize,
    ) {
        let song = with(song(style, 0.7), 1, &rows);
        let song = with(song, 2, &others);
        prop_assert_eq!(live_is_export(&Timeline::new(&song).unwrap(), block, bar), Ok(()));
    }

    /// Without its edits a song is what it was. Rows come back from the file as they went there.
    #[test]
    fn edits_leave_no_trace(style in styles(), rows in random_edits(64, 40)) {
        let plain = song(style, 0.6);
        let edited = with(plain.clone(), 1, &rows);
        let back = SongFile::parse(&edited.to_text()).unwrap();
        prop_assert_eq!(&back, &edited);
        let mut cleared = back;
        edits::clear(&mut cleared.sections[1].edits, 0, 64 * SIXTEENTH);
        prop_assert_eq!(cleared.sections[1].edits.len(), 0);
        prop_assert_eq!(play(&cleared), play(&plain));
    }

    /// Nothing but what an edit names and what is in its way changes: all else is as before, to the tick and the
    /// velocity, and what is gone was near a stroke that was asked for, or named.
    #[test]
    fn all_else_stays(style in styles(), rows in random_edits(64, 6)) {
        let plain = song(style, 0.6);
        let before = play(&plain);
        let after = play(&with(plain, 1, &rows));
        let same = |a: &Hit, b: &Hit| {
            (a.tick, a.piece, a.velocity, a.limb) == (b.tick, b.piece, b.velocity, b.limb)
        };
        for hit in after.iter().filter(|hit| !hit.asked) {
            // An opening that is left out is ridden over, and a foot that was asked for shuts the hi-hat.
            let at = hit.grid - 2 * BAR;
            let is_touched = rows.iter().any(|row| row.0.at == at || row.0.to == Some(at));
            prop_assert!(is_touched || before.iter().any(|old| same(old, hit)), "{hit:?}");
        }
        let near = |old: &Hit| {
            let at = old.grid - 2 * BAR;
            let places = rows.iter().flat_map(|row| [Some(row.0.at), row.0.played_at()]);
            places.flatten().any(|place| (place - at).abs() < TICKS_PER_QUARTER)
        };
        for old in &before {
            prop_assert!(near(old) || after.iter().any(|hit| same(old, hit)), "{old:?}");
        }
    }

    /// The songwriter's word stands: whatever is added is played, where and as it was asked for.
    #[test]
    fn what_is_added_is_played(
        style in styles(),
        places in proptest::collection::btree_map(
            (0..64_i64, select(vec![Piece::Snare, Piece::CrashRight, Piece::Kick, Piece::FloorLow, Piece::HiHatFoot])),
            1..=127_u8, 1..30),
    ) {
        let rows: Vec<_> = places.iter().map(|(&(at, piece), &velocity)| EditRow(Edit {
            exact: Exact { velocity: Some(velocity), ..Exact::default() },
            ..Edit::add(at * SIXTEENTH, EditTarget::Piece(piece))
        })).collect();
        let hits = play(&with(song(style, 0.5), 1, &rows));
        for (&(at, piece), &velocity) in &places {
            let place = 2 * BAR + at * SIXTEENTH;
            let found: Vec<_> = hits.iter().filter(|hit| (hit.grid, hit.piece) == (place, piece)).collect();
            prop_assert_eq!(found.len(), 1, "{} {:?}", at, piece);
            prop_assert_eq!((found[0].velocity, found[0].asked), (velocity, true));
        }
    }
}

fn shown(hit: &Hit, start: Ticks) -> Shown {
    Shown {
        at: hit.grid - start,
        target: hit.target,
        grace: hit.grace,
        asked: hit.asked,
    }
}

fn at(hits: &[Hit], place: Ticks, target: EditTarget) -> Vec<&Hit> {
    hits.iter()
        .filter(|hit| (hit.grid, hit.target) == (place, target))
        .collect()
}

const SNARE: EditTarget = EditTarget::Piece(Piece::Snare);
/// The 2 of the section's first bar, on the song's timeline.
const TWO: Ticks = 2 * BAR + TICKS_PER_QUARTER;

/// An edit outlives another take, another intensity, and another place of its section; it sleeps where the drummer has
/// no such stroke.
#[test]
fn an_edit_belongs_to_its_place_in_its_section() {
    let plain = song(Style::Rock, 0.6);
    let rows = [
        EditRow(Edit::leave_out(TICKS_PER_QUARTER, SNARE)),
        EditRow(Edit::add(
            3 * TICKS_PER_QUARTER + 480,
            EditTarget::Piece(Piece::China),
        )),
    ];
    let edited = with(plain, 1, &rows);
    let mut others = vec![edited.clone(); 4];
    others[1].take = 99;
    others[2].sections[1].intensity = Some(fourlimb::song::file::Level::Steady(0.95));
    // Moved one section on.
    others[3].sections.swap(1, 2);
    for (i, other) in others.iter().enumerate() {
        let hits = play(other);
        let start = if i == 3 { 4 * BAR } else { 2 * BAR };
        assert_eq!(
            at(&hits, start + TICKS_PER_QUARTER, SNARE),
            [] as [&Hit; 0],
            "{i}"
        );
        assert_eq!(
            at(&hits, start + BAR + TICKS_PER_QUARTER, SNARE).len(),
            1,
            "{i}"
        );
        let china = EditTarget::Piece(Piece::China);
        let place = start + 3 * TICKS_PER_QUARTER + 480;
        assert_eq!(at(&hits, place, china).len(), 1, "{i}");
    }
    // A copy takes them along.
    let mut copied = edited.clone();
    copied.sections.push(edited.sections[1].clone());
    let hits = play(&copied);
    assert_eq!(
        at(&hits, 8 * BAR + TICKS_PER_QUARTER, SNARE),
        [] as [&Hit; 0]
    );
}

/// What people do to strokes that they see, one after the other, and back again.
#[test]
fn strokes_that_are_seen_are_edited() {
    let plain = song(Style::Rock, 0.6);
    let start = 2 * BAR;
    let mut rows = Vec::new();
    let see = |rows: &[EditRow], place: Ticks, target| {
        let hits = play(&with(plain.clone(), 1, rows));
        let found = at(&hits, place, target);
        assert_eq!(found.len(), 1, "{rows:?}");
        *found[0]
    };
    let first = see(&rows, TWO, SNARE);
    assert!(!first.asked);
    // Softer, twice; then an eighth later.
    for _ in 0..2 {
        let hit = see(&rows, TWO, SNARE);
        edits::change(&mut rows, &shown(&hit, start), |edit| {
            edits::louder(edit, -9)
        });
    }
    let softer = see(&rows, TWO, SNARE);
    assert_eq!(rows.len(), 1);
    assert!(i32::from(first.velocity) - i32::from(softer.velocity) > 12);
    let place = TWO + 480 - start;
    edits::change(&mut rows, &shown(&softer, start), |edit| {
        edit.to = Some(place)
    });
    let moved = see(&rows, TWO + 480, SNARE);
    assert_eq!(moved.velocity, softer.velocity);
    assert_eq!(moved.tick - softer.tick, 480);
    // Into the next bar, where it is added and no more found here.
    edits::change(&mut rows, &shown(&moved, start), |edit| {
        edit.to = Some(BAR + 480)
    });
    assert_eq!(rows.len(), 1);
    let far = see(&rows, start + BAR + 480, SNARE);
    let hits = play(&with(plain.clone(), 1, &rows));
    assert_eq!(at(&hits, TWO, SNARE), [] as [&Hit; 0]);
    // Back to where it was, as loud as it was: no edit is left.
    edits::change(&mut rows, &shown(&far, start), |edit| {
        edit.to = Some(TICKS_PER_QUARTER);
        edit.louder = 0;
    });
    assert_eq!(rows, []);
    // Left out, and added again: the drummer's own stroke.
    edits::leave_out(&mut rows, &shown(&first, start));
    edits::add(&mut rows, TICKS_PER_QUARTER, SNARE);
    assert_eq!(rows, []);
    // Added beside it, put on another drum, left out.
    edits::add(&mut rows, TICKS_PER_QUARTER + 240, SNARE);
    let added = see(&rows, TWO + 240, SNARE);
    edits::change(&mut rows, &shown(&added, start), |edit| {
        edit.onto = Some(EditTarget::Piece(Piece::FloorLow));
    });
    let tom = see(&rows, TWO + 240, EditTarget::Piece(Piece::FloorLow));
    assert_eq!(tom.piece, Piece::FloorLow);
    edits::leave_out(&mut rows, &shown(&tom, start));
    assert_eq!(rows, []);
}

/// The crash that opens a section can be taken away: the hand rides on.
#[test]
fn a_hand_rides_on_where_its_crash_is_left_out() {
    let mut plain = song(Style::Rock, 0.8);
    plain.sections[1].start = Some(fourlimb::settings::Start::Crash);
    let start = 2 * BAR;
    assert_eq!(at(&play(&plain), start, EditTarget::Opening).len(), 1);
    let rows = [EditRow(Edit::leave_out(0, EditTarget::Opening))];
    let hits = play(&with(plain, 1, &rows));
    assert_eq!(at(&hits, start, EditTarget::Opening), [] as [&Hit; 0]);
    assert_eq!(at(&hits, start, EditTarget::Hand).len(), 1);
}

/// Rows that make no sense are refused in words that name them.
#[test]
fn rows_that_make_no_sense_are_refused() {
    let cases = [
        (r#"[0, "remove", "snare"]"#, "remove"),
        (r#"[0, "add", "cowbell"]"#, "cowbell"),
        (r#"[-5, "add", "snare"]"#, "-5"),
        (r#"["add", "snare"]"#, "row like"),
        (r#"[0, "add", "snare", "to 240"]"#, "added"),
        (r#"[0, "leave out", "snare", "louder 3"]"#, "left out"),
        (r#"[0, "change", "snare", "velocity 200"]"#, "velocity 200"),
        (
            r#"[0, "change", "snare"], [0, "leave out", "snare"]"#,
            "edited by row",
        ),
    ];
    for (rows, named) in cases {
        let json = format!(
            r#"{{"fourlimb_song": 1, "title": "T", "sections": [{{"name": "A", "bars": 1, "edits": [{rows}]}}]}}"#
        );
        let made = SongFile::parse(&json).and_then(|song| Timeline::new(&song));
        let error = made.unwrap_err().to_string();
        assert!(error.contains("edits") && error.contains(named), "{error}");
    }
}

/// What lies beyond a section sleeps, is named, and wakes when the section is long enough.
#[test]
fn edits_beyond_a_section_sleep() {
    let rows = [EditRow(Edit::add(4 * BAR + 960, SNARE))];
    let mut song = with(song(Style::SlowDoomPulse, 0.5), 1, &rows);
    let timeline = Timeline::new(&song).unwrap();
    let said = timeline.warnings()[0].to_string();
    assert!(said.contains("sleep"), "{said}");
    let asked = |song: &SongFile| play(song).iter().filter(|hit| hit.asked).count();
    assert_eq!(asked(&song), 0);
    song.sections[1].bars = 5;
    assert_eq!(asked(&song), 1);
}

/// What is played of the middle section, as a region says it.
fn region(song: &SongFile) -> Vec<Row> {
    let (from, to) = (2 * BAR, 6 * BAR);
    let inside = play(song)
        .into_iter()
        .filter(|hit| (from..to).contains(&hit.grid));
    let row = |hit: Hit| Row {
        rings: hit.ring == fourlimb::kit::Ring::On,
        ..Row::new(hit.tick - from, hit.piece, hit.velocity)
    };
    let mut rows: Vec<_> = inside.map(row).collect();
    rows.sort_by_key(|row| (row.tick, row.piece));
    rows.dedup_by_key(|row| (row.tick, row.piece));
    rows
}

fn back(song: &SongFile, rows: &[Row]) -> Difference {
    let timeline = Timeline::new(song).unwrap();
    let section = sections(&timeline).swap_remove(1);
    as_edits(rows, &timeline, &section, 1).unwrap()
}

proptest! {
    #![proptest_config(cases(32))]

    /// Design: region, edits, region is the identity.
    #[test]
    fn a_region_goes_to_edits_and_back(style in styles(), rows in random_edits(64, 16)) {
        let plain = song(style, 0.6);
        let wanted = region(&with(plain.clone(), 1, &rows));
        let found = back(&plain, &wanted);
        prop_assert_eq!(found.left, 0, "{:?}", found.edits);
        prop_assert_eq!(region(&with(plain, 1, &found.edits)), wanted);
    }
}

/// Nothing changed is no edit; one stroke changed is one edit; another beat is no small difference.
#[test]
fn a_small_difference_is_edits() {
    let plain = song(Style::Rock, 0.6);
    let mut rows = region(&plain);
    assert_eq!(back(&plain, &rows).edits, []);
    rows[5].velocity = 33;
    let moved = rows
        .iter()
        .position(|row| row.piece == Piece::Snare)
        .unwrap();
    rows[moved].tick += 30;
    let one = back(&plain, &rows);
    assert_eq!((one.edits.len(), one.left), (2, 0), "{:?}", one.edits);
    assert!(one.is_small());
    let other = back(&plain, &region(&song(Style::Blast, 0.6)));
    assert!(!other.is_small(), "{}", other.edits.len());
}
