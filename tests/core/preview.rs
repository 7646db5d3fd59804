//! The built-in sound, measured: clean, within limits, its pieces told apart. Loudness and true peak
//! by the crate `ebur128` (EBU R 128, ITU-R BS.1770); spectra by the FFT of the crate `fundsp`.

use fourlimb::groove::vocabulary::slot;
use fourlimb::groove::{Hand, Hit, Player, Settings};
use fourlimb::kit::Piece;
use fourlimb::output::{HostTime, NoteEvent, NoteSink, Performer};
use fourlimb::preview::{DEFAULT_LEVEL_DB, Kit, LEVELS_DB, MAX_VOICES, Preview, Sound, Strike};
use std::sync::OnceLock;
use xtask::sound::Sound as Recording;

const RATE: u32 = 48_000;
const HZ: f32 = 48_000.0;

fn kit() -> &'static Kit {
    static KIT: OnceLock<Kit> = OnceLock::new();
    KIT.get_or_init(|| Kit::render(HZ))
}

const CYMBALS: [Piece; 10] = [
    Piece::HiHatClosed,
    Piece::HiHatLoose,
    Piece::HiHatOpen,
    Piece::HiHatFoot,
    Piece::Ride,
    Piece::RideBell,
    Piece::CrashLeft,
    Piece::CrashRight,
    Piece::China,
    Piece::Splash,
];
const TOMS: [Piece; 4] = [
    Piece::RackHigh,
    Piece::RackLow,
    Piece::FloorHigh,
    Piece::FloorLow,
];

fn strike(at: u32, piece: Piece, velocity: u8) -> (u32, Strike) {
    (
        at,
        Strike {
            sample: 0,
            piece,
            velocity,
        },
    )
}

/// Plays strikes at samples of the whole, in blocks of these lengths in turn.
fn play(strikes: &[(u32, Strike)], length: u32, blocks: &[u32], level_db: f32) -> Recording {
    let mut preview = Preview::new(HZ);
    let mut recording = Recording::new(RATE);
    let (mut at, mut turn) = (0, blocks.iter().cycle());
    while at < length {
        let frames = (*turn.next().unwrap()).min(length - at);
        for (when, strike) in strikes
            .iter()
            .filter(|(when, _)| (at..at + frames).contains(when))
        {
            preview.strike(Strike {
                sample: when - at,
                ..*strike
            });
        }
        let (mut left, mut right) = (vec![0.0; frames as usize], vec![0.0; frames as usize]);
        preview.render(kit(), level_db, &mut left, &mut right);
        assert!(preview.voices() <= MAX_VOICES);
        recording.add(&left, &right);
        at += frames;
    }
    recording
}

/// One stroke, both channels added, at full level.
fn one(piece: Piece, velocity: u8, seconds: f32) -> Vec<f32> {
    let length = (seconds * HZ) as u32;
    mono(&play(&[strike(0, piece, velocity)], length, &[512], 0.0))
}

fn mono(recording: &Recording) -> Vec<f32> {
    recording
        .left
        .iter()
        .zip(&recording.right)
        .map(|(l, r)| (l + r) * 0.5)
        .collect()
}

fn power(x: &[f32]) -> f32 {
    x.iter().map(|x| x * x).sum::<f32>() / x.len().max(1) as f32
}

fn db(power: f32) -> f32 {
    10.0 * (power + 1e-20).log10()
}

/// The power spectrum of the first 2^15 samples.
fn spectrum(x: &[f32]) -> Vec<f32> {
    let mut data = x.to_vec();
    data.resize(1 << 15, 0.0);
    let bins = fundsp::fft::real_fft(&mut data);
    bins.iter()
        .skip(1)
        .map(|c| c.re * c.re + c.im * c.im)
        .collect()
}

/// The middle of the power spectrum, in Hz.
fn centroid(x: &[f32]) -> f32 {
    let (mut sum, mut weighted) = (0.0_f64, 0.0_f64);
    for (i, power) in spectrum(x).into_iter().enumerate() {
        sum += f64::from(power);
        weighted += f64::from(power) * (i + 1) as f64;
    }
    (weighted / sum) as f32 * HZ / (1 << 15) as f32
}

