//! `cargo xtask conformance`: builds the bundle and asks it whatever a host may ask, with seeds that nobody has tried.

use anyhow::{Context, Result, ensure};
use rand::RngExt as _;
use std::path::PathBuf;
use std::process::Command;

/// Its options.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The first seed; the rounds have this one and those after it. Left out, it is any.
    #[arg(long)]
    seed: Option<u32>,
    /// How many seeds each random test tries.
    #[arg(long, default_value_t = 50)]
    rounds: u32,
    /// How many instances open their window and go while a parameter is automated.
    #[arg(long, default_value_t = 100)]
    windows: u32,
    /// Features of the tests, where they are built with some already.
    #[arg(long, hide = true)]
    features: Option<String>,
    /// A VST3 bundle, or the library in it, to ask instead of building one.
    #[arg(long, value_name = "FILE")]
    library: Option<PathBuf>,
}

/// Runs the command.
///
/// # Errors
/// Where the bundle can't be built, or an answer is wrong.
pub fn run(args: &Args) -> Result<()> {
    let library = if let Some(library) = &args.library {
        library.clone()
    } else {
        crate::bundle_plugin()?;
        crate::bundled()?.join("Fourlimb.vst3")
    };
    let library = library.canonicalize();
    let library = library.context("there is no such VST3 bundle to ask")?;
    let seed = args.seed.unwrap_or_else(|| rand::rng().random());
    println!("Seeds {seed} to {}", seed.saturating_add(args.rounds));
    let features = args
        .features
        .iter()
        .flat_map(|features| ["--features", features]);
    let words = "conformance:: -- --include-ignored --nocapture";
    let status = Command::new(crate::cargo())
        .args(crate::test::TESTS)
        .args(["--test", "plugin"])
        .args(features)
        .args(words.split(' '))
        .env("FOURLIMB_TEST_VST3", library)
        .env("FOURLIMB_CONFORMANCE_SEED", seed.to_string())
        .env("FOURLIMB_CONFORMANCE_ROUNDS", args.rounds.to_string())
        .env("FOURLIMB_CONFORMANCE_WINDOWS", args.windows.to_string())
        .status()
        .context("could not run cargo")?;
    ensure!(
        status.success(),
        "an answer is wrong. The same once more: cargo xtask conformance --seed {seed} --rounds {}",
        args.rounds
    );
    Ok(())
}
