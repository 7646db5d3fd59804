//! The onset detector against guitars whose strokes are known, scored by the standard evaluation:
//! F = 2PR/(P+R) over the largest one-to-one matching of strokes within a window (`mir_eval.onset`,
//! Raffel et al. 2014, ISMIR; its default window is 50 ms). The reference detectors' scores that the
//! bars stand above were measured on clips of the same kind.

use fourlimb::riff::onset::Detector;
use fourlimb::riff::sound::{Heard, listen_to};
use hosting::guitar::{Pick, Rig, Touch, play};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};

const SENSITIVITY: f32 = 0.5;

/// The largest one-to-one matching of two rising rows within a window: pairs of places. Taking the
/// first partner that is free is the largest, since the windows are all of one size.
fn matching(truth: &[f64], found: &[f64], window: f64) -> Vec<(usize, usize)> {
    let (mut i, mut j, mut pairs) = (0, 0, Vec::new());
    while i < truth.len() && j < found.len() {
        let late = found[j] - truth[i];
        if late.abs() <= window + 1e-12 {
            pairs.push((i, j));
            (i, j) = (i + 1, j + 1);
        } else if late < 0.0 {
            j += 1;
        } else {
            i += 1;
        }
    }
    pairs
}

/// F, precision and recall; all 0 where either row is empty, as the standard has it.
fn f_measure(truth: &[f64], found: &[f64], window: f64) -> (f64, f64, f64) {
    if truth.is_empty() || found.is_empty() {
        return (0.0, 0.0, 0.0);
    }
    let matched = matching(truth, found, window).len() as f64;
    let (p, r) = (matched / found.len() as f64, matched / truth.len() as f64);
    let f = if matched > 0.0 {
        2.0 * p * r / (p + r)
    } else {
        0.0
    };
    (f, p, r)
}

/// The largest matching by trying everything, for short rows.
fn brute_force(truth: &[f64], found: &[f64], window: f64) -> usize {
    let Some((first, rest)) = truth.split_first() else {
        return 0;
    };
    let mut best = brute_force(rest, found, window);
    for (j, at) in found.iter().enumerate() {
        if (at - first).abs() <= window + 1e-12 {
            let mut others = found.to_vec();
            others.remove(j);
            best = best.max(1 + brute_force(rest, &others, window));
        }
    }
    best
}

#[test]
fn the_scorer_follows_the_definition() {
    // By hand: 2 of 3 found are right, 2 of 4 true are found: P 2/3, R 1/2, F 4/7.
    let (f, p, r) = f_measure(&[1.0, 2.0, 3.0, 4.0], &[1.01, 2.05, 9.0], 0.05);
    assert!((p - 2.0 / 3.0).abs() < 1e-12 && (r - 0.5).abs() < 1e-12);
    assert!((f - 4.0 / 7.0).abs() < 1e-12);
    // One that is found twice counts once; empty rows give 0.
    assert_eq!(matching(&[1.0], &[0.99, 1.01], 0.05).len(), 1);
    assert_eq!(f_measure(&[], &[1.0], 0.05), (0.0, 0.0, 0.0));
    assert_eq!(f_measure(&[1.0], &[], 0.05), (0.0, 0.0, 0.0));
    let mut dice = Xoshiro256PlusPlus::seed_from_u64(7);
    for _ in 0..300 {
        let mut row = || {
            let count = dice.next_u64() % 7;
            let mut row: Vec<f64> = (0..count)
                .map(|_| (dice.next_u64() % 400) as f64 / 1000.0)
                .collect();
            row.sort_by(f64::total_cmp);
            row
        };
        let (truth, found) = (row(), row());
        assert_eq!(
            matching(&truth, &found, 0.05).len(),
            brute_force(&truth, &found, 0.05),
            "{truth:?} {found:?}"
        );
    }
}

/// Patterns, one bar a word: p muted, c left to ring, - it rings on, . rest. Slots a beat beside them.
const PATTERNS: [(&str, f64, [&str; 4]); 8] = [
    (
        "eighths",
        2.0,
        ["pppppppp", "pp..ppp.", "pppp..pp", "p.p.ppp."],
    ),
    (
        "sixteenths",
        4.0,
        [
            "pppppppppppppppp",
            "pppp....pppppppp",
            "pppppp..pppp....",
            "pp..pp..pppppp..",
        ],
    ),
    (
        "gallop",
        4.0,
        [
            "p.ppp.ppp.ppp.pp",
            "p.ppp.pp....p.pp",
            "p.ppp.ppp.pp....",
            "p.pp..p.p.ppp...",
        ],
    ),
    (
        "reverse gallop",
        4.0,
        [
            "ppp.ppp.ppp.ppp.",
            "ppp.p...ppp.p...",
            "ppp.ppp.pp......",
            "pp..pp..ppp.p...",
        ],
    ),
    (
        "triplets",
        3.0,
        [
            "pppppppppppp",
            "ppp...pppppp",
            "p.pp.pp.pppp",
            "pppppp......",
        ],
    ),
    (
        "tremolo",
        4.0,
        [
            "cccccccccccccccc",
            "cccccccccccccccc",
            "cccccccc--------",
            "cccccccccccccccc",
        ],
    ),
    (
        "chords",
        4.0,
        [
            "c-------pppp....",
            "ppppc---....pp..",
            "c---c-------pppp",
            "p.p.c-----------",
        ],
    ),
    (
        "let ring",
        2.0,
        ["cccccccc", "c-cccc-c", "ccc-cccc", "c---cccc"],
    ),
];