/// Seconds after the loudest moment until a sound has fallen by so many dB.
fn falls(x: &[f32], by_db: f32) -> f32 {
    let step = 240;
    let levels: Vec<f32> = x.chunks(step).map(|part| db(power(part))).collect();
    let loudest = levels.iter().copied().fold(f32::MIN, f32::max);
    let from = levels.iter().position(|level| *level == loudest).unwrap();
    let still = levels
        .iter()
        .rposition(|level| *level > loudest - by_db)
        .unwrap();
    (still - from) as f32 * step as f32 / HZ
}

#[test]
fn every_sound_is_clean_at_every_rate() {
    for rate in [44_100.0, 96_000.0, 22_050.0, HZ] {
        for piece in Piece::ALL {
            // Unoptimised, the long cymbals take their time; they are one recipe.
            if rate != HZ && CYMBALS[5..].contains(&piece) {
                continue;
            }
            let rendered = (rate != HZ).then(|| Sound::render(piece, rate));
            let sound = rendered.as_ref().unwrap_or_else(|| kit().sound(piece));
            for take in 0..2 {
                let (full, what) = (sound.full(take), format!("{} at {rate} Hz", piece.name()));
                assert!(full.iter().all(|x| x.is_finite()), "{what}: not a number");
                let peak = full.iter().fold(0.0_f32, |peak, x| peak.max(x.abs()));
                assert!((0.05..=1.001).contains(&peak), "{what}: peak {peak}");
                let mean = full.iter().sum::<f32>() / full.len() as f32;
                assert!(mean.abs() < peak * 2e-3, "{what}: an offset of {mean}");
                let starts = full[0].abs().max(full[1].abs());
                assert!(
                    starts < peak * 0.12 * (HZ / rate).max(1.0),
                    "{what}: starts with a step of {starts} of {peak}"
                );
                let ends = full[full.len() - 8..]
                    .iter()
                    .fold(0.0_f32, |end, x| end.max(x.abs()));
                assert!(ends < peak * 1e-3, "{what}: ends with a step of {ends}");
            }
        }
    }
}

/// Kick below toms below snare below cymbals, as any engineer would place them; the order is common
/// practice, no source. Toms among each other by size, hi-hats above the ride's bell.
#[test]
fn pieces_are_told_apart_by_their_spectrum() {
    let middle = |piece| centroid(&one(piece, 120, 0.68));
    let (kick, snare) = (middle(Piece::Kick), middle(Piece::Snare));
    let toms = TOMS.map(middle);
    assert!(
        toms.iter().all(|tom| kick < *tom),
        "kick {kick}, toms {toms:?}"
    );
    // By size where only the skin rings; what the stick adds is much the same on all.
    let rings = TOMS.map(|tom| centroid(&one(tom, 120, 0.68)[4800..]));
    assert!(
        rings.windows(2).all(|pair| pair[0] > pair[1]),
        "toms by size: {rings:?}"
    );
    assert!(
        toms.iter().all(|tom| *tom < snare),
        "toms {toms:?}, snare {snare}"
    );
    for cymbal in CYMBALS {
        let cymbal_middle = middle(cymbal);
        assert!(
            snare < cymbal_middle,
            "snare {snare}, {} {cymbal_middle}",
            cymbal.name()
        );
    }
    assert!(middle(Piece::HiHatClosed) > middle(Piece::RideBell));
    assert!(middle(Piece::Sticks) > middle(Piece::SideStick));
}

