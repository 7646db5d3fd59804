//! Another sample rate for what is rendered: a windowed sinc, off the audio thread.

use std::f64::consts::PI;

/// How many zero crossings of the sinc lie on each side.
const CROSSINGS: f64 = 16.0;
/// The pass band ends here, as a part of half the lower rate.
const EDGE: f64 = 0.94;

/// A sound at another rate (both in Hz), as long in seconds. Allocates.
pub(super) fn resample(sound: &[f32], from: f32, to: f32) -> Vec<f32> {
    let step = f64::from(from) / f64::from(to);
    // Going down, the sinc is stretched, so that nothing folds over.
    let scale = (1.0 / step).min(1.0) * EDGE;
    let reach = CROSSINGS / scale;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let (length, table) = (
        (sound.len() as f64 / step).ceil() as usize,
        Table::new(scale, reach),
    );
    (0..length)
        .map(|i| table.at(sound, i as f64 * step))
        .collect()
}

/// The windowed sinc, worked out once at so many places between two samples.
struct Table {
    values: Vec<f32>,
    reach: f64,
}

/// Places in the table for a sample.
const FINE: f64 = 256.0;

impl Table {
    fn new(scale: f64, reach: f64) -> Self {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let length = (reach * FINE).ceil() as usize + 2;
        let value = |i: usize| {
            let x = i as f64 / FINE;
            let window = if x < reach {
                0.5 + 0.5 * (PI * x / reach).cos()
            } else {
                0.0
            };
            let turn = PI * x * scale;
            let sinc = if turn == 0.0 { 1.0 } else { turn.sin() / turn };
            #[expect(clippy::cast_possible_truncation)]
            let value = (sinc * window * scale) as f32;
            value
        };
        Self {
            values: (0..length).map(value).collect(),
            reach,
        }
    }

    fn at(&self, sound: &[f32], place: f64) -> f32 {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let (first, last) = (
            (place - self.reach).ceil().max(0.0) as usize,
            ((place + self.reach).floor() as usize + 1).min(sound.len()),
        );
        let mut sum = 0.0;
        for (i, x) in sound.iter().enumerate().take(last).skip(first) {
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            let entry = ((place - i as f64).abs() * FINE).round() as usize;
            sum += x * self.values.get(entry).unwrap_or(&0.0);
        }
        sum
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tone(hz: f32, rate: f32, length: usize) -> Vec<f32> {
        (0..length)
            .map(|i| (i as f32 * hz / rate * std::f32::consts::TAU).sin())
            .collect()
    }

    /// A tone stays what it was, and one that has no place at the new rate is gone.
    #[test]
    fn tones_keep_their_pitch_and_level_and_nothing_folds_over() {
        for to in [44_100.0, 11_025.0, 64_000.0] {
            let made = resample(&tone(1000.0, 48_000.0, 9600), 48_000.0, to);
            let meant = tone(1000.0, to, made.len());
            let within = made.len() / 4..made.len() * 3 / 4;
            let apart = within
                .clone()
                .map(|i| (made[i] - meant[i]).abs())
                .fold(0.0, f32::max);
            assert!(apart < 2e-3, "{to} Hz: {apart}");
        }
        let folded = resample(&tone(9000.0, 48_000.0, 9600), 48_000.0, 11_025.0);
        let loudest = folded[300..folded.len() - 300]
            .iter()
            .fold(0.0_f32, |most, x| most.max(x.abs()));
        assert!(loudest < 1e-3, "{loudest}");
    }
}
