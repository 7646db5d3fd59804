//! One bar on a stave of its own: the hands with stems up, the feet with stems down.

use super::glyphs::{self, HALF_HEAD, THIN};
use crate::export::score::beams::{Beam, beams};
use crate::export::score::drawing::{Item, Point, line, polygon, width};
use crate::export::score::part::{Chord, Head, Voice, WrittenBar};
use crate::export::score::spell::{Event, NoteValue, says_tuplet};
use crate::export::score::stave::Look;
use crate::groove::Limb;
use crate::time::Ticks;
use std::collections::BTreeMap;

/// Where a bar is drawn.
#[derive(Debug, Clone, Copy)]
pub(super) struct Frame {
    /// Its left edge, and its lowest line.
    pub(super) at: Point,
    /// How wide it is, in millimetres.
    pub(super) width: f64,
    /// A space of the stave, in millimetres.
    pub(super) space: f64,
    /// Whether it begins with clef and meter.
    pub(super) clef: bool,
}

/// A bar that is being drawn.
struct Page {
    items: Vec<Item>,
    frame: Frame,
    /// Where each onset stands, in millimetres.
    columns: BTreeMap<Ticks, f64>,
}

/// What a bar looks like.
pub(super) fn engrave(bar: &WrittenBar, frame: Frame) -> Vec<Item> {
    let mut page = Page {
        items: Vec::new(),
        frame,
        columns: BTreeMap::new(),
    };
    let begin = page.stave(bar);
    page.columns = columns(bar, begin, frame);
    if bar.slashes {
        for count in bar.bar.meter.counts() {
            let x = page.column(count.start);
            page.items.push(glyphs::slash((x, page.y(4)), frame.space));
        }
    }
    let both = !bar.hands.chords.is_empty() && !bar.feet.chords.is_empty();
    page.voice(&bar.hands, bar, false, both);
    page.voice(&bar.feet, bar, true, both);
    if bar.is_empty() {
        let middle = frame.at.0 + frame.width / 2.0;
        let rest = glyphs::rest((middle, page.y(4)), 0, frame.space);
        page.items.extend(rest);
    }
    page.items
}

/// Where each onset stands. Time grows slower than the page, and grace notes take room of their own.
fn columns(bar: &WrittenBar, begin: f64, frame: Frame) -> BTreeMap<Ticks, f64> {
    let mut graces: BTreeMap<Ticks, usize> = BTreeMap::new();
    for voice in bar.voices() {
        for event in voice.events.iter().filter(|event| event.value.is_some()) {
            let chord = event.note.map(|note| &voice.chords[note]);
            let here = graces.entry(event.at).or_default();
            *here = (*here).max(chord.map_or(0, |chord| chord.graces.len()));
        }
    }
    if bar.slashes {
        for count in bar.bar.meter.counts() {
            graces.entry(count.start).or_default();
        }
    }
    let onsets: Vec<_> = graces.keys().copied().collect();
    let end = bar.bar.meter.bar_len();
    let mut at = 0.0;
    let mut weights = Vec::new();
    for (i, onset) in onsets.iter().enumerate() {
        let room = graces[onset] as f64 * 0.35;
        let next = onsets.get(i + 1).copied().unwrap_or(end);
        weights.push(at + room);
        at += room + ((next - onset) as f64 / 240.0).powf(0.55);
    }
    let from = begin + 1.3 * frame.space;
    let room = frame.at.0 + frame.width - from - 0.6 * frame.space;
    let place = |weight: f64| from + weight / f64::max(at, 0.001) * room;
    onsets
        .into_iter()
        .zip(weights.into_iter().map(place))
        .collect()
}

impl Page {
    /// The height of a step of the stave: 0 is the lowest line.
    fn y(&self, step: i8) -> f64 {
        self.frame.at.1 - f64::from(step) * self.frame.space / 2.0
    }

    fn column(&self, at: Ticks) -> f64 {
        self.columns.get(&at).copied().unwrap_or(self.frame.at.0)
    }

