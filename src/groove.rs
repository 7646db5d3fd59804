//! The drummer: from settings to the strokes of a bar.
//!
//! [`bar::compose`] composes a bar in this order:
//!
//! - [`vocabulary`] gives the beat; [`roles`] resolves its roles into ticks
//! - `feet`, `hands` and `limbs` assign the strokes to limbs
//! - [`riff_kicks`] replaces or adds kicks where the kick follows the guitar
//! - `extras` adds what density may bring in
//! - `hi_hat` opens and closes the hi-hat, `drags` adds drags and flams, `crashes` gives every crash a drum
//! - `phrases` adds crashes, fills ([`fills`]) and endings
//! - `variation` changes the bars that have no fill
//! - `catch` follows the guitar with crashes; `stab` plays hits of the band
//! - `dynamics` sets the weight and the touch of every stroke
//! - [`feel`] moves every stroke off the grid
//! - `openings` draws how far the hi-hat is open at each stroke
//! - `edits` applies what the songwriter changed by hand
//!
//! What these two know of people stands in `stroke_kind` (by kind of stroke), `evening` (by take) and [`drift`]
//! (over time).
//!
//! The result, a [`Part`], is complete. [`Part::perform`] only applies the settings of the moment at which a stroke
//! sounds: density, intensity, accent and hand cymbal.
//!
//! Nothing here depends on plugins, hosts, threads, files, MIDI or the wall clock.

/// The version of the drummer: one more whenever the same take plays other notes. Songs and projects save it. Those
/// that say nothing are of drummer 1.
pub const DRUMMER: u32 = 2;

pub mod bar;
pub mod beat;
mod by_hand;
mod catch;
pub mod chance;
mod context;
mod crashes;
pub mod cymbal;
mod drags;
mod draws;
pub mod drift;
mod dynamics;
pub mod edit;
mod edits;
mod evening;
mod extras;
pub mod feel;
mod feet;
mod fill_span;
pub mod fills;
mod hands;
mod hi_hat;
mod hit;
mod limbs;
pub mod limits;
mod manner;
mod minimum_gaps;
mod openings;
pub mod origin;
pub mod own;
mod performance;
mod phrases;
pub mod riff_kicks;
pub mod roles;
pub mod rudiments;
pub mod section;
mod stab;
mod standing;
pub mod stroke;
mod stroke_kind;
mod swing;
mod variation;
mod versions;
pub mod vocabulary;

pub use bar::{Composer, Next, Request, compose, compose_with};
pub use beat::Beat;
pub use by_hand::{ByHand, Stab};
pub use context::Call;
pub use cymbal::HandCymbal;
pub use edit::{Edit, EditAction, EditTarget, Exact};
pub use limits::Limits;
pub use origin::Origin;
pub use phrases::{ends_in_fill, ends_on_floor_toms};
pub use section::{SectionPosition, place_in_phrase};
pub use stroke::{Fill, Hit, Limb, Manner, Part, Standing, Stroke, StrokeTarget, Version};
pub use stroke_kind::StrokeKind;
