//! Reading keys off a region: beats that were invented for this test, single cases, and whatever comes.

use crate::support::general_midi;
use crate::usage::{Region, Scores, note};
use fourlimb::kit::proposal::{Proposal, Sureness};
use fourlimb::kit::usage::{UsedNote, propose};
use fourlimb::kit::{Note, NoteMap, Piece};
use fourlimb::time::{Bar, Meter, TICKS_PER_QUARTER, Ticks};
use proptest::prelude::*;
use rand::prelude::*;
use rand::rngs::StdRng;
use std::collections::BTreeSet;

/// A bar's rows: a piece and its strokes on an even grid, x loud, o soft.
type Rows = &'static [(Piece, &'static str)];

/// Beats of several kinds, invented for this test: the meter, the groove, the last bar of every four.
const WRITTEN: [(&str, &str, Rows, Rows); 9] = [
    (
        "rock",
        "4/4",
        &[
            (Piece::Kick, "x.......x.x....."),
            (Piece::Snare, "....x.......x..."),
            (Piece::HiHatClosed, "x.o.x.o.x.o.x.o."),
        ],
        &[
            (Piece::Kick, "x.......x......."),
            (Piece::Snare, "....x...xxxx...."),
            (Piece::RackHigh, "............xx.."),
            (Piece::FloorHigh, "..............xx"),
            (Piece::HiHatClosed, "x.o.x.o........."),
        ],
    ),
    (
        "half-time",
        "4/4",
        &[
            (Piece::Kick, "x..x..x...x..x.."),
            (Piece::Snare, "........x......."),
            (Piece::Ride, "x...x...x...x..."),
        ],
        &[
            (Piece::Kick, "x..x............"),
            (Piece::Snare, "........x.x....."),
            (Piece::FloorHigh, "............xxxx"),
            (Piece::Ride, "x...x..........."),
        ],
    ),
    (
        "running feet",
        "4/4",
        &[
            (Piece::Kick, "xxxxxxxxxxxxxxxx"),
            (Piece::Snare, "....x.......x..."),
            (Piece::Ride, "x...x...x...x..."),
        ],
        &[
            (Piece::Kick, "xxxxxxxxxxxxxxxx"),
            (Piece::Snare, "....x...xx......"),
            (Piece::RackHigh, "..........xx...."),
            (Piece::RackLow, "............xx.."),
            (Piece::FloorHigh, "..............xx"),
            (Piece::Ride, "x...x..........."),
        ],
    ),
    (
        "skank",
        "4/4",
        &[
            (Piece::Kick, "x...x...x...x..."),
            (Piece::Snare, "..x...x...x...x."),
            (Piece::HiHatOpen, "x...x...x...x..."),
        ],
        &[
            (Piece::Kick, "x...x..........."),
            (Piece::Snare, "..x...x.xxxx...."),
            (Piece::FloorHigh, "............xxxx"),
            (Piece::HiHatOpen, "x...x..........."),
        ],
    ),
    (
        "ghosts",
        "4/4",
        &[
            (Piece::Kick, "x..x......xx...."),
            (Piece::Snare, ".o..x..o.o..x..o"),
            (Piece::HiHatClosed, "xoxoxoxoxoxoxo.."),
            (Piece::HiHatOpen, "..............x."),
        ],
        &[
            (Piece::Kick, "x..x............"),
            (Piece::Snare, ".o..x...xxxxxx.."),
            (Piece::RackHigh, "..............x."),
            (Piece::FloorHigh, "...............x"),
            (Piece::HiHatClosed, "xoxoxoxo........"),
        ],
    ),
    (
        "waltz",
        "3/4",
        &[
            (Piece::Kick, "x........x.."),
            (Piece::Snare, "....x...x..."),
            (Piece::HiHatClosed, "x.o.x.o.x.o."),
        ],
        &[
            (Piece::Kick, "x..........."),
            (Piece::Snare, "....xxxx...."),
            (Piece::FloorHigh, "........xxxx"),
            (Piece::HiHatClosed, "x.o........."),
        ],
    ),
    (
        "six",
        "6/8",
        &[
            (Piece::Kick, "x....x......"),
            (Piece::Snare, "......x....."),
            (Piece::HiHatClosed, "x.o.o.x.o.o."),
        ],
        &[
            (Piece::Kick, "x..........."),
            (Piece::Snare, "......xxx..."),
            (Piece::FloorHigh, ".........xxx"),
            (Piece::HiHatClosed, "x.o.o......."),
        ],
    ),
    (
        "shuffle",
        "12/8",
        &[
            (Piece::Kick, "x.....x.x..."),
            (Piece::Snare, "...x.....x.."),
            (Piece::HiHatClosed, "x.ox.ox.ox.o"),
        ],
        &[
            (Piece::Kick, "x..........."),
            (Piece::Snare, "...x..xxx..."),
            (Piece::FloorHigh, ".........xxx"),
            (Piece::HiHatClosed, "x.ox.o......"),
        ],
    ),
    (
        "seven",
        "7/8",
        &[
            (Piece::Kick, "x.....x......."),
            (Piece::Snare, "....x.......x."),
            (Piece::HiHatClosed, "x.o.x.o.x.o.x."),
        ],
        &[
            (Piece::Kick, "x............."),
            (Piece::Snare, "....x...xxx..."),
            (Piece::FloorHigh, "...........xxx"),
            (Piece::HiHatClosed, "x.o.x........."),
        ],
    ),
];

