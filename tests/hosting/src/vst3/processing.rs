//! The plugin's side of the audio thread.

#![expect(unsafe_code, reason = "a block goes over by addresses")]

use super::library::Library;
use super::lists::{Changes, Events};
use super::ok;
use crate::blocks::Transport;
use crate::sent::Sent;
use anyhow::Result;
use std::marker::PhantomData;
use vst3::ComPtr;
use vst3::Steinberg::Vst::ProcessContext_::StatesAndFlags_::{
    kBarPositionValid, kContTimeValid, kCycleActive, kCycleValid, kPlaying, kProjectTimeMusicValid,
    kTempoValid, kTimeSigValid,
};
use vst3::Steinberg::Vst::{
    AudioBusBuffers, AudioBusBuffers__type0, IAudioProcessor, IAudioProcessorTrait, IEventList,
    IParameterChanges, ProcessContext, ProcessData,
};

/// A parameter's value from a sample of the block on.
#[derive(Debug, Clone, Copy)]
pub struct Change {
    /// Samples from the start of the block.
    pub sample: i32,
    /// The parameter's id.
    pub param: u32,
    /// Its normalised value, 0..=1 where the host is sane.
    pub value: f64,
}

/// A note that goes in.
#[derive(Debug, Clone, Copy)]
pub struct NoteIn {
    /// Samples from the start of the block.
    pub sample: i32,
    /// MIDI channel, 0..=15 where the host is sane.
    pub channel: i16,
    /// MIDI key, 0..=127 where the host is sane.
    pub key: i16,
    /// 0..=1 of a note-on; `None` for a note-off.
    pub velocity: Option<f32>,
}

/// What comes by the side-chain.
#[derive(Debug, Clone, Copy)]
pub enum Side<'a> {
    /// The host gives no input bus.
    NoBus,
    /// The host gives a list of no buses. What lies where the first one would be is nobody's to read.
    EmptyList,
    /// The bus is there, and its channels are not.
    NoChannels,
    /// The channels are those of the output.
    InPlace,
    /// Both channels have this sound, and silence after it.
    Sound(&'a [f32]),
}

/// A block.
#[derive(Debug, Clone, Copy)]
pub struct Block<'a> {
    /// Its length in samples.
    pub frames: usize,
    /// What the host says of time; `None` for a host that says nothing.
    pub transport: Option<Transport>,
    /// Position of its first sample, in samples.
    pub at: i64,
    /// Changes of parameters.
    pub changes: &'a [Change],
    /// Notes that go in.
    pub notes: &'a [NoteIn],
    /// The side-chain.
    pub side: Side<'a>,
}

impl<'a> Block<'a> {
    /// A block with a silent side-chain, without changes and notes.
    pub fn new(frames: usize, transport: Transport) -> Self {
        Self {
            frames,
            transport: Some(transport),
            at: 0,
            changes: &[],
            notes: &[],
            side: Side::Sound(&[]),
        }
    }

    /// The same block with these changes.
    #[must_use]
    pub fn with(mut self, changes: &'a [Change]) -> Self {
        self.changes = changes;
        self
    }
}

/// One plugin's blocks. It may go to another thread.
pub struct Processor<'l> {
    component: ComPtr<IAudioProcessor>,
    sample_rate: f64,
    outputs: [Vec<f32>; 2],
    side: [Vec<f32>; 2],
    library: PhantomData<&'l Library>,
}

impl<'l> Processor<'l> {
    pub(super) fn new(component: ComPtr<IAudioProcessor>, sample_rate: f64) -> Self {
        Self {
            component,
            sample_rate,
            outputs: [Vec::new(), Vec::new()],
            side: [Vec::new(), Vec::new()],
            library: PhantomData::<&'l Library>,
        }
    }

