//! Spectrograms of all pieces on one sheet, as a PNG: steps stand upright in them, combs and bare tones lie, and a room
//! is a haze behind.

use anyhow::Result;
use hosting::figures::{db, mono, spectrum};
use hosting::sound::Sound;

/// Width and height of one spectrogram, and the gap between two, in pixels.
const WIDE: usize = 360;
const HIGH: usize = 200;
const GAP: usize = 6;
/// Spectrograms in a row.
const COLUMNS: usize = 3;
/// Seconds from left to right.
const SECONDS: f32 = 1.5;
/// From the bottom to the top in Hz, in octaves.
const HZ: (f32, f32) = (40.0, 20_000.0);
/// What is so many dB below the loudest point is black.
const RANGE_DB: f32 = 80.0;
/// Samples under the window, and of the spectrum.
const WINDOW: usize = 1536;
const SIZE: usize = 8192;

/// The sheet: from left to right and down, time to the right.
///
/// # Errors
/// Where the picture can't be encoded.
pub(super) fn sheet(sounds: &[Sound]) -> Result<Vec<u8>> {
    let rows = sounds.len().div_ceil(COLUMNS);
    let (width, height) = (COLUMNS * (WIDE + GAP), rows * (HIGH + GAP));
    let mut pixels = vec![64; width * height * 3];
    for (i, sound) in sounds.iter().enumerate() {
        let (left, top) = (i % COLUMNS * (WIDE + GAP), i / COLUMNS * (HIGH + GAP));
        for (y, row) in levels(sound).iter().enumerate() {
            for (x, level) in row.iter().enumerate() {
                let at = ((top + y) * width + left + x) * 3;
                pixels[at..at + 3].copy_from_slice(&colour(*level));
            }
        }
    }
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, u32::try_from(width)?, u32::try_from(height)?);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.write_header()?.write_image_data(&pixels)?;
    Ok(bytes)
}

/// Rows from the top, each point 0..=1.
fn levels(sound: &Sound) -> Vec<Vec<f32>> {
    let rate = sound.sample_rate as f32;
    let mut all = vec![0.0; WINDOW / 2];
    all.extend(mono(sound));
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let hop = ((SECONDS * rate) as usize / WIDE).max(1);
    let mut rows = vec![vec![-200.0; WIDE]; HIGH];
    for x in 0..WIDE {
        let part = all.get(x * hop..).unwrap_or_default();
        let (bins, bin_hz) = spectrum(&part[..WINDOW.min(part.len())], SIZE, rate);
        for (y, row) in rows.iter_mut().enumerate() {
            let edge = |y: usize| HZ.1 * (HZ.0 / HZ.1).powf(y as f32 / HIGH as f32) / bin_hz;
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            let (low, high) = (edge(y + 1).round() as usize, edge(y).round() as usize);
            let within = bins.get(low..high.max(low + 1)).unwrap_or_default();
            row[x] = db(within.iter().copied().fold(0.0, f32::max));
        }
    }
    let loudest = rows.iter().flatten().copied().fold(f32::MIN, f32::max);
    for level in rows.iter_mut().flatten() {
        *level = ((*level - loudest) / RANGE_DB + 1.0).clamp(0.0, 1.0);
    }
    rows
}

/// From black over blue and orange to white.
fn colour(level: f32) -> [u8; 3] {
    const STOPS: [[f32; 3]; 5] = [
        [0.0, 0.0, 0.0],
        [30.0, 30.0, 120.0],
        [190.0, 50.0, 110.0],
        [250.0, 170.0, 60.0],
        [255.0, 255.0, 235.0],
    ];
    let place = level.clamp(0.0, 1.0) * (STOPS.len() - 1) as f32;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let below = (place as usize).min(STOPS.len() - 2);
    let part = place - below as f32;
    [0, 1, 2].map(|i| {
        let mixed = STOPS[below][i] * (1.0 - part) + STOPS[below + 1][i] * part;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let byte = mixed.round() as u8;
        byte
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A tone is one bright line at its height, and the sheet reads back as large as it should be.
    #[test]
    fn a_tone_is_a_line() {
        let mut sound = Sound::new(48_000);
        let tone: Vec<f32> = (0..96_000_u32)
            .map(|i| (i as f32 * 1000.0 / 48_000.0 * std::f32::consts::TAU).sin())
            .collect();
        sound.add(&tone, &tone);
        let rows = levels(&sound);
        let middle: Vec<f32> = rows.iter().map(|row| row[WIDE / 2]).collect();
        let brightest = middle.iter().rposition(|level| *level > 0.99).unwrap();
        // 1 kHz is 4.32 of 8.97 octaves below the top.
        assert!((94..=99).contains(&brightest), "{brightest}");
        assert!(middle[brightest + 30] < 0.3 && middle[brightest - 30] < 0.3);
        let sheet = sheet(&[sound.clone(), sound.clone(), sound.clone(), sound]).unwrap();
        let info = png::Decoder::new(std::io::Cursor::new(sheet))
            .read_info()
            .unwrap();
        assert_eq!((info.info().width, info.info().height), (1098, 412));
    }
}
