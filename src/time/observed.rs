//! What was seen of a host's tempi and meters while it played. A host tells them of the present place
//! alone, so the map of the song grows as the song is played.
//!
//! Pure and off the audio thread: that one says over what it passed (a [`Stretch`] at a time), and the
//! map is made of what it said.

use super::spans::Spans;
use super::{Bar, Meter, TempoMap, Ticks, tempo};
use serde::{Deserialize, Serialize};

/// Most changes of tempo, and most of meter, that are kept; what comes beyond is not taken. A ramp of
/// tempo takes four a quarter note at most, so that these are the ramps of 256 bars of 4/4.
pub const MAX_CHANGES: usize = 4096;
/// The version of the saved form.
pub const SCHEMA: u32 = 1;
/// Tempi that differ by less than this share are one: hosts work theirs out anew from block to block.
/// Half of what a MIDI file can say at 120 BPM (a microsecond in half a second).
const SAME_TEMPO: f64 = 1e-6;
/// Ticks beyond are no place in a song: at 1,000 BPM, two years on. Judged.
const FARTHEST: Ticks = 1 << 40;

/// Whether two tempi, in quarter notes a minute, are one but for a host's rounding.
pub fn same_tempo(a: f64, b: f64) -> bool {
    a == b || (a - b).abs() <= a * SAME_TEMPO
}

/// A run of the playhead over the timeline at one tempo, in one row of bars.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// The first tick.
    pub from: Ticks,
    /// The first tick after it.
    pub to: Ticks,
    /// Quarter notes a minute.
    pub bpm: f64,
    /// Some bar of the row.
    pub bar: Bar,
}

impl Stretch {
    /// The first bar line of the row at or after a tick.
    fn line(&self, tick: Ticks) -> Ticks {
        next_line(self.bar.start, self.bar.meter, tick)
    }
}

/// The first bar line at or after a tick in a row of bars of which one begins at `line`.
fn next_line(line: Ticks, meter: Meter, tick: Ticks) -> Ticks {
    tick + (line - tick).rem_euclid(meter.bar_len())
}

/// A value that lasts from a tick on until another one comes.
trait Lasting: Copy {
    /// Whether this value, in force since a tick, is what another would bring at a later tick.
    fn goes_on(self, since: Ticks, other: Self, at: Ticks) -> bool;
    /// Where, at a tick or after it, this value can begin once more.
    fn resumes(self, since: Ticks, at: Ticks) -> Ticks;
}

impl Lasting for f64 {
    fn goes_on(self, _since: Ticks, other: Self, _at: Ticks) -> bool {
        same_tempo(self, other)
    }

    fn resumes(self, _since: Ticks, at: Ticks) -> Ticks {
        at
    }
}

impl Lasting for Meter {
    fn goes_on(self, since: Ticks, other: Self, at: Ticks) -> bool {
        self == other && next_line(since, self, at) == at
    }

    fn resumes(self, since: Ticks, at: Ticks) -> Ticks {
        next_line(since, self, at)
    }
}

/// The changes of one value, and where it was seen.
#[derive(Debug, Clone, PartialEq)]
struct Observed<T> {
    /// In order, the first at tick 0. Between places that were seen, the value of the earlier one lasts;
    /// before the first one, its own.
    changes: Vec<(Ticks, T)>,
    known: Spans,
}

impl<T: Lasting> Observed<T> {
    fn new(value: T) -> Self {
        Self {
            changes: vec![(0, value)],
            known: Spans::default(),
        }
    }

    /// The change that is in force at a tick, and where it began.
    fn in_force(&self, tick: Ticks) -> (Ticks, T) {
        let after = self.changes.partition_point(|change| change.0 <= tick);
        self.changes[after.saturating_sub(1)]
    }

