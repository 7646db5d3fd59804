//! Recorded sound: collected, measured, written as a WAV file.

use anyhow::Result;
use ebur128::{EbuR128, Mode};
use fourlimb::files::{self, Existing};
use std::fs::File;
use std::io::{self, BufWriter};
use std::path::Path;

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

    /// Writes it as a WAV file of 24 bits.
    ///
    /// # Errors
    /// Where the file can't be written.
    pub fn write(&self, path: &Path) -> Result<()> {
        let spec = hound::WavSpec {
            channels: 2,
            sample_rate: self.sample_rate,
            bits_per_sample: 24,
            sample_format: hound::SampleFormat::Int,
        };
        let write = |file: &mut File| -> Result<(), hound::Error> {
            let mut writer = hound::WavWriter::new(BufWriter::new(file), spec)?;
            for (left, right) in self.left.iter().zip(&self.right) {
                writer.write_sample(to_24_bits(*left))?;
                writer.write_sample(to_24_bits(*right))?;
            }
            writer.finalize()
        };
        files::write_with(path, Existing::Replace, |file| {
            write(file).map_err(io::Error::other)
        })?;
        Ok(())
    }
}

fn to_24_bits(x: f32) -> i32 {
    #[expect(clippy::cast_possible_truncation, reason = "clamped to 24 bits")]
    let sample = (x.clamp(-1.0, 1.0) * 8_388_607.0).round() as i32;
    sample
}
