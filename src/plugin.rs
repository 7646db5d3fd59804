//! The shell: what a host sees.
//!
//! - [`params`]: the host's parameters and what they mean to the drummer
//! - [`transport`]: the framework's transport in the clock's words
//! - [`state`]: what is saved, and how older saves are read
//! - `own_time`: time in the stand-alone, which no host gives
//! - [`sound`]: the preview, rendered at activation
//! - [`guitar`]: notes and side-chain as strokes of the guitar
//! - [`load`]: a riff from a file, in the background
//! - [`dialog`]: file dialogs of the system
//! - [`filing`]: songs read, written and exported, in the background
//! - [`view`]: how the editor is looked at
//! - [`undo`]: changes of both, to be taken back
//! - [`keeper`], [`song`]: the riff and the song as they are saved and shown
//! - [`handover`]: whole values to the audio thread
//! - [`history`]: what was played, and the host's tempi and meters as seen
//! - [`save`]: what was played to a file, in the background
//! - [`collector`]: a thread that takes up what the audio thread tells
//! - [`worker`]: a thread for jobs that take a while
//! - [`working`]: work in the background as the editor sees it
//! - [`bridge`]: the only link between audio thread and editor

pub mod bridge;
pub mod collector;
pub mod dialog;
#[cfg(feature = "empty")]
pub mod empty;
pub mod filing;
pub mod guitar;
pub mod handover;
pub mod history;
pub mod keeper;
pub mod load;
mod own_time;
pub mod params;
pub mod save;
pub mod song;
pub mod sound;
#[cfg(feature = "standalone")]
pub mod standalone;
pub mod state;
#[cfg(feature = "trace")]
mod trace;
pub mod transport;
pub mod undo;
pub mod view;
pub mod worker;
pub mod working;

use crate::editor;
use crate::engine::{BlockInput, EventSink, LivePlayer, Passing};
use crate::groove::Hit;
use crate::midi::{NoteEvent, NoteOut};
use crate::settings::Settings;
use crate::song::Chart;
use crate::transport::Span;
use bridge::{AudioSide, EditorSide};
use collector::Collector;
use guitar::GuitarIn;
use handover::Taker;
use history::{AudioTape, History};
use keeper::AudioRiff;
use nice_plug::prelude::*;
use own_time::OwnTime;
use params::FourlimbParams;
use song::SongKeeper;
use sound::PreviewSound;
use std::sync::Arc;
use worker::Worker;

/// The plugin.
pub struct Fourlimb {
    params: Arc<FourlimbParams>,
    /// What the parameters say.
    panel: Settings,
    player: LivePlayer,
    sound: PreviewSound,
    /// In the stand-alone alone.
    own_time: Option<OwnTime>,
    bridge: AudioSide,
    guitar: GuitarIn,
    /// The audio thread's end of the kept riff.
    riff: AudioRiff,
    /// The audio thread's end of what is kept of the playing.
    tape: AudioTape,
    /// From the first activation on.
    collector: Option<Collector>,
    worker: Arc<Worker<Task>>,
    /// The audio thread's end of the kept song.
    charts: Taker<Chart>,
    /// Handed to the editor when it is made.
    editor_side: Option<EditorSide>,
    #[cfg(feature = "trace")]
    trace: trace::Trace,
}

impl Default for Fourlimb {
    fn default() -> Self {
        let (audio, editor) = bridge::bridge(editor::window());
        let params = Arc::new(FourlimbParams::default());
        let (riff, charts) = (params.riff.take_audio(), params.song.take_audio());
        let tape = params.history.take_audio();
        Self {
            // The keepers were made above, so their ends are there.
            riff: riff.expect("a new keeper"),
            charts: charts.expect("a new keeper"),
            tape: tape.expect("a new history"),
            collector: None,
            worker: Arc::new(Worker::new(Task::on(params.clone()))),
            params,
            guitar: GuitarIn::new(48_000.0),
            panel: Settings::default(),
            player: LivePlayer::new(48_000.0),
            sound: PreviewSound::new(),
            own_time: bridge::desk::Desk::installed().map(OwnTime::new),
            bridge: audio,
            editor_side: Some(editor),
            #[cfg(feature = "trace")]
            trace: trace::Trace::default(),
        }
    }
}

