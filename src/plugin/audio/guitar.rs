//! The guitar input of the plugin: MIDI notes, and the audio of the side-chain.

use crate::kit::Note;
use crate::project::audio_ends::AudioSampler;
use crate::riff::GuitarStroke;
use crate::riff::onset::Detector;
use crate::settings::Listen;
use arrayvec::ArrayVec;
use nice_plug::prelude::*;

/// Most strokes in a block, far more than feet can play. Further strokes are dropped.
const MAX_STRUCK: usize = 256;

/// Samples whose channels are added up at once.
const SPAN: usize = 64;

/// The strokes of a block. Audio thread.
#[derive(Debug)]
pub struct GuitarIn {
    detector: Detector,
    /// Whether the detector processed the last block.
    heard: bool,
    struck: ArrayVec<GuitarStroke, MAX_STRUCK>,
}

impl GuitarIn {
    /// For a sample rate in Hz. Allocates.
    pub fn new(sample_rate: f64) -> Self {
        Self {
            detector: Detector::new(sample_rate),
            heard: false,
            struck: ArrayVec::new(),
        }
    }

    /// Forgets everything heard.
    pub fn reset(&mut self) {
        self.detector.reset();
    }

    /// Takes the note-ons of a block and discards all other events. While a
    /// sampler is learned, notes go to the learner.
    pub fn notes<P: Plugin>(
        &mut self,
        context: &mut impl ProcessContext<P>,
        learner: Option<&mut AudioSampler>,
    ) {
        let mut learner = learner.filter(|sampler| sampler.learns());
        self.struck.clear();
        while let Some(event) = context.next_event() {
            let NoteEvent::NoteOn {
                timing,
                velocity,
                channel,
                key,
                ..
            } = event
            else {
                continue;
            };
            // CLAP lets a note-on have velocity 0; MIDI reads it as a note-off.
            if velocity > 0.0
                && let Some(sampler) = &mut learner
            {
                if let (Some(channel), Some(key)) = (channel.number(), key.number()) {
                    sampler.learn(Note {
                        channel: channel.min(15),
                        key: key.min(127),
                    });
                }
            } else if velocity > 0.0 {
                let _ = self.struck.try_push(GuitarStroke {
                    sample: timing,
                    ago: 0,
                    strength: velocity.min(1.0),
                    note: true,
                });
            }
        }
    }

    /// Runs the detector on the side-chain of a block where `listen` asks for it.
    pub fn sound(&mut self, aux: &mut AuxiliaryBuffers, listen: Listen, sensitivity: f32) {
        let wanted = listen == Listen::SideChain;
        if wanted && !self.heard {
            self.detector.reset();
        }
        self.heard = wanted;
        let Some(side) = aux.inputs.first_mut().filter(|_| wanted) else {
            return;
        };
        self.detector.set_sensitivity(sensitivity);
        let channels = side.as_slice_immutable();
        let share = 1.0 / channels.len().max(1) as f32;
        let length = channels.iter().map(|channel| channel.len()).min();
        let length = length.unwrap_or(0);
        for from in (0..length).step_by(SPAN) {
            let to = length.min(from + SPAN);
            let mut mono = [0.0_f32; SPAN];
            for channel in channels {
                for (sum, x) in mono.iter_mut().zip(&channel[from..to]) {
                    *sum += x;
                }
            }
            for sum in &mut mono {
                *sum *= share;
            }
            let struck = &mut self.struck;
            self.detector.hear(&mono[..to - from], |at, onset| {
                let _ = struck.try_push(GuitarStroke {
                    sample: u32::try_from(from + at).unwrap_or(0),
                    ago: onset.ago,
                    strength: onset.strength,
                    note: false,
                });
            });
        }
        self.struck.sort_unstable_by_key(|struck| struck.sample);
    }

    /// The strokes of the block, in the order in which they were detected.
    pub fn struck(&self) -> &[GuitarStroke] {
        &self.struck
    }
}
