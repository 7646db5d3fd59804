//! The short chart that session drummers use: a line a section, with its name, its bars, its beat and one bar of it, how
//! loud it is, and the fill into the next.

mod engrave;
mod glyphs;
mod summary;

use super::Score;
use super::drawing::{Drawing, Item, line, width};
use super::stave::{Look, name};
use crate::song::Timeline;
use engrave::{Frame, engrave};
use summary::{Summary, summaries};

/// The margin of the page, in millimetres: printers leave out up to 6.
const MARGIN: f64 = 12.0;
/// The height of title and legend, in millimetres.
const HEAD: f64 = 22.5;
/// The heights of a line, in millimetres: below the least the stave is too small to read on a stand, and above the
/// greatest it takes no more room. Judged.
const LINE: (f64, f64) = (17.0, 27.0);
/// How many spaces of the stave a line is high below its label: from the top of stems on the crashes to the ends of the
/// feet's.
const SPACES: f64 = 13.0;
/// How many of them lie below the stave.
const BELOW: f64 = 3.4;
/// How many more there are for the letters of the hands, where these are asked for.
const LETTERS: f64 = 1.6;
/// The height of a bar's label, in millimetres.
const LABEL: f64 = 2.8;
/// The width of a section's words, in millimetres.
const WORDS: f64 = 52.0;

/// The pages of a score.
pub(super) fn sheet(song: &Timeline, score: &Score) -> Drawing {
    let size = score.paper.size_mm();
    let lines = summaries(song, score);
    let room = size.1 - 2.0 * MARGIN - HEAD;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let most = (room / LINE.0).floor() as usize;
    let on_page = lines.len().clamp(1, most);
    let height = (room / on_page as f64).clamp(LINE.0, LINE.1);
    let mut pages = Vec::new();
    let chunks: Vec<&[Summary]> = lines.chunks(most).collect();
    for (i, chunk) in chunks.iter().enumerate() {
        let mut items = head(score, size.0, (i + 1, chunks.len()));
        for (n, line) in chunk.iter().enumerate() {
            let top = MARGIN + HEAD + n as f64 * height;
            let more = if score.stickings { LETTERS } else { 0.0 };
            let room = (size.0 - 2.0 * MARGIN, height);
            section(line, (MARGIN, top), room, more, &mut items);
        }
        pages.push(items);
    }
    Drawing {
        title: score.title.clone(),
        size,
        pages,
    }
}

/// A text that is no wider than so many millimetres.
fn fitted(text: &str, size: f64, room: f64) -> String {
    let text = super::xml::plain(text);
    if width(&text, size) <= room {
        return text;
    }
    let mut letters: Vec<char> = text.chars().collect();
    while !letters.is_empty() {
        letters.pop();
        let short: String = letters.iter().chain(&['…']).collect();
        if width(&short, size) <= room {
            return short;
        }
    }
    String::new()
}

/// Title and legend.
fn head(score: &Score, page: f64, (number, of): (usize, usize)) -> Vec<Item> {
    let room = page - 2.0 * MARGIN;
    let mut items = Vec::new();
    let title = fitted(&score.title, 7.0, room - 40.0);
    items.push(Item::Text((MARGIN, MARGIN + 5.5), 7.0, title));
    let first = score.bars.first().map_or(0, |bar| bar.number);
    let last = score.bars.last().map_or(0, |bar| bar.number);
    let pages = if of > 1 {
        format!(", page {number} of {of}")
    } else {
        String::new()
    };
    let bars = if first == last {
        format!("bar {first}")
    } else {
        format!("bars {first}-{last}")
    };
    let told = format!("drums, {bars}{pages}");
    let x = page - MARGIN - width(&told, 3.2);
    items.push(Item::Text((x, MARGIN + 5.5), 3.2, told));
    legend(score, room, &mut items);
    items
}