    /// From `from` up to `to` this value was seen; what was seen after it stays. False, and nothing has
    /// changed, where there is no room.
    fn see(&mut self, from: Ticks, to: Ticks, value: T) -> bool {
        if from >= to {
            return true;
        }
        let is_first = self
            .known
            .as_slice()
            .first()
            .is_none_or(|span| from <= span.0);
        let resumes = self.resumes_after(to);
        let first = if is_first { 0 } else { from };
        let first = self.changes.partition_point(|change| change.0 < first);
        let end = self.changes.partition_point(|change| change.0 < to);
        if self.changes.len() + first + 3 > MAX_CHANGES + end {
            return false;
        }
        let new = [
            is_first.then_some((0, value)),
            (!is_first || from > 0).then_some((from, value)),
            resumes,
        ];
        self.changes.splice(first..end, new.into_iter().flatten());
        // What goes on needs no change.
        self.changes
            .dedup_by(|later, earlier| earlier.1.goes_on(earlier.0, later.1, later.0));
        self.known.add(from, to);
        true
    }

    /// The change that brings what was seen after a tick back, unless it has one of its own.
    fn resumes_after(&self, tick: Ticks) -> Option<(Ticks, T)> {
        let (start, end) = self.known.at_or_after(tick)?;
        let start = start.max(tick);
        let (since, value) = self.in_force(start);
        let at = value.resumes(since, start);
        let has_own = self.changes.iter().any(|c| (tick..=at).contains(&c.0));
        (at < end && !has_own).then_some((at, value))
    }
}

/// A host's tempi and meters as far as they were seen, by position in the song. Places before the start
/// of the song have those of the start. Any thread but the audio thread: grows by allocating.
#[derive(Debug, Clone, PartialEq)]
pub struct ObservedTempoMap {
    tempi: Observed<f64>,
    meters: Observed<Meter>,
}

impl Default for ObservedTempoMap {
    /// Nothing was seen: 120 quarter notes a minute in 4/4.
    fn default() -> Self {
        Self {
            tempi: Observed::new(tempo::DEFAULT_BPM),
            meters: Observed::new(Meter::FOUR_FOUR),
        }
    }
}

impl ObservedTempoMap {
    /// Takes up what was passed over; it replaces what was seen there before, a meter for whole bars.
    /// False where there is no room for its changes, which are then left out.
    pub fn pass(&mut self, stretch: &Stretch) -> bool {
        let (from, to) = (stretch.from.max(0), stretch.to);
        if from >= to || to > FARTHEST {
            return true;
        }
        let whole = stretch.bar.meter.bar_len();
        // The bar that the stretch begins in; where that began before the song, the next one.
        let mut line = stretch.line(from + 1) - whole;
        if line < 0 {
            line += whole;
        }
        let bpm = tempo::sane_bpm(Some(stretch.bpm), tempo::DEFAULT_BPM);
        let tempo = self.tempi.see(from, to, bpm);
        self.meters.see(line, stretch.line(to), stretch.bar.meter) && tempo
    }

    /// Whether nothing was seen.
    pub fn is_empty(&self) -> bool {
        self.tempi.known.as_slice().is_empty()
    }

    /// The meters in order, each from the bar line at this tick on; the first at tick 0. Where bars are
    /// counted anew from a line of their own, the same meter stands twice in a row.
    pub fn meters(&self) -> &[(Ticks, Meter)] {
        &self.meters.changes
    }

    /// The tempi.
    pub fn tempo(&self) -> TempoMap {
        let mut map = TempoMap::constant(self.tempi.changes[0].1);
        for &(at, bpm) in &self.tempi.changes[1..] {
            map.change(at, bpm);
        }
        map
    }

    /// The bar that a tick falls in. Before a change of meter it may be cut short.
    pub fn bar_at(&self, tick: Ticks) -> Bar {
        let (line, meter) = self.meters.in_force(tick);
        let bar_len = meter.bar_len();
        Bar {
            start: line + (tick - line).div_euclid(bar_len) * bar_len,
            meter,
        }
    }

    /// The first bar line after a tick.
    pub fn line_after(&self, tick: Ticks) -> Ticks {
        let after = self.meters().partition_point(|change| change.0 <= tick);
        let change = self.meters().get(after).map_or(Ticks::MAX, |c| c.0);
        self.bar_at(tick).end().min(change)
    }