    /// Lines, clef, meter and bar line. Returns where the notes may begin.
    fn stave(&mut self, bar: &WrittenBar) -> f64 {
        let Frame {
            at,
            width: wide,
            space: s,
            clef,
        } = self.frame;
        let (left, right) = (at.0, at.0 + wide);
        for step in [0, 2, 4, 6, 8] {
            let y = self.y(step);
            self.items.push(line((left, y), (right, y), THIN * s));
        }
        let (top, bottom) = (self.y(8), self.y(0));
        self.items
            .push(line((right, top), (right, bottom), 1.5 * THIN * s));
        if !clef {
            self.items
                .push(line((left, top), (left, bottom), 1.5 * THIN * s));
            return left;
        }
        self.items.extend(glyphs::clef((left + 0.6 * s, bottom), s));
        let meter = bar.bar.meter.to_string();
        let (above, below) = meter.split_once('/').unwrap_or((&meter, ""));
        let size = 2.7 * s;
        let widest = width(above, size).max(width(below, size));
        for (text, base) in [(above, bottom - 2.05 * s), (below, bottom - 0.05 * s)] {
            let x = left + 2.6 * s + (widest - width(text, size)) / 2.0;
            self.items
                .push(Item::Text((x, base), size, text.to_owned()));
        }
        left + 2.6 * s + widest
    }

    fn voice(&mut self, voice: &Voice, bar: &WrittenBar, down: bool, both: bool) {
        let all = beams(&voice.events, bar.bar.meter);
        let mut i = 0;
        while i < voice.events.len() {
            // A group under one beam, or a single event.
            let begins = all[i].first() == Some(&Beam::Begins);
            let end = if begins {
                let last = all[i..]
                    .iter()
                    .position(|beams| beams.first() == Some(&Beam::Ends));
                i + last.unwrap_or(0) + 1
            } else {
                i + 1
            };
            self.group(voice, i..end, &all, down, both);
            i = end;
        }
        self.tuplets(voice, &bar.hands, down);
    }

    /// The end of the stems of a group.
    fn stem_end(&self, voice: &Voice, events: &[Event], down: bool) -> f64 {
        let s = self.frame.space;
        let chords = events
            .iter()
            .filter_map(|event| event.note.map(|note| &voice.chords[note]));
        let steps = chords.flat_map(|chord| chord.heads.iter().copied().map(step));
        let flags = events
            .iter()
            .filter_map(|event| event.value.map(NoteValue::flags))
            .max();
        let more = f64::from(flags.unwrap_or(0).saturating_sub(1)) * 0.4;
        if down {
            self.y(steps.min().unwrap_or(0)) + (2.7 + more) * s
        } else {
            self.y(steps.max().unwrap_or(8)) - (2.7 + more) * s
        }
    }

    fn group(
        &mut self,
        voice: &Voice,
        range: std::ops::Range<usize>,
        all: &[Vec<Beam>],
        down: bool,
        both: bool,
    ) {
        let s = self.frame.space;
        let events = &voice.events[range.clone()];
        let end = self.stem_end(voice, events, down);
        let way = if down { 1.0 } else { -1.0 };
        let beamed = events.len() > 1;
        for event in events {
            let Some(value) = event.value else {
                continue;
            };
            let x = self.column(event.at);
            let Some(chord) = event.note.map(|note| &voice.chords[note]) else {
                let step = match (both, down) {
                    (false, _) => 4,
                    (true, false) => 6,
                    (true, true) => 1,
                };
                self.items
                    .extend(glyphs::rest((x, self.y(step)), value.halvings, s));
                if value.dotted {
                    self.dot(x, step + 1);
                }
                continue;
            };
            self.heads(chord, x, value.halvings < 2, value.dotted);
            self.graces(chord, x);
            self.signs(chord, x, end, down);
            if value.halvings > 0 {
                let near = chord.heads.iter().copied().map(step);
                let near = if down { near.max() } else { near.min() }.unwrap_or(0);
                let stem = self.stem(x, down);
                self.items
                    .push(line((stem, self.y(near)), (stem, end), THIN * s));
                if chord.roll {
                    let y = f64::midpoint(self.y(near), end) + way * 0.2 * s;
                    let half = 0.6 * s;
                    self.items.push(polygon(&[
                        (stem - half, y + 0.45 * s),
                        (stem + half, y),
                        (stem + half, y - 0.4 * s),
                        (stem - half, y + 0.05 * s),
                    ]));
                }
                if !beamed {
                    self.items
                        .extend(glyphs::flags((stem, end), value.flags(), way, s));
                }
            }
        }
        self.beams(events, &all[range], end, down);
    }

