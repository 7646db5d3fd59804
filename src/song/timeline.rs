//! A song laid out on the timeline.

use super::change::Change;
use super::chart::{Chart, MIDDLE};
use super::edits::{self, EditRow};
use super::file::{SongError, SongFile};
use super::layout::{Layout, follow};
use crate::groove::own::OwnBeats;
use crate::riff::Riff;
use crate::settings::{SettingId, Settings};
use crate::time::{Bar, Meter, TempoMap, Ticks};

/// A song laid out in ticks.
#[derive(Debug, Clone, PartialEq)]
pub struct Timeline {
    title: String,
    bars: Vec<Bar>,
    tempo: TempoMap,
    markers: Vec<(Ticks, String)>,
    start: Settings,
    changes: Vec<Change>,
    chart: Chart,
    riff: Riff,
    warnings: Vec<SongError>,
}

impl Timeline {
    /// Lays out a song, to be followed as a chart.
    ///
    /// # Errors
    /// [`SongError`] names the field that makes no sense and what would.
    pub fn new(song: &SongFile) -> Result<Self, SongError> {
        Self::in_host(song, &[])
    }

    /// The same in a host with these meters, in order, each from a tick on: for sections that go by the
    /// host's. 4/4 where none are given.
    ///
    /// # Errors
    /// As [`Timeline::new`].
    pub fn in_host(song: &SongFile, meters: &[(Ticks, Meter)]) -> Result<Self, SongError> {
        let mut layout = Layout::of(song, meters)?;
        let mut chart = Chart::new(
            layout.bars.clone(),
            std::mem::take(&mut layout.sections),
            &layout.start,
            &layout.changes,
            (
                std::mem::take(&mut layout.hits),
                std::mem::take(&mut layout.edited),
            ),
            layout.tempo.clone(),
        );
        chart.set_by_hand(std::mem::take(&mut layout.by_hand));
        chart.set_own_beats(OwnBeats::new(&song.own_beats)?);
        layout.changes.clear();
        layout.start.follow_chart = true;
        for level in [SettingId::Intensity, SettingId::Density, SettingId::Accent] {
            if !chart.leaves(level) {
                layout.start.set(level, MIDDLE);
            }
        }
        Self::finish(song, layout, chart)
    }

    /// Lays out a song for a host that plays it by automating the panel, without the chart: what its
    /// sections say becomes changes of settings. What is of one section alone (how it begins and ends, its
    /// take, its feet, its edited notes) has no parameter, and is left out.
    ///
    /// # Errors
    /// As [`Timeline::new`].
    pub fn automated(song: &SongFile) -> Result<Self, SongError> {
        let mut chart = Chart::default();
        chart.set_own_beats(OwnBeats::new(&song.own_beats)?);
        Self::finish(song, Layout::of(song, &[])?, chart)
    }

    fn finish(song: &SongFile, mut layout: Layout, chart: Chart) -> Result<Self, SongError> {
        Ok(Self {
            riff: follow(song, &mut layout.start)?,
            title: song.title.clone(),
            bars: layout.bars,
            tempo: layout.tempo,
            markers: layout.markers,
            start: layout.start,
            changes: layout.changes,
            chart,
            warnings: layout.warnings,
        })
    }

    /// The song's title.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// What is odd about the song, though it can be played: where, and what to do.
    pub fn warnings(&self) -> &[SongError] {
        &self.warnings
    }

    /// Every bar, in order, from tick 0.
    pub fn bars(&self) -> &[Bar] {
        &self.bars
    }

    /// The tempi.
    pub fn tempo(&self) -> &TempoMap {
        &self.tempo
    }

    /// Where sections start, and their names.
    pub fn markers(&self) -> impl Iterator<Item = (Ticks, &str)> {
        self.markers.iter().map(|(at, name)| (*at, name.as_str()))
    }

    /// The place of the section that a tick falls in, from 0; `None` before the first and after the song.
    pub fn section_at(&self, tick: Ticks) -> Option<usize> {
        let next = self.markers.partition_point(|(at, _)| *at <= tick);
        next.checked_sub(1).filter(|_| tick < self.end())
    }

    /// The first and the last bar of a section by its place, counted from 1; `None` where there is no such section.
    pub fn bars_of_section(&self, place: usize) -> Option<(u32, u32)> {
        let from = self.markers.get(place)?.0;
        let to = self
            .markers
            .get(place + 1)
            .map_or(self.end(), |next| next.0);
        let before = |tick| self.bars.partition_point(|bar| bar.start < tick);
        let (first, last) = (before(from) + 1, before(to));
        Some((u32::try_from(first).ok()?, u32::try_from(last).ok()?))
    }

    /// The same song with other edits by hand in the section at a place, from 0. Allocates.
    ///
    /// # Errors
    /// [`SongError`] where they make no sense.
    pub fn with_edits(&self, place: usize, rows: &[EditRow]) -> Result<Self, SongError> {
        let mut song = self.clone();
        let Some((first, last)) = self.bars_of_section(place) else {
            return Ok(song);
        };
        let bars = (first as usize).saturating_sub(1)..last as usize;
        let bars = self.bars.get(bars).unwrap_or_default();
        let laid = edits::lay(rows, bars, |field| format!("sections[{place}].{field}"))?;
        let (from, to) = (
            bars.first().map_or(0, |bar| bar.start),
            bars.last().map_or(0, |bar| bar.end()),
        );
        let mut by_hand = song.chart.by_hand().clone();
        by_hand.edits.retain(|edit| !(from..to).contains(&edit.at));
        by_hand.edits.extend(laid.edits);
        song.chart.set_by_hand(by_hand);
        Ok(song)
    }

    /// What the panel says at the start: the plugin's defaults, with the song's take and phrase; where the
    /// chart is followed its levels stand in the middle, but for those that a section leaves to the panel.
    pub fn start_settings(&self) -> Settings {
        self.start
    }

    /// The chart; empty where the song is [automated](Self::automated).
    pub fn chart(&self) -> &Chart {
        &self.chart
    }

    /// Every change of the panel, in order of time; none where the chart is followed.
    pub fn changes(&self) -> &[Change] {
        &self.changes
    }

    /// The settings in force at a tick.
    pub fn settings(&self, tick: Ticks) -> Settings {
        if !self.chart.is_empty() {
            return self.chart.settings(tick, &self.start);
        }
        let mut settings = self.start;
        let due = self.changes.partition_point(|change| change.at <= tick);
        self.changes[..due]
            .iter()
            .for_each(|change| change.apply(&mut settings));
        settings
    }

    /// The guitar's attacks.
    pub fn riff(&self) -> &Riff {
        &self.riff
    }

    /// Gives the song other tempi.
    pub fn set_tempo(&mut self, tempo: TempoMap) {
        self.tempo = tempo;
    }

    /// Gives the song another riff.
    pub fn set_riff(&mut self, riff: Riff) {
        self.riff = riff;
    }

    /// The first tick after the song.
    pub fn end(&self) -> Ticks {
        self.bars.last().map_or(0, |bar| bar.end())
    }

    /// The settings before the first change, to be set otherwise: another feel, another take.
    pub fn start_mut(&mut self) -> &mut Settings {
        &mut self.start
    }
}
