//! Everything that the audio thread touches in the shell, in one place: nothing here locks, waits or allocates while
//! it plays (`tests/tidy` looks).
//!
//! - [`host_time`]: the framework's transport in the clock's words
//! - [`standalone_time`]: time in the stand-alone, which no host gives
//! - [`guitar`]: notes and side-chain as strokes of the guitar
//! - [`preview`]: the built-in sound, rendered at activation
//! - [`sink`]: note events to the host, strokes to the preview

pub mod guitar;
pub mod host_time;
pub mod preview;
pub mod sink;
pub mod standalone_time;