    fn stem(&self, x: f64, down: bool) -> f64 {
        let half = (HALF_HEAD - THIN / 2.0) * self.frame.space;
        if down { x - half } else { x + half }
    }

    fn beams(&mut self, events: &[Event], all: &[Vec<Beam>], end: f64, down: bool) {
        let s = self.frame.space;
        let way = if down { 1.0 } else { -1.0 };
        let levels = all.iter().map(Vec::len).max().unwrap_or(0);
        for level in 0..levels {
            let y = end - way * level as f64 * 0.8 * s;
            let mut beam = |from: f64, to: f64| {
                let (a, b) = (y, y - way * 0.45 * s);
                let half = THIN / 2.0 * s;
                self.items.push(polygon(&[
                    (from - half, a),
                    (to + half, a),
                    (to + half, b),
                    (from - half, b),
                ]));
            };
            let mut begun = None;
            for (event, beams) in events.iter().zip(all) {
                let column = self.columns.get(&event.at).copied().unwrap_or(0.0);
                let half = (HALF_HEAD - THIN / 2.0) * s;
                let x = if down { column - half } else { column + half };
                match beams.get(level) {
                    Some(Beam::Begins) => begun = Some(x),
                    Some(Beam::Ends) => beam(begun.take().unwrap_or(x), x),
                    Some(Beam::Forward) => beam(x, x + 0.9 * s),
                    Some(Beam::Backward) => beam(x - 0.9 * s, x),
                    Some(Beam::GoesOn) | None => {}
                }
            }
        }
    }

    fn heads(&mut self, chord: &Chord, x: f64, open: bool, dotted: bool) {
        let s = self.frame.space;
        let mut last: Option<(i8, bool)> = None;
        let mut heads = chord.heads.clone();
        heads.sort_by_key(|head| step(*head));
        for head in &heads {
            let look = Look::of(head.piece, head.by_foot);
            // Neighbours stand side by side.
            let beside = last.is_some_and(|(step, beside)| look.step - step == 1 && !beside);
            last = Some((look.step, beside));
            let x = if beside { x + 2.0 * HALF_HEAD * s } else { x };
            let at = (x, self.y(look.step));
            self.items.extend(glyphs::head(at, look.shape, open, s));
            if head.ghost {
                self.items.extend(glyphs::brackets(at, s));
            }
            if dotted {
                self.dot(x, look.step);
            }
            self.ledger(x, look.step, s);
        }
    }

    fn ledger(&mut self, x: f64, step: i8, s: f64) {
        let mut at = 10;
        while at <= step {
            let y = self.y(at);
            self.items
                .push(line((x - 0.95 * s, y), (x + 0.95 * s, y), THIN * s));
            at += 2;
        }
    }

    fn dot(&mut self, x: f64, step: i8) {
        let s = self.frame.space;
        let step = if step % 2 == 0 { step + 1 } else { step };
        let at = (x + 1.15 * s, self.y(step));
        let dot = crate::export::score::drawing::ellipse(at, (0.2 * s, 0.2 * s), 0.0);
        self.items.push(Item::Fill(dot));
    }