fn written(meter: &str, groove: Rows, fill: Rows) -> Region {
    let meter: Meter = meter.parse().unwrap();
    let mut notes = Vec::new();
    for bar in 0..32 {
        let start = bar * meter.bar_len();
        let mut strike = |tick: Ticks, piece: Piece, velocity: u8| {
            let note = NoteMap::default().note(piece).unwrap();
            notes.push(UsedNote {
                tick,
                note,
                velocity,
            });
        };
        if bar % 8 == 0 {
            strike(start, Piece::CrashLeft, 115);
        }
        for &(piece, row) in if bar % 4 == 3 { fill } else { groove } {
            let step = meter.bar_len() / row.len() as Ticks;
            for (place, cell) in row.chars().enumerate().filter(|(_, cell)| *cell != '.') {
                let velocity = if cell == 'x' { 105 } else { 50 };
                // The crash takes the hand's place.
                let hand = matches!(piece, Piece::HiHatClosed | Piece::HiHatOpen | Piece::Ride);
                if !(hand && place == 0 && bar % 8 == 0) {
                    strike(start + place as Ticks * step, piece, velocity);
                }
            }
        }
    }
    Region::new(&[(0, meter)], notes, general_midi)
}

#[test]
fn invented_beats_in_several_meters() {
    let mut scores = Scores::default();
    for (nth, (name, meter, groove, fill)) in WRITTEN.into_iter().enumerate() {
        let mut rng = StdRng::seed_from_u64(nth as u64);
        let region = written(meter, groove, fill).exchanged(&mut rng);
        for line in region.proposal().lines {
            let truth = region.truth[&line.note].unwrap();
            println!(
                "{name}: {} for {}, {:?}, {}",
                line.piece.name(),
                truth.name(),
                line.sureness,
                line.reason
            );
        }
        scores.add(&region);
    }
    scores.print("invented");
    for (kind, right) in [
        ("kick", 7),
        ("snare", 8),
        ("hi-hat closed", 6),
        ("crash", 9),
        ("tom", 13),
    ] {
        let score = scores.kinds[kind];
        assert_eq!(score.wrong[Sureness::Sure as usize], 0, "{kind}");
        assert!(score.right.iter().sum::<usize>() >= right, "{kind}");
    }
    assert_eq!(scores.toms.0, scores.toms.1);
}

