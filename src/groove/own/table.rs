//! The eight slots of own beats.

use super::error::OwnBeatError;
use super::model::OwnBeat;
use super::plan::Plan;
use super::slots::SLOTS;
use crate::groove::beat::Beat;
use crate::groove::vocabulary;
use crate::settings::STYLE_SLOTS;
use std::collections::BTreeMap;

/// Own beats as they are kept: by their number, 1 to [`SLOTS`].
pub type Kept = BTreeMap<u8, OwnBeat>;

/// Own beats, made ready for the composer.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct OwnBeats {
    plans: [Option<Box<Plan>>; SLOTS as usize],
}

impl OwnBeats {
    /// None.
    pub const NONE: &'static Self = &Self {
        plans: [const { None }; SLOTS as usize],
    };

    /// Makes kept beats ready. Main thread; allocates.
    ///
    /// # Errors
    /// [`OwnBeatError`] names the beat, the field and the remedy.
    pub fn new(kept: &Kept) -> Result<Self, OwnBeatError> {
        let mut own = Self::default();
        for (&number, beat) in kept {
            let at = |place: String| format!("own_beats.{number}{place}");
            let index = number.checked_sub(1).map(usize::from);
            let Some(plan) = index.and_then(|index| own.plans.get_mut(index)) else {
                let problem = format!("own beats have the numbers 1 to {SLOTS}");
                return Err(OwnBeatError::new(at(String::new()), problem));
            };
            beat.check().map_err(|error| {
                OwnBeatError::new(at(format!(".{}", error.place)), error.problem)
            })?;
            *plan = Some(Box::new(Plan::new(number - 1, beat)));
        }
        Ok(own)
    }

    /// The beats that they were made from.
    pub fn kept(&self) -> Kept {
        let beats = (1..).zip(&self.plans);
        let beats =
            beats.filter_map(|(number, plan)| Some((number, plan.as_ref()?.source().clone())));
        beats.collect()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.plans.iter().all(Option::is_none)
    }

    /// The own beat that a slot of the `style` parameter has; `None` for slots of the vocabulary and empty ones.
    pub fn plan(&self, style: u8) -> Option<&Plan> {
        let own = style.checked_sub(STYLE_SLOTS - SLOTS)?;
        self.plans.get(usize::from(own))?.as_deref()
    }

    /// The beat of a slot of the `style` parameter. An empty own slot plays the last beat of the vocabulary.
    ///
    /// # Realtime
    /// No allocation.
    pub fn beat(&self, style: u8) -> Beat<'_> {
        self.plan(style)
            .map_or(*vocabulary::beat(style), Plan::beat)
    }
}
