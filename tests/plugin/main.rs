//! The plugin in a host, with the framework's allocation check on.

#![allow(missing_docs, clippy::unwrap_used)]

mod allocations;
mod automation;
#[cfg(target_os = "linux")]
mod conformance;
#[cfg(target_os = "linux")]
mod dragging;
mod editor;
mod followed;
mod frozen;
#[path = "../support/golden.rs"]
mod golden;
mod notes;
mod played;
mod preview;
mod rates;
mod riff;
mod sampler;
mod state;
mod states;
mod transport;
mod undo;
#[cfg(target_os = "linux")]
mod window;

use clack_host::prelude::PluginEntry;
use fourlimb::plugin::audio::preview::{SharedKit, rendered_kit};
use hosting::host::{Automation, Host, Sent, Transport};
use std::sync::{Arc, OnceLock};

/// Sample rate of the hosted tests, in Hz, and the samples of a quarter note at 120 BPM.
const RATE: f64 = 48_000.0;
const QUARTER: u32 = 24_000;

/// Kept for as long as the tests run: unoptimised, the preview's kit takes seconds to render.
static KIT: OnceLock<Arc<SharedKit>> = OnceLock::new();

/// The plugin that is linked into this test, in a host.
fn host() -> Host {
    KIT.get_or_init(|| rendered_kit(48_000.0));
    let entry = entry();
    let mut host = Host::new(&entry).unwrap();
    host.activate(RATE, 8192).unwrap();
    host
}

#[expect(unsafe_code, reason = "the entry is a C structure")]
fn entry() -> PluginEntry {
    // SAFETY: the entry is the framework's own, valid for the life of the program.
    unsafe { PluginEntry::load_from_raw(&fourlimb::entry::clap_entry, c"") }.unwrap()
}

/// A transport that rolls at 120 BPM in 4/4.
fn rolling(sample: u32) -> Transport {
    let pos = f64::from(sample) / f64::from(QUARTER);
    Transport {
        playing: true,
        pos_quarters: Some(pos),
        bpm: Some(120.0),
        meter: Some((4, 4)),
        bar_quarters: (pos / 4.0).floor() * 4.0,
        loop_quarters: None,
    }
}

fn standing(sample: u32) -> Transport {
    Transport {
        playing: false,
        ..rolling(sample)
    }
}

/// Sets a parameter by its name and a text, before anything plays.
fn set(host: &mut Host, name: &str, text: &str) {
    assert_eq!(host.set(name, text, 64).unwrap(), []);
}

/// Rolls from one sample to another in blocks, and returns the notes with their song samples.
fn roll(host: &mut Host, from: u32, to: u32, block: u32) -> Vec<(u32, Sent)> {
    let mut notes = Vec::new();
    let mut at = from;
    while at < to {
        let frames = block.min(to - at);
        let sent = host.block(&rolling(at), &[], frames).unwrap();
        notes.extend(sent.into_iter().map(|note| (at + note.sample, note)));
        at += frames;
    }
    notes
}

/// The note-ons among notes, as (sample, key, velocity).
fn ons(notes: &[(u32, Sent)]) -> Vec<(u32, u8, u8)> {
    notes
        .iter()
        .filter_map(|(at, note)| Some((*at, note.key, note.velocity?)))
        .collect()
}