/// Every piece with its head, on one short stave.
fn legend(score: &Score, room: f64, items: &mut Vec<Item>) {
    let pieces = score.pieces();
    let s = 1.1;
    let bottom = MARGIN + HEAD - 6.6;
    let step = room / pieces.len().max(1) as f64;
    let step = step.min(22.0);
    for n in 0..5 {
        let y = bottom - f64::from(n) * s;
        items.push(line(
            (MARGIN, y),
            (MARGIN + step * pieces.len() as f64, y),
            0.1,
        ));
    }
    for (i, (piece, by_foot)) in pieces.into_iter().enumerate() {
        let look = Look::of(piece, by_foot);
        let x = MARGIN + (i as f64 + 0.5) * step;
        let y = |step: f64| bottom - step * s / 2.0;
        items.extend(glyphs::head(
            (x, y(f64::from(look.step))),
            look.shape,
            false,
            s,
        ));
        let mut ledger = 10;
        while ledger <= look.step {
            let y = y(f64::from(ledger));
            items.push(line((x - s, y), (x + s, y), 0.12));
            ledger += 2;
        }
        if look.open {
            items.push(glyphs::circle((x, y(f64::from(look.step) + 2.0)), s));
        }
        // Names stand in two rows, each with the room of two.
        let text = fitted(name(piece), 2.1, 2.0 * step - 1.0);
        let left = x - width(&text, 2.1) / 2.0;
        let down = if i % 2 == 0 { 3.2 } else { 5.4 };
        items.push(Item::Text((left, bottom + down), 2.1, text));
    }
}

/// A section's line. `more`: how many spaces it has below the feet.
fn section(
    said: &Summary,
    (x, y): (f64, f64),
    (room, height): (f64, f64),
    more: f64,
    items: &mut Vec<Item>,
) {
    items.push(line((x, y), (x + room, y), 0.1));
    let space = (height - LABEL) / (SPACES + more);
    words(said, (x, y), items);
    let lowest = y + height - (BELOW + more) * space;
    let bars = room - WORDS;
    let frame = |left: f64, share: f64, clef: bool| Frame {
        at: (x + WORDS + left, lowest),
        width: bars * share,
        space,
        clef,
    };
    let label = |text: &str, left: f64, room: f64| {
        let text = fitted(text, 2.2, room - 1.0);
        Item::Text((x + WORDS + left + 1.0, y + 2.5), 2.2, text)
    };
    let Some(beat) = said.beat_bar else {
        let text = format!("{} bars rest", said.bars.1 + 1 - said.bars.0);
        items.push(Item::Text((x + WORDS, lowest - space), 3.4, text));
        return;
    };
    let share = if said.fill_bar.is_some() { 0.5 } else { 0.56 };
    let what = said
        .what
        .map(|what| format!("{what}, "))
        .unwrap_or_default();
    items.push(label(
        &format!("{what}bar {}", beat.number),
        0.0,
        bars * share,
    ));
    items.extend(engrave(beat, frame(0.0, share, true)));
    if let Some((bar, fill)) = said.fill_bar {
        let left = bars * share + 3.0;
        let share = 1.0 - share - 3.0 / bars;
        items.push(label(
            &format!("bar {}, fill: {fill}", bar.number),
            left,
            bars * share,
        ));
        items.extend(engrave(bar, frame(left, share, false)));
    }
}

/// The words of a section's line.
fn words(said: &Summary, (x, y): (f64, f64), items: &mut Vec<Item>) {
    let room = WORDS - 4.0;
    let (first, last) = said.bars;
    let count = last + 1 - first;
    let bars = if count == 1 {
        "1 bar".to_owned()
    } else {
        format!("{count} bars")
    };
    let name = said.name.as_deref().unwrap_or("before the song");
    let name = fitted(name, 4.2, room - width(&bars, 3.4) - 4.0);
    let wide = width(&name, 4.2);
    let (left, top, right, bottom) = (x, y + 1.2, x + wide + 2.0, y + 6.8);
    for (from, to) in [
        ((left, top), (right, top)),
        ((right, top), (right, bottom)),
        ((right, bottom), (left, bottom)),
        ((left, bottom), (left, top)),
    ] {
        items.push(line(from, to, 0.25));
    }
    items.push(Item::Text((x + 1.0, y + 5.4), 4.2, name));
    items.push(Item::Text((right + 2.0, y + 5.4), 3.4, bars));
    let beats = said.beats.join(", then ");
    let mut lines = Vec::new();
    if let Some(cymbal) = said.cymbal {
        lines.push(format!("{beats}; {cymbal}"));
    } else {
        lines.push(beats);
    }
    let tempo = said.bpm.map(|bpm| format!("{bpm:.0} BPM"));
    let loud = said.dynamic.map(|(from, to)| match to {
        Some(to) => format!("{} to {}", from.letters(), to.letters()),
        None => from.letters().to_owned(),
    });
    let more: Vec<_> = [tempo, said.meter.clone(), loud]
        .into_iter()
        .flatten()
        .collect();
    lines.push(more.join(", "));
    lines.retain(|line| !line.is_empty());
    for (i, text) in lines.iter().enumerate() {
        let text = fitted(text, 3.2, room);
        items.push(Item::Text((x, y + 10.8 + i as f64 * 4.1), 3.2, text));
    }
}
