//! Where a palm-muted, distorted guitar is struck: an onset detector that runs while the guitar
//! plays.
//!
//! Distortion flattens the level of a guitar, so that its envelope says little; what every stroke of
//! the pick does show is a sudden brightness across the whole spectrum. The detector follows the
//! half-wave rectified spectral flux (reviewed by Bello et al. 2005, *IEEE TSAP* 13(5):1035-1047;
//! Dixon 2006, DAFx-06, found it about as good as costlier measures) of magnitudes that are each
//! measured against their own recent peak (adaptive whitening, Stowell & Plumbley 2007, ICMC) and
//! compressed, and calls a peak of it a stroke where it stands clear of the recent past and of the
//! last stroke's afterglow.
//!
//! - [`Detector`]: samples in, strokes out
//! - `novelty`: from samples to spectral flux; `bins`: its loops over a spectrum
//! - `peaks`: from flux to strokes
//!
//! The figures were tuned on synthesised guitars of many tunings, gains, levels, tempi, patterns and
//! sample rates and tried on others of the same kind; see `tests/core/onset.rs`.

mod bins;
mod novelty;
mod peaks;

use novelty::{Frame, Novelty};
use peaks::Peaks;

/// A stroke of the guitar, as heard.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Onset {
    /// How many samples before the sample that was last heard it happened.
    pub ago: u32,
    /// How strong it was, 0..=1, against the recent strokes: by level and by brightness.
    pub strength: f32,
}

/// The detector for one channel of sound. Audio thread; allocates only when made.
#[derive(Debug)]
pub struct Detector {
    novelty: Novelty,
    peaks: Peaks,
}

impl Detector {
    /// A detector that has heard nothing, for a sample rate in Hz. Allocates.
    pub fn new(sample_rate: f64) -> Self {
        let novelty = Novelty::new(sample_rate);
        let peaks = Peaks::new(sample_rate / novelty.hop() as f64);
        Self { novelty, peaks }
    }

    /// Sets how readily a change of the sound counts as a stroke, 0..=1; 0.5 suits most guitars.
    pub fn set_sensitivity(&mut self, sensitivity: f32) {
        self.peaks.set_sensitivity(sensitivity);
    }

    /// Forgets what it has heard.
    pub fn reset(&mut self) {
        self.novelty.reset();
        self.peaks.reset();
    }

    /// Hears samples (full scale is -1..=1) and tells `found` of each stroke that becomes certain, with the place of the
    /// sample at which it does. One that is not finite counts as silence.
    ///
    /// # Realtime
    /// No allocation. Every hop of samples (1.3 to 1.5 ms) costs a transform; the others next to
    /// nothing.
    pub fn hear(&mut self, samples: &[f32], mut found: impl FnMut(usize, Onset)) {
        let mut at = 0;
        while at < samples.len() {
            let (taken, frame) = self.novelty.hear(&samples[at..]);
            at += taken;
            if let Some(onset) = frame.and_then(|frame| self.judge(frame)) {
                found(at - 1, onset);
            }
        }
    }

    /// The stroke that a frame makes certain.
    fn judge(&mut self, frame: Frame) -> Option<Onset> {
        let peak = self.peaks.follow(frame)?;
        let hop = self.novelty.hop() as f32;
        let ago = (peak.frames_ago * hop + self.novelty.centre()).max(0.0);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let ago = ago.round() as u32;
        Some(Onset {
            ago,
            strength: peak.strength,
        })
    }
}
