//! A recording of the guitar, WAV or FLAC, as attacks in seconds.

use super::onset::Detector;
use super::strip_metadata::strip_metadata;
use std::panic::{AssertUnwindSafe, catch_unwind};
use symphonia::core::audio::SampleBuffer;
use symphonia::core::codecs::DecoderOptions;
use symphonia::core::errors::Error;
use symphonia::core::formats::{FormatOptions, FormatReader};
use symphonia::core::io::{MediaSourceStream, MediaSourceStreamOptions};
use symphonia::core::meta::MetadataOptions;
use symphonia::core::probe::Hint;

/// Lowest and highest sample rate that are heard, in Hz.
const RATES: (u32, u32) = (22_050, 192_000);

/// A stroke of the guitar in a recording.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Heard {
    /// When it was struck, in seconds from the start.
    pub seconds: f64,
    /// When the detector had it, had it been listening live, in seconds from the start.
    pub known: f64,
    /// How strong it was, 0..=1.
    pub strength: f32,
}

/// A recording that can't be heard. Each message says what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SoundError {
    /// Neither WAV nor FLAC.
    #[error("it is neither a WAV nor a FLAC file ({0}): export the guitar as one of these")]
    Unknown(String),
    /// Broken off or damaged.
    #[error("it is damaged ({0}): export the guitar again")]
    Damaged(String),
    /// A rate that the detector was not made for.
    #[error("its sample rate is {0} Hz: export it with 44100, 48000 or 96000 Hz")]
    Rate(u32),
    /// No sound in it.
    #[error("it holds no sound")]
    Empty,
}

/// Listens to a recording, all channels together: the live detector. `heard` is
/// told how much is done, 0..=1, and stops it by returning false: then what was heard until then
/// comes back. Not for the audio thread.
///
/// # Errors
/// [`SoundError`].
pub fn listen(
    file: Vec<u8>,
    sensitivity: f32,
    progress: impl FnMut(f32) -> bool,
) -> Result<Vec<Heard>, SoundError> {
    // Some damaged files make the decoder panic (symphonia 0.5, as at a sample rate of 0 Hz), and a host would go
    // down with it. What it was at is dropped here, so nothing half done is seen.
    let listening = AssertUnwindSafe(|| decode(file, sensitivity, progress));
    catch_unwind(listening).unwrap_or_else(|_| {
        let problem = "it makes no sense to the decoder".to_owned();
        Err(SoundError::Damaged(problem))
    })
}

fn decode(
    file: Vec<u8>,
    sensitivity: f32,
    mut progress: impl FnMut(f32) -> bool,
) -> Result<Vec<Heard>, SoundError> {
    let source = MediaSourceStream::new(
        Box::new(std::io::Cursor::new(strip_metadata(file)?)),
        MediaSourceStreamOptions::default(),
    );
    let unknown = |error: Error| SoundError::Unknown(error.to_string());
    let damaged = |error: Error| SoundError::Damaged(error.to_string());
    let mut format = symphonia::default::get_probe()
        .format(
            &Hint::new(),
            source,
            &FormatOptions::default(),
            &MetadataOptions::default(),
        )
        .map_err(unknown)?
        .format;
    let track = format.default_track().ok_or(SoundError::Empty)?;
    let (id, frames) = (track.id, track.codec_params.n_frames);
    let rate = track.codec_params.sample_rate.ok_or(SoundError::Empty)?;
    if !(RATES.0..=RATES.1).contains(&rate) {
        return Err(SoundError::Rate(rate));
    }
    let mut decoder = symphonia::default::get_codecs()
        .make(&track.codec_params, &DecoderOptions::default())
        .map_err(unknown)?;
    let mut ear = Ear::new(f64::from(rate), sensitivity);
    while let Some(packet) = next_packet(&mut *format).map_err(damaged)? {
        if packet.track_id() != id {
            continue;
        }
        let sound = decoder.decode(&packet).map_err(damaged)?;
        let channels = sound.spec().channels.count().max(1);
        let mut samples = SampleBuffer::<f32>::new(sound.capacity() as u64, *sound.spec());
        samples.copy_interleaved_ref(sound);
        let frames_of = samples.samples().chunks_exact(channels);
        let mono = frames_of.map(|frame| frame.iter().sum::<f32>() / channels as f32);
        ear.hear(&mono.collect::<Vec<_>>());
        let share = frames.map_or(0.0, |frames| ear.samples as f32 / frames.max(1) as f32);
        if !progress(share.clamp(0.0, 1.0)) {
            return Ok(ear.heard);
        }
    }
    if ear.samples == 0 {
        return Err(SoundError::Empty);
    }
    Ok(ear.heard)
}

fn next_packet(
    format: &mut dyn FormatReader,
) -> Result<Option<symphonia::core::formats::Packet>, Error> {
    match format.next_packet() {
        Ok(packet) => Ok(Some(packet)),
        Err(Error::IoError(error)) if error.kind() == std::io::ErrorKind::UnexpectedEof => Ok(None),
        Err(error) => Err(error),
    }
}

/// Listens to samples in memory: the live detector. `sample_rate` in Hz. Not for
/// the audio thread.
pub fn listen_to(samples: &[f32], sample_rate: f64, sensitivity: f32) -> Vec<Heard> {
    let mut ear = Ear::new(sample_rate, sensitivity);
    ear.hear(samples);
    ear.heard
}

struct Ear {
    detector: Detector,
    rate: f64,
    samples: u64,
    heard: Vec<Heard>,
}

impl Ear {
    fn new(rate: f64, sensitivity: f32) -> Self {
        let mut detector = Detector::new(rate);
        detector.set_sensitivity(sensitivity);
        Self {
            detector,
            rate,
            samples: 0,
            heard: Vec::new(),
        }
    }

    fn hear(&mut self, samples: &[f32]) {
        let (before, rate, found) = (self.samples, self.rate, &mut self.heard);
        self.detector.hear(samples, |at, onset| {
            let known = before + at as u64 + 1;
            let struck = known.saturating_sub(u64::from(onset.ago));
            found.push(Heard {
                seconds: struck as f64 / rate,
                known: known as f64 / rate,
                strength: onset.strength,
            });
        });
        self.samples += samples.len() as u64;
    }
}
