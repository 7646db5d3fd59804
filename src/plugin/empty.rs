//! An empty plugin in the same wrapper: the baseline of the benchmarks. Behind the feature `empty`, never in a
//! release.

use nice_plug::prelude::*;
use std::sync::Arc;

/// Does nothing.
#[derive(Default)]
pub struct Empty;

/// No parameters.
#[derive(Params)]
struct NoParams {}

impl Plugin for Empty {
    const NAME: &'static str = "Empty";
    const VENDOR: &'static str = "Fourlimb";
    const URL: &'static str = "";
    const EMAIL: &'static str = "";
    const VERSION: &'static str = env!("CARGO_PKG_VERSION");
    const AUDIO_IO_LAYOUTS: &'static [AudioIOLayout] = super::Fourlimb::AUDIO_IO_LAYOUTS;
    const MIDI_INPUT: MidiConfig = super::Fourlimb::MIDI_INPUT;
    const MIDI_OUTPUT: MidiConfig = super::Fourlimb::MIDI_OUTPUT;
    const SAMPLE_ACCURATE_AUTOMATION: bool = super::Fourlimb::SAMPLE_ACCURATE_AUTOMATION;

    type SysExMessage = ();
    type BackgroundTask = ();
    type Editor = ();

    fn params(&self) -> Arc<dyn Params> {
        Arc::new(NoParams {})
    }

    fn process(
        &mut self,
        _buffer: &mut Buffer,
        _aux: &mut AuxiliaryBuffers,
        _context: &mut impl ProcessContext<Self>,
    ) -> ProcessStatus {
        ProcessStatus::KeepAlive
    }
}

impl ClapPlugin for Empty {
    const CLAP_ID: &'static str = "org.fourlimb.empty";
    const CLAP_DESCRIPTION: Option<&'static str> = None;
    const CLAP_MANUAL_URL: Option<&'static str> = None;
    const CLAP_SUPPORT_URL: Option<&'static str> = None;
    const CLAP_FEATURES: &'static [ClapFeature] = &[ClapFeature::Instrument, ClapFeature::Stereo];
}
