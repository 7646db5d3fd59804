//! All of the plugin that the audio thread touches. While playing, nothing here locks, waits or allocates
//! (`tests/tidy` checks it).
//!
//! - [`host_time`]: converts the framework's transport to the clock's type
//! - [`standalone_time`]: the transport of the stand-alone, which has no host
//! - [`guitar`]: converts notes and side-chain to guitar strokes
//! - [`preview`]: the built-in sound, rendered by a thread from activation on
//! - [`sink`]: sends note events to the host and strokes to the preview

pub mod guitar;
pub mod host_time;
pub mod preview;
pub mod sink;
pub mod standalone_time;
