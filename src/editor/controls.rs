//! What can be set: the controls, the values they show, and what a view asks for.
//!
//! Views know controls and plain numbers; which parameter of which framework that is, only the
//! editor's root knows.

use super::text;
use crate::groove::vocabulary::VOCABULARY;
use crate::plugin::params::SENSITIVITY;
use crate::preview::{DEFAULT_LEVEL_DB, LEVELS_DB};
use crate::settings::Listen;
use crate::settings::SWINGS;
use crate::settings::{
    FillShape, Hand, HandRate, KickSource, Phrase, Play, Player, RiffGrid, Settings, SwitchAt,
};
use crate::song::chart::MIDDLE;

/// Something that can be set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Control {
    /// The beat.
    Style,
    /// Energy.
    Intensity,
    /// The hand cymbal.
    Hand,
    /// How many extras are played.
    Density,
    /// How far accents stand out.
    Accent,
    /// How likely a phrase ends in a fill.
    FillChance,
    /// How often the lead hand strikes.
    HandRate,
    /// Bars in a phrase.
    Phrase,
    /// The take.
    Take,
    /// When a change of style is taken up.
    SwitchAt,
    /// Whether the drummer rests.
    Bypass,
    /// How far strokes stray from the grid.
    Feel,
    /// What the first of a pair takes of it.
    Swing,
    /// How fast hands and feet may be.
    Player,
    /// Calls a fill.
    FillNow,
    /// What fills are like.
    FillShape,
    /// What is played.
    Play,
    /// Whether the preview sounds.
    Preview,
    /// How loud the preview is.
    PreviewLevel,
    /// What the feet follow.
    KickSource,
    /// What is captured into the riff.
    Listen,
    /// How readily sound counts as a stroke of the guitar.
    Sensitivity,
    /// The grid that the guitar's attacks are drawn to.
    RiffGrid,
    /// Whether the chart's section at the playhead sets the drummer.
    FollowChart,
}

/// The first and the last take.
pub const TAKES: (u16, u16) = (1, 999);

/// What a view asks for. `Set` may be repeated while the pointer is held; the root makes one
/// gesture of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Intent {
    /// Give a control this value, in the terms of [`Values::get`].
    Set(Control, f32),
}

/// The values of all controls at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Values {
    /// What the drummer is told.
    pub settings: Settings,
    /// Whether the drummer rests.
    pub bypass: bool,
    /// Whether the preview sounds.
    pub preview: bool,
    /// How loud it is, in dB.
    pub preview_level: f32,
    /// What is captured into the riff.
    pub listen: Listen,
    /// How readily sound counts as a stroke of the guitar, 0..=1.
    pub sensitivity: f32,
    /// Whether there is a chart, and it is followed.
    pub follows: bool,
}

impl Default for Values {
    fn default() -> Self {
        Self {
            settings: Settings::default(),
            bypass: false,
            preview: true,
            preview_level: DEFAULT_LEVEL_DB,
            listen: Listen::Off,
            sensitivity: SENSITIVITY,
            follows: false,
        }
    }
}

impl Control {
    /// Every control.
    pub const ALL: [Self; 24] = [
        Self::Style,
        Self::Intensity,
        Self::Hand,
        Self::Density,
        Self::Accent,
        Self::FillChance,
        Self::HandRate,
        Self::Phrase,
        Self::Take,
        Self::SwitchAt,
        Self::Bypass,
        Self::Feel,
        Self::Swing,
        Self::Player,
        Self::FillNow,
        Self::FillShape,
        Self::Play,
        Self::Preview,
        Self::PreviewLevel,
        Self::KickSource,
        Self::Listen,
        Self::Sensitivity,
        Self::RiffGrid,
        Self::FollowChart,
    ];

