//! The engine: from strokes to timed hits.
//!
//! - [`sequencer`]: bars composed one after another, and their hits in a span of ticks
//! - [`live`]: plays block by block in a host's time; what the plugin runs
//! - [`offline`]: plays a whole song; what an export is made of
//! - [`along`]: the feet play along with the guitar as it comes in
//! - [`sink`]: where it all goes

pub mod along;
pub mod live;
pub mod offline;
pub mod sequencer;
pub mod sink;

pub use live::{Guitar, Performer};
pub use sequencer::Sequencer;
pub use sink::{EventSink, Passing};
