//! Time signatures: where the counts of a bar are, and which of them are strong.

use super::{TICKS_PER_QUARTER, Ticks};
use arrayvec::ArrayVec;
use std::fmt;
use std::str::FromStr;

/// The largest numerator that we accept. No source: longer bars are written as several.
pub const MAX_NUMERATOR: u8 = 32;

/// A time signature, n/d with n from 1 to 32 and d one of 2, 4, 8, 16.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Meter {
    numerator: u8,
    denominator: u8,
}

/// A time signature that we can't play.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum MeterError {
    /// n or d is outside what we accept.
    #[error(
        "a meter of {0}/{1} can't be played: use n/d with n from 1 to 32 and d one of 2, 4, 8, 16"
    )]
    OutOfRange(i64, i64),
    /// The text is not of the form n/d.
    #[error("\"{0}\" is not a meter: write it as n/d, for example 4/4 or 7/8")]
    NotAMeter(String),
}

/// A felt pulse of the bar: a quarter in n/4, a dotted quarter in 6/8, a group of two or three
/// eighths in 7/8.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Count {
    /// Where it begins, in ticks from the start of the bar.
    pub start: Ticks,
    /// How long it lasts, in ticks.
    pub len: Ticks,
    /// How many units it is felt in: 2 (simple) or 3 (compound, or the long group of 7/8).
    pub units: u8,
}

impl Count {
    /// One of its two or three units (an eighth, in 4/4 and in 6/8), in ticks.
    pub fn unit(self) -> Ticks {
        self.len / Ticks::from(self.units)
    }
}

/// A pulse that a beat hangs its kicks and backbeats on: a count, or the last unit of a long one.
/// `start` is in ticks from the start of the bar, like that of a [`Count`].
pub type Pulse = Count;

/// One bar on the timeline.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bar {
    /// Its first tick.
    pub start: Ticks,
    /// Its meter.
    pub meter: Meter,
}

impl Bar {
    /// The first tick after it.
    pub fn end(self) -> Ticks {
        self.start + self.meter.bar_len()
    }

    /// Its place in the row of bars since position 0, as if its meter had held all along, rounded
    /// to the nearest: after one odd bar the count goes on as a player's would.
    pub fn index(self) -> i64 {
        let len = self.meter.bar_len();
        (self.start + len / 2).div_euclid(len)
    }
}

/// The counts of one bar, at most one a unit of the numerator.
pub type Counts = ArrayVec<Count, { MAX_NUMERATOR as usize }>;

/// Some of the pulses of one bar.
pub type Pulses = ArrayVec<Pulse, { MAX_NUMERATOR as usize }>;

impl Meter {
    /// Common time.
    pub const FOUR_FOUR: Self = Self {
        numerator: 4,
        denominator: 4,
    };

    /// A time signature.
    ///
    /// # Errors
    /// [`MeterError::OutOfRange`] where n is not in 1..=32 or d is not 2, 4, 8 or 16.
    pub fn new(numerator: i64, denominator: i64) -> Result<Self, MeterError> {
        let out_of_range = || MeterError::OutOfRange(numerator, denominator);
        let n = u8::try_from(numerator).map_err(|_| out_of_range())?;
        let d = u8::try_from(denominator).map_err(|_| out_of_range())?;
        if (1..=MAX_NUMERATOR).contains(&n) && matches!(d, 2 | 4 | 8 | 16) {
            Ok(Self {
                numerator: n,
                denominator: d,
            })
        } else {
            Err(out_of_range())
        }
    }

    /// The upper number.
    pub fn numerator(self) -> u8 {
        self.numerator
    }

    /// The lower number: 2, 4, 8 or 16.
    pub fn denominator(self) -> u8 {
        self.denominator
    }

    /// The length of the note that the lower number names, in ticks.
    pub fn unit(self) -> Ticks {
        TICKS_PER_QUARTER * 4 / Ticks::from(self.denominator)
    }

    /// The length of a bar in ticks.
    pub fn bar_len(self) -> Ticks {
        self.unit() * Ticks::from(self.numerator)
    }

    /// The counts of a bar, in order. n/2 and n/4 count every note. In n/8 and n/16, threes where n
    /// divides by three; else twos, and an odd note makes the last count a long one (7/8 = 2+2+3).
    /// Common practice, no source.
    pub fn counts(self) -> Counts {
        let (n, unit) = (self.numerator, self.unit());
        let mut counts = Counts::new();
        let mut start = 0;
        let mut push = |notes: u8, units: u8| {
            let len = unit * Ticks::from(notes);
            counts.push(Count { start, len, units });
            start += len;
        };
        if self.denominator <= 4 {
            (0..n).for_each(|_| push(1, 2));
        } else if n.is_multiple_of(3) {
            (0..n / 3).for_each(|_| push(3, 3));
        } else if n == 1 {
            push(1, 2);
        } else if n.is_multiple_of(2) {
            (0..n / 2).for_each(|_| push(2, 2));
        } else {
            (0..n / 2 - 1).for_each(|_| push(2, 2));
            push(3, 3);
        }
        counts
    }

