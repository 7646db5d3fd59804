//! What the drummer plays, as chords of two voices: the hands, and the feet.

use super::accents::Accents;
use super::place::{is_of_next_bar, places};
use super::rolls;
use super::spell::{Event, spell};
use crate::engine::offline;
use crate::groove::{Fill, Hit, Limb, Origin};
use crate::kit::{Piece, Ring};
use crate::settings::Play;
use crate::song::Timeline;
use crate::time::{Bar, Ticks};
use std::collections::BTreeMap;
use std::ops::Range;

/// A notehead.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Head {
    /// What is struck.
    pub piece: Piece,
    /// Whether a foot strikes it.
    pub by_foot: bool,
    /// Whether it is a ghost note.
    pub ghost: bool,
    /// Who strikes; `None` where stickings are not asked for.
    pub limb: Option<Limb>,
}

/// What one voice strikes at one place.
#[derive(Debug, Clone, PartialEq, Eq)]
#[expect(clippy::struct_excessive_bools, reason = "each is a sign of its own")]
pub struct Chord {
    /// Where, in ticks from the start of the bar.
    pub at: Ticks,
    /// Its heads, the lowest of the kit's list first.
    pub heads: Vec<Head>,
    /// The grace notes before it, in order of time.
    pub graces: Vec<Head>,
    /// Whether it is accented.
    pub accent: bool,
    /// How it ends where it is a hit of the band with the hands: grabbed, or left to ring.
    pub hit: Option<Ring>,
    /// Whether it rings on.
    pub rings: bool,
    /// Whether the hi-hat is closed here after an open stroke of the same bar.
    pub closes: bool,
    /// Whether it is struck twice, by a hand that bounces: a sixteenth as two thirty-seconds.
    pub roll: bool,
}

/// The hands or the feet in a bar.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Voice {
    /// What it strikes, in order of time.
    pub chords: Vec<Chord>,
    /// The same as notes and rests.
    pub(super) events: Vec<Event>,
}

/// A bar as it is written.
#[derive(Debug, Clone, PartialEq)]
pub struct WrittenBar {
    /// The bar on the song's timeline.
    pub bar: Bar,
    /// Its number in the song, from 1.
    pub number: usize,
    /// What the hands play, with stems up; in the bar of a fill that goes through hands and feet, what all play.
    pub hands: Voice,
    /// What the feet play, with stems down.
    pub feet: Voice,
    /// The name of its fill, and the fill's first tick and the first after it, from the start of the bar.
    pub fill: Option<(String, Range<Ticks>)>,
    /// Whether slashes stand for the time that is kept; then the voices have the hits above the stave, and nothing else.
    pub slashes: bool,
}

impl WrittenBar {
    /// Whether nobody plays.
    pub fn is_empty(&self) -> bool {
        self.hands.chords.is_empty() && self.feet.chords.is_empty() && !self.slashes
    }

    /// Whether it is written as another one is.
    pub fn is_like(&self, other: &Self) -> bool {
        self.bar.meter == other.bar.meter
            && self.hands == other.hands
            && self.feet == other.feet
            && self.slashes == other.slashes
    }

    /// The same bar with slashes for the time that is kept, and the hits on crash, china and splash above it. Where a hand
    /// rides on one of these, its strokes are the time.
    fn with_slashes(mut self) -> Self {
        let hit = |head: &Head| {
            use Piece::{China, CrashLeft, CrashRight, Splash};
            matches!(head.piece, China | CrashLeft | CrashRight | Splash)
        };
        let hits = self.hands.chords.iter().flat_map(|chord| &chord.heads);
        let most = self.bar.meter.counts().len().div_ceil(2);
        let are_hits = hits.filter(|head| hit(head)).count() <= most;
        for chord in &mut self.hands.chords {
            chord.heads.retain(|head| are_hits && hit(head));
            chord.graces.clear();
        }
        self.hands.chords.retain(|chord| !chord.heads.is_empty());
        let onsets: Vec<_> = self.hands.chords.iter().map(|chord| chord.at).collect();
        self.hands.events = if onsets.is_empty() {
            Vec::new()
        } else {
            spell(self.bar.meter, &onsets, false)
        };
        self.feet = Voice::default();
        self.slashes = true;
        self
    }

    /// Both voices.
    pub fn voices(&self) -> [&Voice; 2] {
        [&self.hands, &self.feet]
    }
}

/// Whether a limb is a foot.
fn is_foot(limb: Limb) -> bool {
    matches!(limb, Limb::LeadFoot | Limb::OtherFoot)
}

/// Every bar of a song as it is written. `stickings`: with who strikes. `slashes`: bars that keep time, but for the first of
/// each section and beat, have slashes.
pub fn written(song: &Timeline, stickings: bool, slashes: bool) -> Vec<WrittenBar> {
    let (hits, fills) = offline::play_with_fills(song);
    let bars = song.bars();
    let mut by_bar: Vec<Vec<Hit>> = vec![Vec::new(); bars.len()];
    for hit in hits {
        let after = bars.partition_point(|bar| bar.start <= hit.grid);
        let mut i = after.saturating_sub(1);
        let mut hit = hit;
        if let Some(next) = bars.get(i + 1)
            && is_of_next_bar(bars[i], hit.grid - bars[i].start)
        {
            hit.grid = next.start;
            i += 1;
        }
        by_bar[i].push(hit);
    }
    let accents = Accents::of(song, &by_bar, &fills);
    let mut fills = fills.into_iter().peekable();
    let mut written = Vec::with_capacity(bars.len());
    for (i, (bar, hits)) in bars.iter().zip(by_bar).enumerate() {
        while fills.next_if(|fill| fill.end <= bar.start).is_some() {}
        let fill = fills.peek().filter(|fill| fill.start < bar.end());
        let bar = write_bar(*bar, i, &hits, fill, &accents, stickings);
        let goes_on = i > 0 && keeps_time(song, bars[i - 1], bars[i]);
        written.push(
            if slashes && goes_on && bar.fill.is_none() && !bar.is_empty() {
                bar.with_slashes()
            } else {
                bar
            },
        );
    }
    written
}

