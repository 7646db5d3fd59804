//! Joins the two versions of a bar: the bare beat, which sounds at density 0 alone, and the varied one above it.

use super::manner::Version;
use super::stroke::{MAX_STROKES, Part, Stroke};

impl Part {
    /// Adds the strokes that only `bare`, the same bar without variation, has, and marks those that it has not.
    pub(super) fn merge(&mut self, bare: &Self) {
        self.strokes.sort_unstable_by_key(|s| (s.tick, s.limb));
        let manner = |s: &Stroke| s.manner.at_density_0();
        let same = |a: &Stroke, b: &Stroke| {
            (a.tick, a.limb, a.target, a.grace, manner(a))
                == (b.tick, b.limb, b.target, b.grace, manner(b))
                && (a.min_intensity, a.velocity_offset) == (b.min_intensity, b.velocity_offset)
        };
        let core = |s: &&Stroke| s.rank == 0.0;
        for stroke in self.strokes.iter_mut().filter(|s| s.rank == 0.0) {
            stroke.version = Version::Varied;
        }
        let varied = self.strokes.len();
        let mut at = 0;
        for &stroke in bare.strokes.iter().filter(core) {
            let key = (stroke.tick, stroke.limb);
            at += self.strokes[at..varied]
                .iter()
                .take_while(|s| (s.tick, s.limb) < key)
                .count();
            let there = self.strokes[at..varied].first();
            let shared = there.is_some_and(|s| s.rank == 0.0 && same(s, &stroke));
            if shared {
                self.strokes[at].version = Version::Both;
                // What density 0 has too does not come of the variation.
                self.strokes[at].origin = stroke.origin;
            } else if self.strokes.len() < MAX_STROKES {
                self.strokes.push(Stroke {
                    version: Version::Bare,
                    ..stroke
                });
            }
        }
        let played = |gone: &Stroke| {
            self.strokes
                .iter()
                .any(|s| (s.tick, s.limb, s.target) == (gone.tick, gone.limb, gone.target))
        };
        let before = self.dropped.len();
        self.dropped.retain(|gone| !played(gone));
        self.thinned -= before - self.dropped.len();
        self.strokes.sort_unstable_by_key(|s| (s.tick, s.limb));
    }
}
