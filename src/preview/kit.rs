//! A kit rendered once, kept small, and made fit for a sample rate.

use super::layers::Layers;
use super::resample::resample;
use super::tone::{Chance, RATE, gain};
use super::{cymbals, drums, sticks};
use crate::kit::Piece;

/// The lowest and the highest sample rate that the preview plays at, in Hz. Below the lowest nothing of
/// a drum is left; above the highest there is no device.
pub const RATES: (f32, f32) = (1000.0, 768_000.0);

/// How many times the host's rate (Hz) may be divided without a loss that anybody hears: what the preview
/// makes and mixes at. From 88.2 kHz on it is 2 and more.
pub(super) fn division(host_rate: f32) -> u16 {
    /// The least rate at which all sounds that people hear have a place, in Hz.
    const LEAST: f32 = 44_000.0;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let times = (host_rate / LEAST).clamp(1.0, 1000.0) as u16;
    times
}

/// The rate that the preview makes and mixes at for a host's rate, both in Hz.
pub fn inner_rate(host_rate: f32) -> f32 {
    host_rate / f32::from(division(host_rate))
}

/// Two channels, in 16 bits.
#[derive(Debug, Clone, Default)]
pub(super) struct Strand {
    pub(super) left: Vec<i16>,
    pub(super) right: Vec<i16>,
    /// What a step of the integers is worth.
    pub(super) unit: f32,
}

/// A piece as it sounds. Made off the audio thread, then only read.
#[derive(Debug, Clone, Default)]
pub struct Sound {
    /// A whisper and the hardest stroke, between which velocity mixes.
    pub(super) soft: Strand,
    pub(super) hard: Strand,
    /// Two sticks, of which every stroke has its own mixture.
    pub(super) hits: [Strand; 2],
    /// How the stick's level grows with velocity: the power.
    pub(super) hit_power: f32,
}

/// How loud a piece is struck at most, where it stands, and where its lowest tone lies.
struct Place {
    /// Peak of the hardest stroke, in dB.
    db: f32,
    pan: f32,
    /// Below this, in Hz, it has nothing to say.
    low: f32,
}

/// Levels and places as one would set them for a punchy mix: kick and snare in front, cymbals
/// behind, seen from the stool. Judged, no source.
fn place(piece: Piece) -> Place {
    let (db, pan, low) = match piece {
        Piece::Kick => (4.5, 0.0, 25.0),
        Piece::Snare => (3.7, -0.05, 90.0),
        Piece::SideStick => (-8.0, -0.08, 250.0),
        Piece::HiHatClosed => (-11.0, -0.3, 300.0),
        Piece::HiHatLoose => (-11.5, -0.3, 280.0),
        Piece::HiHatOpen => (-11.5, -0.3, 260.0),
        Piece::HiHatFoot => (-16.0, -0.3, 250.0),
        Piece::Ride => (-11.0, 0.3, 250.0),
        Piece::RideBell => (-11.0, 0.3, 300.0),
        Piece::CrashLeft => (-8.0, -0.4, 200.0),
        Piece::CrashRight => (-8.0, 0.4, 180.0),
        Piece::China => (-8.5, 0.55, 200.0),
        Piece::Splash => (-10.5, -0.1, 400.0),
        Piece::RackHigh => (0.3, -0.25, 60.0),
        Piece::RackLow => (1.0, 0.1, 50.0),
        Piece::FloorHigh => (1.0, 0.4, 40.0),
        Piece::FloorLow => (1.0, 0.5, 35.0),
        Piece::Sticks => (-9.0, 0.0, 500.0),
    };
    Place { db, pan, low }
}

/// How the level of the stick grows with velocity, as a power: the click of the beater is there from the
/// softest kick on, so that fast feet stay audible under guitars; a stick on a skin comes with force.
fn hit_power(piece: Piece) -> f32 {
    match piece {
        Piece::Kick => 1.25,
        Piece::SideStick | Piece::Sticks => 1.6,
        _ => 2.0,
    }
}

