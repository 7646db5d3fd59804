//! The built-in sound, measured: clean, its pieces told apart; spectra by the FFT of the crate
//! `fundsp`. What it may not do at most: `limits`.

mod limits;

use fourlimb::kit::Piece;
use fourlimb::preview::{Kit, MAX_VOICES, Preview, Sound, Strike};
use hosting::sound::Sound as Recording;
use std::sync::OnceLock;

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
