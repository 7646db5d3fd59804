//! What a recipe makes of a piece: two layers and the stick.

use super::tone::{begin, clean, end, samples};

/// How long any sound takes to begin, in seconds: too short to hear as softness, long enough not
/// to be a step.
const ONSET_S: f32 = 0.000_25;
/// A stick may come so many samples after the body, of those by which strokes differ.
pub(super) const MOST_LATE: usize = 10;

/// Two channels of sound, equally long.
#[derive(Debug, Clone, Default)]
pub(super) struct Wave {
    pub(super) left: Vec<f32>,
    pub(super) right: Vec<f32>,
}

impl Wave {
    /// Silence.
    pub(super) fn new(seconds: f32) -> Self {
        let silence = vec![0.0; samples(seconds)];
        Self {
            left: silence.clone(),
            right: silence,
        }
    }

    /// Adds a sound from the middle, at a level.
    pub(super) fn add(&mut self, sound: &[f32], level: f32) {
        for channel in self.channels() {
            for (x, sound) in channel.iter_mut().zip(sound) {
                *x += sound * level;
            }
        }
    }

    /// Adds a different sound to each channel, at levels that change with time.
    pub(super) fn add_wide(&mut self, sounds: [&[f32]; 2], mut level: impl FnMut() -> f32) {
        let [first, second] = sounds;
        let pairs = self.left.iter_mut().zip(&mut self.right);
        for ((l, r), (first, second)) in pairs.zip(first.iter().zip(second)) {
            let level = level();
            *l += first * level;
            *r += second * level;
        }
    }

    pub(super) fn channels(&mut self) -> [&mut Vec<f32>; 2] {
        [&mut self.left, &mut self.right]
    }

    /// The highest sample of both channels.
    pub(super) fn peak(&self) -> f32 {
        let both = self.left.iter().chain(&self.right);
        both.fold(0.0, |peak, x| peak.max(x.abs()))
    }

    /// Cleans below a frequency in Hz, begins and ends softly, moves it to its place (-1..1).
    fn finish(&mut self, low: f32, pan: f32) {
        let angle = (pan.clamp(-1.0, 1.0) + 1.0) * std::f32::consts::FRAC_PI_4;
        // At the middle both sides have the full level.
        let sides = [angle.cos(), angle.sin()].map(|side| side * std::f32::consts::SQRT_2);
        for (channel, side) in self.channels().into_iter().zip(sides) {
            clean(channel, low);
            begin(channel, ONSET_S);
            let seconds = channel.len() as f32 / super::tone::RATE;
            end(channel, seconds * 0.3);
            for x in channel {
                *x *= side;
            }
        }
    }
}

/// A piece as its recipe leaves it, at any level.
#[derive(Debug, Clone)]
pub(super) struct Layers {
    /// A whisper.
    pub(super) soft: Wave,
    /// The hardest stroke. Both swing in step, so that a mixture of them is one sound.
    pub(super) hard: Wave,
    /// What stick or beater add, twice. Both are noise that has nothing in common, so that any point on
    /// the circle between them is a stroke of the same strength and of its own sound.
    pub(super) hits: [Wave; 2],
}

impl Layers {
    /// Silence: so many seconds of a soft and a hard stroke, and of the stick.
    pub(super) fn new(soft_s: f32, hard_s: f32, hit_s: f32) -> Self {
        Self {
            soft: Wave::new(soft_s),
            hard: Wave::new(hard_s),
            hits: [Wave::new(hit_s), Wave::new(hit_s)],
        }
    }

    /// Cleans all below a frequency in Hz, begins and ends it softly, moves it to its place (-1..1).
    pub(super) fn finish(&mut self, low: f32, pan: f32) {
        self.soft.finish(low, pan);
        self.hard.finish(low, pan);
        for hit in &mut self.hits {
            hit.finish(low, pan);
            for channel in hit.channels() {
                channel.splice(0..0, [0.0; MOST_LATE]);
            }
        }
    }

    /// A stroke at full velocity, in the middle between both sticks.
    pub(super) fn full(&self) -> Wave {
        let mut full = self.hard.clone();
        for hit in &self.hits {
            let late = MOST_LATE;
            full.add_wide([&hit.left[late..], &hit.right[late..]], || {
                std::f32::consts::FRAC_1_SQRT_2
            });
        }
        full
    }
}