/// Short before long: sticks, kick and closed hi-hat are over before the toms, the toms before the
/// cymbals; the hi-hat rings by how open it is, the toms by size. Common practice, no source.
#[test]
fn pieces_are_told_apart_by_how_they_die() {
    let falls = |piece| falls(&one(piece, 120, 2.9), 30.0);
    let check = |order: &[Piece]| {
        for pair in order.windows(2) {
            let times = (falls(pair[0]), falls(pair[1]));
            assert!(
                times.0 < times.1,
                "{} {}: {times:?}",
                pair[0].name(),
                pair[1].name()
            );
        }
    };
    check(&[
        Piece::HiHatClosed,
        Piece::HiHatLoose,
        Piece::HiHatOpen,
        Piece::CrashLeft,
    ]);
    check(&[
        Piece::RackHigh,
        Piece::RackLow,
        Piece::FloorHigh,
        Piece::FloorLow,
    ]);
    check(&[
        Piece::Sticks,
        Piece::Kick,
        Piece::FloorLow,
        Piece::CrashRight,
    ]);
    check(&[
        Piece::HiHatFoot,
        Piece::Splash,
        Piece::China,
        Piece::CrashLeft,
    ]);
    check(&[Piece::SideStick, Piece::Snare, Piece::Ride]);
}

/// Velocity is more than level: a soft stroke is duller on every piece, and always softer.
#[test]
fn a_harder_stroke_is_louder_and_brighter() {
    for piece in Piece::ALL {
        let strokes = [30, 60, 90, 120].map(|velocity| one(piece, velocity, 0.68));
        for pair in strokes.windows(2) {
            let louder = db(power(&pair[1])) - db(power(&pair[0]));
            assert!(
                (1.5..=14.0).contains(&louder),
                "{}: {louder} dB",
                piece.name()
            );
            let (soft, hard) = (centroid(&pair[0]), centroid(&pair[1]));
            assert!(soft < hard, "{}: {soft} Hz, then {hard} Hz", piece.name());
        }
    }
    let crack = |velocity| {
        let stroke = one(Piece::Snare, velocity, 0.3);
        let bins = spectrum(&stroke);
        let above = bins.len() * 3000 / 24_000;
        bins[above..].iter().sum::<f32>() / bins.iter().sum::<f32>()
    };
    assert!(
        crack(120) > 3.0 * crack(30),
        "the snare cracks only when struck hard"
    );
}

#[test]
fn two_strokes_in_a_row_are_never_the_same() {
    for piece in Piece::ALL {
        let strikes = [
            strike(0, piece, 100),
            strike(RATE * 3, piece, 100),
            strike(RATE * 6, piece, 100),
        ];
        let all = mono(&play(&strikes, RATE * 9, &[4096], -6.0));
        let part = |i: usize| &all[i * 144_000..i * 144_000 + 9600];
        let apart = |a: &[f32], b: &[f32]| {
            let rest: Vec<f32> = a.iter().zip(b).map(|(a, b)| a - b).collect();
            db(power(&rest)) - db(power(a))
        };
        let differs = apart(part(0), part(1));
        assert!(
            differs > -30.0,
            "{}: the next stroke differs by {differs} dB",
            piece.name()
        );
        assert!(
            apart(part(0), part(2)) < -60.0,
            "{}: two takes in turn",
            piece.name()
        );
    }
}

#[test]
fn a_closed_hi_hat_quiets_an_open_one() {
    let second = |piece: Option<Piece>| {
        let mut strikes = vec![strike(0, Piece::HiHatOpen, 110)];
        strikes.extend(piece.map(|piece| strike(RATE / 4, piece, 60)));
        mono(&play(&strikes, RATE, &[512], 0.0))
    };
    let late = |x: &[f32]| db(power(&x[RATE as usize / 2..RATE as usize * 3 / 4]));
    let rings = late(&second(None));
    for piece in [Piece::HiHatClosed, Piece::HiHatFoot] {
        let choked = late(&second(Some(piece)));
        assert!(
            choked < rings - 30.0,
            "{}: {choked} dB, {rings} dB",
            piece.name()
        );
    }
    let crash = late(&second(Some(Piece::CrashLeft)));
    assert!(crash > rings, "a crash leaves it alone");
}

