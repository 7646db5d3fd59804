//! Records the host's report of every block, for the clock's test fixtures. Behind the feature `trace`, never in a
//! release.

use crate::transport::HostTime;
use std::fmt::Write as _;

/// Blocks kept: ten minutes of 64-sample blocks at 48 kHz.
const CAPACITY: usize = 450_000;

/// The recorder. It allocates its memory when made, so recording allocates nothing.
pub(super) struct Trace {
    blocks: Vec<(HostTime, u32)>,
    sample_rate: f32,
}

impl Default for Trace {
    fn default() -> Self {
        Self {
            blocks: Vec::with_capacity(CAPACITY),
            sample_rate: 0.0,
        }
    }
}

impl Trace {
    /// Records a block, while there is room. Audio thread.
    pub(super) fn record(&mut self, host: &HostTime, frames: u32, sample_rate: f32) {
        self.sample_rate = sample_rate;
        if self.blocks.len() < CAPACITY {
            self.blocks.push((*host, frames));
        }
    }

    /// Writes one line a block to the file named by `FOURLIMB_TRACE`, if it is set. Main thread.
    pub(super) fn write(&mut self) {
        let Some(path) = std::env::var_os("FOURLIMB_TRACE") else {
            return;
        };
        if self.blocks.is_empty() {
            return;
        }
        let mut text = format!("# sample_rate {}\n", self.sample_rate);
        text.push_str("# frames playing bpm pos_quarters pos_samples meter bar_quarters loop\n");
        for (host, frames) in self.blocks.drain(..) {
            let _ = writeln!(
                text,
                "{frames} {} {} {} {} {} {} {}",
                u8::from(host.playing),
                field(host.bpm),
                field(host.pos_quarters),
                field(host.pos_samples),
                field(host.meter.map(|(n, d)| format!("{n}/{d}"))),
                field(host.bar_quarters),
                field(host.loop_quarters.map(|(a, b)| format!("{a}..{b}"))),
            );
        }
        if let Err(error) = std::fs::write(&path, text) {
            eprintln!(
                "could not write the block trace to {}: {error}",
                path.display()
            );
        }
    }
}

fn field<T: ToString>(value: Option<T>) -> String {
    value.map_or_else(|| "-".to_owned(), |value| value.to_string())
}
