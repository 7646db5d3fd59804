//! Recorded sound: collected, measured, made a WAV file.

use anyhow::Result;
use ebur128::{EbuR128, Mode};
use std::io::Cursor;

/// Two channels of sound.
#[derive(Debug, Clone, Default)]
pub struct Sound {
    /// The left channel.
    pub left: Vec<f32>,
    /// The right channel, as long.
    pub right: Vec<f32>,
    /// Samples a second.
    pub sample_rate: u32,
}

/// How loud a sound is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loudness {
    /// Integrated loudness after EBU R 128, in LUFS.
    pub lufs: f64,
    /// The highest true peak of both channels, after ITU-R BS.1770, in dBTP.
    pub true_peak_db: f64,
}

impl Sound {
    /// Nothing yet, at a sample rate in Hz.
    pub fn new(sample_rate: u32) -> Self {
        Self {
            sample_rate,
            ..Self::default()
        }
    }

    /// Adds a block.
    pub fn add(&mut self, left: &[f32], right: &[f32]) {
        self.left.extend_from_slice(left);
        self.right.extend_from_slice(right);
    }

    /// Measures it.
    ///
    /// # Errors
    /// Where the sample rate can't be measured at.
    pub fn loudness(&self) -> Result<Loudness> {
        let mut meter = EbuR128::new(2, self.sample_rate, Mode::I | Mode::TRUE_PEAK)?;
        meter.add_frames_planar_f32(&[&self.left, &self.right])?;
        let peak = meter.true_peak(0)?.max(meter.true_peak(1)?);
        Ok(Loudness {
            lufs: meter.loudness_global()?,
            true_peak_db: 20.0 * peak.log10(),
        })
    }

    /// Momentary loudness of its last 0.4 s after EBU Tech 3341, in LUFS.
    ///
    /// # Errors
    /// Where the sample rate can't be measured at.
    pub fn momentary(&self) -> Result<f64> {
        let mut meter = EbuR128::new(2, self.sample_rate, Mode::M)?;
        meter.add_frames_planar_f32(&[&self.left, &self.right])?;
        Ok(meter.loudness_momentary()?)
    }

    /// Makes a WAV file of it, of 24 bits.
    ///
    /// # Errors
    /// Where it is longer than the format allows, 4 GB.
    pub fn to_wav(&self) -> Result<Vec<u8>> {
        let spec = hound::WavSpec {
            channels: 2,
            sample_rate: self.sample_rate,
            bits_per_sample: 24,
            sample_format: hound::SampleFormat::Int,
        };
        let mut bytes = Cursor::new(Vec::new());
        let mut writer = hound::WavWriter::new(&mut bytes, spec)?;
        for (left, right) in self.left.iter().zip(&self.right) {
            writer.write_sample(to_24_bits(*left))?;
            writer.write_sample(to_24_bits(*right))?;
        }
        writer.finalize()?;
        Ok(bytes.into_inner())
    }
}

fn to_24_bits(x: f32) -> i32 {
    #[expect(clippy::cast_possible_truncation, reason = "clamped to 24 bits")]
    let sample = (x.clamp(-1.0, 1.0) * 8_388_607.0).round() as i32;
    sample
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn silence_and_a_full_scale_tone_are_measured_rightly() {
        // A sine of 997 Hz at full scale on both channels is -3.01 + 3.01 LUFS by BS.1770's definition
        // (a stereo sine at 0 dBFS measures 0.0 LUFS [derived: -3.01 LUFS in one channel, plus two]).
        let mut sound = Sound::new(48_000);
        let tone: Vec<f32> = (0..96_000)
            .map(|i| (i as f32 * 997.0 / 48_000.0 * std::f32::consts::TAU).sin())
            .collect();
        sound.add(&tone, &tone);
        let loudness = sound.loudness().unwrap();
        assert!(loudness.lufs.abs() < 0.1, "{loudness:?}");
        assert!(loudness.true_peak_db.abs() < 0.1, "{loudness:?}");
    }
}
