//! The developers' commands: `cargo xtask COMMAND`. One file a command.

use anyhow::Result;
use clap::{Parser, Subcommand};
use std::process::ExitCode;
use xtask::{
    bundle, conformance, install, kit, package, performance, real_host, session, soak, test,
};

#[derive(Parser)]
#[command(name = "cargo xtask", about = "What Fourlimb's developers do")]
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
    /// Ask the bundle whatever a host may ask, in order and out of it.
    Conformance(conformance::Args),
    /// Play a song through the built plugin and write what it recorded.
    Session(session::Args),
    /// Play random projects through the built plugin for hours, and check every note.
    Soak(soak::Args),
    /// Build release bundles and put them where hosts look.
    Install(install::Args),
    /// Measure the built-in sound, beside recorded strokes.
    Kit(kit::Args),
    /// Make what a songwriter downloads: plugins, program, guide, licences, installer, checksums.
    Package(package::Args),
    /// Run the benches and write docs/performance.md.
    Performance(performance::Args),
    /// Record the built VST3 in a real recording program and compare.
    RealHost(real_host::Args),
    /// Write pictures of the editor in all its states.
    Shots {
        /// Where to; `shots` in cargo's target folder where left out.
        #[arg(long, value_name = "DIR")]
        out: Option<std::path::PathBuf>,
    },
    /// Run every check, from format and lints to a package in a real host.
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

fn main() -> ExitCode {
    let done = run();
    // The sentence alone: no backtrace, whatever the environment says.
    done.map_or_else(
        |error| {
            eprintln!("{error:#}");
            ExitCode::FAILURE
        },
        |()| ExitCode::SUCCESS,
    )
}

fn run() -> Result<()> {
    match Cli::parse().command {
        Command::Bundle { args } => bundle(args),
        Command::Conformance(args) => conformance::run(&args),
        Command::Session(args) => session::run(&args),
        Command::Soak(args) => soak::run(&args),
        Command::Install(args) => install::run(&args),
        Command::Kit(args) => kit::run(&args),
        Command::Package(args) => package::run(&args),
        Command::Performance(args) => performance::run(&args),
        Command::RealHost(args) => real_host::run(&args),
        Command::Shots { out: Some(out) } => shots(&out),
        Command::Shots { out: None } => shots(&xtask::target()?.join("shots")),
        Command::Test(args) => test::run(&args),
    }
}
