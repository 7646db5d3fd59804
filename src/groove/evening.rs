//! A take is a player's evening: the traits that one player keeps through a song and in which players differ.
//!
//! Every trait is drawn once, from the song's take. Sources of the sizes: the Groove MIDI Dataset (Gillick et al.
//! 2019, CC BY 4.0), measured by us on 112 rock and punk performances of nine drummers; medians and spreads over the
//! performances.

use super::chance::{Decision, bits};
use super::draws::{normal, small_normal};
use super::roles::Stress;
use super::stroke::Limb;
use super::stroke_kind::StrokeKind;
use crate::time::Ticks;

/// The width of a place in the bar that has a signature of its own: a sixteenth, in ticks.
const SLOT: Ticks = 240;

/// The traits of one take. Times in seconds at feel 1, velocities at accent 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Evening {
    take: u32,
    /// How far this player strays, against the median player.
    pub(super) looseness: f64,
    /// Mean time of kick and snare against the median player's.
    kick_lead_s: f64,
    snare_lead_s: f64,
    /// How late the second and the last sixteenth of a count are.
    late_sixteenths_s: f64,
    /// How much louder the cymbal is on the counts than between, on the eighths than on the sixteenths between, and
    /// on the backbeats than on the strong counts.
    counts_over_eighths: f32,
    eighths_over_sixteenths: f32,
    backs_over_strongs: f32,
    /// How much louder the ghost notes are than the median player's, at every accent.
    ghosts: f32,
    /// How uneven the hands are, against the median player.
    unevenness: f32,
}

/// What each place in the bar has of its own in time. It caches the draws of the last place for the walk over a bar;
/// its values never depend on the cache.
#[derive(Debug, Clone)]
pub(super) struct Signature {
    take: u32,
    /// The place, the bits for each limb, and what all limbs share.
    last: Option<(Ticks, u64, f32)>,
}

impl Signature {
    /// The signature of a place in the bar, in seconds at feel 1: 4.5 ms that all limbs share, and 3 ms of each.
    /// `at` in ticks from the start of the bar.
    pub(super) fn offset_s(&mut self, at: Ticks, limb: Limb) -> f64 {
        let place = at.div_euclid(SLOT);
        let (_, limbs, shared) = match self.last {
            Some(last) if last.0 == place => last,
            _ => {
                let slot = |index| bits(self.take, place, Decision::Signature, index);
                (place, slot(0), small_normal(slot(1)))
            }
        };
        self.last = Some((place, limbs, shared));
        let own = small_normal(limbs >> (16 * limb as u64));
        f64::from(0.0045 * shared + 0.003 * own)
    }
}

impl Evening {
    /// The traits of a take.
    pub(super) fn new(take: u32) -> Self {
        let draw = |index| normal(bits(take, 0, Decision::Evening, index));
        // Lognormal to second order: only sums and products.
        let grows = |z: f32, sd: f32| 1.0 + sd * z + sd * sd * z * z / 2.0;
        let ms = |z: f32, mean: f64, sd: f64| (mean + sd * f64::from(z)) / 1000.0;
        Self {
            take,
            // SD of the logarithm 0.22: the performances' SD of all offsets is 18.9 ms [14.3..26.8].
            looseness: f64::from(grows(draw(0), 0.22)),
            // SD over performances 4 ms.
            kick_lead_s: ms(draw(1), 0.0, 4.0),
            snare_lead_s: ms(draw(2), 0.0, 4.0),
            // 18 % of the takes have them 14 ms late (75th and 90th percentile of the performances: 7 and 16 ms). A
            // standard normal value exceeds 0.92 in 18 % of draws.
            late_sixteenths_s: if draw(3) > 0.92 { 0.014 } else { 0.0 },
            // Median 25 [-5..51] at accent 0.5, cut so that the order of the trade holds.
            counts_over_eighths: (48.0 + 14.0 * draw(4)).clamp(20.0, 68.0),
            // Median 7 [-30..24], in sixteenths 18, cut at 0.
            eighths_over_sixteenths: (16.0 + 12.0 * draw(5)).clamp(0.0, 30.0),
            // Median 7 [-6..27], cut so that the order holds.
            backs_over_strongs: (14.0 + 9.0 * draw(6)).clamp(5.0, 40.0),
            // A third of the backbeat, SD over performances 0.09 of it; narrowed, so that the median stays in 25..45.
            ghosts: (3.0 * draw(7)).clamp(-4.5, 5.0),
            // SD of the logarithm 0.4; narrowed, since heavy music is played more evenly. Judged.
            unevenness: grows(draw(8), 0.25),
        }
    }

    /// The take whose traits they are.
    pub(super) fn take(&self) -> u32 {
        self.take
    }

    /// Mean time of a kind of stroke at a place in the bar, in seconds at feel 1.
    pub(super) fn lead_s(&self, kind: StrokeKind, stress: Stress) -> f64 {
        let own = match kind {
            StrokeKind::Kick => self.kick_lead_s,
            StrokeKind::Backbeat | StrokeKind::SideStick | StrokeKind::Drum => self.snare_lead_s,
            StrokeKind::Cymbal | StrokeKind::Crash | StrokeKind::Ghost | StrokeKind::Pedal => 0.0,
        };
        let place = match stress {
            // Measured -1.9 ms [-7.8..3.2] against the counts.
            Stress::Unit => -0.0015,
            Stress::Off => self.late_sixteenths_s,
            _ => 0.0,
        };
        kind.figures().lead_s + own + place
    }

    /// The signature of the take's places.
    pub(super) fn signature(&self) -> Signature {
        Signature {
            take: self.take,
            last: None,
        }
    }

    /// How much louder than the mean the hand cymbal is at a place in the bar, in velocity at accent 1.
    pub(super) fn cymbal_weight(&self, at: Ticks, stress: Stress) -> f32 {
        let between = self.counts_over_eighths;
        let mean = match stress {
            Stress::Strong => -0.5 * self.backs_over_strongs,
            Stress::Back => 0.5 * self.backs_over_strongs,
            Stress::Count => 0.0,
            Stress::Unit => -between,
            Stress::Off => -between - self.eighths_over_sixteenths,
        };
        // What one place has of its own is smaller than half the difference between the kinds of place, so that the
        // orders hold: measured SD 12.
        let most = match stress {
            Stress::Strong | Stress::Back => 0.4 * self.backs_over_strongs,
            Stress::Count => 4.0,
            Stress::Unit | Stress::Off => 0.4 * between,
        };
        let slot = bits(self.take, at.div_euclid(SLOT), Decision::Signature, 1);
        let own = small_normal(slot >> 16);
        mean + (9.0 * own).clamp(-most, most)
    }

    /// Velocity added to ghost notes.
    pub(super) fn ghosts(&self) -> f32 {
        self.ghosts
    }

    /// The factor of the touch of a kind of stroke.
    pub(super) fn unevenness(&self, kind: StrokeKind) -> f32 {
        if kind == StrokeKind::Cymbal {
            self.unevenness
        } else {
            1.0
        }
    }
}
