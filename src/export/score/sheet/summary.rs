//! What the short chart says of a section: a line of it.

use crate::export::score::Score;
use crate::export::score::marks::{Dynamic, Marks};
use crate::export::score::part::WrittenBar;
use crate::export::score::stave::name;
use crate::kit::Piece;
use crate::settings::Play;
use crate::song::Timeline;
use std::collections::BTreeMap;

/// Most bars of a section that are compared with each other.
const COMPARED: usize = 64;

/// A section in short.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Summary<'a> {
    /// Its name; none before the first section.
    pub(super) name: Option<String>,
    /// Its bars' numbers, first and last.
    pub(super) bars: (usize, usize),
    /// Its meter, where it is another than before.
    pub(super) meter: Option<String>,
    /// Its tempo, in quarter notes a minute, where it is another than before.
    pub(super) bpm: Option<f64>,
    /// The beats, in order.
    pub(super) beats: Vec<&'static str>,
    /// The cymbal that the hand rides.
    pub(super) cymbal: Option<&'static str>,
    /// How loud it begins and, where it swells, how loud it ends.
    pub(super) dynamic: Option<(Dynamic, Option<Dynamic>)>,
    /// What its bar is, where it is no beat.
    pub(super) what: Option<&'static str>,
    /// The bar of the beat.
    pub(super) beat_bar: Option<&'a WrittenBar>,
    /// The bar with the fill into the next section, and the fill's name; or the last bar, where it ends otherwise.
    pub(super) fill_bar: Option<(&'a WrittenBar, &'a str)>,
}

/// Every section of a score, in order.
pub(super) fn summaries<'a>(song: &Timeline, score: &'a Score) -> Vec<Summary<'a>> {
    let is_start = |i: &usize| *i == 0 || score.marks[*i].section.is_some();
    let starts: Vec<usize> = (0..score.bars.len()).filter(is_start).collect();
    let mut loud = None;
    let ends = starts.iter().skip(1).copied().chain([score.bars.len()]);
    let spans = starts.iter().copied().zip(ends);
    spans
        .map(|(from, to)| {
            let (bars, marks) = (&score.bars[from..to], &score.marks[from..to]);
            let said = marks
                .iter()
                .find_map(|marks| Some((marks.dynamic?, marks.swells_to)));
            let plays = bars.iter().any(|bar| !bar.is_empty());
            let dynamic = said
                .or(loud.map(|dynamic| (dynamic, None)))
                .filter(|_| plays);
            loud = dynamic.map(|(from, to)| to.unwrap_or(from)).or(loud);
            summary(song, bars, marks, dynamic)
        })
        .collect()
}

fn summary<'a>(
    song: &Timeline,
    bars: &'a [WrittenBar],
    marks: &[Marks],
    dynamic: Option<(Dynamic, Option<Dynamic>)>,
) -> Summary<'a> {
    let first = &bars[0];
    let last = &bars[bars.len() - 1];
    let mut beats: Vec<_> = marks.iter().filter_map(|marks| marks.beat).collect();
    if beats.is_empty() {
        let style = song.settings(first.bar.start).bar_settings.style;
        beats.push(crate::export::score::marks::beat_name(song, style));
    }
    let beat_bar = beat_bar(bars);
    let what = beat_bar.and_then(|bar| {
        let play = song.settings(bar.bar.start).bar_settings.play;
        let edited = song.chart().edited(bar.bar.start).0;
        (play != Play::Beat)
            .then(|| play.name())
            .or(edited.then_some("edited by hand"))
    });
    if beat_bar.is_none() || what.is_some() {
        beats.clear();
    }
    let fill = last.fill.as_ref().map(|(name, _)| (last, name.as_str()));
    Summary {
        name: marks[0].section.clone(),
        bars: (first.number, last.number),
        meter: marks[0].meter.then(|| first.bar.meter.to_string()),
        bpm: marks[0].bpm,
        beats,
        cymbal: beat_bar.and_then(ridden),
        dynamic,
        what,
        beat_bar,
        fill_bar: fill.filter(|(last, _)| beat_bar != Some(last)),
    }
}

/// The bar that a section has most often, beside its first, which may have a crash, and those with fills.
fn beat_bar(bars: &[WrittenBar]) -> Option<&WrittenBar> {
    let plain = |bar: &&WrittenBar| !bar.is_empty() && bar.fill.is_none() && !bar.slashes;
    let inner: Vec<&WrittenBar> = bars.iter().skip(1).filter(plain).take(COMPARED).collect();
    let often = |bar: &&&WrittenBar| inner.iter().filter(|other| other.is_like(bar)).count();
    // Of equals the first.
    let most = inner.iter().rev().max_by_key(often).copied();
    most.or_else(|| bars.iter().find(plain))
        .or_else(|| bars.iter().find(|bar| !bar.is_empty()))
}

/// The cymbal that is struck most.
fn ridden(bar: &WrittenBar) -> Option<&'static str> {
    let mut struck: BTreeMap<Piece, usize> = BTreeMap::new();
    let heads = bar.hands.chords.iter().flat_map(|chord| &chord.heads);
    for head in heads.filter(|head| is_cymbal(head.piece) && !head.by_foot) {
        *struck.entry(head.piece).or_default() += 1;
    }
    let most = struck.into_iter().rev().max_by_key(|(_, count)| *count);
    most.filter(|(_, count)| *count > 1)
        .map(|(piece, _)| name(piece))
}

fn is_cymbal(piece: Piece) -> bool {
    use Piece::{
        China, CrashLeft, CrashRight, HiHatClosed, HiHatLoose, HiHatOpen, Ride, RideBell, Splash,
    };
    matches!(
        piece,
        China
            | CrashLeft
            | CrashRight
            | HiHatClosed
            | HiHatLoose
            | HiHatOpen
            | Ride
            | RideBell
            | Splash
    )
}
