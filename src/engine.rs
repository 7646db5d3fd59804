//! The engine: what holds now, and the hits that come of it. Live, offline and the picture of a bar drive it.
//!
//! - [`in_force`]: what holds at a tick, resolved once and passed down
//! - [`sequencer`]: bars composed one after another, and their hits in a span of ticks
//! - [`live`]: plays block by block in a host's time; what the plugin runs
//! - [`offline`]: plays a whole song; what an export is made of
//! - [`picture`]: looks at one bar as it will be played; what the editor shows
//! - [`live_kicks`]: the feet play along with the guitar as it comes in
//! - [`sink`]: where it all goes

pub mod in_force;
pub mod live;
pub mod live_kicks;
pub mod offline;
pub mod picture;
pub mod sequencer;
pub mod sink;
mod span_player;

pub use in_force::{BarLines, InForce, Inputs};
pub use live::{BlockInput, LivePlayer};
pub use sequencer::Sequencer;
pub use sink::{EventSink, Passing};
