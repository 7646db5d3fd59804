//! `cargo xtask real-host`: the built VST3 in a real recording program, Debian's `ardour`, without
//! display, sound card or sound server; its notes recorded there and compared with the engine's.
//!
//! Test hosts of our own say what we expect a host to say. This one says what it likes: positions
//! on a grid of its own, a start before zero, bar starts that are wrong. Here it rolls, loops, seeks, changes its
//! tempo, automates the plugin, and lets it hear a guitar.

mod compare;
mod program;
mod scenarios;
mod second;
mod traces;

use anyhow::{Context as _, Result, ensure};
use fourlimb::kit::map_file::NamedMap;
use program::Program;
use std::fs;
use std::path::{Path, PathBuf};

/// Its options.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// How long to let the transport roll in each scenario, in seconds.
    #[arg(long, default_value_t = 12, value_parser = clap::value_parser!(u32).range(6..=600))]
    seconds: u32,
    /// Only this scenario; all of them where left out.
    #[arg(long, value_parser = scenarios::NAMES)]
    scenario: Option<String>,
    /// A note map that the plugin starts with, a JSON file (see docs/sampler.md); General MIDI where left out.
    #[arg(long, value_name = "FILE")]
    map: Option<PathBuf>,
    /// Build the plugin with the feature `trace`, record what the program says of every process
    /// block in several scenarios, and write the traces to this folder (`tests/core/traces`).
    #[arg(long, value_name = "DIR")]
    record_traces: Option<PathBuf>,
}

/// Runs the command. Everything that it makes stays under `real-host` in cargo's target folder.
///
/// # Errors
/// Where the recording program is not installed or does not do its work, and where a recorded note
/// is not as the engine composes it.
pub fn run(args: &Args) -> Result<()> {
    let program = Program::find()?;
    let bundle = bundle()?;
    let dir = crate::target()?.join("real-host");
    fs::create_dir_all(&dir).with_context(|| format!("making {}", dir.display()))?;
    if let Some(to) = &args.record_traces {
        let to = std::path::absolute(to)?;
        return traces::record(&program, &dir, &bundle, &to);
    }
    let work = dir.join("recording");
    program.settle(&work, &bundle)?;
    let map = match &args.map {
        Some(path) => crate::session::read_map(path)?,
        None => NamedMap::default(),
    };
    let config = work.join("config");
    fs::create_dir_all(&config).with_context(|| format!("making {}", config.display()))?;
    fs::write(config.join("map.json"), map.to_text())?;
    let chosen = |name: &&str| args.scenario.as_deref().is_none_or(|only| only == *name);
    println!("{}", program.version());
    for name in scenarios::NAMES.into_iter().filter(chosen) {
        let recording = program.record(&work, name, args.seconds, None)?;
        let verdict = scenarios::judge(name, &recording, args.seconds, &map.map)
            .with_context(|| format!("{name}: see the session in {}", work.display()))?;
        println!("{name}: {verdict}");
    }
    if args.scenario.is_none() {
        match second::list(&bundle.with_extension("clap"))? {
            Some(said) => println!("A second recording program {said}."),
            None => println!(
                "Skipped a second recording program: it is not installed (Debian's package `qtractor`)."
            ),
        }
    }
    Ok(())
}

/// Whether the recording program is there.
pub fn is_installed() -> bool {
    Program::find().is_ok()
}

/// The VST3 bundle; built first where it is missing.
fn bundle() -> Result<PathBuf> {
    let path = crate::bundled()?.join("Fourlimb.vst3");
    if !path.exists() {
        crate::bundle_plugin()?;
    }
    ensure!(path.exists(), "no bundle came to {}", path.display());
    Ok(path)
}

/// Copies a folder and all below it.
fn copy_dir(from: &Path, to: &Path) -> Result<()> {
    fs::create_dir_all(to).with_context(|| format!("making {}", to.display()))?;
    for entry in fs::read_dir(from).with_context(|| format!("reading {}", from.display()))? {
        let path = entry?.path();
        let Some(name) = path.file_name() else {
            continue;
        };
        let to = to.join(name);
        if path.is_dir() {
            copy_dir(&path, &to)?;
        } else {
            fs::copy(&path, &to).with_context(|| format!("copying {}", path.display()))?;
        }
    }
    Ok(())
}