    /// The pulses that a kick leans on (1 and 3 of 4/4) and those of the backbeat (2 and 4).
    ///
    /// Counts go in pairs. A count left over joins the last pair, and its backbeat moves to the
    /// end of the bar, where it leads to the next 1: 3/4 has kick 1 and snare 3, 5/4 kicks 1 and 3
    /// and snares 2 and 5. A left-over long group of 7/8 is a pair of its own: kick on its first
    /// eighth, snare on its last. Common practice, no source.
    pub fn pairs(self) -> (Pulses, Pulses) {
        let counts = self.counts();
        let (mut strong, mut back) = (Pulses::new(), Pulses::new());
        for pair in counts.chunks(2) {
            match *pair {
                [first, second] => {
                    strong.push(first);
                    back.push(second);
                }
                [last] if last.units == 3 && (counts.len() == 1 || counts[0].units == 2) => {
                    strong.push(last);
                    let unit = last.unit();
                    back.push(Pulse {
                        start: last.start + 2 * unit,
                        len: unit,
                        units: 2,
                    });
                }
                [last] if counts.len() > 1 => {
                    back.pop();
                    back.push(last);
                }
                [only] => strong.push(only),
                _ => {}
            }
        }
        (strong, back)
    }

    /// The count that carries a half-time snare: 3 of 4/4 and of 3/4, 4 of 5/4, the long group of
    /// 7/8. None where the bar has a single count. Common practice, no source.
    pub fn middle(self) -> Option<Pulse> {
        let counts = self.counts();
        counts.get(counts.len().div_ceil(2)).copied()
    }
}

impl fmt::Display for Meter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.numerator, self.denominator)
    }
}

impl FromStr for Meter {
    type Err = MeterError;

    fn from_str(text: &str) -> Result<Self, MeterError> {
        let not_a_meter = || MeterError::NotAMeter(text.to_owned());
        let (n, d) = text.split_once('/').ok_or_else(not_a_meter)?;
        let number = |s: &str| s.trim().parse().map_err(|_| not_a_meter());
        Self::new(number(n)?, number(d)?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn starts(meter: &str) -> (Vec<Ticks>, Vec<Ticks>, Vec<Ticks>, Option<Ticks>) {
        let meter: Meter = meter.parse().unwrap();
        let eighths = |pulses: &[Count]| pulses.iter().map(|c| c.start / 480).collect();
        let (strong, back) = meter.pairs();
        (
            eighths(&meter.counts()),
            eighths(&strong),
            eighths(&back),
            meter.middle().map(|p| p.start / 480),
        )
    }

    #[test]
    fn counts_and_pulses_of_the_usual_meters_in_eighths() {
        // meter, counts, strong, back, middle
        let table = [
            ("4/4", vec![0, 2, 4, 6], vec![0, 4], vec![2, 6], Some(4)),
            ("3/4", vec![0, 2, 4], vec![0], vec![4], Some(4)),
            ("5/4", vec![0, 2, 4, 6, 8], vec![0, 4], vec![2, 8], Some(6)),
            ("6/8", vec![0, 3], vec![0], vec![3], Some(3)),
            ("7/8", vec![0, 2, 4], vec![0, 4], vec![2, 6], Some(4)),
            ("9/8", vec![0, 3, 6], vec![0], vec![6], Some(6)),
            ("12/8", vec![0, 3, 6, 9], vec![0, 6], vec![3, 9], Some(6)),
            ("5/8", vec![0, 2], vec![0], vec![2], Some(2)),
            ("2/2", vec![0, 4], vec![0], vec![4], Some(4)),
            ("1/4", vec![0], vec![0], vec![], None),
            ("3/8", vec![0], vec![0], vec![2], None),
        ];
        for (meter, counts, strong, back, middle) in table {
            assert_eq!(starts(meter), (counts, strong, back, middle), "{meter}");
        }
    }

    #[test]
    fn counts_fill_every_bar() {
        for n in 1..=32 {
            for d in [2, 4, 8, 16] {
                let meter = Meter::new(n, d).unwrap();
                let mut at = 0;
                for count in meter.counts() {
                    assert_eq!(count.start, at, "{meter}");
                    assert_eq!(
                        count.unit() * Ticks::from(count.units),
                        count.len,
                        "{meter}"
                    );
                    at += count.len;
                }
                assert_eq!(at, meter.bar_len(), "{meter}");
            }
        }
    }

    #[test]
    fn meters_that_cannot_be_played_are_named() {
        for (n, d) in [(0, 4), (33, 4), (4, 3), (4, 0), (-3, 8), (4, 32)] {
            let error = Meter::new(n, d).unwrap_err().to_string();
            assert!(error.contains(&format!("{n}/{d}")), "{error}");
        }
        assert!(
            "four"
                .parse::<Meter>()
                .unwrap_err()
                .to_string()
                .contains("\"four\"")
        );
    }

    #[test]
    fn bar_indices_go_on_after_an_odd_bar() {
        let four = |start| {
            Bar {
                start,
                meter: Meter::FOUR_FOUR,
            }
            .index()
        };
        assert_eq!([four(0), four(3840), four(-3840)], [0, 1, -1]);
        // Seven bars of 4/4, one of 7/8, and on in 4/4: the eighth bar back in 4/4 is number 8.
        assert_eq!(four(7 * 3840 + 3360), 8);
    }
}