    /// Runs one block; returns its notes and how many other events came out.
    ///
    /// # Errors
    /// Where the plugin reports an error or breaks the rules of output events.
    pub fn run(&mut self, block: &Block) -> Result<(Vec<Sent>, usize)> {
        for channel in self.outputs.iter_mut().chain(&mut self.side) {
            channel.resize(block.frames, 0.0);
        }
        // The host does not promise silence: what is in the output is none.
        if matches!(block.side, Side::Sound(_)) {
            for channel in &mut self.outputs {
                channel.fill(f32::NAN);
            }
        }
        if let Side::Sound(sound) = block.side {
            for channel in &mut self.side {
                channel.fill(0.0);
                for (to, from) in channel.iter_mut().zip(sound) {
                    *to = *from;
                }
            }
        }
        let mut outputs = self.outputs.each_mut().map(Vec::as_mut_ptr);
        let mut sides = match block.side {
            Side::InPlace => outputs,
            _ => self.side.each_mut().map(Vec::as_mut_ptr),
        };
        let mut output = bus(&mut outputs);
        let mut input = bus(&mut sides);
        if matches!(block.side, Side::NoChannels) {
            input = AudioBusBuffers {
                numChannels: 0,
                silenceFlags: 0,
                __field0: AudioBusBuffers__type0 {
                    channelBuffers32: std::ptr::null_mut(),
                },
            };
        }
        if matches!(block.side, Side::EmptyList) {
            // No memory lies there.
            let nowhere = std::ptr::without_provenance_mut(size_of::<*mut f32>());
            input.__field0.channelBuffers32 = nowhere;
        }
        let has_list = !matches!(block.side, Side::NoBus);
        let has_input = has_list && !matches!(block.side, Side::EmptyList);
        let has_output = block.frames > 0;
        let mut context = block
            .transport
            .map(|transport| self.context(&transport, block.at));
        let changes = Changes::of(block.changes);
        let notes = Events::of(block.notes);
        let sent = Events::room();
        let mut data = ProcessData {
            processMode: 0,
            symbolicSampleSize: 0,
            numSamples: i32::try_from(block.frames)?,
            numInputs: i32::from(has_input),
            numOutputs: i32::from(has_output),
            inputs: if has_list {
                &raw mut input
            } else {
                std::ptr::null_mut()
            },
            outputs: if has_output {
                &raw mut output
            } else {
                std::ptr::null_mut()
            },
            inputParameterChanges: changes
                .as_com_ref::<IParameterChanges>()
                .map_or(std::ptr::null_mut(), |list| list.as_ptr()),
            outputParameterChanges: std::ptr::null_mut(),
            inputEvents: notes
                .as_com_ref::<IEventList>()
                .map_or(std::ptr::null_mut(), |list| list.as_ptr()),
            outputEvents: sent
                .as_com_ref::<IEventList>()
                .map_or(std::ptr::null_mut(), |list| list.as_ptr()),
            processContext: context
                .as_mut()
                .map_or(std::ptr::null_mut(), |to| &raw mut *to),
        };
        // SAFETY: whatever the structure points to lives until the end of this function, and the buffers have
        // `numSamples` samples.
        let answer = unsafe { self.component.process(&raw mut data) };
        ok("process", answer)?;
        sent.sent(block.frames.max(1))
    }

    /// The sound of the last block, left and right.
    pub fn heard(&self) -> [&[f32]; 2] {
        [&self.outputs[0], &self.outputs[1]]
    }

    fn context(&self, transport: &Transport, at: i64) -> ProcessContext {
        // SAFETY: numbers, for which zeros are values.
        let mut context: ProcessContext = unsafe { std::mem::zeroed() };
        context.state = kContTimeValid;
        context.sampleRate = self.sample_rate;
        context.projectTimeSamples = at;
        context.continousTimeSamples = at;
        if transport.playing {
            context.state |= kPlaying;
        }
        if let Some(bpm) = transport.bpm {
            context.state |= kTempoValid;
            context.tempo = bpm;
        }
        if let Some(pos) = transport.pos_quarters {
            context.state |= kProjectTimeMusicValid | kBarPositionValid;
            context.projectTimeMusic = pos;
            context.barPositionMusic = transport.bar_quarters;
        }
        if let Some((numerator, denominator)) = transport.meter {
            context.state |= kTimeSigValid;
            context.timeSigNumerator = numerator.into();
            context.timeSigDenominator = denominator.into();
        }
        if let Some((start, end)) = transport.loop_quarters {
            context.state |= kCycleActive | kCycleValid;
            (context.cycleStartMusic, context.cycleEndMusic) = (start, end);
        }
        context
    }
}

/// A bus of two channels.
fn bus(channels: &mut [*mut f32; 2]) -> AudioBusBuffers {
    AudioBusBuffers {
        numChannels: 2,
        silenceFlags: 0,
        __field0: AudioBusBuffers__type0 {
            channelBuffers32: channels.as_mut_ptr(),
        },
    }
}
