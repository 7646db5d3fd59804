//! What the songwriter sets, in one place: the inputs of the drummer and of the plugin around it.
//!
//! `table` has a row for every setting; parameters, controls, lanes and section fields come from it.

mod choices;
mod kind;
mod set;
mod styles;
mod table;

pub use choices::*;
pub use kind::{Kind, whole};
pub use set::SettingSet;
pub use styles::*;
pub(crate) use table::section_settings;
#[cfg(feature = "plugin")]
pub(crate) use table::settings_table;
pub use table::{Scope, Setting, SettingId};

/// Everything that shapes what is played, at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
#[expect(clippy::struct_excessive_bools, reason = "each is a switch of its own")]
pub struct Settings {
    /// Latched when a bar begins, or at the next count where [`SwitchAt::Count`] is set.
    pub bar_settings: BarSettings,
    /// Asked at every stroke.
    pub stroke_settings: StrokeSettings,
    /// When a change of style or hand rate is taken up.
    pub switch_at: SwitchAt,
    /// Calls a fill: from the next count to the end of the bar, or to the next count after it is
    /// released.
    pub fill_now: bool,
    /// Whether the chart says what is played; intensity, density and accent then move what it says.
    pub follow_chart: bool,
    /// What is captured into the riff.
    pub listen: Listen,
    /// How readily a change of the guitar's sound counts as a stroke, 0..=1.
    pub sensitivity: f32,
    /// Whether the drummer rests while time goes on.
    pub bypass: bool,
    /// Whether the preview sounds.
    pub preview: bool,
    /// How loud it is, in dB, [`LEVELS_DB`].
    pub preview_level_db: f32,
    /// How much of the room it has, 0..=1.
    pub preview_room: f32,
    /// Counts changes of the project that no other setting tells the host of, 0..=[`REVISIONS`]. Nothing is
    /// played by it.
    pub revision: u32,
}

/// The least and the greatest level of the preview, in dB below full scale: its hardest stroke.
pub const LEVELS_DB: (f32, f32) = (-48.0, 0.0);

/// The level of the preview in a new project, in dB: it starts quiet.
pub const DEFAULT_LEVEL_DB: f32 = -12.0;

/// How much of the room the preview has in a new project, 0..=1: heard as a place, and out of the way of a fast
/// beat. Judged by measuring (`cargo xtask kit`).
pub const DEFAULT_ROOM: f32 = 0.35;

/// The first and the last take.
pub const TAKES: (u16, u16) = (1, 999);

/// Where the revision begins again.
pub const REVISIONS: u16 = u16::MAX;

/// The least and the greatest swing: straight, and three to one.
pub const SWINGS: (f32, f32) = (0.5, 0.75);

/// The settings that make the plan of a bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BarSettings {
    /// Slot in the vocabulary, 0..64. A free slot plays the nearest beat before it.
    pub style: u8,
    /// How often the lead hand strikes.
    pub hand_rate: HandRate,
    /// How likely a phrase ends in a fill, 0..=1.
    pub fill_chance: f32,
    /// What fills are like.
    pub fill_shape: FillShape,
    /// What is played: the beat, a count-in, an ending, nothing.
    pub play: Play,
    /// Length of a phrase.
    pub phrase: Phrase,
    /// How good the drummer is.
    pub player: Player,
    /// The take: same take, same song, same settings = same notes.
    pub take: u32,
    /// The song's take where a section has one of its own: the same player goes on, so the player's traits are the
    /// song's. `None` where they are the take's.
    pub song_take: Option<u32>,
    /// How far strokes stray from the grid, 0..=1: 0 is the exact grid, 1 a loose evening.
    pub feel: f32,
    /// What the first of a pair of eighths, or of sixteenths, takes of the pair, 0.5..=0.75: 0.5 is
    /// straight, 2/3 the triplet.
    pub swing: f32,
    /// What the feet follow.
    pub kick_source: KickSource,
    /// The grid that the guitar's attacks are drawn to.
    pub riff_grid: RiffGrid,
    /// Where crashes stand beside those of fills.
    pub crashes: Crashes,
    /// How far the lead hand follows the riff's strongest strokes with crashes, 0..=1.
    pub catch: f32,
}

impl BarSettings {
    /// The take that draws the player's traits.
    pub fn song_take(&self) -> u32 {
        self.song_take.unwrap_or(self.take)
    }
}

/// The settings that act on the next stroke.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StrokeSettings {
    /// Energy, 0..=1: how hard everything is played, and under [`Hand::Auto`] on which cymbal.
    pub intensity: f32,
    /// The hand cymbal.
    pub hand: Hand,
    /// How many of the beat's extra strokes are played, 0..=1.
    pub density: f32,
    /// How far accents stand out, 0..=1.
    pub accent: f32,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            bar_settings: BarSettings {
                style: 0,
                hand_rate: HandRate::Auto,
                fill_chance: 0.5,
                fill_shape: FillShape::Auto,
                play: Play::Beat,
                phrase: Phrase::Four,
                player: Player::Extreme,
                take: 1,
                song_take: None,
                feel: 0.5,
                swing: 0.5,
                kick_source: KickSource::Beat,
                riff_grid: RiffGrid::Sixteenths,
                crashes: Crashes::Phrase,
                catch: 0.0,
            },
            stroke_settings: StrokeSettings {
                intensity: 0.6,
                hand: Hand::Auto,
                density: 0.4,
                accent: 0.5,
            },
            switch_at: SwitchAt::Bar,
            fill_now: false,
            follow_chart: false,
            listen: Listen::Off,
            sensitivity: 0.5,
            bypass: false,
            preview: true,
            preview_level_db: DEFAULT_LEVEL_DB,
            preview_room: DEFAULT_ROOM,
            revision: 0,
        }
    }
}
