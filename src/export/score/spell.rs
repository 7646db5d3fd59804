//! Spells the rhythm of one voice of a bar as people read it: values, rests and tuplets, count by count.
//!
//! A stroke has no length. Its note lasts until the next stroke of its voice, but not beyond its count, so that every
//! count is seen on the page and rests are few. In a count, the spelling with the fewest signs is taken: plain values,
//! a triplet or sextuplet over the whole count, four in the place of three, or halves and thirds each for themselves.
//! Common practice, no source.

use crate::time::{Count, Meter, TICKS_PER_QUARTER, Ticks};

/// The shortest value that is written, in ticks: a 256th.
const SHORTEST: Ticks = TICKS_PER_QUARTER / 64;

/// A note value: a whole note halved so many times, with a dot or without.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct NoteValue {
    /// 0 for a whole note, 1 for a half, 2 for a quarter and so on, up to 8.
    pub(super) halvings: u8,
    /// Whether it has a dot.
    pub(super) dotted: bool,
}

impl NoteValue {
    /// The value of a length in ticks, where one value has it.
    pub(super) fn of(ticks: Ticks) -> Option<Self> {
        let whole = 4 * TICKS_PER_QUARTER;
        (0..=8).find_map(|halvings| {
            let plain = whole >> halvings;
            let dotted = match ticks {
                _ if ticks == plain => false,
                _ if 2 * ticks == 3 * plain => true,
                _ => return None,
            };
            Some(Self { halvings, dotted })
        })
    }

    /// How many beams or flags it has.
    pub(super) fn flags(self) -> u8 {
        self.halvings.saturating_sub(2)
    }
}

/// So many notes in the time of so many.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Tuplet {
    /// How many are written.
    pub(super) actual: u8,
    /// In the time of how many.
    pub(super) normal: u8,
    /// Whether it begins here.
    pub(super) begins: bool,
    /// Whether it ends here.
    pub(super) ends: bool,
}

/// A note or a rest of a voice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Event {
    /// Where it begins, in ticks from the start of the bar.
    pub(super) at: Ticks,
    /// How long it lasts, in ticks.
    pub(super) length: Ticks,
    /// Its value; `None` for the rest of a whole bar.
    pub(super) value: Option<NoteValue>,
    /// Which stroke it is, by its place among the onsets; `None` for a rest.
    pub(super) note: Option<usize>,
    /// The tuplet that it is part of.
    pub(super) tuplet: Option<Tuplet>,
}

/// Whether the events of another voice have the number of the tuplet that an event is part of, where it stands.
pub(super) fn says_tuplet(others: &[Event], event: &Event) -> bool {
    let kind = |event: &Event| event.tuplet.map(|tuplet| (tuplet.actual, tuplet.normal));
    let over = |other: &Event| (other.at..other.at + other.length).contains(&event.at);
    let same = |other: &Event| kind(other).is_some() && kind(other) == kind(event);
    others.iter().any(|other| over(other) && same(other))
}

/// Spells the onsets of a voice, in ticks from the start of the bar, ascending, and each in its place. `rings`: the last
/// one lasts to the end of the bar where a value has that length.
pub(super) fn spell(meter: Meter, onsets: &[Ticks], rings: bool) -> Vec<Event> {
    let counts = meter.counts();
    let mut events: Vec<Event> = Vec::new();
    if let Some(last) = onsets.len().checked_sub(1)
        && rings
        && let Some(value) = NoteValue::of(meter.bar_len() - onsets[last])
        && counts.iter().any(|count| count.start == onsets[last])
    {
        events = spell(meter, &onsets[..last], false);
        events.retain(|event| event.at < onsets[last] && event.value.is_some());
        if events.is_empty() && onsets[last] > 0 {
            events = rests(&counts, onsets[last]);
        }
        events.push(Event {
            at: onsets[last],
            length: meter.bar_len() - onsets[last],
            value: Some(value),
            note: Some(last),
            tuplet: None,
        });
        return events;
    }
    if onsets.is_empty() {
        return vec![rest(0, meter.bar_len(), None)];
    }
    let mut empty: Vec<Count> = Vec::new();
    for count in counts {
        let from = onsets.partition_point(|at| *at < count.start);
        let to = onsets.partition_point(|at| *at < count.start + count.len);
        if from == to {
            empty.push(count);
            continue;
        }
        events.extend(rests_of(&empty, meter));
        empty.clear();
        let window = Window {
            start: count.start,
            length: count.len,
            first: from,
            onsets: &onsets[from..to],
        };
        // What no spelling has is cut to the shortest value; `place` keeps such onsets away.
        let spelt = window.spell().unwrap_or_else(|| window.cut());
        events.extend(spelt.events);
    }
    events.extend(rests_of(&empty, meter));
    events
}

