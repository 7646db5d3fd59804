//! The riff's attacks around one bar, as the drummer is told of them.

use super::{Attack, Riff};
use crate::time::{Bar, Ticks};

/// How far around a bar its attacks must be known, in ticks: a little over four quarters, so that
/// bars agree about what lies between them up to 300 BPM.
pub const MARGIN: Ticks = 4400;

/// Most attacks around one bar; more no feet can play.
const MAX_ATTACKS: usize = 8192;

/// The attacks in a bar and just beside it, where they are known.
#[derive(Debug, Clone)]
pub struct RiffWindow {
    attacks: Vec<Attack>,
    known: bool,
}

impl Default for RiffWindow {
    /// With room for any bar. Allocates.
    fn default() -> Self {
        Self {
            attacks: Vec::with_capacity(MAX_ATTACKS),
            known: false,
        }
    }
}

impl RiffWindow {
    /// Takes up what the riff has for a bar, moved by so many ticks. Audio thread.
    pub fn latch(&mut self, riff: &Riff, bar: Bar, by: Ticks) {
        self.attacks.clear();
        self.known = riff.knows(bar.start, bar.end());
        if self.known {
            let (from, to) = (bar.start - MARGIN, bar.end() + MARGIN);
            riff.gather(from, to, &mut self.attacks);
            self.attacks.iter_mut().for_each(|attack| attack.tick += by);
        }
    }

    /// Takes up that the guitar is played along with as it comes in: the bar is known, and nothing is in it.
    pub fn latch_live(&mut self) {
        self.attacks.clear();
        self.known = true;
    }

    /// Whether the riff is known in the bar.
    pub fn is_known(&self) -> bool {
        self.known
    }

    /// The attacks, in order; `None` where they are not known.
    pub fn attacks(&self) -> Option<&[Attack]> {
        self.known.then_some(&*self.attacks)
    }
}
