//! From the voices to the two channels that are heard: room, compressor, level, limiter.

use super::glue::{Glue, round};
use super::kit::Kit;
use super::limiter::Limiter;
use super::room::{Room, SPAN};
use super::tone::follow;
use super::voices::Voices;
use multiversion::multiversion;

/// How long the level takes to follow its parameter, in seconds.
const LEVEL_S: f32 = 0.01;
/// Below, a number is nothing: 300 dB below full scale. Smaller ones slow processors down.
const NOTHING: f32 = 1e-15;

/// The bus, at the inner rate. Audio thread; allocates only when made.
pub(super) struct Bus {
    pub(super) voices: Voices,
    room: Room,
    glue: Glue,
    limiter: Limiter,
    /// The linear level in force; glides to the one that is asked for.
    level: f32,
    glide: f32,
}

/// What the parameters ask for.
#[derive(Debug, Clone, Copy)]
pub(super) struct Wanted {
    /// Linear.
    pub(super) level: f32,
    /// 0..=1.
    pub(super) room: f32,
}

impl Bus {
    /// A silent bus at an inner rate in Hz. Allocates.
    pub(super) fn new(rate: f32) -> Self {
        Self {
            voices: Voices::new(rate),
            room: Room::new(rate),
            glue: Glue::new(rate),
            limiter: Limiter::new(rate),
            level: 0.0,
            glide: follow(LEVEL_S, rate),
        }
    }

    pub(super) fn clear(&mut self) {
        self.voices.clear();
        self.room.clear();
        self.glue.clear();
        self.limiter.clear();
    }

    /// Whether nothing sounds.
    pub(super) fn is_silent(&self) -> bool {
        self.voices.sounding() == 0 && self.room.is_empty() && self.limiter.is_empty()
    }

    /// What is asked for while nothing sounds on which a jump of the level could be heard.
    pub(super) fn rest(&mut self, wanted: Wanted) {
        self.level = wanted.level;
        self.glue.clear();
    }

    /// Makes a span of at most [`SPAN`] samples, which is silent on entry.
    pub(super) fn span(&mut self, kit: &Kit, wanted: Wanted, left: &mut [f32], right: &mut [f32]) {
        debug_assert!(left.len() <= SPAN);
        let fed = self.voices.sounding() > 0;
        self.voices.render(kit, left, right);
        self.room.pass(left, right, wanted.room, !fed);
        self.glue.pass(left, right);
        let steady = self.level == wanted.level;
        let level = if steady { wanted.level } else { 1.0 };
        round(left, level);
        round(right, level);
        if !steady {
            for (l, r) in left.iter_mut().zip(right.iter_mut()) {
                self.level += (wanted.level - self.level) * self.glide;
                *l *= self.level;
                *r *= self.level;
            }
            if (self.level - wanted.level).abs() < wanted.level * 1e-4 {
                self.level = wanted.level;
            }
        }
        let silent = !fed && self.room.is_empty();
        self.limiter.pass(left, right, silent);
        if guard(left, right) {
            // Whatever went wrong inside, it ends here and is not heard again.
            self.clear();
        }
    }
}

/// Lets no subnormal number out, and none that is not one; says whether there was such a one.
fn guard(left: &mut [f32], right: &mut [f32]) -> bool {
    // Both, whatever the first says.
    let bad = [flush(left), flush(right)];
    if bad == [false; 2] {
        return false;
    }
    left.fill(0.0);
    right.fill(0.0);
    true
}

/// Makes zeros of what is next to nothing, and says whether anything is infinite or no number.
#[multiversion(targets("x86_64+avx2"))]
fn flush(channel: &mut [f32]) -> bool {
    /// All ones in a number that is infinite or none.
    const EXPONENT: u32 = 0x7f80_0000;
    let mut bad = 0;
    for x in channel {
        *x = if x.abs() < NOTHING { 0.0 } else { *x };
        bad |= u32::from(x.to_bits() & EXPONENT == EXPONENT);
    }
    bad != 0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_but_numbers_gets_out() {
        for bad in [f32::NAN, f32::INFINITY, f32::NEG_INFINITY] {
            let (mut left, mut right) = ([0.1, bad, 0.2], [0.3; 3]);
            assert!(guard(&mut left, &mut right));
            assert_eq!((left, right), ([0.0; 3], [0.0; 3]));
        }
        let (mut left, mut right) = ([0.1, 1e-39, -1e-16], [0.3; 3]);
        assert!(!guard(&mut left, &mut right));
        assert_eq!((left, right), ([0.1, 0.0, 0.0], [0.3; 3]));
    }
}
