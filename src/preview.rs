//! The built-in sound: a whole kit by synthesis, so that a fresh install is heard at once.
//!
//! - [`Kit`]: every piece rendered to buffers for one sample rate; slow to make, cheap to play
//! - [`Preview`]: strikes in, audio out, block by block
//! - `tone`: ringing modes, noise in a band, decays: what the pieces are made of
//! - `skins`, `metal`, `wood`: drums, cymbals, sticks
//! - `voices`: what sounds at once, and how it is choked or let go
//! - `limiter`: the limiter at the end
//!
//! A piece is given by two parts. The *body* is what rings; the *edge* is what the stick, the beater
//! or a hard stroke adds. A harder stroke opens the body's low-pass and raises the edge faster than
//! the body, so that velocity changes the timbre and not only the level. Each piece has two takes,
//! struck in turn, so that two strokes in a row are never the same.

mod cymbals;
mod drums;
mod kit;
mod limiter;
mod sticks;
mod tone;
mod voices;

pub use kit::{Kit, Sound};
pub use voices::MAX_VOICES;

use crate::kit::Piece;
use arrayvec::ArrayVec;
use limiter::Ceiling;
use voices::Voices;

/// The level that the preview starts with, in dB below full scale: the peak of the hardest stroke
/// on kick or snare. Quiet on purpose: loud playback hurts (NIOSH publication 98-126, 1998: 85 dBA
/// for 8 hours a day, half as long for every 3 dB more).
pub use crate::settings::{DEFAULT_LEVEL_DB, LEVELS_DB};

/// How many strikes a block can have; the densest beat stays far below in any block that a host
/// sends. More are not heard.
const MAX_STRIKES: usize = 256;
/// How long the level takes to follow its parameter, in seconds.
const LEVEL_S: f32 = 0.01;

/// A stroke on a piece, for the preview. The note map does not matter to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Strike {
    /// Samples from the start of the block.
    pub sample: u32,
    /// What is struck.
    pub piece: Piece,
    /// How hard, 1..=127.
    pub velocity: u8,
}

/// Plays a [`Kit`]. Audio thread; allocates only when made or set to a sample rate.
pub struct Preview {
    strikes: ArrayVec<Strike, MAX_STRIKES>,
    voices: Voices,
    ceiling: Ceiling,
    /// The linear level in force; glides to the one that is asked for.
    level: f32,
    glide: f32,
}

impl Preview {
    /// A silent preview for a sample rate in Hz, the same as its kit's. Allocates.
    pub fn new(sample_rate: f32) -> Self {
        Self {
            strikes: ArrayVec::new(),
            voices: Voices::new(sample_rate),
            ceiling: Ceiling::new(sample_rate),
            level: 0.0,
            glide: tone::follow(LEVEL_S, sample_rate),
        }
    }

    /// Falls silent at once, for a reset by the host.
    pub fn reset(&mut self) {
        self.strikes.clear();
        self.voices.clear();
        self.ceiling.clear();
        self.level = 0.0;
    }

    /// Hears of a stroke of the coming block; in order of time.
    pub fn strike(&mut self, strike: Strike) {
        let _ = self.strikes.try_push(strike);
    }

    /// Whether nothing sounds and nothing is going to.
    pub fn is_silent(&self) -> bool {
        self.strikes.is_empty() && self.voices.sounding() == 0 && self.ceiling.is_empty()
    }

    /// How many voices sound.
    pub fn voices(&self) -> usize {
        self.voices.sounding()
    }

    /// Lets what sounds go in a few milliseconds, and forgets the strokes of the coming block: for
    /// a preview that is switched off.
    pub fn let_go(&mut self) {
        self.strikes.clear();
        self.voices.let_go();
    }

    /// Adds a block of sound to `left` and `right`, which are equally long. `level_db` in
    /// [`LEVELS_DB`].
    pub fn render(&mut self, kit: &Kit, level_db: f32, left: &mut [f32], right: &mut [f32]) {
        if self.is_silent() {
            return;
        }
        let target = tone::gain(level_db.clamp(LEVELS_DB.0, LEVELS_DB.1));
        if self.voices.sounding() == 0 && self.ceiling.is_empty() {
            // Nothing sounds that a jump of the level could be heard on.
            self.level = target;
        }
        let frames = left.len().min(right.len());
        let mut at = 0;
        for i in 0..self.strikes.len() {
            let Strike {
                sample,
                piece,
                velocity,
            } = self.strikes[i];
            let to = usize::try_from(sample).unwrap_or(0).clamp(at, frames);
            self.span(kit, target, &mut left[at..to], &mut right[at..to]);
            at = to;
            self.voices.strike(kit, piece, velocity);
        }
        self.strikes.clear();
        self.span(kit, target, &mut left[at..frames], &mut right[at..frames]);
    }

    fn span(&mut self, kit: &Kit, target: f32, left: &mut [f32], right: &mut [f32]) {
        /// Long enough to keep the overhead small, short enough for the stack.
        const PIECE: usize = 64;
        for (left, right) in left.chunks_mut(PIECE).zip(right.chunks_mut(PIECE)) {
            let mut dry = [[0.0_f32; PIECE]; 2];
            let [dry_left, dry_right] = &mut dry;
            let (dry_left, dry_right) = (&mut dry_left[..left.len()], &mut dry_right[..left.len()]);
            self.voices.render(kit, dry_left, dry_right);
            let pairs = dry_left.iter().zip(dry_right.iter());
            for ((l, r), (dl, dr)) in left.iter_mut().zip(right.iter_mut()).zip(pairs) {
                self.level += (target - self.level) * self.glide;
                let (wet_left, wet_right) = self.ceiling.pass(dl * self.level, dr * self.level);
                *l += wet_left;
                *r += wet_right;
            }
            self.ceiling.rest(self.voices.sounding() == 0, left.len());
        }
    }
}
