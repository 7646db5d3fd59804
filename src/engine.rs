//! The engine: resolves what is in force at a tick and yields hits. Live play, offline rendering and the editor's
//! picture of a bar use it.
//!
//! - [`fit`]: how a beat suits the guitar, in words
//! - [`in_force`]: the bar and settings in force at a tick, resolved once and passed down
//! - [`sequencer`]: composes bar after bar, and yields the hits in a span of ticks
//! - [`BlockInput`]: what comes in with a block
//! - [`live`]: plays block by block in a host's time, for the plugin
//! - `rest`: passes over blocks in which nothing can happen
//! - [`offline`]: plays a whole song, for exports
//! - [`picture`]: composes one bar as it will be played, for the editor
//! - [`live_kicks`]: makes the feet play along with the live guitar
//! - `output`: sends hits through the note map
//! - [`sink`]: the receiver of hits and note events

mod block;
pub mod fit;
pub mod in_force;
pub mod live;
pub mod live_kicks;
pub mod offline;
mod output;
pub mod picture;
mod rest;
pub mod sequencer;
pub mod sink;
mod span_player;

pub use block::BlockInput;
pub use in_force::{BarLines, InForce, Inputs};
pub use live::LivePlayer;
pub use sequencer::{Played, Sequencer};
pub use sink::{EventSink, Passing};
