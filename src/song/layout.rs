//! Lays a song file out: its sections bar by bar, its lanes change by change.

use super::change::Change;
use super::chart::{OwnHand, Placed};
use super::edits;
use super::file::{Point, PointValue, Section, SectionMeter, SongError, SongFile};
use super::locked::{lay, within_bounds};
use crate::choice::{Choice, unknown};
use crate::groove::Hit;
use crate::riff::Riff;
use crate::settings::{
    Kind, Phrase, Play, SectionFill, SettingId, Settings, Start, StyleSlot, TAKES,
};
use crate::time::tempo::{DEFAULT_BPM, MAX_BPM};
use crate::time::{Bar, Meter, TICKS_PER_QUARTER, TempoMap, Ticks};

/// How finely glides are sampled, in ticks: a thirty-second. Finer than a drummer strikes.
const GLIDE_TICKS: Ticks = TICKS_PER_QUARTER / 8;
/// Most steps of a glide: what is shorter than 128 bars of 4/4 has no more anyway. Judged: a step of a 4096th
/// of the whole range is less than one of a velocity.
const GLIDE_STEPS: Ticks = 4096;
/// Longest song that is accepted, in bars: about ten hours at 120 BPM in 4/4.
pub(super) const MAX_BARS: u32 = 20_000;
/// Greatest number that a section can be frozen to: its place in the longest song, or what stands in for
/// that where it is taken.
const MAX_NUMBER: u32 = 2 * MAX_BARS;

/// Slowest tempo of a song, in quarter notes a minute: a MIDI file can't say less than 3.58, which is
/// 16,777,215 microseconds a quarter (Standard MIDI Files 1.0).
const MIN_BPM: f64 = 4.0;

/// The song's riff, and how it is followed.
pub(super) fn follow(song: &SongFile, settings: &mut Settings) -> Result<Riff, SongError> {
    if let Some(source) = song.kick_source {
        settings.bar_settings.kick_source = source;
    }
    if let Some(grid) = song.riff_grid {
        settings.bar_settings.riff_grid = grid;
    }
    let Some(saved) = &song.riff else {
        return Ok(Riff::default());
    };
    Riff::load(saved).map_err(|error| SongError::new("riff", error.to_string()))
}

/// The place of a section's field, for people: its number in the file, and its name.
pub(super) fn place(i: usize, section: &Section, field: &str) -> String {
    format!("sections[{i}].{field}{}", super::file::named(&section.name))
}

/// A take that can be played.
fn take(place: &str, take: u32) -> Result<u32, SongError> {
    let (first, last) = (u32::from(TAKES.0), u32::from(TAKES.1));
    if (first..=last).contains(&take) {
        Ok(take)
    } else {
        let problem = format!("use a take from {first} to {last}");
        Err(SongError::new(place, problem))
    }
}

/// A level that can be played.
fn in_range(value: f32) -> Result<(), String> {
    if (0.0..=1.0).contains(&value) {
        Ok(())
    } else {
        Err(format!("{value} is out of range: use a number from 0 to 1"))
    }
}

/// The value of a point of a lane.
fn value(lane: SettingId, value: &PointValue) -> Result<f32, String> {
    let kind = lane.kind();
    match value {
        PointValue::Number(value) if kind.is_level() => in_range(*value).map(|()| *value),
        PointValue::Name(name) if !kind.is_level() => place_of(lane, name),
        _ if kind.is_level() => Err("use a number from 0 to 1".to_owned()),
        _ => Err("use a name in quotes".to_owned()),
    }
}

/// The place of a name among those of a lane.
fn place_of(lane: SettingId, name: &str) -> Result<f32, String> {
    let place = |texts: &'static [&str], what| {
        let place = texts.iter().position(|text| *text == name);
        let place = place.and_then(|place| u16::try_from(place).ok());
        place
            .map(f32::from)
            .ok_or_else(|| unknown(what, name, texts))
    };
    match lane.kind() {
        Kind::Slot { .. } => StyleSlot::parse(name).map(|slot| f32::from(slot.slot())),
        Kind::Switch { texts } if texts == SWITCH => place(&SWITCH, "state of fill_now"),
        kind => place(kind.texts(), lane.row().name),
    }
}

