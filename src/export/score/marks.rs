//! What stands above the bars: sections, tempi, beats, dynamics, swing.

use super::part::WrittenBar;
use crate::choice::Choice as _;
use crate::groove::beat::Feel;
use crate::settings::{Play, Style, StyleSlot};
use crate::song::Timeline;
use crate::time::{Bar, Ticks};
use std::fmt;

/// How loud a section is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Dynamic {
    /// Soft.
    P,
    /// Half soft.
    Mp,
    /// Half loud.
    Mf,
    /// Loud.
    F,
    /// As loud as it goes.
    Ff,
}

impl Dynamic {
    /// The mark of an intensity, 0..=1. Judged: the default, 0.6, is a plain loud.
    pub fn of(intensity: f32) -> Self {
        match intensity {
            i if i < 0.2 => Self::P,
            i if i < 0.4 => Self::Mp,
            i if i < 0.55 => Self::Mf,
            i if i < 0.85 => Self::F,
            _ => Self::Ff,
        }
    }

    /// Its letters.
    pub fn letters(self) -> &'static str {
        match self {
            Self::P => "p",
            Self::Mp => "mp",
            Self::Mf => "mf",
            Self::F => "f",
            Self::Ff => "ff",
        }
    }
}

/// What the first of two notes takes of the time of both.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Swing {
    /// The share of the first, and of the second, in smallest numbers.
    pub ratio: (u32, u32),
    /// Whether sixteenths swing, and not eighths.
    pub sixteenths: bool,
}

impl fmt::Display for Swing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let notes = if self.sixteenths {
            "sixteenths"
        } else {
            "eighths"
        };
        write!(f, "swing {notes}, {}:{}", self.ratio.0, self.ratio.1)
    }
}

/// What is said at a bar.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Marks {
    /// The section that begins here: its name, or its number in the song where it has none.
    pub section: Option<String>,
    /// The tempo from here on, in quarter notes a minute.
    pub bpm: Option<f64>,
    /// Whether the meter is another than in the bar before.
    pub meter: bool,
    /// The beat from here on.
    pub beat: Option<&'static str>,
    /// How loud it is from here on.
    pub dynamic: Option<Dynamic>,
    /// How loud it grows, or how soft, by the end of the section.
    pub swells_to: Option<Dynamic>,
    /// The swing from here on; straight where there is none in it.
    pub swing: Option<Option<Swing>>,
}

impl Marks {
    /// Whether nothing goes on over the bar line before this bar.
    pub fn breaks(&self) -> bool {
        *self != Self::default()
    }
}

/// What holds in a bar.
#[derive(Debug, Clone, PartialEq)]
struct Holds {
    section: Option<usize>,
    bpm: f64,
    beat: Option<&'static str>,
    dynamic: Option<Dynamic>,
    swing: Option<Swing>,
}

/// What is said at each of these bars of a song, everything at the first. `names` are the sections' names.
pub fn marks(song: &Timeline, bars: &[WrittenBar], names: &[String]) -> Vec<Marks> {
    let mut said: Vec<Marks> = Vec::with_capacity(bars.len());
    let mut before: Option<(Holds, Bar)> = None;
    // What is silent says nothing of itself: the last beat that was heard goes on.
    let mut heard: (Option<&'static str>, Option<Dynamic>) = (None, None);
    for (i, written) in bars.iter().enumerate() {
        let bar = written.bar;
        let mut now = holds(song, &bars[i..], written);
        now.beat = now.beat.or(heard.0);
        now.dynamic = now.dynamic.or(heard.1);
        heard = (now.beat, now.dynamic);
        let last = before.as_ref();
        let is_new = |differs: &dyn Fn(&Holds) -> bool| last.is_none_or(|(last, _)| differs(last));
        let new_section = is_new(&|last| last.section != now.section);
        let marks = Marks {
            section: now
                .section
                .filter(|_| new_section)
                .and_then(|section| names.get(section).cloned()),
            bpm: is_new(&|last| last.bpm != now.bpm).then_some(now.bpm),
            meter: last.is_none_or(|(_, last)| last.meter != bar.meter),
            beat: now.beat.filter(|_| is_new(&|last| last.beat != now.beat)),
            dynamic: now
                .dynamic
                .filter(|_| new_section || is_new(&|last| last.dynamic.is_none())),
            swells_to: None,
            swing: (last.map_or(now.swing.is_some(), |(last, _)| last.swing != now.swing))
                .then_some(now.swing),
        };
        said.push(marks);
        before = Some((now, bar));
    }
    swell(song, bars, &mut said);
    quieten(&mut said);
    said
}

/// What a beat is called: an own one by its number.
pub(super) fn beat_name(song: &Timeline, style: u8) -> &'static str {
    match song.chart().own_beats().plan(style) {
        Some(_) => StyleSlot::at(style.into()).name(),
        None => Style::of_slot(style).name(),
    }
}