fn rest(at: Ticks, length: Ticks, value: Option<NoteValue>) -> Event {
    Event {
        at,
        length,
        value,
        note: None,
        tuplet: None,
    }
}

/// Rests from the start of the bar up to a count.
fn rests(counts: &[Count], until: Ticks) -> Vec<Event> {
    let before: Vec<_> = counts.iter().copied().filter(|c| c.start < until).collect();
    before.iter().flat_map(rest_of_count).collect()
}

fn rest_of_count(count: &Count) -> Vec<Event> {
    match NoteValue::of(count.len) {
        value @ Some(_) => vec![rest(count.start, count.len, value)],
        // Five sixteenths and the like are no value; no meter has such a count.
        None => vec![rest(count.start, count.len, None)],
    }
}

/// The rests of empty counts in a row. In a bar of four or eight counts, a pair of them that a drummer counts as one half
/// has one rest.
fn rests_of(empty: &[Count], meter: Meter) -> Vec<Event> {
    let counts = meter.counts();
    let pairs = counts.len() % 4 == 0;
    let mut events = Vec::new();
    let mut i = 0;
    while i < empty.len() {
        let count = empty[i];
        let even = counts
            .iter()
            .position(|c| c.start == count.start)
            .is_some_and(|n| n % 2 == 0);
        let next = empty.get(i + 1).filter(|next| next.len == count.len);
        let both = NoteValue::of(2 * count.len);
        if pairs && even && next.is_some() && both.is_some() {
            events.push(rest(count.start, 2 * count.len, both));
            i += 2;
        } else {
            events.extend(rest_of_count(&count));
            i += 1;
        }
    }
    events
}

/// A stretch of a bar with strokes in it.
#[derive(Clone, Copy)]
struct Window<'a> {
    start: Ticks,
    length: Ticks,
    /// The place of the first onset among those of the bar.
    first: usize,
    onsets: &'a [Ticks],
}

/// Events, and how hard they are to read.
struct Spelt {
    events: Vec<Event>,
    cost: f32,
}

/// What a dot costs, in signs.
const DOT: f32 = 0.4;
/// What the bracket of a tuplet costs, in signs.
const BRACKET: f32 = 0.8;
/// What a value shorter than a thirty-second costs beyond its sign.
const FINE: f32 = 1.0;

