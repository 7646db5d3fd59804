//! A choke sounds grabbed: it falls faster than a bare fade, and the highs go first.

use super::{RATE, centroid, db, dry, mono, play, power, strike};
use fourlimb::kit::Piece;
use hosting::figures::band_power;

/// When the open hi-hat is choked, and for how long its fade lasts, in samples: 45 ms.
const AT: u32 = RATE / 4;
const FADE: usize = 2160;
/// The limiter's delay, in samples.
const LATE: usize = 48;
const PARTS: usize = 8;

/// How much is left of an open hi-hat in a part of the fade, in dB: of all, below 2 kHz, above 9 kHz; and the centroid,
/// as a part of what it was.
struct Left {
    all: f32,
    low: f32,
    high: f32,
    centroid: f32,
}

fn left(choked: &[f32], ringing: &[f32]) -> Vec<Left> {
    let from = AT as usize + LATE;
    let parts = |x: &[f32]| -> Vec<Vec<f32>> {
        let fade = x[from..from + FADE].chunks(FADE / PARTS);
        fade.map(<[f32]>::to_vec).collect()
    };
    let pairs = parts(choked).into_iter().zip(parts(ringing));
    pairs
        .map(|(choked, ringing)| {
            let band = |low, high| {
                let hz = RATE as f32;
                db(band_power(&choked, hz, low, high) / band_power(&ringing, hz, low, high))
            };
            Left {
                all: db(power(&choked) / power(&ringing)),
                low: band(200.0, 2000.0),
                high: band(9000.0, 20_000.0),
                centroid: centroid(&choked) / centroid(&ringing),
            }
        })
        .collect()
}

/// Measured, in eighths of the fade: all -1, -4, -7, -12, -19, -27, -40, -57 dB, where a bare fade has -1, -2, -3, -5,
/// -7, -10, -14, -23; above 9 kHz 0.8, 3, 5, 9, 12, 14, 15, 20 dB less than below 2 kHz.
#[test]
fn a_choke_sounds_grabbed() {
    let alone = mono(&play(
        &[strike(0, Piece::HiHatOpen, 110)],
        RATE,
        &[512],
        dry(-12.0),
    ));
    // A bare fade, which the measure must tell from a choke.
    let mut faded = alone.clone();
    let from = AT as usize + LATE;
    for (i, x) in (0_u16..).zip(&mut faded[from..from + FADE]) {
        *x *= 1.0 - f32::from(i) / FADE as f32;
    }
    let bare = left(&faded, &alone);
    for piece in [Piece::HiHatFoot, Piece::HiHatClosed] {
        let strikes = [strike(0, Piece::HiHatOpen, 110), strike(AT, piece, 1)];
        let mut choked = mono(&play(&strikes, RATE, &[512], dry(-12.0)));
        // What chokes it sounds as well, and the bus adds.
        let own = mono(&play(&strikes[1..], RATE, &[512], dry(-12.0)));
        for (x, own) in choked.iter_mut().zip(&own) {
            *x -= own;
        }
        let choked = left(&choked, &alone);
        for (part, (choked, bare)) in choked.iter().zip(&bare).enumerate() {
            let what = format!("{}, part {part}", piece.name());
            let (faster, highs) = (bare.all - choked.all, choked.low - choked.high);
            let (least_faster, least_highs) = [
                (0.0, 0.0),
                (1.0, 2.0),
                (3.0, 3.5),
                (5.0, 7.0),
                (9.0, 9.0),
                (13.0, 11.0),
                (20.0, 11.0),
                (27.0, 13.0),
            ][part];
            assert!(
                faster >= least_faster,
                "{what}: {faster} dB faster than a bare fade"
            );
            assert!(
                highs >= least_highs,
                "{what}: the highs lose {highs} dB more"
            );
            assert!(
                part < 3 || choked.centroid < 0.8,
                "{what}: centroid {}",
                choked.centroid
            );
            let even = bare.low - bare.high;
            assert!(
                even.abs() < 1.5,
                "{what}: a bare fade leaves the colour, {even} dB"
            );
        }
    }
}
