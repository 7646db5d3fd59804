//! What the songwriter changed by hand: single strokes added, left out, or changed, as a layer over what the drummer
//! plays.
//!
//! An edit names a place and what is struck there, not a stroke of one take. So it outlives another take, style,
//! intensity or player. Where the drummer has no such stroke, the edit sleeps.

use crate::kit::Piece;
use crate::time::Ticks;

/// Most edits of one bar that are applied: the strokes of four limbs in thirty-seconds of two whole notes. The song's
/// layout refuses more.
pub const MAX_IN_BAR: usize = 256;

/// What an edit names: the role of a stroke where the drummer chooses its cymbal, else its piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum EditTarget {
    /// The hand cymbal, whichever it is at that moment.
    Hand,
    /// The crash that opens a phrase or on which a fill lands, whichever it is.
    Opening,
    /// This piece.
    Piece(Piece),
}

/// The texts of the targets that are no piece.
const HAND: &str = "hand";
const OPENING: &str = "opening";

impl EditTarget {
    /// Its text: that of its piece, `hand` or `opening`.
    pub fn name(self) -> &'static str {
        match self {
            Self::Hand => HAND,
            Self::Opening => OPENING,
            Self::Piece(piece) => piece.name(),
        }
    }

    /// The target with a text.
    pub fn from_name(name: &str) -> Option<Self> {
        match name {
            HAND => Some(Self::Hand),
            OPENING => Some(Self::Opening),
            _ => Piece::from_name(name).map(Self::Piece),
        }
    }

    /// The texts of all targets.
    pub fn names() -> impl Iterator<Item = &'static str> {
        let pieces = Piece::ALL.into_iter().map(Piece::name);
        [HAND, OPENING].into_iter().chain(pieces)
    }
}

/// What an edit does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum EditAction {
    /// The drummer's stroke is not played.
    LeaveOut,
    /// The drummer's stroke is played another way.
    Change,
    /// A stroke is played that is not the drummer's.
    Add,
}

/// What is exact about an edited stroke. What is `None` follows the settings, as the drummer's own strokes do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Exact {
    /// MIDI velocity, 1..=127.
    pub velocity: Option<u8>,
    /// How far the hi-hat is open, 0 (shut) to 127.
    pub opening: Option<u8>,
    /// Which of its piece's notes it has on the sampler, from 0.
    pub alternate: Option<u8>,
}

/// What is exact about a stroke, in three bytes: composing moves strokes about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PackedExact([u8; 3]);

impl PackedExact {
    /// In the place of what is not exact: no MIDI value.
    const NOTHING: u8 = u8::MAX;

    /// Nothing is exact.
    pub(super) const NONE: Self = Self([Self::NOTHING; 3]);

    /// What is exact.
    pub fn get(self) -> Exact {
        let [velocity, opening, alternate] = self
            .0
            .map(|value| Some(value).filter(|value| *value != Self::NOTHING));
        Exact {
            velocity,
            opening,
            alternate,
        }
    }
}

impl From<Exact> for PackedExact {
    fn from(exact: Exact) -> Self {
        let said = [exact.velocity, exact.opening, exact.alternate];
        Self(said.map(|value| value.unwrap_or(Self::NOTHING)))
    }
}

/// An edit of one stroke.
///
/// Its ticks are counted from the start of its section, or from the start of the song where there is no chart. Once
/// compiled they are ticks of the song's timeline.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Edit {
    /// The stroke's place on the grid, in ticks. For a grace note, the place of its main stroke.
    pub at: Ticks,
    /// What the drummer strikes there, or what is added.
    pub target: EditTarget,
    /// Whether it names the grace note at that place.
    pub grace: bool,
    /// What it does.
    pub action: EditAction,
    /// The place on the grid that a changed stroke moves to, in ticks; `None` where it stays.
    pub to: Option<Ticks>,
    /// What a changed stroke strikes instead; `None` where that stays.
    pub onto: Option<EditTarget>,
    /// Velocity steps (MIDI) that are added, -126..=126.
    pub louder: i8,
    /// When it sounds exactly, in ticks; `None` where swing and feel say so.
    pub tick: Option<Ticks>,
    /// What else is exact.
    pub exact: Exact,
    /// Whether it rings on, as an ending's last hit.
    pub rings: bool,
}

impl Edit {
    /// An edit that does nothing more than this.
    pub fn new(at: Ticks, target: EditTarget, action: EditAction) -> Self {
        Self {
            at,
            target,
            grace: false,
            action,
            to: None,
            onto: None,
            louder: 0,
            tick: None,
            exact: Exact::default(),
            rings: false,
        }
    }

    /// A stroke that is added at a place on the grid, in ticks.
    pub fn add(at: Ticks, target: EditTarget) -> Self {
        Self::new(at, target, EditAction::Add)
    }

    /// A stroke that is left out at a place on the grid, in ticks.
    pub fn leave_out(at: Ticks, target: EditTarget) -> Self {
        Self::new(at, target, EditAction::LeaveOut)
    }

    /// The place on the grid where its stroke is played, in ticks; `None` where none is.
    pub fn played_at(&self) -> Option<Ticks> {
        (self.action != EditAction::LeaveOut).then(|| self.to.unwrap_or(self.at))
    }

    /// What its stroke strikes.
    pub fn struck(&self) -> EditTarget {
        self.onto.unwrap_or(self.target)
    }

    /// Whether its stroke may be where the drummer has none: it needs a limb of its own.
    pub fn needs_room(&self) -> bool {
        match self.action {
            EditAction::LeaveOut => false,
            EditAction::Add => true,
            EditAction::Change => {
                self.to.is_some_and(|to| to != self.at)
                    || self.onto.is_some()
                    || self.tick.is_some()
            }
        }
    }

    /// What names the stroke: two edits of one section with the same name are the same edit.
    pub fn name(&self) -> (Ticks, EditTarget, bool) {
        (self.at, self.target, self.grace)
    }

    /// The same edit so many ticks later.
    #[must_use]
    pub fn moved(self, by: Ticks) -> Self {
        Self {
            at: self.at + by,
            to: self.to.map(|to| to + by),
            tick: self.tick.map(|tick| tick + by),
            ..self
        }
    }
}