impl Fourlimb {
    /// What was played, and what was seen of the host's tempi and meters. Main thread.
    pub fn history(&self) -> &Arc<History> {
        &self.params.history
    }

    /// The song. Main thread.
    pub fn song(&self) -> &Arc<SongKeeper> {
        &self.params.song
    }
}

impl Plugin for Fourlimb {
    const NAME: &'static str = "Fourlimb";
    const VENDOR: &'static str = "Fourlimb";
    const URL: &'static str = "";
    const EMAIL: &'static str = "";
    const VERSION: &'static str = env!("CARGO_PKG_VERSION");

    const AUDIO_IO_LAYOUTS: &'static [AudioIOLayout] = &[AudioIOLayout {
        main_input_channels: None,
        main_output_channels: NonZeroU32::new(2),
        aux_input_ports: &[new_nonzero_u32(2)],
        names: PortNames {
            aux_inputs: &["Guitar"],
            ..PortNames::const_default()
        },
        ..AudioIOLayout::const_default()
    }];
    // Notes in are the guitar.
    const MIDI_INPUT: MidiConfig = MidiConfig::Basic;
    const MIDI_OUTPUT: MidiConfig = MidiConfig::Basic;
    const SAMPLE_ACCURATE_AUTOMATION: bool = true;

    type SysExMessage = ();
    // Not the framework's: see the worker.
    type BackgroundTask = ();
    type Editor = editor::PluginEditor;

    fn params(&self) -> Arc<dyn Params> {
        self.params.clone()
    }

    fn editor(&mut self, _executor: AsyncExecutor<Self>) -> Option<Self::Editor> {
        let worker = self.worker.clone();
        let run = Box::new(move |task| worker.send(task));
        editor::create(self.params.clone(), self.editor_side.take()?, run)
    }

    fn filter_state(state: &mut PluginState) {
        state::fill_in(state);
    }

    fn activate(
        &mut self,
        _layout: &AudioIOLayout,
        config: &BufferConfig,
        _context: &mut impl ActivateContext<Self>,
    ) -> bool {
        self.player.set_sample_rate(f64::from(config.sample_rate));
        self.sound.activate(config.sample_rate);
        self.guitar = GuitarIn::new(f64::from(config.sample_rate));
        // A scan makes instances that it never activates: they need no thread.
        let (riff, history) = (self.params.riff.clone(), self.params.history.clone());
        let song = self.params.song.clone();
        self.collector.get_or_insert_with(|| {
            Collector::start(move || {
                riff.take_up();
                let seen = history.seen();
                if !seen.is_empty() {
                    song.hear_meters(seen.meters());
                }
            })
        });
        true
    }

    fn reset(&mut self) {
        self.player.reset();
        self.sound.reset();
        self.guitar.reset();
    }

    fn process(
        &mut self,
        buffer: &mut Buffer,
        aux: &mut AuxiliaryBuffers,
        context: &mut impl ProcessContext<Self>,
    ) -> ProcessStatus {
        self.params.hear(&mut self.panel);
        let panel = &self.panel;
        self.guitar.notes(context);
        self.guitar.sound(aux, panel.listen, panel.sensitivity);
        for channel in buffer.as_slice() {
            channel.fill(0.0);
        }
        let frames = u32::try_from(buffer.samples()).unwrap_or(u32::MAX);
        let host = match &mut self.own_time {
            Some(own) => own.block(context.transport(), frames),
            None => transport::host_time(context.transport()),
        };
        #[cfg(feature = "trace")]
        self.trace
            .record(&host, frames, context.transport().sample_rate);
        let player = &mut self.player;
        let exchanged = self
            .riff
            .receive(|riff| std::mem::swap(player.riff_mut(), riff));
        if exchanged {
            player.capture_mut().forget();
        }
        self.charts
            .take(|new| std::mem::swap(player.chart_mut(), new));
        let block = BlockInput {
            host,
            panel,
            guitar: self.guitar.struck(),
            frames,
        };
        let heard = panel.preview;
        let mut sink = HostSink {
            context,
            sound: heard.then_some(&mut self.sound),
            tape: &mut self.tape,
            plugin: std::marker::PhantomData::<Self>,
        };
        player.process(&block, &mut sink);
        self.tape.end_block(frames);
        let riff = &mut self.riff;
        player.capture_mut().drain(|edit| riff.send(edit));
        let level_db = panel.preview_level_db;
        self.sound.render(buffer.as_slice(), heard, level_db);
        self.bridge.publish(&self.player, &host);
        ProcessStatus::KeepAlive
    }

    #[cfg(feature = "trace")]
    fn deactivate(&mut self) {
        self.trace.write();
    }
}