    /// The texts of a control that chooses among few, in order; empty for all others.
    pub fn choices(self) -> &'static [&'static str] {
        match self {
            Self::Hand => Hand::NAMES,
            Self::HandRate => HandRate::NAMES,
            Self::Phrase => Phrase::NAMES,
            Self::SwitchAt => SwitchAt::NAMES,
            Self::Player => Player::NAMES,
            Self::FillShape => FillShape::NAMES,
            Self::Play => Play::NAMES,
            Self::KickSource => KickSource::NAMES,
            Self::Listen => Listen::NAMES,
            Self::RiffGrid => RiffGrid::NAMES,
            _ => &[],
        }
    }

    /// The least and the greatest value of a level.
    pub fn range(self) -> (f32, f32) {
        match self {
            Self::Swing => SWINGS,
            Self::PreviewLevel => LEVELS_DB,
            _ => (0.0, 1.0),
        }
    }

    /// What a level's value is multiplied by to be read aloud: percent, or dB as they are.
    pub fn scale(self) -> f64 {
        if self == Self::PreviewLevel {
            1.0
        } else {
            100.0
        }
    }

    /// Its value in a new project.
    pub fn default_value(self) -> f32 {
        Values::default().get(self)
    }

    /// The intent to go back to that.
    pub fn reset(self) -> Intent {
        Intent::Set(self, self.default_value())
    }
}

impl Values {
    /// Whether the chart says it in the panel's place.
    pub fn is_of_chart(&self, control: Control) -> bool {
        self.follows
            && matches!(
                control,
                Control::Style
                    | Control::Hand
                    | Control::HandRate
                    | Control::FillChance
                    | Control::FillShape
                    | Control::Play
            )
    }

    /// Whether it moves what the chart says by its distance from the middle.
    pub fn moves_chart(&self, control: Control) -> bool {
        let levels = [Control::Intensity, Control::Density, Control::Accent];
        self.follows && levels.contains(&control)
    }

    /// Takes over from the settings in force what is the chart's.
    pub fn show_chart(&mut self, in_force: &Settings) {
        let Settings {
            bar_settings,
            stroke_settings,
            ..
        } = in_force;
        let panel = &mut self.settings;
        panel.bar_settings.style = bar_settings.style;
        panel.bar_settings.hand_rate = bar_settings.hand_rate;
        panel.bar_settings.fill_chance = bar_settings.fill_chance;
        panel.bar_settings.fill_shape = bar_settings.fill_shape;
        panel.bar_settings.play = bar_settings.play;
        panel.stroke_settings.hand = stroke_settings.hand;
    }

    /// A control's value: 0..=1 for a level, 0.5..=0.75 for swing, dB for the preview's, the place in
    /// its list for a choice, the number for the take, 0 or 1 for bypass and preview.
    pub fn get(&self, control: Control) -> f32 {
        let Settings {
            bar_settings,
            stroke_settings,
            switch_at,
            fill_now,
            follow_chart,
        } = self.settings;
        match control {
            Control::Style => f32::from(bar_settings.style),
            Control::Intensity => stroke_settings.intensity,
            Control::Hand => f32::from(stroke_settings.hand as u8),
            Control::Density => stroke_settings.density,
            Control::Accent => stroke_settings.accent,
            Control::FillChance => bar_settings.fill_chance,
            Control::HandRate => f32::from(bar_settings.hand_rate as u8),
            Control::Phrase => f32::from(bar_settings.phrase as u8),
            Control::Take => bar_settings.take as f32,
            Control::SwitchAt => f32::from(switch_at as u8),
            Control::Bypass => f32::from(u8::from(self.bypass)),
            Control::Feel => bar_settings.feel,
            Control::Swing => bar_settings.swing,
            Control::Player => f32::from(bar_settings.player as u8),
            Control::FillNow => f32::from(u8::from(fill_now)),
            Control::FillShape => f32::from(bar_settings.fill_shape as u8),
            Control::Play => f32::from(bar_settings.play as u8),
            Control::Preview => f32::from(u8::from(self.preview)),
            Control::PreviewLevel => self.preview_level,
            Control::KickSource => f32::from(bar_settings.kick_source as u8),
            Control::Listen => f32::from(self.listen as u8),
            Control::Sensitivity => self.sensitivity,
            Control::RiffGrid => f32::from(bar_settings.riff_grid as u8),
            Control::FollowChart => f32::from(u8::from(follow_chart)),
        }
    }

