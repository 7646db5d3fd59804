//! `fourlimb onsets`: where a recorded guitar is struck, by the plugin's own detector.

use crate::riff::sound;
use anyhow::{Context as _, Result};
use std::io::Write;
use std::path::PathBuf;

/// Its options.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The guitar, a WAV or FLAC file.
    file: PathBuf,
    /// How readily a change of the sound counts as a stroke, 0 to 1.
    #[arg(long, value_name = "X", default_value_t = 0.5, value_parser = super::share)]
    sensitivity: f32,
}

/// Runs the command: a line a stroke, with the second at which it was struck, the second at which the detector
/// had it, and its strength. Fails where the file can't be read.
pub(super) fn run(args: &Args, out: &mut dyn Write) -> Result<()> {
    let heard = sound::listen(super::read(&args.file)?, args.sensitivity, |_| true)
        .with_context(|| format!("{} can't be heard", args.file.display()))?;
    for stroke in heard {
        writeln!(
            out,
            "{:.6} {:.6} {:.3}",
            stroke.seconds, stroke.known, stroke.strength
        )?;
    }
    Ok(())
}
