//! What is forgotten of what was played, and the files that are made of it.

use crate::played::collect;
use crate::smf_readers::agreed;
use fourlimb::export::recording::file;
use fourlimb::kit::Note;
use fourlimb::midi::RegionNote;
use fourlimb::recorder::passes::{MOST_PASSES, MOST_SECONDS, Recorder};
use fourlimb::recorder::tap::Entry;
use fourlimb::time::observed::Stretch;
use fourlimb::time::{Bar, Meter, ObservedTempoMap, Ticks};

fn over(from: Ticks, to: Ticks) -> Entry {
    let bar = Bar {
        start: 0,
        meter: Meter::FOUR_FOUR,
    };
    Entry::Over(Stretch {
        from,
        to,
        bpm: 120.0,
        bar,
    })
}

const SNARE: Note = Note {
    channel: 9,
    key: 38,
};

fn on(tick: Ticks) -> Entry {
    Entry::On {
        tick,
        note: SNARE,
        velocity: 90,
    }
}

/// A song that runs for half an hour keeps its last ten minutes; its notes, its passes are bounded.
#[test]
fn the_oldest_is_forgotten() {
    let mut played = Recorder::default();
    played.take(&Entry::Pass {
        at: 0,
        rolling: false,
    });
    // 120 BPM: 3,600 quarters are half an hour.
    for quarter in 0..3600 {
        let at = quarter * 960;
        played.take(&on(at));
        played.take(&Entry::Off {
            tick: at + 120,
            note: SNARE,
        });
        played.take(&over(at, at + 960));
    }
    let (notes, seconds) = played.amount();
    assert_eq!(notes, 1200);
    assert!((seconds - MOST_SECONDS).abs() < 1.0);
    let passage = played.latest().unwrap();
    assert_eq!((passage.from, passage.region.end), (2400 * 960, 3600 * 960));
    assert!(passage.region.notes.iter().all(|n| n.length == 120));
    // Tiny loops.
    for _ in 0..3 * MOST_PASSES {
        for entry in [
            Entry::Pass {
                at: 0,
                rolling: true,
            },
            on(0),
            over(0, 60),
        ] {
            played.take(&entry);
        }
    }
    assert!(
        played.amount().0 <= MOST_PASSES + 1,
        "{:?}",
        played.amount()
    );
    assert_eq!(played.latest().unwrap().region.notes.len(), 1);
}

/// An end that was lost leaves a note of the usual length, and the key can be struck again.
#[test]
fn a_lost_end_is_no_endless_note() {
    let entries = [
        Entry::Pass {
            at: 0,
            rolling: false,
        },
        on(0),
        Entry::Lost(0),
        on(60),
        on(960),
        over(0, 960),
    ];
    let (played, _) = collect(&entries);
    let lengths: Vec<_> = played
        .latest()
        .unwrap()
        .region
        .notes
        .iter()
        .map(|n| n.length)
        .collect();
    assert_eq!(lengths, [60, 120, 120]);
}

/// A program that is started at bar 1 rolls for a block before it. The file is no bar longer for that, and an early stroke
/// stands on the line; a pick-up is music, and its bar is there.
#[test]
fn a_run_up_is_no_bar() {
    let made = |from: Ticks, first: Ticks| {
        let start = Entry::Pass {
            at: from,
            rolling: false,
        };
        let run_up = Stretch {
            from,
            to: 3840,
            bpm: 150.0,
            bar: Bar {
                start: -3840,
                meter: Meter::FOUR_FOUR,
            },
        };
        let (played, seen) = collect(&[start, on(first), on(960), Entry::Over(run_up)]);
        let made = file(&played.latest().unwrap(), &seen).unwrap();
        let notes = agreed(&made.bytes).notes();
        let ticks: Vec<_> = notes.iter().map(|note| note.0).collect();
        (made.bars, ticks)
    };
    assert_eq!(made(-52, 5), ((1, 1), vec![5, 960]));
    assert_eq!(made(-52, -5), ((1, 1), vec![0, 960]));
    assert_eq!(made(-240, -240), ((0, 1), vec![3600, 4800]));
    assert_eq!(made(-241, 5), ((0, 1), vec![3845, 4800]));
}

/// The file begins and ends on bar lines of the host, with its tempi and meters, and three readers agree.
#[test]
fn the_file_is_made_of_whole_bars() {
    let bar = |start, text: &str| Bar {
        start,
        meter: text.parse().unwrap(),
    };
    let mut seen = ObservedTempoMap::default();
    for (from, to, bpm, bar) in [
        (0, 7680, 120.0, bar(0, "4/4")),
        (7680, 11_040, 120.0, bar(7680, "7/8")),
        (11_040, 14_400, 90.0, bar(11_040, "7/8")),
    ] {
        assert!(seen.pass(&Stretch { from, to, bpm, bar }));
    }
    let entries = [
        Entry::Pass {
            at: 5000,
            rolling: false,
        },
        on(5000),
        on(11_040),
        over(5000, 11_500),
    ];
    let (played, _) = collect(&entries);
    let made = file(&played.latest().unwrap(), &seen).unwrap();
    assert_eq!((made.notes, made.bars), (2, (2, 4)));
    let read = agreed(&made.bytes);
    let notes: Vec<_> = read.notes().iter().map(|n| n.0).collect();
    assert_eq!(notes, [5000 - 3840, 11_040 - 3840]);
    let conductor = &read.tracks[0];
    assert_eq!(conductor.meters, [(0, 4, 4), (3840, 7, 8)]);
    assert_eq!(conductor.tempi, [(0, 500_000), (7200, 666_667)]);
    assert_eq!(conductor.end, 14_400 - 3840);
}

/// A host may start before the song.
#[test]
fn a_passage_before_the_song_is_written_too() {
    let entries = [
        Entry::Pass {
            at: -1000,
            rolling: false,
        },
        on(-960),
        on(0),
        over(-1000, 3840),
    ];
    let (played, seen) = collect(&entries);
    let made = file(&played.latest().unwrap(), &seen).unwrap();
    assert_eq!(made.bars, (0, 1));
    let read = agreed(&made.bytes);
    let notes: Vec<_> = read.notes().iter().map(|n| n.0).collect();
    assert_eq!(notes, [2880, 3840]);
    assert_eq!(read.tracks[0].tempi, [(0, 500_000)]);
    assert_eq!(read.tracks[0].meters, [(0, 4, 4)]);
}

/// Rounding may put an end and the next beginning of a key on one tick.
#[test]
fn no_two_notes_of_a_key_overlap() {
    let mut entries = vec![Entry::Pass {
        at: 0,
        rolling: false,
    }];
    for tick in [0, 1, 1, 2] {
        entries.push(on(tick));
        entries.push(Entry::Off {
            tick: tick + 1,
            note: SNARE,
        });
    }
    entries.push(over(0, 960));
    let (played, seen) = collect(&entries);
    let passage = played.latest().unwrap();
    let ends = |n: &RegionNote| n.tick + n.length;
    assert!(
        passage
            .region
            .notes
            .windows(2)
            .all(|p| ends(&p[0]) <= p[1].tick)
    );
    agreed(&file(&passage, &seen).unwrap().bytes);
}