    /// The number of the bar that a tick falls in: 1 begins at tick 0, the bar before it is 0.
    pub fn bar_number(&self, tick: Ticks) -> i64 {
        let mut number = 1;
        for (i, &(line, meter)) in self.meters().iter().enumerate() {
            match self.meters().get(i + 1) {
                Some(next) if next.0 <= tick => {
                    number += (next.0 - line + meter.bar_len() - 1) / meter.bar_len();
                }
                _ => return number + (tick - line).div_euclid(meter.bar_len()),
            }
        }
        number
    }

    /// The map in its saved form.
    pub fn save(&self) -> ObservedData {
        let text = |&(at, meter): &(Ticks, Meter)| (at, meter.to_string());
        ObservedData {
            schema: SCHEMA,
            tempi: self.tempi.changes.clone(),
            meters: self.meters.changes.iter().map(text).collect(),
            tempi_known: self.tempi.known.as_slice().to_vec(),
            meters_known: self.meters.known.as_slice().to_vec(),
        }
    }

    /// Reads a saved map.
    ///
    /// # Errors
    /// [`ObservedError`] says what is wrong with it.
    pub fn load(saved: &ObservedData) -> Result<Self, ObservedError> {
        if saved.schema == 0 || saved.schema > SCHEMA {
            return Err(ObservedError::Schema(saved.schema));
        }
        let meter = |(at, text): &(Ticks, String)| {
            let meter = text.parse().map_err(|_| ObservedError::Damaged)?;
            Ok((*at, meter))
        };
        let meters = saved.meters.iter().map(meter).collect::<Result<_, _>>()?;
        let accepted = tempo::MIN_BPM..=tempo::MAX_BPM;
        if !saved.tempi.iter().all(|(_, bpm)| accepted.contains(bpm)) {
            return Err(ObservedError::Damaged);
        }
        Ok(Self {
            tempi: lane(saved.tempi.clone(), &saved.tempi_known)?,
            meters: lane(meters, &saved.meters_known)?,
        })
    }
}

fn lane<T>(
    changes: Vec<(Ticks, T)>,
    known: &[(Ticks, Ticks)],
) -> Result<Observed<T>, ObservedError> {
    let in_order = changes.windows(2).all(|pair| pair[0].0 < pair[1].0);
    let starts = changes.first().is_some_and(|change| change.0 == 0);
    let near = changes.last().is_some_and(|change| change.0 <= FARTHEST);
    if !(in_order && starts && near) || changes.len() > MAX_CHANGES {
        return Err(ObservedError::Damaged);
    }
    let mut spans = Spans::default();
    for &(from, to) in known {
        // A last bar may end a little beyond.
        if from < 0 || from >= to || to > FARTHEST * 2 {
            return Err(ObservedError::Damaged);
        }
        spans.add(from, to);
    }
    Ok(Observed {
        changes,
        known: spans,
    })
}

/// The saved form: plain numbers and texts, so that it can be read by anyone. Positions in ticks, 960 a
/// quarter note.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ObservedData {
    /// The version of this form.
    pub schema: u32,
    /// Quarter notes a minute, from this tick on.
    pub tempi: Vec<(Ticks, f64)>,
    /// Meters ("7/8"), from the bar line at this tick on.
    pub meters: Vec<(Ticks, String)>,
    /// Where tempi were seen: from a tick up to another.
    #[serde(default)]
    pub tempi_known: Vec<(Ticks, Ticks)>,
    /// Where meters were seen.
    #[serde(default)]
    pub meters_known: Vec<(Ticks, Ticks)>,
}

impl Default for ObservedData {
    fn default() -> Self {
        ObservedTempoMap::default().save()
    }
}

/// A saved map that can't be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ObservedError {
    /// From a later version.
    #[error("the host's tempi as saved are of version {0}: open the project with a newer Fourlimb")]
    Schema(u32),
    /// Numbers that make no map.
    #[error(
        "the host's tempi as saved are damaged: play the song once more, and they are known again"
    )]
    Damaged,
}
