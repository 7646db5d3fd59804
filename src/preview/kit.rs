//! A kit rendered once and made fit for a sample rate.

use super::glue::round;
use super::layers::{Layers, Wave};
use super::resample::resample;
use super::tone::{RATE, gain, samples_at};
use super::{cymbals, drums, sticks};
use crate::kit::Piece;

/// The lowest and the highest sample rate that the preview plays at, in Hz. Below the lowest nothing of
/// a drum is left; above the highest there is no device.
pub const RATES: (f32, f32) = (1000.0, 768_000.0);

/// By what the host's rate (Hz) is divided for the rate that the preview makes and mixes at: 1 up to 50 kHz, above
/// that the least that leaves no more, so that a kit never takes more memory than at 50 kHz.
pub(super) fn division(host_rate: f32) -> u16 {
    const MOST: f32 = 50_000.0;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let times = (host_rate / MOST).ceil().clamp(1.0, 1000.0) as u16;
    times
}

/// The rate that the preview makes and mixes at for a host's rate, both in Hz.
pub fn inner_rate(host_rate: f32) -> f32 {
    host_rate / f32::from(division(host_rate))
}

/// A piece as it sounds. Made off the audio thread, then only read.
#[derive(Debug, Clone, Default)]
pub struct Sound {
    /// A whisper and the hardest stroke, between which velocity mixes.
    pub(super) soft: Wave,
    pub(super) hard: Wave,
    /// Two sticks, of which every stroke has its own mixture.
    pub(super) hits: [Wave; 2],
    /// How the stick's level grows with velocity: the power.
    pub(super) hit_power: f32,
    /// So many samples into its layers a stroke may begin: where another spot is struck, the modes stand elsewhere in
    /// their swing.
    pub(super) scatter: u16,
}

/// How loud a piece is struck at most, where it stands, and where its lowest tone lies.
struct Place {
    /// How far its hardest stroke is driven before its peaks are rounded ([`round`]), in dB of its peak. Each
    /// layer is rounded once, here: a stroke's level then follows its velocity all the way up.
    db: f32,
    pan: f32,
    /// Below this, in Hz, it has nothing to say.
    low: f32,
}

/// The level of a layer once it is rounded, in dB: stick, room and other pieces come on top, and what they leave of
/// full scale is not the bus's to round.
const BELOW_DB: f32 = -1.4;

/// Levels and places as one would set them for a punchy mix: kick and snare in front, cymbals
/// behind, seen from the stool. Judged, no source.
fn place(piece: Piece) -> Place {
    let (db, pan, low) = match piece {
        Piece::Kick => (6.5, 0.0, 25.0),
        Piece::Snare => (6.6, -0.05, 90.0),
        Piece::SideStick => (-1.5, -0.08, 250.0),
        Piece::HiHatClosed => (-2.0, -0.3, 300.0),
        Piece::HiHatLoose => (-2.0, -0.3, 280.0),
        Piece::HiHatOpen => (-2.5, -0.3, 260.0),
        Piece::HiHatFoot => (-8.0, -0.3, 250.0),
        Piece::Ride => (-2.5, 0.3, 250.0),
        Piece::RideBell => (-3.0, 0.3, 300.0),
        Piece::CrashLeft => (1.5, -0.4, 200.0),
        Piece::CrashRight => (1.5, 0.4, 180.0),
        Piece::China => (1.0, 0.55, 200.0),
        Piece::Splash => (-2.0, -0.1, 400.0),
        Piece::RackHigh => (4.5, -0.25, 60.0),
        Piece::RackLow => (4.5, 0.1, 50.0),
        Piece::FloorHigh => (5.0, 0.4, 40.0),
        Piece::FloorLow => (5.5, 0.5, 35.0),
        Piece::Sticks => (-3.0, 0.0, 500.0),
    };
    Place { db, pan, low }
}

/// How the level of the stick grows with velocity, as a power: the click of the beater is there from the
/// softest kick on, so that fast feet stay audible under guitars; a stick on a skin comes with force.
fn hit_power(piece: Piece) -> f32 {
    match piece {
        Piece::Kick => 1.1,
        Piece::SideStick | Piece::Sticks => 1.6,
        _ => 2.0,
    }
}

/// How far into its layers a stroke may begin, in samples at a rate in Hz. Nothing for drums, whose low tones would
/// lose their start.
fn scatter(piece: Piece, rate: f32) -> u16 {
    /// Less than the attack takes, and many turns of all that is heard of a cymbal.
    const METAL_S: f32 = 0.004;
    let skin = matches!(
        piece,
        Piece::Kick
            | Piece::Snare
            | Piece::SideStick
            | Piece::RackHigh
            | Piece::RackLow
            | Piece::FloorHigh
            | Piece::FloorLow
            | Piece::Sticks
    );
    let most = if skin { 0.0 } else { METAL_S };
    u16::try_from(samples_at(most, rate)).unwrap_or(u16::MAX)
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
        let (below, gain) = (
            gain(BELOW_DB),
            gain(place.db) / layers.full().peak().max(1e-9),
        );
        let Layers { soft, hard, hits } = layers;
        let mut keep = |wave: Wave| {
            let fit = |mut channel: Vec<f32>| {
                for x in &mut channel {
                    *x *= gain;
                }
                round(&mut channel, 1.0);
                for x in &mut channel {
                    *x *= below;
                }
                if rate == RATE {
                    channel
                } else {
                    resample(&channel, RATE, rate)
                }
            };
            Wave {
                left: fit(wave.left),
                right: fit(wave.right),
            }
        };
        Self {
            soft: keep(soft),
            hard: keep(hard),
            hits: hits.map(&mut keep),
            hit_power: hit_power(piece),
            scatter: scatter(piece, rate),
        }
    }

    /// What is kept: soft, hard and both sticks, left and right. For measurements.
    pub fn waves(&self) -> [[&[f32]; 2]; 4] {
        let [first, second] = &self.hits;
        [&self.soft, &self.hard, first, second].map(|wave| [&wave.left[..], &wave.right[..]])
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
        let waves = self.sounds.iter().flat_map(Sound::waves).flatten();
        waves.map(size_of_val).sum()
    }
}