#[test]
fn reasons_say_how_a_key_is_used() {
    let (_, meter, groove, fill) = WRITTEN[0];
    let region = written(meter, groove, fill);
    let proposal = region.proposal();
    let snare = NoteMap::default().note(Piece::Snare).unwrap();
    let line = proposal
        .lines
        .iter()
        .find(|line| line.note == snare)
        .unwrap();
    assert_eq!(line.piece, Piece::Snare);
    assert!(
        line.reason
            .starts_with("falls on the backbeats, in 32 of 32 bars"),
        "{}",
        line.reason
    );
    assert!(line.reason.ends_with("88 strokes"), "{}", line.reason);
}

#[test]
fn few_strokes_stay_unplaced_or_a_guess_and_a_count_in_is_sticks() {
    let (_, meter, groove, fill) = WRITTEN[0];
    let mut region = written(meter, groove, fill);
    for note in &mut region.notes {
        note.tick += 4 * TICKS_PER_QUARTER;
    }
    let stroke = |key, quarter: Ticks| UsedNote {
        tick: quarter * TICKS_PER_QUARTER,
        note: note(key),
        velocity: 90,
    };
    region
        .notes
        .extend((0..4).map(|quarter| stroke(7, quarter)));
    region.notes.extend([stroke(8, 10), stroke(8, 50)]);
    let proposal = region.proposal();
    let sticks = proposal
        .lines
        .iter()
        .find(|line| line.piece == Piece::Sticks)
        .unwrap();
    assert_eq!(sticks.note, note(7));
    assert_eq!(
        proposal
            .unplaced
            .iter()
            .find(|u| u.note == note(8))
            .unwrap()
            .reason,
        "2 strokes: too few to tell"
    );
    let count = |of: Note| region.notes.iter().filter(|used| used.note == of).count();
    for line in proposal.lines.iter().filter(|line| count(line.note) < 12) {
        assert_eq!(line.sureness, Sureness::Guess);
    }
}

#[test]
fn nothing_is_proposed_for_nothing() {
    assert_eq!(propose(&[], &[]), Proposal::default());
}

proptest! {
    /// Whatever comes, each note is said once, no piece is sure twice, and the order of the notes is nothing.
    #[test]
    fn each_note_once(
        strokes in prop::collection::vec((any::<i64>(), 0..4_u8, 0..128_u8, 0..128_u8, 0..40_i64), 0..200),
        starts in prop::collection::vec((any::<i64>(), 1..33_i64, 0..4_u32), 0..8),
    ) {
        let mut notes: Vec<UsedNote> = strokes
            .iter()
            .map(|&(far, channel, key, velocity, near)| UsedNote {
                tick: if far % 3 == 0 { far } else { near * 480 },
                note: Note { channel, key: if far % 2 == 0 { key } else { key % 4 } },
                velocity,
            })
            .collect();
        let bars: Vec<Bar> = starts
            .iter()
            .map(|&(start, n, d)| Bar { start, meter: Meter::new(n, 2 << d).unwrap() })
            .collect();
        let proposal = propose(&notes, &bars);
        let used: BTreeSet<Note> = notes.iter().filter(|n| n.velocity > 0).map(|n| n.note).collect();
        let lines = proposal.lines.iter().map(|line| line.note);
        let mut said: Vec<Note> = lines.chain(proposal.unplaced.iter().map(|u| u.note)).collect();
        said.sort_unstable();
        prop_assert_eq!(said, used.into_iter().collect::<Vec<_>>());
        let sure = proposal.lines.iter().filter(|line| line.sureness == Sureness::Sure);
        let pieces: Vec<Piece> = sure.map(|line| line.piece).collect();
        let once: BTreeSet<Piece> = pieces.iter().copied().collect();
        prop_assert_eq!(pieces.len(), once.len());
        notes.reverse();
        prop_assert_eq!(propose(&notes, &bars), proposal);
    }
}
