//! Speed limits of limbs, and thinning of figures that exceed them.
//!
//! The one-hand limits are based on measurements. 5 to 7 Hz is the review figure for rapid unimanual tapping, and
//! 10 Hz with one stick was measured on the fastest known drummer (Fujii, Kudo, Ohtsuki & Oda 2009, *Neuroscience
//! Letters* 459(2):69-73, abstract). Experts held 400 strokes a minute with one hand, at their least precise
//! ("Expertise- and tempo-related performance differences in unimanual drumming", *Motor Control* 25:644-679, 2021,
//! abstract). We found no peer-reviewed figure for feet, rebound doubles or moves between pieces: those are judged,
//! no source.

use super::roles::TickList;
use crate::settings::Player;
use crate::time::{Count, Ticks, Value, tempo};

/// The speed limits of a drummer's limbs, in seconds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Shortest time between two strokes of one hand on one piece.
    pub hand_s: f64,
    /// Shortest time between strokes where two hands alternate.
    pub hands_s: f64,
    /// Shortest mean time between strokes of a hand that plays two from one motion.
    pub rebound_s: f64,
    /// Shortest time from a hand's soft stroke to its next full stroke: 1.5 times the time between equal strokes.
    /// Dahl measured that players lift the stick higher before an accent (Dahl 2000, *Journal of New Music
    /// Research* 29(3):225-233, abstract); the time is judged.
    pub lift_s: f64,
    /// Shortest time between two strokes of one foot.
    pub foot_s: f64,
    /// Shortest time between strokes where two feet alternate.
    pub feet_s: f64,
    /// Additional time for a hand to reach the farthest piece of the kit; proportional to distance for nearer ones
    /// (see [`crate::kit::reach`]).
    pub travel_s: f64,
}

impl Player {
    /// Their limits.
    pub fn limits(self) -> Limits {
        let limits = |hand_s: f64, rebound_s, foot_s: f64, travel_s| Limits {
            hand_s,
            hands_s: hand_s / 2.0,
            rebound_s,
            lift_s: hand_s * 1.5,
            foot_s,
            feet_s: foot_s / 2.0,
            travel_s,
        };
        match self {
            Self::Everyday => limits(0.170, 0.085, 0.200, 0.080),
            Self::Skilled => limits(0.125, 0.065, 0.150, 0.050),
            Self::Extreme => limits(0.105, 0.050, 0.115, 0.030),
            Self::Machine => limits(0.0, 0.0, 0.0, 0.0),
        }
    }
}

/// Kicks closer than this alternate between the feet, whatever the player's limits: 150 ms, sixteenths at 100 BPM.
/// In seconds. Judged: a comfortable single foot, no peer-reviewed source.
pub(super) const FOOT_TO_FOOT_BELOW_S: f64 = 0.150;

/// A time in seconds as ticks at `bpm` quarter notes a minute, rounded up.
pub fn ticks(seconds: f64, bpm: f64) -> Ticks {
    // Below 2^53 for every accepted tempo. The 1e-6 keeps 100 ms at 300 BPM from rounding up.
    let exact = seconds * tempo::ticks_per_second(bpm) - 1e-6;
    // Rounds up by hand: not every processor has an instruction for it.
    #[expect(clippy::cast_possible_truncation)]
    let whole = exact as Ticks;
    whole.saturating_add(Ticks::from((whole as f64) < exact))
}

/// Thins a figure of one bar until all strokes, and its last and the next bar's first, are at least `gap` ticks
/// apart. The whole figure falls to the next slower subdivision and keeps its phase, so it never gets random holes.
/// Returns the number of strokes removed.
pub fn thin(figure: &mut TickList, gap: Ticks, counts: &[Count], bar_len: Ticks) -> usize {
    let before = figure.len();
    let too_fast = |figure: &TickList| is_too_fast(figure, gap, bar_len);
    let Some(&first) = figure.first().filter(|_| too_fast(figure)) else {
        return 0;
    };
    let count_of = |tick: Ticks| {
        counts
            .iter()
            .rposition(|count| count.start <= tick)
            .unwrap_or_default()
    };
    let phase = first - counts[count_of(first)].start;
    let straight = [Value::Sixteenth, Value::Eighth, Value::Quarter];
    let triplet = [Value::Triplet, Value::Quarter];
    let even = figure.iter().all(|&tick| {
        (tick - counts[count_of(tick)].start) % Value::ThirtySecond.step(counts[0]) == 0
    });
    let grids: &[Value] = if even { &straight } else { &triplet };
    for &grid in grids {
        if !too_fast(figure) {
            return before - figure.len();
        }
        figure.retain(|tick| {
            let count = counts[count_of(*tick)];
            (*tick - count.start - phase).rem_euclid(grid.step(count)) == 0
        });
    }
    // Slower than one stroke a count: every other stroke, then every fourth.
    while figure.len() > 1 && too_fast(figure) {
        let mut i = 0;
        figure.retain(|_| {
            i += 1;
            i % 2 == 1
        });
    }
    before - figure.len()
}

/// Whether strokes of a figure of one bar, or its last and the next bar's first, are less than `gap` ticks apart.
pub(super) fn is_too_fast(figure: &[Ticks], gap: Ticks, bar_len: Ticks) -> bool {
    let wraps = |(first, last): (&Ticks, &Ticks)| first + bar_len - last < gap;
    figure.first().zip(figure.last()).is_some_and(wraps)
        || figure.windows(2).any(|w| w[1] - w[0] < gap)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::time::Meter;

    #[test]
    fn too_fast_figures_fall_as_a_whole() {
        let counts = Meter::FOUR_FOUR.counts();
        let run = |step: usize, from: Ticks| -> TickList { (from..3840).step_by(step).collect() };
        let mut kicks = run(240, 0);
        assert_eq!(thin(&mut kicks, 240, &counts, 3840), 0);
        assert_eq!(thin(&mut kicks, 241, &counts, 3840), 8);
        assert_eq!(kicks, run(480, 0));
        // A blast's snare keeps its place between the kicks.
        let mut snares = run(480, 240);
        thin(&mut snares, 500, &counts, 3840);
        assert_eq!(snares, run(960, 240));
        // Triplets fall to counts, a gallop to eighths.
        let mut triplets = run(320, 0);
        thin(&mut triplets, 400, &counts, 3840);
        assert_eq!(triplets, run(960, 0));
        let mut gallop: TickList = [0, 480, 720, 960, 1440, 1680].into_iter().collect();
        thin(&mut gallop, 300, &counts, 3840);
        assert_eq!(gallop.as_slice(), [0, 480, 960, 1440]);
    }

    #[test]
    fn ceiling_in_ticks_at_300_bpm() {
        // 300 BPM: an eighth is 100 ms = 480 ticks (arithmetic).
        assert_eq!(ticks(0.100, 300.0), 480);
    }
}