struct Clip {
    picks: Vec<Pick>,
    truth: Vec<f64>,
    seconds: f64,
}

fn clip(pattern: &(&str, f64, [&str; 4]), bpm: f64, hz: f64, seed: u64) -> Clip {
    let mut dice = Xoshiro256PlusPlus::seed_from_u64(seed);
    let mut even = || (dice.next_u64() >> 11) as f64 / (1_u64 << 53) as f64;
    let slot = 60.0 / bpm / pattern.1;
    let slots: Vec<u8> = pattern.2.iter().flat_map(|bar| bar.bytes()).collect();
    let mut picks = Vec::new();
    for (i, &slot_is) in slots.iter().enumerate() {
        if slot_is == b'p' || slot_is == b'c' {
            let rings = slots[i + 1..].iter().take_while(|s| **s == b'-').count();
            // A player's: up to 8 ms and 3 dB off.
            let at = 0.4 + i as f64 * slot + (even() + even() - 1.0) * 0.008;
            let accent = if i % 4 == 0 { 2.0 } else { 0.0 };
            let force = 10_f64.powf((even() * 6.0 - 3.0 + accent) / 20.0);
            let touch = if slot_is == b'c' {
                Touch::Ring
            } else {
                Touch::Mute
            };
            let held = (rings + 1) as f64 * slot;
            picks.push(Pick {
                at,
                held,
                hz,
                force,
                touch,
            });
        }
    }
    let truth = picks.iter().map(|pick| pick.at).collect();
    let seconds = 0.4 + slots.len() as f64 * slot + 0.6;
    Clip {
        picks,
        truth,
        seconds,
    }
}

/// The scores of a kind of guitar over every pattern and a row of tempi and tunings.
#[derive(Default)]
struct Score {
    truth: usize,
    found: usize,
    hits: [usize; 3],
    errors: Vec<f64>,
    live: Vec<f64>,
}

const WINDOWS: [f64; 3] = [0.050, 0.025, 0.010];

impl Score {
    fn add(&mut self, truth: &[f64], heard: &[Heard]) {
        let found: Vec<f64> = heard.iter().map(|heard| heard.seconds).collect();
        self.truth += truth.len();
        self.found += found.len();
        for (hits, window) in self.hits.iter_mut().zip(WINDOWS) {
            *hits += matching(truth, &found, window).len();
        }
        for (i, j) in matching(truth, &found, WINDOWS[0]) {
            self.errors.push(found[j] - truth[i]);
            self.live.push(heard[j].known - truth[i]);
        }
    }

