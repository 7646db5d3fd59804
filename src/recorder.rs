//! What was played live, kept for a while.
//!
//! - [`tap`]: the audio thread's end
//! - [`passes`]: what is kept, in passes of the transport

pub mod passes;
pub mod tap;

pub use passes::{Passage, Recorder};
pub use tap::{Entry, Outlet, RecorderTap};
