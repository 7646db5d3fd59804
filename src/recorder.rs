//! What was played live, kept for a while.
//!
//! - [`tape`]: the audio thread's end
//! - [`passes`]: what is kept, in passes of the transport

pub mod passes;
pub mod tape;
