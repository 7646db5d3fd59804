//! The host's transport, made steady.
//!
//! - [`host_time`]: what a host says of time
//! - [`clock`]: what a host says about time, turned into spans of ticks that never stutter
//! - [`bars`]: where the bar lines are

pub mod bars;
pub mod clock;
pub mod host_time;

pub use bars::BarGrid;
pub use clock::{Clock, Span};
pub use host_time::HostTime;
