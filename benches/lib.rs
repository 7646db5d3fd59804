//! What the benches share: the hosted plugins, and a transport that rolls.

use clack_host::prelude::PluginEntry;
use fourlimb::plugin::audio::preview::rendered_kit;
use hosting::guitar::{Pick, Rig, Touch, play};
use hosting::host::{Automation, Guitar, Host, Transport};

/// The CLAP id of the plugin.
pub const FOURLIMB: &str = "org.fourlimb.fourlimb";
/// The CLAP id of the empty plugin in the same wrapper.
pub const EMPTY: &str = "org.fourlimb.empty";
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
    /// Whether the transport rolls.
    plays: bool,
    /// The guitar at the side-chain, a bar that goes round; empty for silence.
    sound: Vec<f32>,
}

impl Rolling {
    /// The plugin with this CLAP id, in its wrapper, with everything on and the densest beat, but
    /// for the preview.
    ///
    /// # Panics
    /// Where the plugin can't be hosted.
    pub fn new(id: &str) -> Self {
        Self::with(id, &[("Preview", "off")], Vec::new())
    }

    /// The same with the preview on.
    ///
    /// # Panics
    /// Where the plugin can't be hosted.
    pub fn heard(id: &str) -> Self {
        let rolling = Self::with(id, &[("Preview", "on")], Vec::new());
        // Until its kit is there, the preview is silent.
        rendered_kit(48_000.0);
        rolling
    }

    /// The same, listening to a guitar that plays sixteenths.
    ///
    /// # Panics
    /// Where the plugin can't be hosted.
    pub fn listening(id: &str) -> Self {
        let sixteenth = 60.0 / BPM / 4.0;
        let picks: Vec<_> = (0..16)
            .map(|i| Pick {
                at: f64::from(i) * sixteenth,
                held: sixteenth,
                hz: 82.41,
                force: 1.0,
                touch: Touch::Mute,
            })
            .collect();
        let sound = play(&picks, &Rig::HIGH_GAIN, RATE, sixteenth * 16.0, 1);
        let settings = [
            ("Preview", "off"),
            ("Listen", "side-chain"),
            ("Kick source", "riff"),
        ];
        Self::with(id, &settings, sound)
    }

    fn with(id: &str, more: &[(&str, &str)], sound: Vec<f32>) -> Self {
        let mut host = Host::with_id(&entry(), id).expect("the plugin loads");
        host.activate(RATE, FRAMES).expect("the plugin activates");
        let mut changes = Vec::new();
        for (name, text) in [
            ("Beat", "bomb blast"),
            ("Density", "100"),
            ("Fill chance", "100"),
            ("Phrase", "2 bars"),
        ]
        .iter()
        .chain(more)
        {
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
        let mut rolling = Self {
            host,
            block: 0,
            plays: true,
            sound,
        };
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

    /// The same with a transport that stands.
    #[must_use]
    pub fn standing(mut self) -> Self {
        self.plays = false;
        self
    }

    fn transport(&self) -> Transport {
        let pos = f64::from(self.block * FRAMES) / RATE * BPM / 60.0;
        Transport {
            playing: self.plays,
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
            let blocks = self.sound.len() / FRAMES as usize;
            let at = (self.block as usize).checked_rem(blocks).unwrap_or(0) * FRAMES as usize;
            let guitar = Guitar {
                sound: self.sound.get(at..at + FRAMES as usize),
                notes: &[],
                ..Guitar::default()
            };
            events += self
                .host
                .block_with(&transport, &[], &guitar, FRAMES)
                .expect("the plugin runs")
                .len();
            self.block += 1;
        }
        (self, events)
    }
}

impl Rolling {
    /// The same, and counted: callgrind forgets what it counted before (`--zero-before`).
    #[inline(never)]
    #[must_use]
    pub fn measured(self, blocks: u32) -> (Self, usize) {
        self.run(blocks)
    }

    /// Rolls to the longest run of blocks in the third bar in which Fourlimb plays nothing and releases nothing, and
    /// says how many blocks it has. The plugin with this CLAP id need not be Fourlimb itself.
    ///
    /// # Panics
    /// Where a plugin can't be hosted.
    #[must_use]
    pub fn to_silence(id: &str, fourlimb: &str) -> (Self, u32) {
        let start = BLOCKS_IN_A_BAR * 2;
        let mut scout = Self::new(fourlimb).run(start).0;
        let (mut since, mut longest) = (start, (start, 0));
        for block in start..start + BLOCKS_IN_A_BAR {
            let events;
            (scout, events) = scout.run(1);
            if events > 0 {
                since = block + 1;
            } else if block + 1 - since > longest.1 {
                longest = (since, block + 1 - since);
            }
        }
        (Self::new(id).run(longest.0).0, longest.1)
    }
}

/// The entry of the plugins that are linked in.
///
/// # Panics
/// Where the framework's entry is none.
#[expect(unsafe_code, reason = "the entry is a C structure")]
pub fn entry() -> PluginEntry {
    // SAFETY: the entry is the framework's own, valid for the life of the program.
    unsafe { PluginEntry::load_from_raw(&fourlimb::entry::clap_entry, c"") }.expect("an entry")
}
