//! A song laid out on the timeline.

use super::file::{Lane, Level, Point, PointValue, Section, SongError, SongFile};
use crate::groove::{
    FillShape, Hand, HandRate, KickSource, Phrase, Play, RiffGrid, Settings, vocabulary,
};
use crate::riff::Riff;
use crate::time::tempo::{DEFAULT_BPM, MAX_BPM};
use crate::time::{Bar, Meter, TICKS_PER_QUARTER, TempoMap, Ticks};

/// How finely glides are sampled, in ticks: a thirty-second. Finer than a drummer strikes.
const GLIDE_TICKS: Ticks = TICKS_PER_QUARTER / 8;
/// Longest song that is accepted, in bars: about ten hours at 120 BPM in 4/4.
const MAX_BARS: usize = 20_000;

/// Slowest tempo of a song, in quarter notes a minute: a MIDI file can't say less than 3.58, which is
/// 16,777,215 microseconds a quarter (Standard MIDI Files 1.0).
const MIN_BPM: f64 = 4.0;

/// A song laid out in ticks.
#[derive(Debug, Clone, PartialEq)]
pub struct Timeline {
    title: String,
    bars: Vec<Bar>,
    tempo: TempoMap,
    markers: Vec<(Ticks, String)>,
    start: Settings,
    changes: Vec<Change>,
    riff: Riff,
}

/// A change of one setting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Change {
    /// From this tick on.
    pub at: Ticks,
    /// The setting and its new value.
    pub to: Setting,
}

/// One setting and its value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Setting {
    /// Slot in the vocabulary.
    Style(u8),
    /// 0..=1.
    Intensity(f32),
    /// The hand cymbal.
    Hand(Hand),
    /// The hand rate.
    HandRate(HandRate),
    /// 0..=1.
    Density(f32),
    /// 0..=1.
    Accent(f32),
    /// 0..=1.
    FillChance(f32),
    /// What fills are like.
    FillShape(FillShape),
    /// Whether a fill is called.
    FillNow(bool),
    /// What is played.
    Play(Play),
}

impl Change {
    /// Applies the change.
    pub fn apply(&self, settings: &mut Settings) {
        match self.to {
            Setting::Style(slot) => settings.plan.style = slot,
            Setting::Intensity(level) => settings.moment.intensity = level,
            Setting::Hand(hand) => settings.moment.hand = hand,
            Setting::HandRate(rate) => settings.plan.hand_rate = rate,
            Setting::Density(level) => settings.moment.density = level,
            Setting::Accent(level) => settings.moment.accent = level,
            Setting::FillChance(level) => settings.plan.fill_chance = level,
            Setting::FillShape(shape) => settings.plan.fill_shape = shape,
            Setting::FillNow(on) => settings.fill_now = on,
            Setting::Play(play) => settings.plan.play = play,
        }
    }
}

impl Timeline {
    /// Lays out a song.
    ///
    /// # Errors
    /// [`SongError`] names the field that makes no sense and what would.
    pub fn new(song: &SongFile) -> Result<Self, SongError> {
        let mut layout = Layout::new(song)?;
        for (i, section) in song.sections.iter().enumerate() {
            layout.section(i, section)?;
        }
        for (&lane, points) in &song.automation {
            layout.lane(lane, points)?;
        }
        layout.changes.sort_by_key(|change| change.at);
        let riff = follow(song, &mut layout.start)?;
        Ok(Self {
            riff,
            title: song.title.clone(),
            bars: layout.bars,
            tempo: layout.tempo,
            markers: layout.markers,
            start: layout.start,
            changes: layout.changes,
        })
    }

