//! Tempo: accepted range, and a map between ticks and seconds.

use super::{TICKS_PER_QUARTER, Ticks};

/// The slowest tempo that we follow, in quarter notes a minute.
pub const MIN_BPM: f64 = 1.0;
/// The fastest tempo that we follow, in quarter notes a minute.
pub const MAX_BPM: f64 = 1000.0;
/// The tempo where nobody names one, in quarter notes a minute: the default of Standard MIDI
/// Files 1.0 (RP-001).
pub const DEFAULT_BPM: f64 = 120.0;

/// A usable tempo from whatever a host said: `None`, NaN, infinity and nonsense give `fallback`,
/// the rest is kept inside [`MIN_BPM`]..=[`MAX_BPM`].
pub fn sane_bpm(bpm: Option<f64>, fallback: f64) -> f64 {
    match bpm {
        Some(bpm) if bpm.is_finite() && bpm > 0.0 => bpm.clamp(MIN_BPM, MAX_BPM),
        _ => fallback,
    }
}

/// Ticks in one second at `bpm` quarter notes a minute.
pub fn ticks_per_second(bpm: f64) -> f64 {
    bpm * TICKS_PER_QUARTER as f64 / 60.0
}

/// A song's tempi: piecewise constant, the first from the beginning of time.
#[derive(Debug, Clone, PartialEq)]
pub struct TempoMap {
    /// Where each tempo begins: (ticks, seconds, quarter notes a minute), in order.
    changes: Vec<(Ticks, f64, f64)>,
}

impl Default for TempoMap {
    /// [`DEFAULT_BPM`] throughout. Allocates.
    fn default() -> Self {
        Self::constant(DEFAULT_BPM)
    }
}

impl TempoMap {
    /// One tempo throughout, in quarter notes a minute.
    pub fn constant(bpm: f64) -> Self {
        Self {
            changes: vec![(0, 0.0, sane_bpm(Some(bpm), DEFAULT_BPM))],
        }
    }

    /// Changes to `bpm` quarter notes a minute at tick `at`, which must not lie before the last
    /// change. A change to the present tempo is no change.
    pub fn change(&mut self, at: Ticks, bpm: f64) {
        let bpm = sane_bpm(Some(bpm), DEFAULT_BPM);
        let last = self.changes[self.changes.len() - 1];
        debug_assert!(at >= last.0, "tempo changes come in order");
        if at == last.0 {
            self.changes.pop();
        }
        if at == last.0 || bpm != last.2 {
            let seconds = last.1 + (at - last.0) as f64 / ticks_per_second(last.2);
            self.changes.push((at, seconds, bpm));
        }
    }

    /// The tempo at a tick, in quarter notes a minute.
    pub fn bpm_at(&self, tick: Ticks) -> f64 {
        self.changes[self
            .changes
            .partition_point(|c| c.0 <= tick)
            .saturating_sub(1)]
        .2
    }

    /// Seconds from tick 0.
    pub fn seconds(&self, tick: f64) -> f64 {
        let i = self
            .changes
            .partition_point(|c| c.0 as f64 <= tick)
            .saturating_sub(1);
        let (at, seconds, bpm) = self.changes[i];
        seconds + (tick - at as f64) / ticks_per_second(bpm)
    }

    /// The tick at a number of seconds from tick 0.
    pub fn ticks(&self, seconds: f64) -> f64 {
        let i = self
            .changes
            .partition_point(|c| c.1 <= seconds)
            .saturating_sub(1);
        let (at, from, bpm) = self.changes[i];
        at as f64 + (seconds - from) * ticks_per_second(bpm)
    }

    /// The tempo changes in order: (tick, quarter notes a minute). The first is at tick 0.
    pub fn changes(&self) -> impl Iterator<Item = (Ticks, f64)> + '_ {
        self.changes.iter().map(|&(at, _, bpm)| (at, bpm))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn seconds_and_ticks_are_inverse_across_changes() {
        let mut map = TempoMap::constant(120.0);
        map.change(3840, 60.0);
        map.change(7680, 240.0);
        assert_eq!(map.seconds(3840.0), 2.0);
        assert_eq!(map.seconds(7680.0), 6.0);
        assert_eq!(map.seconds(11520.0), 7.0);
        for tick in [-960.0, 0.0, 1.0, 3839.5, 3840.0, 9000.25, 20000.0] {
            assert!((map.ticks(map.seconds(tick)) - tick).abs() < 1e-9);
        }
        assert_eq!(
            [map.bpm_at(-5), map.bpm_at(3839), map.bpm_at(3840)],
            [120.0, 120.0, 60.0]
        );
    }

    #[test]
    fn nonsense_tempi_fall_back() {
        for bad in [
            None,
            Some(f64::NAN),
            Some(f64::INFINITY),
            Some(-3.0),
            Some(0.0),
        ] {
            assert_eq!(sane_bpm(bad, 133.0), 133.0);
        }
        assert_eq!(sane_bpm(Some(1e12), 120.0), MAX_BPM);
    }
}