/// What is done off the audio thread.
#[derive(Debug, Clone)]
pub enum Task {
    /// Reads a riff from a file.
    Load(Box<load::Job>),
    /// Writes what was played to a file.
    Save(save::Job),
    /// Reads or writes a song.
    File(Box<filing::Job>),
}

impl Task {
    /// Does tasks on what an instance keeps.
    fn on(params: Arc<FourlimbParams>) -> impl Fn(Self) + Send + Sync {
        move |task| match task {
            Self::Load(job) => load::run(&job, &params.riff),
            Self::Save(job) => save::run(&job, &params.history),
            Self::File(job) => params.song.filing().run(&job),
        }
    }
}

/// Note events into the host's event list and, once they are there, onto the tape; strokes to the preview
/// where it is on.
struct HostSink<'a, C, P> {
    context: &'a mut C,
    sound: Option<&'a mut PreviewSound>,
    tape: &'a mut AudioTape,
    plugin: std::marker::PhantomData<P>,
}

impl<P: Plugin, C: ProcessContext<P>> NoteOut for HostSink<'_, C, P> {
    fn send(&mut self, event: NoteEvent) -> bool {
        use nice_plug::midi::{Channel, Key, VoiceID};
        let (timing, voice_id) = (event.sample, VoiceID::Wildcard);
        let channel = Channel::Number(event.note.channel);
        let key = Key::Number(event.note.key);
        let host_event = if let Some(velocity) = event.velocity {
            PluginNoteEvent::<P>::NoteOn {
                timing,
                voice_id,
                channel,
                key,
                velocity: f32::from(velocity) / 127.0,
            }
        } else {
            PluginNoteEvent::<P>::NoteOff {
                timing,
                voice_id,
                channel,
                key,
                // Release velocity 64 is the neutral one (MIDI 1.0, as quoted in secondary texts).
                velocity: 64.0 / 127.0,
            }
        };
        let sent = self.context.try_send_event(host_event).is_ok();
        if sent {
            self.tape.note(&event);
        }
        sent
    }
}

impl<P: Plugin, C: ProcessContext<P>> EventSink for HostSink<'_, C, P> {
    fn passes(&mut self, span: &Span, passing: &Passing) {
        self.tape.pass(span, passing);
    }

    fn struck(&mut self, sample: u32, hit: &Hit) {
        if let Some(sound) = &mut self.sound {
            sound.strike(sample, hit);
        }
    }
}

impl ClapPlugin for Fourlimb {
    const CLAP_ID: &'static str = "org.fourlimb.fourlimb";
    const CLAP_DESCRIPTION: Option<&'static str> =
        Some("Plays drums like a person with two hands and two feet");
    const CLAP_MANUAL_URL: Option<&'static str> = None;
    const CLAP_SUPPORT_URL: Option<&'static str> = None;
    const CLAP_FEATURES: &'static [ClapFeature] = &[
        ClapFeature::Instrument,
        ClapFeature::NoteEffect,
        ClapFeature::Drum,
        ClapFeature::Stereo,
    ];
}

impl Vst3Plugin for Fourlimb {
    const VST3_CLASS_ID: [u8; 16] = *b"FourlimbDrummer1";
    const VST3_SUBCATEGORIES: &'static [Vst3SubCategory] =
        &[Vst3SubCategory::Instrument, Vst3SubCategory::Drum];
}
