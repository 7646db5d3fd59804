//! A whole song: its sections, its automation, and the file that both are kept in.
//!
//! - [`mod@file`]: the song file, JSON with a version, as read and checked
//! - `edit`: what people do to its sections
//! - [`edits`]: single strokes that were edited by hand, and the drummer plays around them
//! - [`hits`]: the hits of the band
//! - [`Timeline`]: the song laid out in ticks: bars, tempi, markers, and every change of a setting
//! - [`chart`]: the song as the drummer follows it
//! - [`locked`]: sections that were edited by hand, and are played as they are
//! - [`own_beat`]: the file of a songwriter's own beat

mod change;
pub mod chart;
mod edit;
pub mod edits;
pub mod file;
pub mod hits;
mod layout;
pub mod locked;
pub mod own_beat;
mod own_hand;
mod timeline;
mod write;

pub use change::Change;
pub use chart::Chart;
pub use file::{SongError, SongFile};
pub use timeline::Timeline;
