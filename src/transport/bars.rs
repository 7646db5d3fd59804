//! Where the bar lines are.
//!
//! Hosts' bar starts can't be trusted: one real recording program reports bar 4.0 at beat 0, and a
//! block split by automation gets a bar start as if the present meter had held since beat 0. So a
//! grid of bars is kept from the meter and from where it last changed, and the host's word is
//! taken where the transport starts, if it is plausible, or where it disagrees for longer than any
//! block lasts. A host that goes on naming bars that do not hold its own position is not heard
//! again: that program counts four quarters to every bar, which in 5/4 is sometimes plausible and
//! still wrong.

use crate::time::{Bar, Meter, TICKS_PER_QUARTER, Ticks};

/// The grid of bars around the playhead. Audio thread; no allocation.
#[derive(Debug, Clone)]
pub struct BarGrid {
    meter: Meter,
    /// Some bar line of the grid.
    anchor: Ticks,
    /// The bar start on which the host insists against ours, and since when.
    doubt: Option<(Ticks, Ticks)>,
    /// Since when the host has named bars that do not hold its own position.
    nonsense: Option<Ticks>,
    /// It has done so for too long to be believed in anything.
    distrusted: bool,
    /// The anchor is the host's word.
    given: bool,
    /// The host's last word, where it was believed and named a line of this grid, and the bar that it named. While
    /// the host repeats itself inside that bar, nothing changes.
    agreed: Option<(Said, Bar)>,
}

/// A host's meter, and its bar start in quarter notes.
type Said = (Option<(i32, i32)>, Option<f64>);

/// How long a host must disagree before it is believed: a quarter note, longer than the largest
/// block at any usual tempo.
const DOUBT_TICKS: Ticks = TICKS_PER_QUARTER;
/// How long a host must name bars that do not hold its position before it is not believed again:
/// an eighth, in more than one block.
const NONSENSE_TICKS: Ticks = TICKS_PER_QUARTER / 2;
/// How far from a bar line a change of meter still happens on it.
const NEAR_TICKS: Ticks = 2;

impl BarGrid {
    /// 4/4 from tick 0.
    pub fn new() -> Self {
        Self {
            meter: Meter::FOUR_FOUR,
            anchor: 0,
            doubt: None,
            nonsense: None,
            distrusted: false,
            given: false,
            agreed: None,
        }
    }

    /// The bar that a tick falls in.
    pub fn bar_at(&self, tick: Ticks) -> Bar {
        let len = self.meter.bar_len();
        let start = self.anchor + (tick - self.anchor).div_euclid(len) * len;
        Bar {
            start,
            meter: self.meter,
        }
    }

    /// The bar that the host named last, where it is one of this grid. While the host repeats itself inside that bar,
    /// [`BarGrid::update`] changes nothing.
    pub fn agreed(&self) -> Option<Bar> {
        self.agreed.map(|(_, bar)| bar)
    }

    /// Takes up what the host says for a block at tick `at`: its meter and its bar start in quarter
    /// notes. `jumped` where the block does not follow on from the last one. Returns whether the bar lines
    /// have moved.
    pub fn update(
        &mut self,
        at: Ticks,
        meter: Option<(i32, i32)>,
        bar_quarters: Option<f64>,
        jumped: bool,
    ) -> bool {
        let word = (meter, bar_quarters);
        let repeats =
            |(said, bar): (Said, Bar)| said == word && (bar.start..bar.end()).contains(&at);
        if !jumped && self.agreed.is_some_and(repeats) {
            return false;
        }
        let before = (self.meter, self.anchor);
        let meter = meter
            .and_then(|(n, d)| Meter::new(n.into(), d.into()).ok())
            .unwrap_or(self.meter);
        let said = self.hear(at, meter, bar_quarters, jumped);
        if jumped {
            let changed = meter != self.meter;
            self.meter = meter;
            self.doubt = None;
            match said {
                Some(bar) => self.give(bar),
                // As if this meter had held since tick 0: the best guess.
                None if changed => self.anchor = 0,
                None => {}
            }
        } else if meter != self.meter {
            self.change(at, meter, said);
        } else {
            self.doubt(at, said);
        }
        let named = said.map(|_| self.bar_at(at));
        self.agreed = named
            .filter(|bar| said == Some(bar.start))
            .map(|bar| (word, bar));
        before != (self.meter, self.anchor)
    }

    /// The host's bar start, where it can be believed.
    fn hear(
        &mut self,
        at: Ticks,
        meter: Meter,
        bar_quarters: Option<f64>,
        jumped: bool,
    ) -> Option<Ticks> {
        let quarters = bar_quarters?;
        let said = plausible(quarters, at, meter);
        // Before the start of the song a host may well name the first bar.
        if said.is_some() || jumped || at < 0 {
            self.nonsense = None;
        } else if at - *self.nonsense.get_or_insert(at) > NONSENSE_TICKS {
            self.distrusted = true;
            if std::mem::take(&mut self.given) {
                // As if this meter had held since tick 0: the best guess.
                self.anchor = 0;
            }
        }
        said.filter(|_| !self.distrusted)
    }

    fn give(&mut self, bar: Ticks) {
        self.anchor = bar;
        self.given = true;
    }

    fn change(&mut self, at: Ticks, meter: Meter, said: Option<Ticks>) {
        let line = self.bar_at(at + NEAR_TICKS).start;
        if (at - line).abs() <= NEAR_TICKS {
            // Where the meter changes a bar begins, whatever else the host says of bars.
            self.anchor = line;
            self.given = false;
        } else if let Some(bar) = said {
            self.give(bar);
        } else if at - line < meter.bar_len() {
            self.anchor = line;
        } else {
            self.anchor = at;
        }
        self.meter = meter;
        self.doubt = None;
    }

