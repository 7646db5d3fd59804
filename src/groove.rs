//! The drummer: from settings to the strokes of a bar.
//!
//! The way through a bar is [`bar::compose`]: it looks up the beat ([`vocabulary`]), turns its
//! roles into ticks ([`roles`]), hands the strokes to limbs (`feet`, `hands`, `limbs`), adds what
//! density may bring in (`extras`), lets the kick follow the guitar where it should
//! ([`riff_kicks`]), what the phrase does (`phrases`: crashes, fills ([`fills`]), endings), weighs every stroke
//! (`dynamics`) and moves it off the grid ([`feel`]). The result, a [`Part`], is complete: at the
//! moment a stroke sounds,
//! [`Part::perform`] only has to ask density, intensity, accent and hand cymbal.
//!
//! Nothing here knows of plugins, hosts, threads, files, MIDI or the clock on the wall.

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
pub use phrases::ends_in_fill;
pub use section::{SectionPosition, place_in_phrase};
pub use stroke::{Fill, Hit, Limb, Part, Stroke, StrokeTarget};