    fn f(&self) -> [f64; 3] {
        self.hits
            .map(|hits| 2.0 * hits as f64 / (self.truth + self.found) as f64)
    }
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

fn score(rig: &Rig, rate: f64) -> Score {
    let mut score = Score::default();
    let tempi = [100.0, 132.0, 160.0, 188.0, 215.0, 240.0, 120.0, 176.0];
    // E2, D2, B1, A1: standard, dropped, seven strings, and lower.
    let roots = [82.41, 73.42, 61.74, 55.0];
    for (i, pattern) in PATTERNS.iter().enumerate() {
        let clip = clip(pattern, tempi[i], roots[i % roots.len()], i as u64);
        let sound = at_rate(&clip, rig, rate, i as u64);
        score.add(&clip.truth, &listen_to(&sound, rate, SENSITIVITY));
    }
    score
}

/// Plays a clip at a rate. The strings are made below 50 kHz whatever the rate, since their damping
/// goes by the sample.
fn at_rate(clip: &Clip, rig: &Rig, rate: f64, seed: u64) -> Vec<f32> {
    let times = (rate / 50_000.0).ceil() as usize;
    let sound = play(&clip.picks, rig, rate / times as f64, clip.seconds, seed);
    let between = |w: &[f32]| -> Vec<f32> {
        let (a, b) = (w[0], w[1]);
        (0..times)
            .map(|i| a + (b - a) * i as f32 / times as f32)
            .collect()
    };
    sound.windows(2).flat_map(between).collect()
}

/// Holds a kind of guitar to F at 25 ms and at 10 ms, and to bias and latency.
fn check(name: &str, rig: &Rig, rate: f64, f25: f64) {
    let score = score(rig, rate);
    let f = score.f();
    let (bias, live) = (mean(&score.errors), mean(&score.live));
    println!(
        "{name}: {} strokes, F {:.3} {:.3} {:.3}, bias {:.1} ms, live {:.1} ms",
        score.truth,
        f[0],
        f[1],
        f[2],
        bias * 1e3,
        live * 1e3
    );
    assert!(f[1] >= f25, "{name}: F at 25 ms is {:.3}", f[1]);
    assert!(f[2] >= 0.95, "{name}: F at 10 ms is {:.3}", f[2]);
    assert!(bias.abs() <= 0.002, "{name}: bias {bias}");
    assert!(live <= 0.012, "{name}: live {live}");
}

#[test]
fn clean_guitar() {
    check("clean", &Rig::CLEAN, 44_100.0, 0.99);
}

#[test]
fn high_gain() {
    check("high gain", &Rig::HIGH_GAIN, 48_000.0, 0.99);
}

#[test]
fn hum_and_noise() {
    check("hum and noise", &Rig::HUM_AND_NOISE, 44_100.0, 0.98);
}

#[test]
fn level_does_not_matter() {
    let rig = Rig {
        peak: 0.01,
        ..Rig::HIGH_GAIN
    };
    check("-40 dB", &rig, 48_000.0, 0.98);
}

#[test]
fn every_sample_rate() {
    for rate in [22_050.0, 96_000.0] {
        check(&format!("{rate} Hz"), &Rig::HIGH_GAIN, rate, 0.97);
    }
}

#[test]
fn what_is_no_stroke_is_not_heard() {
    let rate = 48_000.0;
    let quiet = |noise, hum| {
        let rig = Rig {
            gain: 0.0,
            hum,
            noise,
            peak: 0.05,
        };
        play(&[], &rig, rate, 10.0, 3)
    };
    for (name, sound) in [
        ("hiss", quiet(1.0, 0.0)),
        ("hum", quiet(1e-4, 1.0)),
        ("silence", vec![0.0; 480_000]),
        ("not a number", vec![f32::NAN; 48_000]),
    ] {
        let heard = listen_to(&sound, rate, SENSITIVITY);
        // The sound's own beginning may count.
        let later = heard.iter().filter(|h| h.seconds > 0.1).count();
        assert_eq!(later, 0, "{name}: {heard:?}");
    }
    // One chord left to ring for four seconds.
    let pick = Pick {
        at: 0.4,
        held: 4.0,
        hz: 73.42,
        force: 1.0,
        touch: Touch::Ring,
    };
    let sound = play(&[pick], &Rig::HIGH_GAIN, rate, 4.4, 1);
    let heard = listen_to(&sound, rate, SENSITIVITY);
    assert!((1..=2).contains(&heard.len()), "{heard:?}");
}

#[test]
fn more_sensitivity_hears_more_of_what_is_soft() {
    let clip = clip(&PATTERNS[5], 200.0, 55.0, 9);
    let rig = Rig {
        gain: 120.0,
        ..Rig::HUM_AND_NOISE
    };
    let sound = play(&clip.picks, &rig, 48_000.0, clip.seconds, 9);
    let counts = [0.0, 0.25, 0.5, 0.75].map(|s| listen_to(&sound, 48_000.0, s).len());
    assert!(counts.is_sorted() && counts[0] < counts[3], "{counts:?}");
}

/// Strong strokes and soft ones, open chords and mutes, come out apart.
#[test]
fn strength_follows_force_and_touch() {
    let strokes = |force: f64, touch| {
        let picks: Vec<Pick> = (0..32)
            .map(|i| {
                let force = if i % 2 == 0 { 1.0 } else { force };
                let touch = if i % 2 == 0 { Touch::Ring } else { touch };
                Pick {
                    at: 0.4 + f64::from(i) * 0.2,
                    held: 0.2,
                    hz: 82.41,
                    force,
                    touch,
                }
            })
            .collect();
        let sound = play(&picks, &Rig::CLEAN, 48_000.0, 7.0, 4);
        let heard = listen_to(&sound, 48_000.0, SENSITIVITY);
        assert_eq!(heard.len(), 32);
        let of = |odd| {
            let strengths = heard.iter().skip(odd).step_by(2);
            mean(&strengths.map(|h| f64::from(h.strength)).collect::<Vec<_>>())
        };
        (of(0), of(1))
    };
    let (hard, soft) = strokes(0.3, Touch::Ring);
    assert!(hard > soft + 0.15, "{hard} {soft}");
    let (open, muted) = strokes(1.0, Touch::Mute);
    assert!(open > muted + 0.05, "{open} {muted}");
}

/// However the sound is cut into blocks, and after a reset, the answer is the same.
#[test]
fn a_reset_detector_is_a_new_one_whatever_the_blocks() {
    let clip = clip(&PATTERNS[2], 180.0, 82.41, 2);
    let sound = play(&clip.picks, &Rig::HIGH_GAIN, 48_000.0, clip.seconds, 2);
    let mut detector = Detector::new(48_000.0);
    let mut run = |block: usize| -> Vec<_> {
        let mut found = Vec::new();
        for (i, samples) in sound.chunks(block).enumerate() {
            detector.hear(samples, |at, onset| found.push((i * block + at, onset)));
        }
        detector.reset();
        found
    };
    let whole = run(sound.len());
    assert!(whole.len() > 20);
    for block in [sound.len(), 1, 63, 64, 100, 4096] {
        assert_eq!(run(block), whole, "blocks of {block}");
    }
}
