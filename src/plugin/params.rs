//! The host's parameters. Ids, ranges and the order of choices are forever: hosts store automation
//! as a fraction of the range (`tests/plugin/frozen.rs` holds the list).

use super::history::History;
use super::keeper::Keeper;
use super::song::SongKeeper;
use super::view::View;
use crate::groove::vocabulary::{self, STYLE_SLOTS, VOCABULARY};
use crate::preview::{DEFAULT_LEVEL_DB, LEVELS_DB};
use crate::settings::Listen;
use crate::settings::SWINGS;
use crate::settings::{
    BarSettings, FillShape, Hand, HandRate, KickSource, Phrase, Play, Player, RiffGrid, Settings,
    StrokeSettings, SwitchAt,
};
use nice_plug::prelude::*;
use std::sync::Arc;

/// The parameters. Written by the host (any thread) and the editor (main thread), read by the
/// audio thread at every block; the framework splits blocks where automation changes one.
#[derive(Params)]
pub struct FourlimbParams {
    /// The beat: a slot of the vocabulary, 0..=63.
    #[id = "style"]
    pub style: IntParam,
    /// Energy, 0..=1: how hard, and under auto on which cymbal.
    #[id = "intensity"]
    pub intensity: FloatParam,
    /// The hand cymbal: a place in [`Hand::ALL`].
    #[id = "hand"]
    pub hand: IntParam,
    /// How many of the beat's extras are played, 0..=1.
    #[id = "density"]
    pub density: FloatParam,
    /// How far accents stand out, 0..=1.
    #[id = "accent"]
    pub accent: FloatParam,
    /// How likely a phrase ends in a fill, 0..=1.
    #[id = "fill_chance"]
    pub fill_chance: FloatParam,
    /// How often the lead hand strikes: a place in [`HandRate::ALL`].
    #[id = "hand_rate"]
    pub hand_rate: IntParam,
    /// Bars in a phrase: a place in [`Phrase::ALL`].
    #[id = "phrase"]
    pub phrase: IntParam,
    /// The take, 1..=999.
    #[id = "take"]
    pub take: IntParam,
    /// When a change of style is taken up: a place in [`SwitchAt::ALL`].
    #[id = "switch_at"]
    pub switch_at: IntParam,
    /// Stops playing while time goes on.
    #[id = "bypass"]
    pub bypass: BoolParam,
    /// How far strokes stray from the grid, 0..=1.
    #[id = "feel"]
    pub feel: FloatParam,
    /// What the first of a pair takes of it, 0.5..=0.75.
    #[id = "swing"]
    pub swing: FloatParam,
    /// How fast hands and feet may be: a place in [`Player::ALL`].
    #[id = "player"]
    pub player: IntParam,
    /// Calls a fill while it is on.
    #[id = "fill_now"]
    pub fill_now: BoolParam,
    /// What fills are like: a place in [`FillShape::ALL`].
    #[id = "fill_shape"]
    pub fill_shape: IntParam,
    /// What is played: a place in [`Play::ALL`].
    #[id = "play"]
    pub play: IntParam,
    /// Whether the built-in preview sounds.
    #[id = "preview"]
    pub preview: BoolParam,
    /// How loud it is, in dB below full scale, -48..=0.
    #[id = "preview_level"]
    pub preview_level: FloatParam,
    /// What the feet follow: a place in [`KickSource::ALL`].
    #[id = "kick_source"]
    pub kick_source: IntParam,
    /// What is captured into the riff: a place in [`Listen::ALL`].
    #[id = "listen"]
    pub listen: IntParam,
    /// How readily a change of sound counts as a stroke of the guitar, 0..=1.
    #[id = "sensitivity"]
    pub sensitivity: FloatParam,
    /// The grid that the guitar's attacks are drawn to: a place in [`RiffGrid::ALL`].
    #[id = "riff_grid"]
    pub riff_grid: IntParam,
    /// The riff. Written by the keeper's users and by loading a project, saved with the project.
    #[persist = "riff"]
    pub riff: Arc<Keeper>,
    /// What was played, and what was seen of the host's tempi and meters. The latter is written by what the
    /// audio thread tells and by loading a project, and saved with the project.
    #[persist = "seen"]
    pub history: Arc<History>,
    /// Counts the changes of what is saved beside the parameters, so that the host knows that the project
    /// has changed; nothing to see or to automate.
    #[id = "revision"]
    pub revision: IntParam,
    /// Whether the chart's section at the playhead sets the drummer.
    #[id = "follow_chart"]
    pub follow_chart: BoolParam,
    /// The song with its chart. Written by the keeper's users and by loading a project, saved with the project.
    #[persist = "song"]
    pub song: Arc<SongKeeper>,
    /// How the editor is looked at. Written by the editor and by loading a project.
    #[persist = "view"]
    pub view: Arc<View>,
}

