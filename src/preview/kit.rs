//! A kit rendered for one sample rate.

use super::tone::{begin, clean, end, gain, samples};
use super::{cymbals, drums, sticks};
use crate::kit::Piece;

/// How many takes a piece has.
pub(super) const TAKES: usize = 2;

/// How long any sound takes to begin, in seconds: too short to hear as softness, long enough not
/// to be a step.
const ONSET_S: f32 = 0.000_25;

/// One stroke on a piece, at full velocity.
#[derive(Debug, Clone, Default)]
pub(super) struct Take {
    /// What rings.
    pub(super) body: Vec<f32>,
    /// What a hard stroke adds.
    pub(super) edge: Vec<f32>,
}

/// A piece as it sounds. Made off the audio thread, then only read.
#[derive(Debug, Clone)]
pub struct Sound {
    pub(super) takes: [Take; TAKES],
    /// Where it stands, from -1 (left) to 1 (right), seen from the stool.
    pub(super) pan: f32,
    /// Whether a soft stroke still excites high tones.
    pub(super) bright: bool,
}

/// How loud a piece is struck at most, where it stands, and where its lowest tone lies.
struct Place {
    /// Peak of the hardest stroke, in dB.
    db: f32,
    pan: f32,
    /// Below this, in Hz, it has nothing to say.
    low: f32,
}

/// Levels and places as one would set them for a dry, punchy mix: kick and snare in front, cymbals
/// behind, seen from the stool. Judged, no source.
fn place(piece: Piece) -> Place {
    let (db, pan, low) = match piece {
        Piece::Kick => (0.0, 0.0, 25.0),
        Piece::Snare => (0.0, -0.05, 90.0),
        Piece::SideStick => (-7.0, -0.08, 250.0),
        Piece::HiHatClosed => (-11.0, -0.4, 300.0),
        Piece::HiHatLoose => (-11.5, -0.4, 280.0),
        Piece::HiHatOpen => (-10.5, -0.4, 260.0),
        Piece::HiHatFoot => (-15.0, -0.4, 250.0),
        Piece::Ride => (-11.0, 0.4, 250.0),
        Piece::RideBell => (-11.0, 0.4, 300.0),
        Piece::CrashLeft => (-7.5, -0.55, 200.0),
        Piece::CrashRight => (-7.5, 0.5, 180.0),
        Piece::China => (-8.0, 0.7, 200.0),
        Piece::Splash => (-10.0, -0.1, 400.0),
        Piece::RackHigh => (-2.5, -0.25, 60.0),
        Piece::RackLow => (-2.0, 0.1, 50.0),
        Piece::FloorHigh => (-1.5, 0.4, 40.0),
        Piece::FloorLow => (-1.5, 0.55, 35.0),
        Piece::Sticks => (-9.0, 0.0, 500.0),
    };
    Place { db, pan, low }
}

impl Sound {
    /// Renders a piece for a sample rate in Hz. Any thread but the audio thread: allocates, takes
    /// some milliseconds.
    pub fn render(piece: Piece, sample_rate: f32) -> Self {
        let place = place(piece);
        let seeds = [0, 1].map(|number| (piece as u64 + 1) * 64 + number * 16);
        let mut bright = false;
        let mut takes = match piece {
            Piece::Kick => seeds.map(|seed| drums::kick(seed, sample_rate)),
            Piece::Snare => seeds.map(|seed| drums::snare(seed, sample_rate)),
            Piece::RackHigh | Piece::RackLow | Piece::FloorHigh | Piece::FloorLow => {
                seeds.map(|seed| drums::tom(piece, seed, sample_rate))
            }
            Piece::SideStick => seeds.map(|seed| sticks::side_stick(seed, sample_rate)),
            Piece::Sticks => seeds.map(|seed| sticks::sticks(seed, sample_rate)),
            Piece::HiHatClosed
            | Piece::HiHatLoose
            | Piece::HiHatOpen
            | Piece::HiHatFoot
            | Piece::Ride
            | Piece::RideBell
            | Piece::CrashLeft
            | Piece::CrashRight
            | Piece::China
            | Piece::Splash => {
                bright = true;
                cymbals::cymbal(piece, seeds, sample_rate)
            }
        };
        for take in &mut takes {
            take.finish(&place, sample_rate);
        }
        // Both takes by the same gain: which peaks higher is chance.
        let peak = takes.iter().map(Take::peak).fold(1e-9, f32::max);
        let gain = gain(place.db) / peak;
        for take in &mut takes {
            let parts = take.body.iter_mut().chain(&mut take.edge);
            parts.for_each(|x| *x *= gain);
        }
        Self {
            takes,
            pan: place.pan,
            bright,
        }
    }

    /// What a stroke at full velocity sounds like, both parts together, mono. For measurements.
    pub fn full(&self, take: usize) -> Vec<f32> {
        let take = &self.takes[take % TAKES];
        let mut sum = take.body.clone();
        for (x, edge) in sum.iter_mut().zip(&take.edge) {
            *x += edge;
        }
        sum
    }
}

impl Take {
    /// Silence of so many seconds for the body and the edge.
    pub(super) fn new(body_s: f32, edge_s: f32, rate: f32) -> Self {
        Self {
            body: vec![0.0; samples(body_s, rate)],
            edge: vec![0.0; samples(edge_s.min(body_s), rate)],
        }
    }

    /// Cleans both parts, begins and ends them softly.
    fn finish(&mut self, place: &Place, rate: f32) {
        for part in [&mut self.body, &mut self.edge] {
            begin(part, ONSET_S, rate);
            clean(part, place.low, rate);
            let seconds = part.len() as f32 / rate;
            end(part, seconds * 0.25, rate);
        }
    }

    /// The peak of both parts together.
    fn peak(&self) -> f32 {
        let mut edges = self.edge.iter();
        let sums = self
            .body
            .iter()
            .map(|body| body + edges.next().unwrap_or(&0.0));
        sums.fold(0.0, |peak, x| peak.max(x.abs()))
    }
}

/// Every piece for one sample rate. Made off the audio thread, then only read.
#[derive(Debug, Clone)]
pub struct Kit {
    play_tick: Vec<Sound>,
    sample_rate: f32,
}

impl Kit {
    /// Renders every piece for a sample rate in Hz, one after another. See [`Kit::new`] to share the
    /// work among threads.
    pub fn render(sample_rate: f32) -> Self {
        Self::new(sample_rate, |piece| Sound::render(piece, sample_rate))
    }

    /// A kit of sounds that were rendered for a sample rate in Hz, asked for in the order of
    /// [`Piece::ALL`].
    pub fn new(sample_rate: f32, sound: impl FnMut(Piece) -> Sound) -> Self {
        Self {
            play_tick: Piece::ALL.into_iter().map(sound).collect(),
            sample_rate,
        }
    }

    /// The sample rate in Hz.
    pub fn sample_rate(&self) -> f32 {
        self.sample_rate
    }

    /// A piece as it sounds.
    pub fn sound(&self, piece: Piece) -> &Sound {
        &self.play_tick[piece as usize]
    }

    /// Bytes that the buffers take.
    pub fn bytes(&self) -> usize {
        let takes = self.play_tick.iter().flat_map(|sound| &sound.takes);
        takes
            .map(|take| (take.body.len() + take.edge.len()) * size_of::<f32>())
            .sum()
    }
}