fn holds(song: &Timeline, from: &[WrittenBar], written: &WrittenBar) -> Holds {
    let bar = written.bar;
    let settings = song.settings(bar.start);
    let play = settings.bar_settings.play;
    let plays = play == Play::Beat && !written.is_empty();
    let style = settings.bar_settings.style;
    let edited = song.chart().edited(bar.start).0;
    let straight = song.chart().own_beats().beat(style).feel == Feel::Straight;
    let swing = Some(settings.bar_settings.swing)
        .filter(|swing| *swing > 0.5 && straight && !edited)
        .map(|swing| Swing {
            ratio: ratio(swing),
            sixteenths: has_sixteenths(song, from),
        });
    Holds {
        section: song.section_at(bar.start),
        bpm: song.tempo().bpm_at(bar.start),
        beat: (plays && !edited).then(|| beat_name(song, style)),
        // A count-in is as loud as it is.
        dynamic: (!written.is_empty() && play != Play::CountIn)
            .then(|| Dynamic::of(settings.stroke_settings.intensity)),
        swing,
    }
}

/// Whether the part strikes between the eighths: more than one stroke in ten of its section. Judged.
fn has_sixteenths(song: &Timeline, from: &[WrittenBar]) -> bool {
    let section = from.first().map(|first| song.section_at(first.bar.start));
    let here = from
        .iter()
        .take_while(|bar| Some(song.section_at(bar.bar.start)) == section);
    let (mut all, mut between) = (0, 0);
    // A few bars tell.
    for chord in here
        .take(4)
        .flat_map(WrittenBar::voices)
        .flat_map(|voice| &voice.chords)
    {
        all += 1;
        between += usize::from(chord.at % 480 == 240);
    }
    between * 10 > all
}

/// A swing, 0.5..=0.75, as a ratio in smallest numbers.
fn ratio(swing: f32) -> (u32, u32) {
    if (swing - 2.0 / 3.0).abs() < 0.005 {
        return (2, 1);
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let first = (swing * 100.0).round() as u32;
    let second = 100_u32.saturating_sub(first);
    let mut divisor = (first, second);
    while divisor.1 > 0 {
        divisor = (divisor.1, divisor.0 % divisor.1);
    }
    (first / divisor.0, second / divisor.0)
}

/// Takes away the dynamics that hold already.
fn quieten(said: &mut [Marks]) {
    let mut holds = None;
    for marks in said {
        if marks.dynamic.is_some() && marks.dynamic == holds && marks.swells_to.is_none() {
            marks.dynamic = None;
        } else if marks.dynamic.is_some() {
            holds = marks.swells_to.or(marks.dynamic);
        }
    }
}

/// Says where a section swells: its last count is another dynamic than its first.
fn swell(song: &Timeline, bars: &[WrittenBar], said: &mut [Marks]) {
    let starts: Vec<usize> = (0..said.len())
        .filter(|i| said[*i].dynamic.is_some())
        .collect();
    for (n, &start) in starts.iter().enumerate() {
        let end = starts.get(n + 1).map_or(bars.len(), |next| *next);
        let last: Ticks = bars[end - 1].bar.end() - 1;
        let to = Dynamic::of(song.settings(last).stroke_settings.intensity);
        said[start].swells_to = said[start].dynamic.filter(|from| *from != to).map(|_| to);
    }
}
