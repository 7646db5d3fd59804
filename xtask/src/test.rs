//! `cargo xtask test`: every check, in the order in which a failure is cheapest to learn of.

use anyhow::{Context, Result, bail};
use std::process::Command;

/// Its options.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Stop after format, lints and tests.
    #[arg(long)]
    quick: bool,
}

/// Runs the command.
///
/// # Errors
/// Where a check fails; the first that does is named.
pub fn run(args: &Args) -> Result<()> {
    cargo("format", &["fmt", "--all", "--check"])?;
    cargo(
        "the core alone",
        &["check", "--lib", "--no-default-features"],
    )?;
    let lints = [
        "clippy",
        "--workspace",
        "--all-targets",
        "--",
        "-D",
        "warnings",
    ];
    cargo("lints", &lints)?;
    cargo("tests", &["test", "--workspace"])?;
    if args.quick {
        println!(
            "\nSkipped for --quick: playability sweep, documentation, bundle, session, real host."
        );
        return Ok(());
    }
    let sweep = [
        "test",
        "--release",
        "--no-default-features",
        "--test",
        "core",
        "--",
        "--ignored",
        "--nocapture",
        "a_quarter_of_a_million_bars_can_be_played",
    ];
    cargo("playability of 250,000 bars", &sweep)?;
    cargo(
        "documentation",
        &["doc", "--workspace", "--no-deps", "--quiet"],
    )?;
    cargo("bundle", &["xtask", "bundle", "fourlimb", "--release"])?;
    cargo(
        "session",
        &["xtask", "session", "--no-build", "--block-size", "441"],
    )?;

    let mut skipped = Vec::new();
    if crate::real_host::is_installed() {
        cargo("real host", &["xtask", "real-host"])?;
    } else {
        skipped
            .push("real host: the recording program is not installed (Debian's package `ardour`)");
    }
    if standalone_libraries_found() {
        cargo(
            "stand-alone",
            &["test", "--features", "standalone", "--lib", "standalone"],
        )?;
        cargo("stand-alone", &["check", "--features", "standalone"])?;
    } else {
        skipped
            .push("stand-alone: needs Debian's pkg-config, libasound2-dev and libjack-jackd2-dev");
    }
    if renderer_found() {
        let pictures = [
            "test",
            "--package",
            "xtask",
            "--features",
            "shots",
            "--lib",
            "shots",
        ];
        cargo("pictures", &pictures)?;
    } else {
        skipped.push(
            "pictures: no Vulkan renderer is installed (Debian's package `mesa-vulkan-drivers`)",
        );
    }
    println!("\nAll checks passed.");
    for what in skipped {
        println!("Skipped {what}.");
    }
    Ok(())
}

/// Runs cargo for a check.
///
/// # Errors
/// Where it can't be run, or fails.
pub fn cargo(what: &str, args: &[&str]) -> Result<()> {
    println!("\n== {what}: cargo {}", args.join(" "));
    let program = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let mut command = Command::new(program);
    if args[0] == "doc" {
        command.env("RUSTDOCFLAGS", "-D warnings");
    }
    // The same cases each time, so that a failure means the change and not the dice; a plain
    // `cargo test` looks at new ones.
    if std::env::var_os("PROPTEST_RNG_SEED").is_none() {
        command.env("PROPTEST_RNG_SEED", "4");
    }
    let status = command.args(args).status().context("could not run cargo")?;
    if !status.success() {
        bail!("{what} failed: cargo {}", args.join(" "));
    }
    Ok(())
}

/// Whether there is a Vulkan driver, which draws without a window.
fn renderer_found() -> bool {
    let drivers = std::fs::read_dir("/usr/share/vulkan/icd.d");
    drivers.is_ok_and(|mut drivers| drivers.next().is_some())
}

fn standalone_libraries_found() -> bool {
    let found = |library: &str| {
        let status = Command::new("pkg-config")
            .args(["--exists", library])
            .status();
        status.is_ok_and(|status| status.success())
    };
    found("alsa") && found("jack")
}