    /// Small notes before the chord, with a stroke through the stem where there is one alone.
    fn graces(&mut self, chord: &Chord, x: f64) {
        let small = 0.62 * self.frame.space;
        let many = chord.graces.len();
        let mut stems = Vec::new();
        for (i, grace) in chord.graces.iter().enumerate() {
            let look = Look::of(grace.piece, grace.by_foot);
            let x = x - (many - i) as f64 * 2.3 * small - 0.2 * small;
            let at = (x, self.y(look.step));
            self.items
                .extend(glyphs::head(at, look.shape, false, small));
            if grace.ghost {
                self.items.extend(glyphs::brackets(at, small));
            }
            stems.push((x + HALF_HEAD * small, at.1));
        }
        let top = stems.iter().map(|(_, y)| *y).fold(f64::MAX, f64::min) - 2.6 * small;
        for (x, y) in &stems {
            self.items.push(line((*x, *y), (*x, top), THIN * small));
        }
        if let [(x, _)] = stems[..] {
            self.items.extend(glyphs::flags((x, top), 1, -1.0, small));
            let (a, b) = (
                (x - 0.6 * small, top + 1.7 * small),
                (x + 0.9 * small, top + 0.6 * small),
            );
            self.items.push(line(a, b, THIN * small));
        } else if let (Some((from, _)), Some((to, _))) = (stems.first(), stems.last()) {
            for y in [top, top + 0.7 * small] {
                let corners = [
                    (*from, y),
                    (*to, y),
                    (*to, y + 0.4 * small),
                    (*from, y + 0.4 * small),
                ];
                self.items.push(polygon(&corners));
            }
        }
    }

    /// Accent, circle, sticking.
    fn signs(&mut self, chord: &Chord, x: f64, end: f64, down: bool) {
        let s = self.frame.space;
        let way = if down { 1.0 } else { -1.0 };
        let mut y = end + way * 0.75 * s;
        if is_open(chord) {
            self.items.push(glyphs::circle((x, y), s));
            y += way * 0.9 * s;
        }
        if chord.closes {
            self.items.extend(glyphs::plus((x, y), s));
            y += way * 0.9 * s;
        }
        if chord.accent {
            self.items.extend(glyphs::accent((x, y), s));
        }
        let is = |limb| chord.heads.iter().any(|head| head.limb == Some(limb));
        let letter = match (is(Limb::LeadHand), is(Limb::OtherHand)) {
            (true, true) => "B",
            (true, false) => "R",
            (false, true) => "L",
            (false, false) => return,
        };
        let letter = letter.repeat(1 + usize::from(chord.roll));
        let (x, size) = (x - width(&letter, 1.4 * s) / 2.0, 1.4 * s);
        self.items
            .push(Item::Text((x, self.y(0) + 4.7 * s), size, letter));
    }

    /// The numbers of tuplets, but for those that the other voice says already.
    fn tuplets(&mut self, voice: &Voice, said: &Voice, down: bool) {
        let s = self.frame.space;
        let mut first = None;
        for (i, event) in voice.events.iter().enumerate() {
            let Some(tuplet) = event.tuplet else {
                continue;
            };
            if tuplet.begins {
                first = Some(i);
            }
            let Some(begun) = first.filter(|_| tuplet.ends) else {
                continue;
            };
            let events = &voice.events[begun..=i];
            if down && says_tuplet(&said.events, &events[0]) {
                continue;
            }
            let signs = events
                .iter()
                .filter_map(|event| event.note.map(|note| &voice.chords[note]));
            let has_signs = signs
                .clone()
                .any(|chord| chord.accent || chord.closes || is_open(chord));
            let mut end = self.stem_end(voice, events, down);
            end -= if has_signs && !down { s } else { 0.0 };
            let way = if down { 1.0 } else { -1.0 };
            let size = 1.7 * s;
            let text = tuplet.actual.to_string();
            let (from, to) = (self.column(events[0].at), self.column(event.at));
            let middle = f64::midpoint(from, to) + if down { -0.5 } else { 0.5 } * s;
            let base = end + way * 0.55 * s + if down { 0.7 * size } else { 0.0 };
            let x = middle - width(&text, size) / 2.0;
            self.items.push(Item::Text((x, base), size, text));
        }
    }
}

fn step(head: Head) -> i8 {
    Look::of(head.piece, head.by_foot).step
}

/// Whether one of its heads is an open hi-hat.
fn is_open(chord: &Chord) -> bool {
    let mut heads = chord.heads.iter();
    heads.any(|head| Look::of(head.piece, head.by_foot).open)
}
