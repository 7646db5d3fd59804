//! A whole song: its sections, its automation, and the file that both are kept in.
//!
//! - [`mod@file`]: the song file, JSON with a version, as read and checked
//! - [`Timeline`]: the song laid out in ticks: bars, tempi, markers, and every change of a setting

pub mod file;
mod timeline;

pub use file::{SongError, SongFile};
pub use timeline::{Change, Setting, Timeline};