    /// The song's title.
    pub fn title(&self) -> &str {
        &self.title
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

    /// The settings before the first change: the plugin's defaults, with the song's take and
    /// phrase.
    pub fn start_settings(&self) -> Settings {
        self.start
    }

    /// Every change of a setting, in order of time.
    pub fn changes(&self) -> &[Change] {
        &self.changes
    }

    /// The guitar's attacks.
    pub fn riff(&self) -> &Riff {
        &self.riff
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

/// The song's riff, and how it is followed.
fn follow(song: &SongFile, settings: &mut Settings) -> Result<Riff, SongError> {
    let choose = |place: &str, names: &[&str]| {
        SongError::new(
            place,
            format!("no such choice; there are: {}", names.join(", ")),
        )
    };
    if let Some(name) = &song.kick_source {
        let source = KickSource::from_name(name);
        settings.plan.kick_source =
            source.ok_or_else(|| choose("kick_source", KickSource::NAMES))?;
    }
    if let Some(name) = &song.riff_grid {
        let grid = RiffGrid::from_name(name);
        settings.plan.riff_grid = grid.ok_or_else(|| choose("riff_grid", RiffGrid::NAMES))?;
    }
    let Some(saved) = &song.riff else {
        return Ok(Riff::default());
    };
    Riff::load(saved).map_err(|error| SongError::new("riff", error.to_string()))
}

struct Layout {
    bars: Vec<Bar>,
    tempo: TempoMap,
    markers: Vec<(Ticks, String)>,
    start: Settings,
    changes: Vec<Change>,
    meter: Meter,
    at: Ticks,
}

impl Layout {
    fn new(song: &SongFile) -> Result<Self, SongError> {
        if song.sections.is_empty() {
            return Err(SongError::new(
                "sections",
                "a song needs at least one section",
            ));
        }
        let mut start = Settings::default();
        start.plan.take = song.take;
        if !(1..=999).contains(&song.take) {
            return Err(SongError::new("take", "use a take from 1 to 999"));
        }
        start.plan.phrase = match song.phrase_bars {
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
            meter: Meter::FOUR_FOUR,
            at: 0,
        })
    }

    fn section(&mut self, i: usize, section: &Section) -> Result<(), SongError> {
        let place = |field: &str| format!("sections[{i}].{field}");
        let bars = section.bars as usize;
        if bars == 0 || self.bars.len() + bars > MAX_BARS {
            let problem = format!("use at least 1 bar, and no more than {MAX_BARS} in the song");
            return Err(SongError::new(place("bars"), problem));
        }
        if let Some(meter) = &section.meter {
            self.meter = meter
                .parse()
                .map_err(|e| SongError::new(place("meter"), format!("{e}")))?;
        }
        if let Some(bpm) = section.bpm {
            if !(MIN_BPM..=MAX_BPM).contains(&bpm) {
                let problem = format!("{bpm} is no tempo: use {MIN_BPM} to {MAX_BPM} BPM");
                return Err(SongError::new(place("bpm"), problem));
            }
            self.tempo.change(self.at, bpm);
        }
        let (from, to) = (
            self.at,
            self.at + self.meter.bar_len() * i64::from(section.bars),
        );
        self.markers.push((from, section.name.clone()));
        for (lane, name) in [
            (Lane::Style, &section.style),
            (Lane::Hand, &section.hand),
            (Lane::HandRate, &section.hand_rate),
            (Lane::FillShape, &section.fill_shape),
            (Lane::Play, &section.play),
        ] {
            if let Some(name) = name {
                let to = choice(lane, name)
                    .map_err(|problem| SongError::new(place(lane.id()), problem))?;
                self.changes.push(Change { at: from, to });
            }
        }
        for (lane, level) in [
            (Lane::Intensity, section.intensity),
            (Lane::Density, section.density),
            (Lane::Accent, section.accent),
            (Lane::FillChance, section.fill_chance),
        ] {
            let (a, b) = match level {
                Some(Level::Steady(value)) => (value, value),
                Some(Level::Ramp { from, to }) => (from, to),
                None => continue,
            };
            for value in [a, b] {
                in_range(value).map_err(|problem| SongError::new(place(lane.id()), problem))?;
            }
            self.glide(lane, (from, a), (to, b));
        }
        for _ in 0..bars {
            let bar = Bar {
                start: self.at,
                meter: self.meter,
            };
            self.at = bar.end();
            self.bars.push(bar);
        }
        Ok(())
    }

    fn lane(&mut self, lane: Lane, points: &[Point]) -> Result<(), SongError> {
        let mut placed: Vec<(Ticks, &Point)> = Vec::new();
        for (i, point) in points.iter().enumerate() {
            let place = |field: &str| format!("automation.{}[{i}].{field}", lane.id());
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
            if placed.last().is_some_and(|(last, _)| *last >= at) {
                return Err(SongError::new(
                    place("bar"),
                    "points must go forward in time",
                ));
            }
            match (&point.value, lane.is_level()) {
                (PointValue::Number(value), true) => {
                    in_range(*value).map_err(|p| SongError::new(place("value"), p))?;
                }
                (PointValue::Name(name), false) => {
                    choice(lane, name).map_err(|p| SongError::new(place("value"), p))?;
                }
                (_, true) => {
                    return Err(SongError::new(place("value"), "use a number from 0 to 1"));
                }
                (_, false) => return Err(SongError::new(place("value"), "use a name in quotes")),
            }
            placed.push((at, point));
        }
        if let Some(&(first, _)) = placed.first() {
            let same = |change: &Change| change.to.lane() == lane && change.at >= first;
            self.changes.retain(|change| !same(change));
        }
        for (i, &(at, point)) in placed.iter().enumerate() {
            match &point.value {
                PointValue::Name(name) => {
                    if let Ok(to) = choice(lane, name) {
                        self.changes.push(Change { at, to });
                    }
                }
                PointValue::Number(value) => {
                    let target = placed.get(i + 1).filter(|_| !point.hold);
                    let (end, to) = match target {
                        Some((
                            end,
                            Point {
                                value: PointValue::Number(to),
                                ..
                            },
                        )) => (*end, *to),
                        _ => (at + 1, *value),
                    };
                    self.glide(lane, (at, *value), (end, to));
                }
            }
        }
        Ok(())
    }

    /// Changes a level in small steps from one point to just before another.
    fn glide(&mut self, lane: Lane, from: (Ticks, f32), to: (Ticks, f32)) {
        let mut at = from.0;
        while at < to.0 {
            let share = (at - from.0) as f64 / (to.0 - from.0) as f64;
            #[expect(clippy::cast_possible_truncation)]
            let value = (f64::from(from.1) + f64::from(to.1 - from.1) * share) as f32;
            self.changes.push(Change {
                at,
                to: lane.level(value),
            });
            if from.1 == to.1 {
                break;
            }
            at += GLIDE_TICKS;
        }
    }
}

fn in_range(value: f32) -> Result<(), String> {
    if (0.0..=1.0).contains(&value) {
        Ok(())
    } else {
        Err(format!("{value} is out of range: use a number from 0 to 1"))
    }
}

fn choice(lane: Lane, name: &str) -> Result<Setting, String> {
    let unknown = |what: &str, names: &[&str]| {
        format!(
            "there is no {what} \"{name}\": use one of {}",
            names.join(", ")
        )
    };
    match lane {
        Lane::Hand => Hand::from_name(name)
            .map(Setting::Hand)
            .ok_or_else(|| unknown("hand cymbal", Hand::NAMES)),
        Lane::HandRate => HandRate::from_name(name)
            .map(Setting::HandRate)
            .ok_or_else(|| unknown("hand rate", HandRate::NAMES)),
        Lane::FillShape => FillShape::from_name(name)
            .map(Setting::FillShape)
            .ok_or_else(|| unknown("fill shape", FillShape::NAMES)),
        Lane::FillNow => ["off", "on"]
            .iter()
            .position(|text| *text == name)
            .map(|i| Setting::FillNow(i == 1))
            .ok_or_else(|| unknown("state of fill_now", &["off", "on"])),
        Lane::Play => Play::from_name(name)
            .map(Setting::Play)
            .ok_or_else(|| unknown("thing to play", Play::NAMES)),
        _ => vocabulary::slot(name).map(Setting::Style).ok_or_else(|| {
            let names: Vec<_> = vocabulary::VOCABULARY
                .iter()
                .map(|beat| beat.name)
                .collect();
            unknown("beat", &names)
        }),
    }
}

impl Lane {
    /// Its id: that of the parameter, and its name in the file.
    pub fn id(self) -> &'static str {
        match self {
            Self::Style => "style",
            Self::Intensity => "intensity",
            Self::Hand => "hand",
            Self::HandRate => "hand_rate",
            Self::Density => "density",
            Self::Accent => "accent",
            Self::FillChance => "fill_chance",
            Self::FillShape => "fill_shape",
            Self::FillNow => "fill_now",
            Self::Play => "play",
        }
    }

    fn is_level(self) -> bool {
        matches!(
            self,
            Self::Intensity | Self::Density | Self::Accent | Self::FillChance
        )
    }

    fn level(self, value: f32) -> Setting {
        match self {
            Self::Density => Setting::Density(value),
            Self::Accent => Setting::Accent(value),
            Self::FillChance => Setting::FillChance(value),
            _ => Setting::Intensity(value),
        }
    }
}

impl Setting {
    /// The lane that it belongs to.
    pub fn lane(&self) -> Lane {
        match self {
            Self::Style(_) => Lane::Style,
            Self::Intensity(_) => Lane::Intensity,
            Self::Hand(_) => Lane::Hand,
            Self::HandRate(_) => Lane::HandRate,
            Self::Density(_) => Lane::Density,
            Self::Accent(_) => Lane::Accent,
            Self::FillChance(_) => Lane::FillChance,
            Self::FillShape(_) => Lane::FillShape,
            Self::FillNow(_) => Lane::FillNow,
            Self::Play(_) => Lane::Play,
        }
    }
}
