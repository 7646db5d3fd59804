//! Keeps the latest choices of fills, since the same fill is asked for again: for the bare version of its bar, and as the
//! neighbour of the next phrase's.
//!
//! A choice is a pure function of its [`Key`], so that what is kept changes no note.

use super::super::beat::Beat;
use super::super::context::Context;
use super::super::fill_span::FillSpan;
use super::super::own::sheet::Sheet;
use super::choose::FillChoice;
use super::compare::Groove;
use super::place::{MAX_FILL, Strokes};
use crate::settings::BarSettings;
use crate::time::Meter;

/// How many choices are kept: a fill that is compared, both neighbours, and the one before.
const KEPT: usize = 4;

/// All that a choice depends on.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Key {
    span: FillSpan,
    bpm: f64,
    rise: f32,
    meter: Meter,
    /// How many bars before and after the neighbours land that it is compared with, and the length of the phrase; `None`
    /// where it is chosen freely.
    beside: Option<[i64; 3]>,
    settings: BarSettings,
    /// Tells the contents of own beats apart, which may change in their slot; 0 for a beat of the vocabulary.
    own: u64,
    groove: Groove,
}

impl Key {
    pub(super) fn new(
        ctx: &Context,
        beat: &Beat,
        span: &FillSpan,
        groove: &Groove,
        beside: Option<[i64; 3]>,
    ) -> Self {
        Self {
            span: *span,
            bpm: ctx.bpm,
            rise: ctx.rise,
            meter: ctx.bar.meter,
            beside,
            settings: *ctx.bar_settings,
            own: beat.own.map_or(0, Sheet::stamp),
            groove: groove.clone(),
        }
    }
}

/// A choice that was made.
#[derive(Debug, Clone, Default)]
pub(super) struct Kept {
    key: Option<Key>,
    /// `None` where nothing suits.
    pub(super) choice: Option<FillChoice>,
    /// Its strokes; none where nothing suits.
    pub(super) strokes: Strokes,
    /// When it was last asked for.
    asked: u64,
}

/// The choices that are kept. Allocates only when made.
#[derive(Debug, Clone, Default)]
pub(super) struct Chosen {
    kept: [Kept; KEPT],
    now: u64,
}

impl Chosen {
    /// With room for any fill.
    pub(super) fn new() -> Self {
        Self {
            kept: std::array::from_fn(|_| Kept {
                strokes: Strokes::with_capacity(MAX_FILL),
                ..Kept::default()
            }),
            now: 0,
        }
    }

    /// The choice that has this key, or else the one that was not asked for longest, to be [made](Self::put) anew; and
    /// whether it has the key.
    pub(super) fn find(&mut self, key: &Key) -> (usize, bool) {
        self.now += 1;
        let same = |kept: &Kept| kept.key.as_ref() == Some(key);
        let found = self.kept.iter().position(same);
        let oldest = || (0..KEPT).min_by_key(|&i| self.kept[i].asked).unwrap_or(0);
        let i = found.unwrap_or_else(oldest);
        self.kept[i].asked = self.now;
        if found.is_none() {
            // What stood here is not to be found while the new one is made.
            self.kept[i].key = None;
        }
        (i, found.is_some())
    }

    /// The strokes to write a choice to.
    pub(super) fn take(&mut self, i: usize) -> Strokes {
        std::mem::take(&mut self.kept[i].strokes)
    }

    /// Keeps a choice with its strokes.
    pub(super) fn put(
        &mut self,
        i: usize,
        key: Key,
        choice: Option<FillChoice>,
        mut strokes: Strokes,
    ) {
        if choice.is_none() {
            strokes.clear();
        }
        let asked = self.kept[i].asked;
        self.kept[i] = Kept {
            key: Some(key),
            choice,
            strokes,
            asked,
        };
    }

    pub(super) fn get(&self, i: usize) -> &Kept {
        &self.kept[i]
    }
}
