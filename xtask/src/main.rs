//! The project's commands: `cargo xtask COMMAND`. One file a command.

use anyhow::Result;
use clap::{Parser, Subcommand};
use xtask::{bundle, check, export, install, lock, onsets, real_host, riff, session, test};

#[derive(Parser)]
#[command(name = "cargo xtask", about = "Fourlimb's own commands")]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Build the plugin and bundle it as CLAP and VST3 (arguments as for `cargo build`).
    #[command(disable_help_flag = true)]
    Bundle {
        /// The package, then options of `cargo build`, for example `fourlimb --release`.
        #[arg(trailing_var_arg = true, allow_hyphen_values = true)]
        args: Vec<String>,
    },
    /// Play a song through the built plugin and write what it recorded.
    Session(session::Args),
    /// Say whether two hands and two feet can play a drum region, and what to change.
    Check(check::Args),
    /// Write a song, some of its bars or a section as a MIDI file.
    Export(export::Args),
    /// Bring a section back that was edited by hand, to be played as it is; or unlock it.
    Lock(lock::Args),
    /// Say where a recorded guitar is struck.
    Onsets(onsets::Args),
    /// Make a MIDI file or a recording of the guitar the riff of a song file.
    Riff(riff::Args),
    /// Build release bundles and put them where hosts look.
    Install(install::Args),
    /// Record the built VST3 in a real recording program and compare.
    RealHost(real_host::Args),
    /// Write pictures of the editor in all its states.
    Shots {
        /// Where to.
        #[arg(long, default_value = "target/shots", value_name = "DIR")]
        out: std::path::PathBuf,
    },
    /// Run every check: format, lints, tests, bundle, session.
    Test(test::Args),
}

/// Pictures need a renderer, which is heavy to build: it is built when they are asked for.
#[cfg(not(feature = "shots"))]
fn shots(out: &std::path::Path) -> Result<()> {
    let out = out.to_string_lossy();
    let features = ["run", "--package", "xtask", "--features", "shots", "--"];
    test::cargo(
        "pictures",
        &[&features[..], &["shots", "--out", &out]].concat(),
    )
}

#[cfg(feature = "shots")]
fn shots(out: &std::path::Path) -> Result<()> {
    xtask::shots::run(out)
}

fn main() -> Result<()> {
    match Cli::parse().command {
        Command::Bundle { args } => bundle(args),
        Command::Session(args) => session::run(&args),
        Command::Check(args) => check::run(&args),
        Command::Export(args) => export::run(&args),
        Command::Lock(args) => lock::run(&args),
        Command::Onsets(args) => onsets::run(&args),
        Command::Riff(args) => riff::run(&args),
        Command::Install(args) => install::run(&args),
        Command::RealHost(args) => real_host::run(&args),
        Command::Shots { out } => shots(&out),
        Command::Test(args) => test::run(&args),
    }
}