impl Window<'_> {
    /// The cheapest spelling; `None` where there is none.
    fn spell(&self) -> Option<Spelt> {
        let threes = is_of_threes(self.length);
        let tuplet = if threes { (4, 3) } else { (3, 2) };
        let whole = [(1, 1), tuplet].map(|ratio| self.in_values(ratio));
        let parts = self.in_parts(if threes { 3 } else { 2 });
        let ways = whole.into_iter().chain([parts]).flatten();
        // Of equals the first.
        ways.reduce(|best, way| if way.cost < best.cost { way } else { best })
    }

    /// Values of one kind throughout: plain, or those of a tuplet.
    fn in_values(&self, (actual, normal): (Ticks, Ticks)) -> Option<Spelt> {
        let written = self.length * actual / normal;
        let mut onsets = Vec::with_capacity(self.onsets.len());
        for at in self.onsets {
            let scaled = (at - self.start) * actual;
            if scaled % normal != 0 || scaled / normal % SHORTEST != 0 {
                return None;
            }
            onsets.push(scaled / normal);
        }
        let mut laid = Vec::new();
        lay(0, written, &onsets, &mut laid)?;
        merge(&mut laid);
        let count = laid.len();
        let step = onsets
            .iter()
            .fold(written / if actual == 3 { 3 } else { 4 }, |step, at| {
                gcd(step, *at)
            });
        let numbers = numbers(actual, written, step);
        let mut cost = if actual == normal { 0.0 } else { BRACKET };
        let mut events = Vec::with_capacity(count);
        for (i, (at, length, note)) in laid.into_iter().enumerate() {
            let value = NoteValue::of(length)?;
            cost += 1.0;
            cost += if value.dotted { DOT } else { 0.0 };
            cost += if value.halvings > 5 { FINE } else { 0.0 };
            events.push(Event {
                at: self.start + at * normal / actual,
                length: length * normal / actual,
                value: Some(value),
                note: note.map(|note| self.first + note),
                tuplet: (actual != normal).then_some(Tuplet {
                    actual: numbers.0,
                    normal: numbers.1,
                    begins: i == 0,
                    ends: i + 1 == count,
                }),
            });
        }
        Some(Spelt { events, cost })
    }

    /// Halves or thirds, each for itself.
    fn in_parts(&self, parts: Ticks) -> Option<Spelt> {
        let length = self.length / parts;
        if length < TICKS_PER_QUARTER / 4 {
            return None;
        }
        let mut all = Spelt {
            events: Vec::new(),
            cost: 0.0,
        };
        for start in (0..parts).map(|part| self.start + part * length) {
            let from = self.onsets.partition_point(|at| *at < start);
            let to = self.onsets.partition_point(|at| *at < start + length);
            if from == to {
                all.cost += 1.0;
                all.events.push(rest(start, length, NoteValue::of(length)));
                continue;
            }
            let part = Window {
                start,
                length,
                first: self.first + from,
                onsets: &self.onsets[from..to],
            };
            let spelt = part.spell()?;
            all.cost += spelt.cost;
            all.events.extend(spelt.events);
        }
        Some(all)
    }

    /// Every onset on the nearest of the shortest values, for what has no spelling.
    fn cut(&self) -> Spelt {
        let mut events = Vec::new();
        for (i, at) in self.onsets.iter().enumerate() {
            let next = self
                .onsets
                .get(i + 1)
                .copied()
                .unwrap_or(self.start + self.length);
            events.push(Event {
                at: *at,
                length: next - at,
                value: NoteValue::of(next - at),
                note: Some(self.first + i),
                tuplet: None,
            });
        }
        Spelt { events, cost: 0.0 }
    }
}

/// The numbers of a tuplet whose strokes lie on multiples of a step: 3 in the time of 2, or 6 of 4 where its strokes are
/// twice as close, and so on.
fn numbers(actual: Ticks, written: Ticks, step: Ticks) -> (u8, u8) {
    let (mut notes, mut normal) = if actual == 3 { (3, 2) } else { (4, 3) };
    while written / Ticks::from(notes) > step && notes < 24 {
        notes *= 2;
        normal *= 2;
    }
    (notes, normal)
}

/// Whether a length is made of three parts: a dotted value.
pub(super) fn is_of_threes(length: Ticks) -> bool {
    length % 3 == 0 && NoteValue::of(length).is_some_and(|value| value.dotted)
}

fn gcd(a: Ticks, b: Ticks) -> Ticks {
    if b == 0 { a } else { gcd(b, a % b) }
}

/// A note or a rest in written ticks: where, how long, which onset.
type Laid = (Ticks, Ticks, Option<usize>);

/// Lays onsets into a stretch: halves, thirds where it is of threes, until each part has one stroke at its start, or
/// none. `None` where an onset has no place.
fn lay(from: Ticks, length: Ticks, onsets: &[Ticks], laid: &mut Vec<Laid>) -> Option<()> {
    let first = onsets.partition_point(|at| *at < from);
    let after = onsets.partition_point(|at| *at < from + length);
    let has_value = NoteValue::of(length).is_some();
    let alone = after == first + 1 && onsets[first] == from;
    if has_value && (first == after || alone) {
        laid.push((from, length, alone.then_some(first)));
        return Some(());
    }
    let parts = if is_of_threes(length) { 3 } else { 2 };
    if length / parts < SHORTEST {
        return None;
    }
    let part = length / parts;
    (0..parts).try_for_each(|i| lay(from + i * part, part, onsets, laid))
}

/// Lets notes last over the rests that follow, and two rests at the start be one, where one value has the length.
fn merge(laid: &mut Vec<Laid>) {
    let mut merged: Vec<Laid> = Vec::with_capacity(laid.len());
    for (at, length, note) in laid.drain(..) {
        let opens = merged.len() == 1;
        match merged.last_mut() {
            Some(last)
                if note.is_none()
                    && (last.2.is_some() || (opens && last.1 == length))
                    && NoteValue::of(last.1 + length).is_some() =>
            {
                last.1 += length;
            }
            _ => merged.push((at, length, note)),
        }
    }
    *laid = merged;
}

#[cfg(test)]
mod tests;
