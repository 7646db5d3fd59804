//! The built-in sound: a whole kit by synthesis in a small room, so that a fresh install is heard at once.
//!
//! - [`Kit`]: every piece rendered to buffers for one sample rate; slow to make, cheap to play
//! - [`Preview`]: strikes in, audio out, block by block
//! - `tone`: ringing modes, noise in a band, decays: what the pieces are made of
//! - `drums`, `cymbals`, `metal_table`, `sticks`: the recipes, which leave `layers`
//! - `resample`: a rendered kit for another rate
//! - `voices`: what sounds at once, and how it is choked or let go
//! - `mix`: adds the waves of a voice, several samples at a time
//! - `bus`: `room`, `glue` (the compressor), level and `limiter`
//! - `upsample`: for hosts at twice the rate and more
//!
//! A piece is a soft and a hard layer that swing in step, and a stick. Velocity mixes the layers, so that a
//! harder stroke is brighter, longer and noisier and not only louder. Every stroke has its own level, colour
//! and mixture of two sticks, by its own chance: no two are the same, and the same song sounds the same.

mod bus;
mod cymbals;
mod drums;
mod glue;
mod kit;
mod layers;
mod limiter;
mod metal_table;
mod mix;
mod resample;
mod room;
mod sticks;
mod tone;
mod upsample;
mod voices;

pub use kit::{Kit, RATES, Sound, inner_rate};
pub use voices::MAX_VOICES;

use crate::groove::chance::{Decision, bits};
use crate::kit::Piece;
use crate::time::Ticks;
use arrayvec::ArrayVec;
use bus::{Bus, Wanted};
use room::SPAN;
use upsample::Upsample;

/// The level that the preview starts with, in dB below full scale: the peak of the hardest stroke
/// on kick or snare. Quiet on purpose: loud playback hurts (NIOSH publication 98-126, 1998: 85 dBA
/// for 8 hours a day, half as long for every 3 dB more).
pub use crate::settings::{DEFAULT_LEVEL_DB, LEVELS_DB};

/// How many strikes a block can have; the densest beat stays far below in any block that a host
/// sends. More are not heard.
const MAX_STRIKES: usize = 256;

/// A stroke on a piece, for the preview. The note map does not matter to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Strike {
    /// Samples from the start of the block.
    pub sample: u32,
    /// What is struck.
    pub piece: Piece,
    /// How hard, 1..=127.
    pub velocity: u8,
    /// What makes the stroke its own: [`stroke_chance`].
    pub chance: u64,
    /// A hand grabs the piece so many samples later.
    pub grab: Option<u32>,
}

/// What makes the sound of a stroke its own: the same for the same take, tick and piece, forever.
pub fn stroke_chance(take: u32, tick: Ticks, piece: Piece) -> u64 {
    bits(take, tick, Decision::StrokeSound, piece as u64)
}

/// What the parameters ask of the preview.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mix {
    /// Level in dB, [`LEVELS_DB`].
    pub level_db: f32,
    /// How much of the room is heard, 0..=1. 0 costs nothing.
    pub room: f32,
}

/// Plays a [`Kit`]. Audio thread; allocates only when made.
pub struct Preview {
    strikes: ArrayVec<Strike, MAX_STRIKES>,
    bus: Bus,
    /// Where the host's rate is a multiple of the kit's.
    upsample: Option<Upsample>,
    /// By how many times it is.
    times: u16,
    /// The level in force, in dB and as a factor.
    level: (f32, f32),
}

impl Preview {
    /// A silent preview for a host's sample rate in Hz, the one that its kit was made for. Allocates.
    pub fn new(host_rate: f32) -> Self {
        let times = kit::division(host_rate);
        Self {
            strikes: ArrayVec::new(),
            bus: Bus::new(inner_rate(host_rate)),
            upsample: (times > 1).then(|| Upsample::new(times)),
            times,
            level: (0.0, 1.0),
        }
    }

    /// Falls silent at once, for a reset by the host.
    pub fn reset(&mut self) {
        self.strikes.clear();
        self.bus.clear();
        if let Some(upsample) = &mut self.upsample {
            upsample.clear();
        }
    }

    /// Hears of a stroke of the coming block; in order of time.
    pub fn strike(&mut self, strike: Strike) {
        let _ = self.strikes.try_push(strike);
    }

    /// Whether nothing sounds and nothing is going to.
    pub fn is_silent(&self) -> bool {
        self.strikes.is_empty() && !self.sounds()
    }

    fn sounds(&self) -> bool {
        !self.bus.is_silent() || self.upsample.as_ref().is_some_and(|up| !up.is_empty())
    }

    /// How many voices sound.
    pub fn voices(&self) -> usize {
        self.bus.voices.sounding()
    }

    /// Lets what sounds go in a few milliseconds, and forgets the strokes of the coming block: for
    /// a preview that is switched off.
    pub fn let_go(&mut self) {
        self.strikes.clear();
        self.bus.voices.let_go();
    }

    /// Forgets the strokes of the coming block: where there is no kit yet.
    pub fn miss(&mut self) {
        self.strikes.clear();
    }

    /// Makes a block of sound in `left` and `right`, which are equally long and silent on entry.
    pub fn render(&mut self, kit: &Kit, mix: Mix, left: &mut [f32], right: &mut [f32]) {
        if self.is_silent() {
            return;
        }
        let wanted = Wanted {
            level: self.level(mix.level_db),
            room: mix.room.clamp(0.0, 1.0),
        };
        let frames = left.len().min(right.len());
        let mut at = 0;
        for i in 0..self.strikes.len() {
            let Strike {
                sample,
                piece,
                velocity,
                chance,
                grab,
            } = self.strikes[i];
            let to = usize::try_from(sample).unwrap_or(0).clamp(at, frames);
            self.stretch(kit, wanted, &mut left[at..to], &mut right[at..to]);
            at = to;
            self.bus.voices.strike(kit, piece, velocity, chance);
            if let Some(grab) = grab {
                let times = u32::from(self.times);
                self.bus.voices.grab_last(grab / times.max(1));
            }
        }
        self.strikes.clear();
        self.stretch(kit, wanted, &mut left[at..frames], &mut right[at..frames]);
    }

    /// A level in dB as a factor, worked out anew where it changes.
    fn level(&mut self, level_db: f32) -> f32 {
        let (known_db, level) = &mut self.level;
        if *known_db != level_db {
            let within = level_db.clamp(LEVELS_DB.0, LEVELS_DB.1);
            (*known_db, *level) = (level_db, tone::gain(within));
        }
        *level
    }

    /// Makes the sound between two strokes.
    fn stretch(&mut self, kit: &Kit, wanted: Wanted, left: &mut [f32], right: &mut [f32]) {
        if !self.sounds() {
            self.bus.rest(wanted);
            if let Some(upsample) = &mut self.upsample {
                upsample.clear();
            }
            return;
        }
        for (left, right) in left.chunks_mut(SPAN).zip(right.chunks_mut(SPAN)) {
            let Some(upsample) = &mut self.upsample else {
                self.bus.span(kit, wanted, left, right);
                continue;
            };
            let mut inner = [[0.0_f32; SPAN]; 2];
            let needs = upsample.needs(left.len());
            let [inner_left, inner_right] = &mut inner;
            let (inner_left, inner_right) = (&mut inner_left[..needs], &mut inner_right[..needs]);
            self.bus.span(kit, wanted, inner_left, inner_right);
            upsample.add([inner_left, inner_right], left, right);
        }
    }
}