/// Whether a bar goes on with the beat of the bar before, in the same section.
fn keeps_time(song: &Timeline, before: Bar, bar: Bar) -> bool {
    let beat = |bar: Bar| {
        let settings = song.settings(bar.start).bar_settings;
        (
            settings.style,
            settings.play,
            song.section_at(bar.start),
            bar.meter,
        )
    };
    let (_, play, ..) = beat(bar);
    play == Play::Beat && beat(before) == beat(bar) && !song.chart().edited(bar.start).0
}

fn write_bar(
    bar: Bar,
    i: usize,
    hits: &[Hit],
    fill: Option<&Fill>,
    accents: &Accents,
    stickings: bool,
) -> WrittenBar {
    let one_voice = fill.is_some_and(|fill| is_one_line(fill, hits));
    let voice = |of_feet: bool| {
        let of_voice = |hit: &&Hit| (is_foot(hit.limb) && !one_voice) == of_feet;
        let hits: Vec<Hit> = hits.iter().filter(of_voice).copied().collect();
        let chords = chords(bar, &hits, stickings, |hit| accents.has(i, hit));
        let onsets: Vec<_> = chords.iter().map(|chord| chord.at).collect();
        let rings = chords.last().is_some_and(|chord| chord.rings);
        let events = if chords.is_empty() {
            Vec::new()
        } else {
            spell(bar.meter, &onsets, rings)
        };
        Voice { chords, events }
    };
    WrittenBar {
        bar,
        number: i + 1,
        hands: voice(false),
        feet: voice(true),
        fill: fill.map(|fill| {
            let span = fill.start - bar.start..fill.end - bar.start;
            (fill.to_string(), span)
        }),
        slashes: false,
    }
}

/// Whether a fill goes through hands and feet as one line, with strokes of the feet between those of the hands: it is read
/// as one voice. Feet that run on below it through the bar are a voice of their own.
fn is_one_line(fill: &Fill, hits: &[Hit]) -> bool {
    let feet = hits.iter().filter(|hit| is_foot(hit.limb));
    let inside = |hit: &&Hit| (fill.start..fill.end).contains(&hit.grid);
    let between = |foot: &Hit| {
        let mut hands = hits.iter().filter(|hit| !is_foot(hit.limb));
        !hands.any(|hand| hand.grid == foot.grid)
    };
    2 * feet.clone().count() <= hits.len() && feet.clone().filter(inside).any(between)
}

/// The chords of one voice. Of two strokes of one piece at one written place the first is a grace note: nothing is lost.
fn chords(bar: Bar, hits: &[Hit], stickings: bool, accent: impl Fn(&Hit) -> bool) -> Vec<Chord> {
    let head = |hit: &Hit| Head {
        piece: hit.piece,
        by_foot: is_foot(hit.limb),
        ghost: hit.ghost,
        limb: Some(hit.limb),
    };
    let onset = |hit: &Hit| hit.grid - bar.start;
    let mut onsets: Vec<Ticks> = hits.iter().map(onset).collect();
    onsets.sort_unstable();
    onsets.dedup();
    let places = places(bar, &onsets);
    let placed: BTreeMap<Ticks, Ticks> = onsets.into_iter().zip(places).collect();
    let mut chords: BTreeMap<Ticks, Chord> = BTreeMap::new();
    for hit in hits {
        let at = placed[&onset(hit)];
        let chord = chords.entry(at).or_insert_with(|| Chord {
            at,
            heads: Vec::new(),
            graces: Vec::new(),
            accent: false,
            hit: None,
            rings: false,
            closes: false,
            roll: false,
        });
        if hit.grace {
            chord.graces.push(head(hit));
            continue;
        }
        if let Some(there) = chord
            .heads
            .iter()
            .position(|head| (head.piece, head.by_foot) == (hit.piece, is_foot(hit.limb)))
        {
            let earlier = chord.heads.remove(there);
            chord.graces.push(earlier);
        }
        chord.heads.push(head(hit));
        chord.accent |= accent(hit);
        if hit.origin == Origin::Stab && !is_foot(hit.limb) {
            chord.hit = Some(hit.ring);
        }
        chord.rings |= hit.ring == Ring::On;
    }
    let mut chords: Vec<_> = chords.into_values().collect();
    for chord in &mut chords {
        // A grace note whose stroke is not played is a stroke.
        if chord.heads.is_empty() {
            chord.heads.extend(chord.graces.pop());
        }
        chord.heads.sort_unstable();
    }
    close(&mut chords);
    rolls::fold(&mut chords, bar.meter);
    if !stickings {
        for chord in &mut chords {
            let heads = chord.heads.iter_mut().chain(&mut chord.graces);
            heads.for_each(|head| head.limb = None);
        }
    }
    chords
}

/// Marks where the hi-hat is closed again. Elsewhere it is closed anyway, and needs no sign (see `stave`).
fn close(chords: &mut [Chord]) {
    let mut open = false;
    for chord in chords {
        let has = |piece| {
            chord
                .heads
                .iter()
                .any(|head| head.piece == piece && !head.by_foot)
        };
        if has(Piece::HiHatOpen) {
            open = true;
        } else if has(Piece::HiHatClosed) {
            chord.closes = open;
            open = false;
        }
    }
}