/// Whether there is a change to take back, and one to make again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Can {
    /// Whether one can be taken back.
    pub undo: bool,
    /// Whether one can be made again.
    pub redo: bool,
}

/// Where the revision begins again.
pub const REVISIONS: i32 = 65_535;

/// Sensitivity in a new project.
pub const SENSITIVITY: f32 = 0.5;

/// A parameter from 0 to 100 %, held as 0..=1.
fn level(name: &str, default: f32) -> FloatParam {
    FloatParam::new(name, default, FloatRange::Linear { min: 0.0, max: 1.0 })
        .with_unit("%")
        .with_value_to_string(formatters::v2s_f32_percentage(0))
        .with_string_to_value(formatters::s2v_f32_percentage())
}

/// Swing, from straight to three to one. Triplets need a decimal.
fn swing(default: f32) -> FloatParam {
    let (min, max) = SWINGS;
    FloatParam::new("Swing", default, FloatRange::Linear { min, max })
        .with_unit("%")
        .with_value_to_string(Arc::new(|value| {
            let tenths = (value * 1000.0).round() / 10.0;
            format!("{tenths}")
        }))
        .with_string_to_value(formatters::s2v_f32_percentage())
}

/// The texts of a switch, off and on.
const SWITCH: [&str; 2] = ["off", "on"];

/// A level in dB.
fn decibels(name: &str, default: f32, (min, max): (f32, f32)) -> FloatParam {
    FloatParam::new(name, default, FloatRange::Linear { min, max })
        .with_unit(" dB")
        .with_value_to_string(formatters::v2s_f32_rounded(1))
}

/// A parameter that is on or off.
fn switch(name: &str, default: bool) -> BoolParam {
    BoolParam::new(name, default)
        .with_value_to_string(Arc::new(|on| SWITCH[usize::from(on)].to_owned()))
        .with_string_to_value(Arc::new(|text| {
            let is = |name: &&str| name.eq_ignore_ascii_case(text.trim());
            SWITCH.iter().position(is).map(|i| i == 1)
        }))
}

/// A parameter that chooses among names.
fn choice(name: &str, names: Vec<String>, default: usize) -> IntParam {
    let last = i32::try_from(names.len().saturating_sub(1)).unwrap_or(0);
    let default = i32::try_from(default).unwrap_or(0);
    let names: Arc<[String]> = names.into();
    let shown = names.clone();
    IntParam::new(name, default, IntRange::Linear { min: 0, max: last })
        .with_value_to_string(Arc::new(move |i| {
            usize::try_from(i)
                .ok()
                .and_then(|i| shown.get(i))
                .cloned()
                .unwrap_or_default()
        }))
        .with_string_to_value(Arc::new(move |text| {
            let found = names
                .iter()
                .position(|name| name.eq_ignore_ascii_case(text.trim()));
            found.and_then(|i| i32::try_from(i).ok())
        }))
}

fn owned(names: &[&str]) -> Vec<String> {
    names.iter().map(|&name| name.to_owned()).collect()
}

/// The text of every style slot; free slots are numbered from 1, so that what is shown can be
/// typed.
pub fn style_names() -> Vec<String> {
    let free = (VOCABULARY.len() + 1..=usize::from(STYLE_SLOTS)).map(|slot| format!("free {slot}"));
    VOCABULARY
        .iter()
        .map(|beat| beat.name.to_owned())
        .chain(free)
        .collect()
}

