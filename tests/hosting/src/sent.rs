//! What a plugin sent in a block.

use anyhow::{Result, bail, ensure};
use clack_extensions::note_ports::NoteDialects;
use clack_host::events::event_types::NoteExpressionType;
use clack_host::events::spaces::CoreEventSpace;
use clack_host::prelude::*;

/// A note that the plugin sent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sent {
    /// Samples from the start of the block.
    pub sample: u32,
    /// MIDI channel, 0..=15.
    pub channel: u8,
    /// MIDI key, 0..=127.
    pub key: u8,
    /// Velocity 1..=127 of a note-on; `None` for a note-off.
    pub velocity: Option<u8>,
}

/// What a plugin sends beside notes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Expressed {
    /// A control change, as MIDI: channel 0..=15, number and value 0..=127.
    Control(u8, u8, u8),
    /// Pressure on a note, as a note expression or as MIDI: channel 0..=15, key and value 0..=127.
    Pressure(u8, u8, u8),
}

/// The events of a block of `frames` samples: notes, and beside them what goes to `expressed`.
///
/// # Errors
/// Where one is out of order, outside the block, or in a dialect that the host does not read.
pub(crate) fn collect(
    output: &EventBuffer,
    frames: u32,
    reads: NoteDialects,
    expressed: &mut Vec<(u32, usize, Expressed)>,
) -> Result<Vec<Sent>> {
    let mut notes: Vec<Sent> = Vec::new();
    let mut last = 0;
    for event in output {
        let sample = event.header().time();
        if sample >= frames || last > sample {
            bail!("the plugin sent an event at sample {sample} out of order or outside its block");
        }
        last = sample;
        ensure!(
            reads.contains(dialect(event)),
            "the plugin sent {event:?}, which this host does not read"
        );
        let (pckn, velocity) = match event.as_core_event() {
            Some(CoreEventSpace::NoteOn(on)) => (on.pckn(), Some(on.velocity())),
            Some(CoreEventSpace::NoteOff(off)) => (off.pckn(), None),
            Some(CoreEventSpace::Midi(midi)) => {
                let [status, number, value] = midi.data();
                let channel = status & 0x0F;
                // Messages of a channel, MIDI 1.0.
                let beside = match status & 0xF0 {
                    0x80 | 0x90 => {
                        notes.push(Sent {
                            sample,
                            channel,
                            key: number,
                            velocity: Some(value).filter(|_| status & 0xF0 == 0x90),
                        });
                        continue;
                    }
                    0xA0 => Expressed::Pressure(channel, number, value),
                    0xB0 => Expressed::Control(channel, number, value),
                    _ => continue,
                };
                expressed.push((sample, notes.len(), beside));
                continue;
            }
            Some(CoreEventSpace::NoteExpression(event))
                if event.expression_type() == Some(NoteExpressionType::Pressure) =>
            {
                let pckn = event.pckn();
                let number = |n: Option<u16>| n.and_then(|n| u8::try_from(n).ok()).unwrap_or(255);
                let (channel, key) = (
                    number(pckn.channel.into_specific()),
                    number(pckn.key.into_specific()),
                );
                #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
                let value = (event.value() * 127.0).round().clamp(0.0, 127.0) as u8;
                let pressure = Expressed::Pressure(channel, key, value);
                expressed.push((sample, notes.len(), pressure));
                continue;
            }
            _ => continue,
        };
        let number = |n: Option<u16>| n.and_then(|n| u8::try_from(n).ok()).unwrap_or(255);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let velocity = velocity.map(|v| (v * 127.0).round().clamp(0.0, 127.0) as u8);
        notes.push(Sent {
            sample,
            channel: number(pckn.channel.into_specific()),
            key: number(pckn.key.into_specific()),
            velocity,
        });
    }
    Ok(notes)
}

/// The dialects of which an event is one; none for events that are no notes.
fn dialect(event: &UnknownEvent) -> NoteDialects {
    match event.as_core_event() {
        Some(
            CoreEventSpace::NoteOn(_)
            | CoreEventSpace::NoteOff(_)
            | CoreEventSpace::NoteChoke(_)
            | CoreEventSpace::NoteExpression(_),
        ) => NoteDialects::CLAP,
        Some(CoreEventSpace::Midi(_)) => NoteDialects::MIDI,
        _ => NoteDialects::empty(),
    }
}
