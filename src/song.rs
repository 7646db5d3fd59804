//! A whole song: its sections, its automation, and the file that both are kept in.
//!
//! - [`mod@file`]: the song file, JSON with a version, as read and checked
//! - `edit`: what people do to its sections
//! - [`Timeline`]: the song laid out in ticks: bars, tempi, markers, and every change of a setting
//! - [`chart`]: the song as the drummer follows it

pub mod chart;
mod edit;
pub mod file;
mod layout;
mod setting;
mod timeline;

pub use chart::Chart;
pub use file::{SongError, SongFile};
pub use setting::{Change, Setting};
pub use timeline::Timeline;
