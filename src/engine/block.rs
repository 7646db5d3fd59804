//! What comes in with a block.

use crate::riff::GuitarStroke;
use crate::transport::HostTime;

/// The input of a block.
#[derive(Debug, Clone, Copy)]
pub struct BlockInput<'a> {
    /// The host's report of time.
    pub host: HostTime,
    /// The guitar's strokes, in the order in which they were detected.
    pub guitar: &'a [GuitarStroke],
    /// Its length in samples.
    pub frames: u32,
}