/// The texts of a switch.
const SWITCH: [&str; 2] = ["off", "on"];

/// A song while it is laid out.
pub(super) struct Layout<'a> {
    pub(super) bars: Vec<Bar>,
    pub(super) tempo: TempoMap,
    pub(super) markers: Vec<(Ticks, String)>,
    pub(super) start: Settings,
    pub(super) changes: Vec<Change>,
    pub(super) sections: Vec<Placed>,
    /// The notes of locked sections, in order of section.
    pub(super) hits: Vec<Hit>,
    /// Where these are played and nothing else: from a tick up to another, in order.
    pub(super) edited: Vec<(Ticks, Ticks)>,
    /// What the sections that the drummer plays have by hand.
    pub(super) by_hand: OwnHand,
    /// What is odd, though it can be played.
    pub(super) warnings: Vec<SongError>,
    /// The meter that sections go on with; `None` for the host's.
    meter: Option<Meter>,
    /// The host's meters, in order.
    host: &'a [(Ticks, Meter)],
    at: Ticks,
}

impl<'a> Layout<'a> {
    /// Lays out sections and lanes.
    pub(super) fn of(song: &SongFile, host: &'a [(Ticks, Meter)]) -> Result<Self, SongError> {
        // What sections leave out is filled in first, so that each stands for itself from here on.
        let song = &song.spelled_out();
        let mut layout = Self::new(song, host)?;
        within_bounds(song)?;
        layout.lead_in(song)?;
        for (i, (section, number)) in song.sections.iter().zip(song.numbers()).enumerate() {
            layout.section(i, section, number)?;
        }
        for (&lane, points) in &song.automation {
            layout.lane(lane, points)?;
        }
        layout.changes.sort_by_key(|change| change.at);
        Ok(layout)
    }

    fn new(song: &SongFile, host: &'a [(Ticks, Meter)]) -> Result<Self, SongError> {
        if song.sections.is_empty() {
            return Err(SongError::new(
                "sections",
                "a song needs at least one section",
            ));
        }
        let mut start = Settings::default();
        start.bar_settings.take = take("take", song.take)?;
        start.bar_settings.phrase = match song.phrase_bars {
            2 => Phrase::Two,
            4 => Phrase::Four,
            8 => Phrase::Eight,
            _ => return Err(SongError::new("phrase_bars", "use 2, 4 or 8")),
        };
        let bpm = song.sections[0].bpm.unwrap_or(DEFAULT_BPM);
        Ok(Self {
            bars: Vec::new(),
            tempo: TempoMap::constant(bpm),
            markers: Vec::new(),
            start,
            changes: Vec::new(),
            sections: Vec::new(),
            hits: Vec::new(),
            edited: Vec::new(),
            by_hand: OwnHand::default(),
            warnings: Vec::new(),
            meter: None,
            host,
            at: 0,
        })
    }

    /// The bars before the first section, in which the drummer rests: a section without a name.
    fn lead_in(&mut self, song: &SongFile) -> Result<(), SongError> {
        if !(1..=MAX_BARS).contains(&song.start_bar) {
            let problem = format!("use a bar from 1 to {MAX_BARS}");
            return Err(SongError::new("start_bar", problem));
        }
        let first = &song.sections[0];
        if song.start_bar == 1 {
            if first.start == Some(Start::CountIn) {
                let problem = "a count-in is played in the bar before: let the song start a bar later, \
                               with \"start_bar\": 2";
                return Err(SongError::new(place(0, first, "start"), problem));
            }
            return Ok(());
        }
        if self.host.is_empty() {
            self.meter(first);
        }
        self.place_section(0, &Section::default(), 0)?;
        self.add_bars(song.start_bar - 1);
        self.changes.extend(
            [(0, Play::Rest), (self.at, Play::Beat)].map(|(at, play)| Change {
                at,
                setting: SettingId::Play,
                value: Some(f32::from(play.place())),
            }),
        );
        Ok(())
    }

