//! How fast limbs can be, and what becomes of a figure that is too fast.
//!
//! One set of limits for now, the hard physical ceiling. The one-hand figure is measured: 10 Hz by
//! the fastest known drummer (Fujii, Kudo, Ohtsuki & Oda 2009, *Neuroscience Letters*
//! 459(2):69-73, abstract). For feet no peer-reviewed figure was found; ours is judged from record
//! contests, not a source.

use super::roles::TickList;
use crate::time::{Count, Ticks, Value, tempo};

/// Shortest time between two strokes of one hand, in seconds. Fujii et al. 2009: 100 ms, with
/// stable intervals; 5 ms are left for their spread.
pub const HAND_S: f64 = 0.095;
/// Shortest time between two strokes of one foot, in seconds. Judged, no peer-reviewed source.
pub const FOOT_S: f64 = 0.105;
/// Shortest time between two strokes where two hands alternate, in seconds: half of one hand's.
pub const HANDS_S: f64 = HAND_S / 2.0;
/// Shortest time between two strokes where two feet alternate, in seconds: half of one foot's.
pub const FEET_S: f64 = FOOT_S / 2.0;
/// Time that a hand needs before a full stroke that follows a tap of its own, in seconds: half as
/// much again, for the lift. That players lift the stick higher before an accent is measured (Dahl
/// 2000, *Journal of New Music Research* 29(3):225-233, abstract); the time is judged, no source.
pub const LIFT_S: f64 = HAND_S * 1.5;
/// Shortest mean time between strokes of a hand that gets two from one motion (freehand, rebound
/// doubles), in seconds. Judged, no source.
pub const REBOUND_S: f64 = 0.050;

/// A time in seconds as ticks at `bpm` quarter notes a minute, rounded up.
pub fn ticks(seconds: f64, bpm: f64) -> Ticks {
    // Below 2^53 for every tempo that we accept; the hair keeps 100 ms at 300 BPM from rounding up.
    #[expect(clippy::cast_possible_truncation)]
    let ticks = (seconds * tempo::ticks_per_second(bpm) - 1e-6).ceil() as Ticks;
    ticks
}

/// Thins a figure of one bar until no two of its strokes, nor its last and the next bar's first,
/// are closer than `gap` ticks. The whole figure falls to the next slower subdivision, keeping its
/// own phase, never into random holes. Returns how many strokes went.
pub fn thin(figure: &mut TickList, gap: Ticks, counts: &[Count], bar_len: Ticks) -> usize {
    let before = figure.len();
    let Some(&first) = figure.first() else {
        return 0;
    };
    let count_of = |tick: Ticks| {
        counts
            .iter()
            .rposition(|count| count.start <= tick)
            .unwrap_or_default()
    };
    let phase = first - counts[count_of(first)].start;
    let too_fast = |figure: &TickList| {
        let wrap = figure[0] + bar_len - figure[figure.len() - 1];
        wrap < gap || figure.windows(2).any(|w| w[1] - w[0] < gap)
    };
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
    // Slower than a stroke a count: every other one, then every fourth.
    while figure.len() > 1 && too_fast(figure) {
        let mut i = 0;
        figure.retain(|_| {
            i += 1;
            i % 2 == 1
        });
    }
    before - figure.len()
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
