//! What a host's rounded positions leave open, and how the next ones narrow it down.
//!
//! A position on the host's grid says only that the true one lies within half a step of it. While
//! the tempo holds, the clock's own pace is exact, so its difference from the true position stays
//! the same, and each rounded position narrows down what that difference can be: after some twenty
//! blocks, to a sample.

/// How far a rounded position lies from the true one, in ticks: half a step of 1/1920 quarter.
const HALF_STEP: f64 = 0.25;
/// Before any position was heard.
const ANYWHERE: (f64, f64) = (f64::NEG_INFINITY, f64::INFINITY);

/// Where the true position can lie, seen from the clock's.
#[derive(Debug, Clone, Default)]
pub(super) struct Rounding {
    /// At least and at most, in ticks; `None` where the clock's position needs no search.
    open: Option<(f64, f64)>,
    /// The pace that the host's tempo gave in the last block, in ticks a sample.
    pace: f64,
}

impl Rounding {
    /// The clock is now at the host's position, or `left` ticks short of it.
    pub(super) fn taken(&mut self, rounded: bool, left: f64, pace: f64) {
        self.pace = pace;
        self.open = rounded.then_some((left - HALF_STEP, left + HALF_STEP));
    }

    /// The clock has moved by so many ticks against its pace.
    pub(super) fn moved(&mut self, by: f64) {
        self.open = self.open.map(|(low, high)| (low - by, high - by));
    }

    /// Takes up that the host's position lies `error` ticks from the clock's, and returns how far
    /// the clock should move, in ticks: 0 as long as its place can be the true one.
    pub(super) fn narrow(&mut self, error: f64, rounded: bool, pace: f64) -> f64 {
        if self.pace != pace {
            // The tempo has changed somewhere in the last block, so the clock went astray there.
            self.pace = pace;
            self.open = Some(ANYWHERE);
        }
        let Some(open) = self.open.filter(|_| rounded) else {
            self.open = None;
            return 0.0;
        };
        let low = open.0.max(error - HALF_STEP);
        let high = open.1.min(error + HALF_STEP);
        // A host that rounds in another way contradicts itself: stay.
        self.open = (low <= high).then_some((low, high));
        // One position says too little: under a tempo that glides, each is the first.
        if open == ANYWHERE || low > high || (low..=high).contains(&0.0) {
            0.0
        } else {
            f64::midpoint(low, high)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Feeds positions of a clock that is `off` ticks behind, rounded by `round`; returns how far
    /// off it is in the end.
    fn settle(mut off: f64, round: impl Fn(f64) -> f64) -> f64 {
        let mut rounding = Rounding::default();
        for block in 0..100 {
            let truth = f64::from(block) * 40.96;
            let said = round(truth * 2.0) / 2.0;
            let by = rounding.narrow(said - (truth - off), true, 0.04);
            rounding.moved(by);
            off -= by;
        }
        off
    }

    #[test]
    fn the_place_between_rounded_positions_is_found() {
        for off in [-0.4, -0.1, 0.0, 0.05, 0.3, 0.55] {
            let left = settle(off, f64::round);
            assert!(left.abs() < 0.03, "{off} ticks became {left}");
        }
    }

    #[test]
    fn a_place_that_can_be_the_true_one_is_kept() {
        assert_eq!(settle(0.0, f64::round), 0.0);
        // Where the host rounds down, as good a guess as any is within its step.
        assert!(settle(0.0, f64::floor).abs() <= 0.5);
    }

    #[test]
    fn exact_positions_end_the_search() {
        let mut rounding = Rounding::default();
        rounding.taken(true, 0.0, 0.04);
        assert_eq!(rounding.narrow(0.01, false, 0.04), 0.0);
        assert_eq!(rounding.narrow(0.5, true, 0.04), 0.0);
    }
}
