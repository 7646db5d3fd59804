//! The riff as it is kept: punched, repeated, saved.

use fourlimb::riff::attacks::{MAX_ATTACKS, RiffData};
use fourlimb::riff::{Attack, Riff};
use fourlimb::time::Ticks;

const BAR: Ticks = 3840;

fn attack(tick: Ticks, strength: f32) -> Attack {
    Attack { tick, strength }
}

#[test]
fn a_punch_replaces_and_knows() {
    let mut riff = Riff::default();
    assert!(!riff.knows(0, BAR) && riff.is_empty());
    riff.punch(0, BAR);
    for tick in [0, 480, 960] {
        riff.add(attack(tick, 0.5));
    }
    riff.add(attack(480, 0.9));
    assert_eq!(
        riff.attacks(),
        [attack(0, 0.5), attack(480, 0.9), attack(960, 0.5)]
    );
    riff.punch(480, 960);
    assert_eq!(riff.attacks(), [attack(0, 0.5), attack(960, 0.5)]);
    assert!(riff.knows(0, BAR) && !riff.knows(BAR, 2 * BAR));
    riff.punch(BAR, BAR + BAR / 4);
    assert_eq!(riff.extent(), Some((0, BAR + BAR / 4)));
    assert!(
        !riff.knows(BAR, 2 * BAR),
        "a quarter of a bar is not the bar"
    );
    riff.nudge(-10);
    assert_eq!(riff.attacks()[1].tick, 950);
    riff.thin(0.6);
    assert!(riff.attacks().is_empty() && riff.knows(0, BAR));
}

#[test]
fn a_riff_goes_round_after_its_end() {
    let mut riff = Riff::new([attack(10, 0.5), attack(BAR + 5, 0.7)], 0, 2 * BAR);
    let mut out = Vec::with_capacity(64);
    riff.gather(2 * BAR, 4 * BAR, &mut out);
    assert_eq!(out, []);
    riff.set_repeat(Some((0, 2 * BAR)));
    riff.gather(-BAR, 5 * BAR, &mut out);
    let places: Vec<_> = out.iter().map(|a| a.tick).collect();
    assert_eq!(
        places,
        [10, BAR + 5, 2 * BAR + 10, 3 * BAR + 5, 4 * BAR + 10]
    );
    assert!(riff.knows(100 * BAR, 101 * BAR) && !riff.knows(-BAR, 0));
}

#[test]
fn a_full_riff_takes_no_more_and_survives_saving() {
    let mut riff = Riff::with_room();
    riff.punch(0, 1 << 30);
    for i in 0..MAX_ATTACKS as i64 {
        assert!(riff.add(attack(i * 240, (i % 128) as f32 / 127.0)));
    }
    assert!(!riff.add(attack(7, 1.0)));
    let started = std::time::Instant::now();
    let json = serde_json::to_string(&riff.save()).unwrap();
    let saved = started.elapsed();
    let back = Riff::load(&serde_json::from_str(&json).unwrap()).unwrap();
    println!(
        "{} bytes, saved in {saved:?}, loaded by {:?}",
        json.len(),
        started.elapsed()
    );
    assert_eq!(back, riff);
    assert!(json.len() < 600_000, "{}", json.len());
}

#[test]
fn a_damaged_riff_is_refused() {
    let good = RiffData {
        spans: vec![(0, BAR)],
        attacks: vec![0, 100, 240, 64],
        ..RiffData::default()
    };
    assert!(Riff::load(&good).is_ok());
    let bad = [
        RiffData {
            schema: 0,
            ..good.clone()
        },
        RiffData {
            schema: 99,
            ..good.clone()
        },
        RiffData {
            attacks: vec![1],
            ..good.clone()
        },
        RiffData {
            attacks: vec![i64::MAX, 1],
            ..good.clone()
        },
        RiffData {
            attacks: vec![0, 300],
            ..good.clone()
        },
        RiffData {
            spans: vec![(5, 5)],
            ..good.clone()
        },
        RiffData {
            spans: vec![(0, i64::MAX)],
            ..good
        },
    ];
    for bad in bad {
        assert!(Riff::load(&bad).is_err(), "{bad:?}");
    }
}