#[test]
fn cymbals_ring_on_and_overlap() {
    let twice = [
        strike(0, Piece::CrashLeft, 110),
        strike(RATE / 2, Piece::CrashLeft, 20),
    ];
    let (first, both) = (
        mono(&play(&twice[..1], RATE, &[512], 0.0)),
        mono(&play(&twice, RATE, &[512], 0.0)),
    );
    let tail = |x: &[f32]| db(power(&x[RATE as usize * 5 / 8..]));
    assert!(
        tail(&first) > db(power(&first[..4800])) - 30.0,
        "it rings on"
    );
    assert!(
        tail(&both) > tail(&first) - 1.0,
        "a soft stroke takes nothing from what rings"
    );
}

/// How sharply a signal bends at most: a step shows as a spike many times the rest.
fn sharpest(x: &[f32]) -> f32 {
    x.windows(4)
        .map(|w| (w[3] - 3.0 * w[2] + 3.0 * w[1] - w[0]).abs())
        .fold(0.0, f32::max)
}

/// Neither switching off, nor a choke, nor a stroke that makes an older one go, ticks: on a slow, pure
/// tone a step would stand out.
#[test]
fn letting_go_does_not_click() {
    let ringing = one(Piece::FloorLow, 100, 0.6);
    // Past the stick, where only the skin rings.
    let (from, cut) = (9600, 14_400);
    let rest = sharpest(&ringing[from..cut]);
    let mut stepped = ringing.clone();
    stepped[cut..].fill(0.0);
    assert!(
        sharpest(&stepped[from..]) > rest * 30.0,
        "the measure sees a step"
    );

    let mut preview = Preview::new(HZ);
    let mut out = Vec::new();
    preview.strike(strike(0, Piece::FloorLow, 100).1);
    for block in 0..60 {
        if block == 30 {
            preview.let_go();
        }
        let (mut left, mut right) = ([0.0; 480], [0.0; 480]);
        preview.render(kit(), 0.0, &mut left, &mut right);
        out.extend(left);
    }
    assert!(
        sharpest(&out[from..]) < rest * 6.0,
        "{} of {rest}",
        sharpest(&out[from..])
    );
    assert!(
        out[14_400 + 480..].iter().all(|x| *x == 0.0),
        "10 ms later it is silent"
    );
    assert!(preview.is_silent());

    // Four strokes: the first makes room for the fourth while it still rings.
    let strikes: Vec<_> = (0..4)
        .map(|i| strike(i * 4800, Piece::FloorLow, 1))
        .collect();
    let strikes = [&[strike(0, Piece::FloorLow, 127)], &strikes[1..]].concat();
    let stolen = mono(&play(&strikes, RATE / 2, &[512], 0.0));
    let after = 3 * 4800 + 1200;
    assert!(
        sharpest(&stolen[after..]) < rest * 6.0,
        "{} of {rest}",
        sharpest(&stolen[after..])
    );
}

#[test]
fn the_block_size_is_not_heard() {
    let strikes: Vec<_> = (0..60)
        .map(|i| {
            strike(
                i * 997 + 13,
                Piece::ALL[i as usize % Piece::COUNT],
                40 + i as u8,
            )
        })
        .collect();
    let whole = play(&strikes, RATE * 2, &[RATE * 2], -3.0);
    for blocks in [&[64][..], &[1, 7, 300, 2], &[8192]] {
        let cut = play(&strikes, RATE * 2, blocks, -3.0);
        for (a, b) in [(&whole.left, &cut.left), (&whole.right, &cut.right)] {
            let apart = a
                .iter()
                .zip(b)
                .map(|(a, b)| (a - b).abs())
                .fold(0.0, f32::max);
            assert!(apart < 1e-5, "{blocks:?}: {apart}");
        }
    }
}

#[test]
fn more_strokes_than_any_drummer_has_stay_bounded() {
    let strikes: Vec<_> = (0..4000_u32)
        .map(|i| strike(i * 12, Piece::ALL[(i * 7 % 18) as usize], 127))
        .collect();
    let loud = play(&strikes, RATE * 2, &[256, 511], LEVELS_DB.1);
    assert!(loud.left.iter().chain(&loud.right).all(|x| x.is_finite()));
    let peak = loud.loudness().unwrap().true_peak_db;
    assert!(peak <= -1.0, "true peak {peak} dB");
}