impl Sound {
    /// Renders a piece for an inner rate in Hz ([`inner_rate`]). Any thread but the audio thread: allocates,
    /// takes some milliseconds.
    pub fn render(piece: Piece, rate: f32) -> Self {
        let place = place(piece);
        let seed = (piece as u64 + 1) * 64;
        let mut layers = match piece {
            Piece::Kick => drums::kick(seed),
            Piece::Snare => drums::snare(seed),
            Piece::RackHigh | Piece::RackLow | Piece::FloorHigh | Piece::FloorLow => {
                drums::tom(piece, seed)
            }
            Piece::SideStick => sticks::side_stick(seed),
            Piece::Sticks => sticks::sticks(seed),
            _ => cymbals::cymbal(piece, seed),
        };
        layers.finish(place.low, place.pan);
        let gain = gain(place.db) / layers.full().peak().max(1e-9);
        let Layers { soft, hard, hits } = layers;
        let mut dither = Chance::new(seed + 63);
        let mut keep = |wave: super::layers::Wave| {
            let fit = |channel: Vec<f32>| {
                if rate == RATE { channel } else { resample(&channel, RATE, rate) }
            };
            Strand::new([fit(wave.left), fit(wave.right)], gain, &mut dither)
        };
        Self {
            soft: keep(soft),
            hard: keep(hard),
            hits: hits.map(&mut keep),
            hit_power: hit_power(piece),
        }
    }

    /// What is kept, as numbers: every strand, left and right. For measurements.
    pub fn strands(&self) -> impl Iterator<Item = [Vec<f32>; 2]> {
        let [first, second] = &self.hits;
        [&self.soft, &self.hard, first, second].into_iter().map(|strand| {
            [&strand.left, &strand.right]
                .map(|channel| channel.iter().map(|x| f32::from(*x) * strand.unit).collect())
        })
    }
}

impl Strand {
    /// Keeps two channels at a gain, in 16 bits of their own peak, with dither of two steps, so that a
    /// dying tone becomes noise and not a buzz.
    fn new(channels: [Vec<f32>; 2], gain: f32, dither: &mut Chance) -> Self {
        let peak = channels.iter().flatten().fold(1e-9_f32, |peak, x| peak.max(x.abs()));
        // Room for the dither.
        let steps = f32::from(i16::MAX - 2) / peak;
        let [left, right] = channels.map(|channel| {
            let mut kept: Vec<i16> = channel
                .into_iter()
                .map(|x| {
                    // Where there is nothing, there is no dither either.
                    if x == 0.0 {
                        return 0;
                    }
                    let noise = dither.next() + dither.next() - 1.0;
                    #[expect(clippy::cast_possible_truncation)]
                    let step = (x * steps + noise).round() as i16;
                    step
                })
                .collect();
            let ends = kept.iter().rposition(|x| *x != 0).map_or(0, |last| last + 1);
            kept.truncate(ends);
            kept.shrink_to_fit();
            kept
        });
        Self {
            left,
            right,
            unit: gain / steps,
        }
    }

    /// How many samples the longer channel has.
    pub(super) fn len(&self) -> usize {
        self.left.len().max(self.right.len())
    }
}

/// Every piece for one inner rate. Made off the audio thread, then only read.
#[derive(Debug, Clone)]
pub struct Kit {
    sounds: Vec<Sound>,
    rate: f32,
}

impl Kit {
    /// Renders every piece for a host's sample rate in Hz, one after another. See [`Kit::new`] to share the
    /// work among threads.
    pub fn render(host_rate: f32) -> Self {
        let rate = inner_rate(host_rate);
        Self::new(rate, |piece| Sound::render(piece, rate))
    }

    /// A kit of sounds that were rendered for an inner rate in Hz, asked for in the order of [`Piece::ALL`].
    pub fn new(rate: f32, sound: impl FnMut(Piece) -> Sound) -> Self {
        Self {
            sounds: Piece::ALL.into_iter().map(sound).collect(),
            rate,
        }
    }

    /// The inner rate in Hz.
    pub fn rate(&self) -> f32 {
        self.rate
    }

    /// A piece as it sounds.
    pub fn sound(&self, piece: Piece) -> &Sound {
        &self.sounds[piece as usize]
    }

    /// Bytes that the buffers take.
    pub fn bytes(&self) -> usize {
        let strands = self.sounds.iter().flat_map(|sound| {
            let [first, second] = &sound.hits;
            [&sound.soft, &sound.hard, first, second]
        });
        strands
            .map(|strand| (strand.left.len() + strand.right.len()) * size_of::<i16>())
            .sum()
    }
}
