//! `cargo xtask onsets`: where a recorded guitar is struck, by the plugin's own detector.

use anyhow::{Context, Result};
use fourlimb::riff::sound;
use std::fs;
use std::path::PathBuf;

/// Its options.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The guitar, a WAV or FLAC file.
    file: PathBuf,
    /// How readily a change of the sound counts as a stroke, 0 to 1.
    #[arg(long, default_value_t = 0.5)]
    sensitivity: f32,
}

/// Runs the command: a line a stroke, with the second at which it was struck, the second at which
/// the detector had it, and its strength.
///
/// # Errors
/// Where the file can't be read.
pub fn run(args: &Args) -> Result<()> {
    let name = args.file.display();
    let bytes = fs::read(&args.file).with_context(|| format!("could not read {name}"))?;
    let heard = sound::listen(bytes, args.sensitivity, |_| true)
        .with_context(|| format!("{name} can't be heard"))?;
    for stroke in heard {
        println!(
            "{:.6} {:.6} {:.3}",
            stroke.seconds, stroke.known, stroke.strength
        );
    }
    Ok(())
}