    fn meter(&mut self, section: &Section) {
        match section.meter {
            None => {}
            Some(SectionMeter::Host) => self.meter = None,
            Some(SectionMeter::Own(meter)) => self.meter = Some(meter),
        }
    }

    /// The meter of a bar that begins here.
    fn meter_here(&self) -> Meter {
        let of_host = || {
            let next = self.host.partition_point(|(at, _)| *at <= self.at);
            let meter = self.host.get(next.saturating_sub(1));
            meter.map_or(Meter::FOUR_FOUR, |(_, meter)| *meter)
        };
        self.meter.unwrap_or_else(of_host)
    }

    fn add_bars(&mut self, bars: u32) {
        for _ in 0..bars {
            let bar = Bar {
                start: self.at,
                meter: self.meter_here(),
            };
            self.at = bar.end();
            self.bars.push(bar);
        }
    }

    /// Puts a section into the chart, with the number that its chances go by: 0 is the lead-in's.
    fn place_section(&mut self, i: usize, section: &Section, number: u32) -> Result<(), SongError> {
        let place = |field: &str| place(i, section, field);
        let own_take = section
            .take
            .map(|own| take(&place("take"), own))
            .transpose()?;
        if section.frozen.is_some() && !(1..=MAX_NUMBER).contains(&number) {
            let problem = format!("use the number of a section, from 1 to {MAX_NUMBER}");
            return Err(SongError::new(place("frozen"), problem));
        }
        self.sections.push(Placed {
            first: self.bars.len(),
            start: section.start.unwrap_or(Start::Auto),
            fill: section.fill.unwrap_or(SectionFill::Auto),
            number,
            take: own_take,
            kick_source: section.kick_source,
            locked: section.locked.is_some(),
        });
        Ok(())
    }

    fn section(&mut self, i: usize, section: &Section, number: u32) -> Result<(), SongError> {
        let place = |field: &str| place(i, section, field);
        let bars = section.bars as usize;
        if bars == 0 || self.bars.len() + bars > MAX_BARS as usize {
            let problem = format!("use at least 1 bar, and no more than {MAX_BARS} in the song");
            return Err(SongError::new(place("bars"), problem));
        }
        self.meter(section);
        if let Some(bpm) = section.bpm {
            if !(MIN_BPM..=MAX_BPM).contains(&bpm) {
                let problem = format!("{bpm} is no tempo: use {MIN_BPM} to {MAX_BPM} BPM");
                return Err(SongError::new(place("bpm"), problem));
            }
            self.tempo.change(self.at, bpm);
        }
        self.place_section(i, section, number)?;
        let from = self.at;
        self.add_bars(section.bars);
        let to = self.at;
        self.markers.push((from, section.name.clone()));
        if let Some(rows) = &section.locked {
            let laid = lay(rows, (from, to), place)?;
            if laid.beyond > 0 {
                let problem = format!(
                    "{} of its strokes lie beyond its last bar and are not played: make it longer, \
                     or lock it again",
                    laid.beyond
                );
                self.warnings.push(SongError::new(place("locked"), problem));
            }
            self.hits.extend(laid.hits);
            self.edited.push((laid.from, to));
        }
        let first = self.bars.len() - bars;
        let laid = edits::lay(&section.edits, &self.bars[first..], place)?;
        if laid.beyond > 0 {
            let problem = format!(
                "{} of its edits lie beyond its last bar and sleep: make it longer, or leave them out",
                laid.beyond
            );
            self.warnings.push(SongError::new(place("edits"), problem));
        }
        if section.locked.is_none() {
            self.by_hand.edits.extend(laid.edits);
            let hits = section.hits.iter().map(|hit| hit.0.moved(from));
            self.by_hand.stabs.extend(hits.filter(|hit| hit.at < to));
        }
        for &setting in &section.as_panel {
            let place = || place("as_panel");
            if !setting.is_of_section() {
                let problem = format!(
                    "a section can't leave \"{}\" to the panel: use settings that a section can state",
                    setting.row().id
                );
                return Err(SongError::new(place(), problem));
            }
            if section.stated().any(|(stated, _)| stated == setting) {
                let id = setting.row().id;
                let problem = format!("the section also states \"{id}\": leave one of the two out");
                return Err(SongError::new(place(), problem));
            }
        }
        for (setting, level) in section.stated() {
            let (a, b) = level.ends();
            if setting.kind().is_level() {
                for value in [a, b] {
                    in_range(value)
                        .map_err(|problem| SongError::new(place(setting.row().id), problem))?;
                }
            }
            self.glide(setting, (from, a), (to, b));
            // Where nothing follows that says it, it goes on from where the ramp ends.
            self.changes.extend((a != b).then_some(Change {
                at: to,
                setting,
                value: Some(b),
            }));
        }
        let of_panel = section.as_panel.iter().map(|&setting| Change {
            at: from,
            setting,
            value: None,
        });
        self.changes.extend(of_panel);
        Ok(())
    }