/// What the performer strikes, heard.
struct Ear {
    preview: Preview,
    struck: usize,
}

impl NoteSink for Ear {
    fn send(&mut self, _: NoteEvent) -> bool {
        true
    }

    fn struck(&mut self, sample: u32, hit: &Hit) {
        self.struck += 1;
        let (piece, velocity) = (hit.piece, hit.velocity);
        self.preview.strike(Strike {
            sample,
            piece,
            velocity,
        });
    }
}

/// Eight bars of a beat with everything on, as the plugin would sound them.
fn hear(style: &str, hand: Hand, bpm: f64, level_db: f32) -> Recording {
    let mut settings = Settings::default();
    settings.plan.style = slot(style).unwrap();
    settings.plan.fill_chance = 1.0;
    settings.plan.player = Player::Machine;
    settings.moment.intensity = 1.0;
    settings.moment.density = 1.0;
    settings.moment.accent = 1.0;
    settings.moment.hand = hand;
    let mut performer = Performer::new(f64::from(RATE));
    let mut ear = Ear {
        preview: Preview::new(HZ),
        struck: 0,
    };
    let mut recording = Recording::new(RATE);
    let frames = 480;
    let blocks = (8.0 * 4.0 * 60.0 / bpm * f64::from(RATE)) as u32 / frames;
    for block in 0..blocks {
        let pos = f64::from(block * frames) / f64::from(RATE) * bpm / 60.0;
        let host = HostTime {
            playing: true,
            bpm: Some(bpm),
            pos_quarters: Some(pos),
            meter: Some((4, 4)),
            bar_quarters: Some((pos / 4.0).floor() * 4.0),
            ..HostTime::default()
        };
        performer.process(&host, &settings, frames, false, &mut ear);
        let (mut left, mut right) = ([0.0; 480], [0.0; 480]);
        ear.preview.render(kit(), level_db, &mut left, &mut right);
        recording.add(&left, &right);
    }
    assert!(ear.struck > 150, "{style}: {} strokes", ear.struck);
    recording
}

/// True peak at most -1 dBTP at any level (EBU R 128 recommends that maximum for programmes); at the
/// default level the loudest thing there is stays well below the -23 LUFS of a broadcast plus what
/// a mix of drums alone may have over it.
#[test]
fn the_densest_blast_stays_within_limits() {
    for (style, hand) in [
        ("bomb blast", Hand::Crash),
        ("gravity blast", Hand::China),
        ("hammer blast", Hand::HiHatOpen),
    ] {
        let most = hear(style, hand, 280.0, LEVELS_DB.1).loudness().unwrap();
        assert!(most.true_peak_db <= -1.0, "{style} at most: {most:?}");
        let usual = hear(style, hand, 280.0, DEFAULT_LEVEL_DB)
            .loudness()
            .unwrap();
        assert!(usual.true_peak_db <= -4.0, "{style}: {usual:?}");
        assert!((-34.0..=-17.0).contains(&usual.lufs), "{style}: {usual:?}");
    }
}

/// The level is what the parameter says: 12 dB between its default and its most, but for the limiter.
#[test]
fn the_level_is_in_decibels() {
    let at = |level| {
        db(power(&mono(&play(
            &[strike(0, Piece::RackLow, 60)],
            RATE,
            &[512],
            level,
        ))))
    };
    let (least, usual, less) = (at(LEVELS_DB.0), at(DEFAULT_LEVEL_DB), at(-24.0));
    assert!((usual - less - 12.0).abs() < 0.1, "{usual} {less}");
    assert!((usual - least - 36.0).abs() < 0.1, "{usual} {least}");
}

#[test]
fn what_is_off_leaves_the_output_alone() {
    let mut preview = Preview::new(HZ);
    preview.strike(strike(0, Piece::Kick, 127).1);
    preview.let_go();
    let (mut left, mut right) = ([0.5; 64], [0.25; 64]);
    preview.render(kit(), 0.0, &mut left, &mut right);
    assert_eq!((left, right), ([0.5; 64], [0.25; 64]));
}
