//! The host's transport, made steady.
//!
//! - [`clock`]: what a host says about time, turned into spans of ticks that never stutter
//! - [`bars`]: where the bar lines are

pub mod bars;
pub mod clock;

pub use bars::BarGrid;
pub use clock::{Clock, HostTime, Span};