    fn lane(&mut self, lane: SettingId, points: &[Point]) -> Result<(), SongError> {
        let mut placed: Vec<(Ticks, f32, bool)> = Vec::new();
        for (i, point) in points.iter().enumerate() {
            let place = |field: &str| format!("automation.{}[{i}].{field}", lane.row().id);
            let bars = self.bars.len();
            let bar = (point.bar as usize)
                .checked_sub(1)
                .and_then(|b| self.bars.get(b));
            let bar = bar.ok_or_else(|| {
                SongError::new(
                    place("bar"),
                    format!("bars go from 1 to {bars} in this song"),
                )
            })?;
            let counts = bar.meter.counts();
            let count = (point.count as usize)
                .checked_sub(1)
                .and_then(|c| counts.get(c));
            let count = count.ok_or_else(|| {
                let problem = format!("bar {} has the counts 1 to {}", point.bar, counts.len());
                SongError::new(place("count"), problem)
            })?;
            let at = bar.start + count.start;
            if placed.last().is_some_and(|(last, ..)| *last >= at) {
                return Err(SongError::new(
                    place("bar"),
                    "points must go forward in time",
                ));
            }
            let value = value(lane, &point.value).map_err(|p| SongError::new(place("value"), p))?;
            let glides = lane.kind().is_level() && !point.hold;
            placed.push((at, value, glides));
        }
        if let Some(&(first, ..)) = placed.first() {
            let same = |change: &Change| change.setting == lane && change.at >= first;
            self.changes.retain(|change| !same(change));
        }
        for (i, &(at, value, glides)) in placed.iter().enumerate() {
            let target = placed.get(i + 1).filter(|_| glides);
            let (end, to) = target.map_or((at + 1, value), |&(end, to, _)| (end, to));
            self.glide(lane, (at, value), (end, to));
        }
        Ok(())
    }

    /// Changes a level in small steps from one point to just before another.
    fn glide(&mut self, setting: SettingId, from: (Ticks, f32), to: (Ticks, f32)) {
        let mut at = from.0;
        let finest = GLIDE_TICKS * GLIDE_STEPS;
        let step = GLIDE_TICKS * ((to.0 - from.0 + finest - 1) / finest).max(1);
        while at < to.0 {
            let share = (at - from.0) as f64 / (to.0 - from.0) as f64;
            #[expect(clippy::cast_possible_truncation)]
            let value = (f64::from(from.1) + f64::from(to.1 - from.1) * share) as f32;
            self.changes.push(Change {
                at,
                setting,
                value: Some(value),
            });
            if from.1 == to.1 {
                break;
            }
            at += step;
        }
    }
}