impl Default for FourlimbParams {
    fn default() -> Self {
        let Settings {
            bar_settings,
            stroke_settings,
            switch_at,
            fill_now,
            follow_chart,
        } = Settings::default();
        let take = i32::try_from(bar_settings.take).unwrap_or(1);
        Self {
            style: choice("Style", style_names(), usize::from(bar_settings.style)),
            intensity: level("Intensity", stroke_settings.intensity),
            hand: choice(
                "Hand cymbal",
                owned(Hand::NAMES),
                stroke_settings.hand as usize,
            ),
            density: level("Density", stroke_settings.density),
            accent: level("Accent", stroke_settings.accent),
            fill_chance: level("Fill chance", bar_settings.fill_chance),
            hand_rate: choice(
                "Hand rate",
                owned(HandRate::NAMES),
                bar_settings.hand_rate as usize,
            ),
            phrase: choice("Phrase", owned(Phrase::NAMES), bar_settings.phrase as usize),
            take: IntParam::new("Take", take, IntRange::Linear { min: 1, max: 999 }),
            switch_at: choice("Switch at", owned(SwitchAt::NAMES), switch_at as usize),
            bypass: BoolParam::new("Bypass", false)
                .with_value_to_string(formatters::v2s_bool_bypass())
                .with_string_to_value(formatters::s2v_bool_bypass())
                .make_bypass(),
            feel: level("Feel", bar_settings.feel),
            swing: swing(bar_settings.swing),
            player: choice("Player", owned(Player::NAMES), bar_settings.player as usize),
            fill_now: switch("Fill now", fill_now),
            fill_shape: choice(
                "Fill shape",
                owned(FillShape::NAMES),
                bar_settings.fill_shape as usize,
            ),
            play: choice("Play", owned(Play::NAMES), bar_settings.play as usize),
            preview: switch("Preview", true),
            preview_level: decibels("Preview level", DEFAULT_LEVEL_DB, LEVELS_DB),
            kick_source: choice(
                "Kick source",
                owned(KickSource::NAMES),
                bar_settings.kick_source as usize,
            ),
            listen: choice("Listen", owned(Listen::NAMES), Listen::Off as usize),
            sensitivity: level("Sensitivity", SENSITIVITY),
            riff_grid: choice(
                "Riff grid",
                owned(RiffGrid::NAMES),
                bar_settings.riff_grid as usize,
            ),
            riff: Arc::new(Keeper::default()),
            history: Arc::default(),
            revision: IntParam::new(
                "Revision",
                0,
                IntRange::Linear {
                    min: 0,
                    max: REVISIONS,
                },
            )
            .hide()
            .non_automatable(),
            follow_chart: switch("Follow chart", follow_chart),
            song: Arc::new(SongKeeper::default()),
            view: Arc::new(View::default()),
        }
    }
}

/// The choice at a parameter's place.
fn chosen<T: Copy>(all: &[T], param: &IntParam) -> T {
    let i = usize::try_from(param.value()).unwrap_or(0);
    all[i.min(all.len() - 1)]
}

impl FourlimbParams {
    /// What the parameters say now. Any thread; atomics only.
    pub fn settings(&self) -> Settings {
        Settings {
            bar_settings: BarSettings {
                style: u8::try_from(self.style.value()).unwrap_or(0),
                hand_rate: chosen(HandRate::ALL, &self.hand_rate),
                fill_chance: self.fill_chance.value(),
                phrase: chosen(Phrase::ALL, &self.phrase),
                take: self.take.value().unsigned_abs(),
                feel: self.feel.value(),
                swing: self.swing.value(),
                player: chosen(Player::ALL, &self.player),
                fill_shape: chosen(FillShape::ALL, &self.fill_shape),
                play: chosen(Play::ALL, &self.play),
                kick_source: chosen(KickSource::ALL, &self.kick_source),
                riff_grid: chosen(RiffGrid::ALL, &self.riff_grid),
            },
            stroke_settings: StrokeSettings {
                intensity: self.intensity.value(),
                hand: chosen(Hand::ALL, &self.hand),
                density: self.density.value(),
                accent: self.accent.value(),
            },
            switch_at: chosen(SwitchAt::ALL, &self.switch_at),
            fill_now: self.fill_now.value(),
            follow_chart: self.follow_chart.value(),
        }
    }

    /// What undo and redo would do next. Any thread but the audio thread.
    pub fn can(&self) -> Can {
        let (riff, song) = (self.riff.turns(), self.song.turns());
        Can {
            undo: riff.undoes_before(song) || song.undoes_before(riff),
            redo: riff.redoes_before(song) || song.redoes_before(riff),
        }
    }

    /// Takes the last change of riff or song back. Any thread but the audio thread.
    pub fn undo(&self) {
        if self.riff.turns().undoes_before(self.song.turns()) {
            self.riff.undo();
        } else {
            self.song.undo();
        }
    }

    /// Makes the change of riff or song again that was last taken back, unless something else was changed
    /// since. Any thread but the audio thread.
    pub fn redo(&self) {
        let (riff, song) = (self.riff.turns(), self.song.turns());
        if riff.redoes_before(song) {
            self.riff.redo();
        } else if song.redoes_before(riff) {
            self.song.redo();
        }
    }

    /// What is captured now. Any thread; atomics only.
    pub fn listen(&self) -> Listen {
        chosen(Listen::ALL, &self.listen)
    }

    /// The description of the beat that the style slot plays.
    pub fn about(&self) -> &'static str {
        vocabulary::beat(u8::try_from(self.style.value()).unwrap_or(0)).about
    }
}
