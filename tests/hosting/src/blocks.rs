//! Blocks of a transport, automation and a guitar: what the audio thread runs, and what the plugin makes of them.

use crate::handlers::Handlers;
use crate::sent::{Expressed, Sent, collect};
use anyhow::{Context, Result};
use clack_extensions::note_ports::NoteDialects;
use clack_host::events::event_types::{
    NoteOnEvent, ParamValueEvent, TransportEvent, TransportFlags,
};
use clack_host::prelude::*;

/// What the host says about a block.
#[derive(Debug, Clone, Copy)]
pub struct Transport {
    /// Whether it rolls.
    pub playing: bool,
    /// Position of the block's first sample, in quarter notes; `None` for a host without.
    pub pos_quarters: Option<f64>,
    /// Quarter notes a minute; `None` for a host without.
    pub bpm: Option<f64>,
    /// Time signature; `None` for a host without.
    pub meter: Option<(u16, u16)>,
    /// Start of the present bar, in quarter notes.
    pub bar_quarters: f64,
    /// The loop, in quarter notes.
    pub loop_quarters: Option<(f64, f64)>,
}

impl Transport {
    /// At rest at the start of a song, at 120 BPM in 4/4.
    pub const AT_REST: Self = Self {
        playing: false,
        pos_quarters: Some(0.0),
        bpm: Some(120.0),
        meter: Some((4, 4)),
        bar_quarters: 0.0,
        loop_quarters: None,
    };
}

/// A parameter's value from a sample of the block on.
#[derive(Debug, Clone, Copy)]
pub struct Automation {
    /// Samples from the start of the block.
    pub sample: u32,
    /// The parameter.
    pub param: ClapId,
    /// Its plain CLAP value.
    pub value: f64,
}

/// The guitar in a block.
#[derive(Debug, Clone, Copy, Default)]
pub struct Guitar<'a> {
    /// Its sound, for both channels of the side-chain; silence where left out.
    pub sound: Option<&'a [f32]>,
    /// Notes: the sample of the block, and velocity 0..=1, in order.
    pub notes: &'a [(u32, f64)],
    /// Whether the host leaves the side-chain out.
    pub unplugged: bool,
}

/// The plugin's side of the audio thread. It may be moved to another thread.
pub struct Blocks {
    /// `None` while the plugin is off.
    pub(crate) processor: Option<StartedPluginAudioProcessor<Handlers>>,
    /// The sound of the last block.
    pub(crate) outputs: [Vec<f32>; 2],
    /// The two channels of the side-chain; none where the plugin has no input.
    side: Vec<Vec<f32>>,
    /// The dialects of notes that the host reads.
    reads: NoteDialects,
    /// What the last block sent beside notes, with how many of its note events came before.
    pub(crate) expressed: Vec<(u32, usize, Expressed)>,
}

impl Blocks {
    /// For a plugin with this many stereo inputs, in a host that reads these dialects of notes.
    pub(crate) fn new(inputs: usize, reads: NoteDialects) -> Self {
        Self {
            processor: None,
            outputs: [Vec::new(), Vec::new()],
            side: vec![Vec::new(); 2 * inputs],
            reads,
            expressed: Vec::new(),
        }
    }

    /// Runs one block of `frames` samples and returns the notes of it.
    ///
    /// # Errors
    /// As for [`Host::block`](crate::host::Host::block).
    pub fn run(
        &mut self,
        transport: &Transport,
        automation: &[Automation],
        guitar: &Guitar,
        frames: u32,
    ) -> Result<Vec<Sent>> {
        for channel in self.outputs.iter_mut().chain(&mut self.side) {
            // Not at activation: a host may announce blocks far longer than it ever sends.
            channel.resize(channel.len().max(frames as usize), 0.0);
        }
        for channel in &mut self.side {
            let channel = &mut channel[..frames as usize];
            channel.fill(0.0);
            for (sample, sound) in channel.iter_mut().zip(guitar.sound.unwrap_or_default()) {
                *sample = *sound;
            }
        }
        let processor = self
            .processor
            .as_mut()
            .context("the plugin is not active")?;
        let mut input = EventBuffer::new();
        for change in automation {
            let pckn = Pckn::match_all();
            input.push(&ParamValueEvent::new(
                change.sample,
                change.param,
                pckn,
                change.value,
            ));
        }
        let mut output = EventBuffer::with_capacity(1024);
        for &(sample, velocity) in guitar.notes {
            let pckn = Pckn::new(0_u16, 0_u16, 40_u16, clack_host::events::Match::All);
            input.push(&NoteOnEvent::new(sample, pckn, velocity));
        }
        input.sort();
        let mut inputs = AudioPorts::with_capacity(2, 1);
        let mut ports = AudioPorts::with_capacity(2, 1);
        let ports_in = if guitar.unplugged { 0 } else { self.side.len() };
        let sides = self.side[..ports_in]
            .chunks_mut(2)
            .map(|side| AudioPortBuffer {
                latency: 0,
                channels: AudioPortBufferType::f32_input_only(
                    side.iter_mut()
                        .map(|channel| InputChannel::variable(&mut channel[..frames as usize])),
                ),
            });
        let audio_in = inputs.with_input_buffers(sides);
        let channels = self
            .outputs
            .iter_mut()
            .map(|channel| &mut channel[..frames as usize]);
        let mut audio_out = ports.with_output_buffers([AudioPortBuffer {
            latency: 0,
            channels: AudioPortBufferType::f32_output_only(channels),
        }]);
        processor.process(
            &audio_in,
            &mut audio_out,
            &input.as_input(),
            &mut output.as_output(),
            None,
            Some(&transport_event(transport)),
        )?;
        self.expressed.clear();
        collect(&output, frames, self.reads, &mut self.expressed)
    }
}

fn transport_event(transport: &Transport) -> TransportEvent {
    let mut flags = TransportFlags::empty();
    flags.set(TransportFlags::IS_PLAYING, transport.playing);
    flags.set(TransportFlags::HAS_TEMPO, transport.bpm.is_some());
    flags.set(
        TransportFlags::HAS_BEATS_TIMELINE,
        transport.pos_quarters.is_some(),
    );
    flags.set(
        TransportFlags::HAS_TIME_SIGNATURE,
        transport.meter.is_some(),
    );
    flags.set(
        TransportFlags::IS_LOOP_ACTIVE,
        transport.loop_quarters.is_some(),
    );
    let (loop_start, loop_end) = transport.loop_quarters.unwrap_or_default();
    let (numerator, denominator) = transport.meter.unwrap_or_default();
    TransportEvent {
        header: EventHeader::new_core(0, clack_host::events::EventFlags::empty()),
        flags,
        song_pos_beats: transport.pos_quarters.unwrap_or_default().into(),
        song_pos_seconds: 0.0.into(),
        tempo: transport.bpm.unwrap_or_default(),
        tempo_inc: 0.0,
        loop_start_beats: loop_start.into(),
        loop_end_beats: loop_end.into(),
        loop_start_seconds: 0.0.into(),
        loop_end_seconds: 0.0.into(),
        bar_start: transport.bar_quarters.into(),
        bar_number: 0,
        time_signature_numerator: numerator,
        time_signature_denominator: denominator,
    }
}