    /// Gives a control a value in the same terms.
    pub fn set(&mut self, control: Control, value: f32) {
        let Settings {
            bar_settings,
            stroke_settings,
            switch_at,
            fill_now,
            follow_chart,
        } = &mut self.settings;
        match control {
            Control::Style => bar_settings.style = u8::try_from(whole(value)).unwrap_or(u8::MAX),
            Control::Intensity => stroke_settings.intensity = value,
            Control::Hand => stroke_settings.hand = pick(Hand::ALL, value),
            Control::Density => stroke_settings.density = value,
            Control::Accent => stroke_settings.accent = value,
            Control::FillChance => bar_settings.fill_chance = value,
            Control::HandRate => bar_settings.hand_rate = pick(HandRate::ALL, value),
            Control::Phrase => bar_settings.phrase = pick(Phrase::ALL, value),
            Control::Take => bar_settings.take = u32::from(whole(value)),
            Control::SwitchAt => *switch_at = pick(SwitchAt::ALL, value),
            Control::Bypass => self.bypass = value >= 0.5,
            Control::Feel => bar_settings.feel = value,
            Control::Swing => bar_settings.swing = value,
            Control::Player => bar_settings.player = pick(Player::ALL, value),
            Control::FillNow => *fill_now = value >= 0.5,
            Control::FillShape => bar_settings.fill_shape = pick(FillShape::ALL, value),
            Control::Play => bar_settings.play = pick(Play::ALL, value),
            Control::Preview => self.preview = value >= 0.5,
            Control::PreviewLevel => self.preview_level = value,
            Control::KickSource => bar_settings.kick_source = pick(KickSource::ALL, value),
            Control::Listen => self.listen = pick(Listen::ALL, value),
            Control::Sensitivity => self.sensitivity = value,
            Control::RiffGrid => bar_settings.riff_grid = pick(RiffGrid::ALL, value),
            Control::FollowChart => *follow_chart = value >= 0.5,
        }
    }

    /// The value that a double click asks for: the default, or where the chart is left as it is.
    pub fn home(&self, control: Control) -> f32 {
        if self.moves_chart(control) {
            return MIDDLE;
        }
        control.default_value()
    }

    /// A control's value in words: the host's, or where it moves the chart's by how much.
    pub fn words(&self, control: Control) -> String {
        if self.moves_chart(control) {
            return text::chart::moved(self.get(control) - MIDDLE);
        }
        self.text(control)
    }

    /// A control's value as text, the same as the host shows.
    pub fn text(&self, control: Control) -> String {
        let value = self.get(control);
        match control {
            Control::Style => {
                let slot = usize::from(whole(value));
                let beat = VOCABULARY.get(slot);
                beat.map_or_else(|| format!("free {}", slot + 1), |beat| beat.name.to_owned())
            }
            Control::Intensity
            | Control::Density
            | Control::Accent
            | Control::FillChance
            | Control::Sensitivity
            | Control::Feel => {
                format!("{:.0}%", value * 100.0)
            }
            Control::Swing => format!("{}%", (value * 1000.0).round() / 10.0),
            Control::Take => whole(value).to_string(),
            Control::Hand
            | Control::HandRate
            | Control::Phrase
            | Control::SwitchAt
            | Control::KickSource
            | Control::Listen
            | Control::RiffGrid
            | Control::Player
            | Control::FillShape
            | Control::Play => pick(control.choices(), value).to_owned(),
            Control::FillNow | Control::Preview | Control::FollowChart => {
                [text::OFF, text::ON][usize::from(value >= 0.5)].to_owned()
            }
            Control::PreviewLevel => format!("{value:.1} dB"),
            Control::Bypass if self.bypass => text::BYPASSED.to_owned(),
            Control::Bypass => text::NOT_BYPASSED.to_owned(),
        }
    }
}

/// The nearest whole number that a choice or a take can have.
pub fn whole(value: f32) -> u16 {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let whole = value.round().clamp(0.0, f32::from(u16::MAX)) as u16;
    whole
}

fn pick<T: Copy>(all: &[T], value: f32) -> T {
    all[usize::from(whole(value)).min(all.len() - 1)]
}
