//! The drummer: from settings to the strokes of a bar.
//!
//! [`bar::compose`] composes a bar in this order:
//!
//! - [`vocabulary`] gives the beat; [`roles`] resolves its roles into ticks
//! - `feet`, `hands` and `limbs` assign the strokes to limbs
//! - `extras` adds what density may bring in
//! - [`riff_kicks`] replaces or adds kicks where the kick follows the guitar
//! - `phrases` adds crashes, fills ([`fills`]) and endings
//! - `dynamics` sets the weight of every stroke
//! - [`feel`] moves every stroke off the grid
//!
//! The result, a [`Part`], is complete. [`Part::perform`] only applies the settings of the moment at which a stroke
//! sounds: density, intensity, accent and hand cymbal.
//!
//! Nothing here depends on plugins, hosts, threads, files, MIDI or the wall clock.

pub mod bar;
pub mod beat;
pub mod chance;
mod context;
pub mod cymbal;
mod dynamics;
mod extras;
pub mod feel;
mod feet;
mod fill_span;
pub mod fills;
mod hands;
mod limbs;
pub mod limits;
mod minimum_gaps;
mod performance;
mod phrases;
pub mod riff_kicks;
pub mod roles;
pub mod rudiments;
pub mod section;
pub mod stroke;
mod swing;
pub mod vocabulary;

pub use bar::{Composer, Next, Request, compose, compose_with};
pub use beat::Beat;
pub use context::Call;
pub use cymbal::HandCymbal;
pub use limits::Limits;
pub use phrases::{ends_in_fill, ends_on_floor_toms};
pub use section::{SectionPosition, place_in_phrase};
pub use stroke::{Fill, Hit, Limb, Part, Stroke, StrokeTarget};
