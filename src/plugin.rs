//! The plugin as a host sees it.
//!
//! - [`audio`]: everything that the audio thread touches
//! - [`kept`]: what the stand-alone keeps between runs
//! - `messages`: where the framework's messages go
//! - [`state`]: migrates states of older versions
//! - `standalone`: the stand-alone program

pub mod audio;
#[cfg(feature = "empty")]
pub mod empty;
pub mod kept;
mod messages;
mod setup;
#[cfg(feature = "standalone")]
pub mod standalone;
pub mod state;
#[cfg(feature = "trace")]
mod trace;

use crate::bridge::standalone_transport::StandaloneTransport;
use crate::bridge::{AudioSide, EditorSide, bridge};
use crate::editor;
use crate::editor::drag_out::{DragOut, MainTask};
use crate::editor::from_system::FromSystem;
use crate::editor::threads::EndsThreads;
use crate::engine::{BlockInput, LivePlayer};
use crate::params::FourlimbParams;
use crate::preview::Mix;
use crate::project::background::Collector;
use crate::project::{AudioEnds, JobQueue, Project};
use crate::settings::{BarSettings, Settings};
use audio::guitar::GuitarIn;
use audio::preview::PreviewSound;
use audio::sink::HostSink;
use audio::standalone_time::StandaloneTime;
use nice_plug::prelude::*;
use std::sync::Arc;

/// The plugin.
pub struct Fourlimb {
    params: Arc<FourlimbParams>,
    player: LivePlayer,
    sound: PreviewSound,
    /// Only in the stand-alone.
    standalone_time: Option<StandaloneTime>,
    bridge: AudioSide,
    guitar: GuitarIn,
    /// The audio thread's end of the project.
    project: AudioEnds,
    /// Set from the first activation on.
    collector: Option<Collector>,
    jobs: Arc<JobQueue>,
    /// The editor takes it when it is created.
    editor_side: Option<EditorSide>,
    /// Those that work for the window; they end before the library can go.
    window_threads: EndsThreads,
    #[cfg(feature = "trace")]
    trace: trace::Trace,
}

impl Default for Fourlimb {
    fn default() -> Self {
        let (audio, editor) = bridge(editor::window());
        let params = Arc::new(FourlimbParams::default());
        params.project.start();
        #[cfg(feature = "standalone")]
        standalone::begin(&params);
        Self {
            // `params.project` is new, so its audio ends are present.
            project: params.project.take_audio().expect("a new project"),
            collector: None,
            jobs: Arc::new(JobQueue::new(params.project.clone())),
            params,
            guitar: GuitarIn::new(48_000.0),
            player: LivePlayer::new(48_000.0),
            sound: PreviewSound::new(),
            standalone_time: StandaloneTransport::installed().map(StandaloneTime::new),
            bridge: audio,
            editor_side: Some(editor),
            window_threads: EndsThreads::default(),
            #[cfg(feature = "trace")]
            trace: trace::Trace::default(),
        }
    }
}

impl Fourlimb {
    /// The project. Main thread.
    pub fn project(&self) -> &Arc<Project> {
        &self.params.project
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
    // The MIDI input is the guitar.
    const MIDI_INPUT: MidiConfig = MidiConfig::Basic;
    // A sampler's hi-hat may want a controller.
    const MIDI_OUTPUT: MidiConfig = MidiConfig::MidiCCs;
    const SAMPLE_ACCURATE_AUTOMATION: bool = true;

    type SysExMessage = ();
    // For the main thread alone: `project::background` replaces the framework's thread.
    type BackgroundTask = MainTask;
    type Editor = editor::PluginEditor;

    fn setup_logger() -> Option<bool> {
        Some(messages::write())
    }

    fn params(&self) -> Arc<dyn Params> {
        self.params.clone()
    }

    fn task_executor(&mut self) -> TaskExecutor<Self> {
        Box::new(MainTask::run)
    }

    fn editor(&mut self, executor: AsyncExecutor<Self>) -> Option<Self::Editor> {
        let jobs = self.jobs.clone();
        let side = self.editor_side.take()?;
        let drag_out = DragOut::new(
            self.window_threads.0.clone(),
            FromSystem::new(side.repaint.clone()),
            // The stand-alone's wrapper would hold itself by it, and never go.
            StandaloneTransport::installed()
                .is_none()
                .then(|| Arc::new(move |task| executor.execute_gui(task)) as _),
        );
        editor::create(self.params.clone(), side, jobs, drag_out)
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
        let frames = (config.min_buffer_size, config.max_buffer_size);
        if let Err(why) = setup::check(config.sample_rate, frames) {
            nice_error!("{why}");
            return false;
        }
        self.player.set_sample_rate(f64::from(config.sample_rate));
        let offline = config.process_mode == ProcessMode::Offline;
        self.sound.activate(config.sample_rate, offline);
        self.guitar = GuitarIn::new(f64::from(config.sample_rate));
        // A plugin scan creates instances without activating them, so the thread starts only here.
        let project = self.params.project.clone();
        self.collector
            .get_or_insert_with(|| Collector::start(move || project.take_up()));
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
        if let Some(panel) = self.params.changed() {
            self.player.set_panel(&panel);
        }
        let &Settings {
            listen,
            sensitivity,
            preview,
            preview_level_db,
            preview_room,
            bar_settings: BarSettings { take, .. },
            ..
        } = self.player.panel();
        let mix = Mix {
            level_db: preview_level_db,
            room: preview_room,
        };
        // Nobody learns with a closed window.
        let learner = self
            .bridge
            .is_watched()
            .then_some(&mut self.project.sampler);
        self.guitar.notes(context, learner);
        self.guitar.sound(aux, listen, sensitivity);
        for channel in buffer.as_slice() {
            channel.fill(0.0);
        }
        let frames = u32::try_from(buffer.samples()).unwrap_or(u32::MAX);
        let player = &mut self.player;
        let AudioEnds {
            charts,
            riff,
            maps,
            sampler,
            recorder,
        } = &mut self.project;
        if riff.receive(player.riff_mut()) {
            player.capture_mut().forget();
        }
        player.exchange_chart(|used| charts.receive(used));
        player.exchange_map(|used| maps.receive(used));
        let host = match &mut self.standalone_time {
            Some(own) => own.block(context.transport(), frames, player.followed()),
            None => audio::host_time::host_time(context.transport()),
        };
        #[cfg(feature = "trace")]
        self.trace
            .record(&host, frames, context.transport().sample_rate);
        let block = BlockInput {
            host,
            guitar: self.guitar.struck(),
            frames,
        };
        self.sound.set_take(take);
        let mut sink = HostSink {
            context,
            sound: preview.then_some(&mut self.sound),
            recorder,
            plugin: std::marker::PhantomData::<Self>,
        };
        while frames > 0
            && let Some(struck) = sampler.next_try()
        {
            player.try_stroke(&struck, &mut sink);
        }
        player.process(&block, &mut sink);
        player.capture_mut().drain(|edit| riff.send(edit));
        self.sound.render(buffer.as_slice(), preview, mix);
        self.bridge.publish(&self.player, &block.host);
        ProcessStatus::KeepAlive
    }

    #[cfg(feature = "trace")]
    fn deactivate(&mut self) {
        self.trace.write();
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