    fn doubt(&mut self, at: Ticks, said: Option<Ticks>) {
        let Some(bar) = said else { return };
        let len = self.meter.bar_len();
        if (bar - self.anchor).rem_euclid(len) == 0 {
            self.doubt = None;
            return;
        }
        match self.doubt {
            Some((other, since)) if (bar - other).rem_euclid(len) == 0 => {
                if at - since > DOUBT_TICKS {
                    self.give(bar);
                    self.doubt = None;
                }
            }
            _ => self.doubt = Some((bar, at)),
        }
    }
}

impl Default for BarGrid {
    fn default() -> Self {
        Self::new()
    }
}

/// The host's bar start in ticks, if the position lies in such a bar.
fn plausible(quarters: f64, at: Ticks, meter: Meter) -> Option<Ticks> {
    if !quarters.is_finite() || quarters.abs() >= 1e10 {
        return None;
    }
    #[expect(clippy::cast_possible_truncation)]
    let bar = (quarters * TICKS_PER_QUARTER as f64).round() as Ticks;
    (bar..bar + meter.bar_len()).contains(&at).then_some(bar)
}

#[cfg(test)]
mod tests {
    use super::*;

    const BAR: Ticks = 3840;

    #[test]
    fn implausible_bar_starts_are_ignored() {
        let mut grid = BarGrid::new();
        // As seen in a real host: bar 4.0 at beat 0.
        grid.update(0, Some((4, 4)), Some(4.0), true);
        assert_eq!(grid.bar_at(100).start, 0);
        grid.update(0, Some((4, 4)), Some(f64::NAN), true);
        assert_eq!(grid.bar_at(BAR + 1).start, BAR);
    }

    #[test]
    fn a_meter_change_starts_at_the_bar_line_whatever_a_split_block_says() {
        let mut grid = BarGrid::new();
        grid.update(0, Some((4, 4)), Some(0.0), true);
        // 7/8 from bar 2; the split block counts 7/8 bars from 0: 3.5 quarters.
        grid.update(BAR, Some((7, 8)), Some(3.5), false);
        assert_eq!(grid.bar_at(BAR + 10).start, BAR);
        assert_eq!(grid.bar_at(BAR + 3360).start, BAR + 3360);
        // Back in 4/4, and the split blocks say 4.0 and 8.0 now and then.
        grid.update(BAR + 3360, Some((4, 4)), Some(4.0), false);
        for at in (BAR + 3360..BAR * 5).step_by(100) {
            let truth = BAR + 3360 + (at - BAR - 3360) / BAR * BAR;
            let wrong = at / BAR * BAR;
            let said = if at % 700 == 0 { truth } else { wrong };
            grid.update(at, Some((4, 4)), Some(said as f64 / 960.0), false);
            assert_eq!(grid.bar_at(at).start, truth);
        }
    }

    #[test]
    fn a_host_that_insists_is_believed() {
        let mut grid = BarGrid::new();
        grid.update(0, Some((4, 4)), Some(0.0), true);
        for at in (0..2000).step_by(50) {
            grid.update(at, Some((4, 4)), Some(-1.0), false);
        }
        assert_eq!(grid.bar_at(2000).start, -960);
    }

    /// As a real host has it: four quarters to a bar, counted from 1, whatever the meter.
    fn four_to_every_bar(at: Ticks, len: Ticks) -> f64 {
        ((at / len + 1) * 4) as f64
    }

    #[test]
    fn a_host_that_names_bars_elsewhere_is_not_believed_when_it_sounds_plausible() {
        let len = 4800;
        let mut grid = BarGrid::new();
        for at in (0..len * 8).step_by(20) {
            grid.update(at, Some((5, 4)), Some(four_to_every_bar(at, len)), at == 0);
            assert_eq!(grid.bar_at(at).start, at / len * len);
        }
        // Nor after a jump to a place where its word is plausible: bar 12.0 at quarter 13.
        grid.update(13 * 960, Some((5, 4)), Some(12.0), true);
        assert_eq!(grid.bar_at(13 * 960).start, 10 * 960);
        // One that starts there is found out in the next bar.
        let mut grid = BarGrid::new();
        for at in (13 * 960..16 * 960 + 30).step_by(20) {
            grid.update(
                at,
                Some((5, 4)),
                Some(four_to_every_bar(at, len)),
                at == 13 * 960,
            );
        }
        assert_eq!(grid.bar_at(16 * 960).start, 15 * 960);
    }

    /// As a second host has it: four quarters to a bar, counted from 0. In 4/4 that is right, after a change of
    /// meter it is not.
    #[test]
    fn a_change_of_meter_stays_where_it_was_when_the_host_is_wrong_after_it() {
        let mut grid = BarGrid::new();
        let change = 4 * BAR;
        for at in (0..change + 9 * 960).step_by(20) {
            let (meter, number) = match at - change {
                ..0 => ((4, 4), at / BAR),
                after => ((3, 4), 4 + after / 2880),
            };
            grid.update(at, Some(meter), Some((number * 4) as f64), at == 0);
            let truth = match at - change {
                ..0 => at / BAR * BAR,
                after => change + after / 2880 * 2880,
            };
            assert_eq!(grid.bar_at(at).start, truth, "at {at}");
        }
    }

    #[test]
    fn meters_that_cannot_be_played_leave_the_last_one() {
        let mut grid = BarGrid::new();
        grid.update(0, Some((7, 8)), None, true);
        grid.update(480, Some((0, 0)), None, false);
        assert_eq!(grid.bar_at(0).meter.to_string(), "7/8");
    }
}
