//! What the benches share: the hosted plugins, and a transport that rolls.

use clack_host::prelude::PluginEntry;
use xtask::host::{Automation, Host, Transport};

/// Sample rate of the benches, in Hz.
pub const RATE: f64 = 48_000.0;
/// Tempo of the benches, in quarter notes a minute.
pub const BPM: f64 = 300.0;
/// Samples in a block.
pub const FRAMES: u32 = 64;
/// Blocks in a bar of 4/4 at this tempo and rate.
pub const BLOCKS_IN_A_BAR: u32 = 600;

/// A hosted plugin, ready to roll.
pub struct Rolling {
    host: Host,
    block: u32,
}

impl Rolling {
    /// The plugin with this CLAP id, in its wrapper, with everything on and the densest beat, but
    /// for the preview.
    ///
    /// # Panics
    /// Where the plugin can't be hosted.
    pub fn new(id: &str) -> Self {
        Self::with_preview(id, "off")
    }

    /// The same with the preview on.
    ///
    /// # Panics
    /// Where the plugin can't be hosted.
    pub fn heard(id: &str) -> Self {
        Self::with_preview(id, "on")
    }

    fn with_preview(id: &str, preview: &str) -> Self {
        let mut host = Host::with_id(&entry(), id).expect("the plugin loads");
        host.activate(RATE, FRAMES).expect("the plugin activates");
        let mut changes = Vec::new();
        for (name, text) in [
            ("Style", "bomb blast"),
            ("Density", "100"),
            ("Fill chance", "100"),
            ("Phrase", "2 bars"),
            ("Preview", preview),
        ] {
            if let Ok(param) = host.param(name).map(|param| param.id) {
                let value = host
                    .parse(param, text)
                    .expect("the plugin reads its own texts");
                changes.push(Automation {
                    sample: 0,
                    param,
                    value,
                });
            }
        }
        let mut rolling = Self { host, block: 0 };
        let still = Transport {
            playing: false,
            ..rolling.transport()
        };
        rolling
            .host
            .block(&still, &changes, FRAMES)
            .expect("the plugin runs");
        rolling
    }

    fn transport(&self) -> Transport {
        let pos = f64::from(self.block * FRAMES) / RATE * BPM / 60.0;
        Transport {
            playing: true,
            pos_quarters: Some(pos),
            bpm: Some(BPM),
            meter: Some((4, 4)),
            bar_quarters: (pos / 4.0).floor() * 4.0,
            loop_quarters: None,
        }
    }

    /// Runs blocks and returns how many note events came out.
    ///
    /// # Panics
    /// Where the plugin fails.
    #[must_use]
    pub fn run(mut self, blocks: u32) -> (Self, usize) {
        let mut events = 0;
        for _ in 0..blocks {
            let transport = self.transport();
            events += self
                .host
                .block(&transport, &[], FRAMES)
                .expect("the plugin runs")
                .len();
            self.block += 1;
        }
        (self, events)
    }
}

#[expect(unsafe_code, reason = "the entry is a C structure")]
fn entry() -> PluginEntry {
    // SAFETY: the entry is the framework's own, valid for the life of the program.
    unsafe { PluginEntry::load_from_raw(&fourlimb::export::clap_entry, c"") }.expect("an entry")
}
