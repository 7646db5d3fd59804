//! `cargo xtask real_host`.

use anyhow::Result;

/// Its options.
#[derive(Debug, clap::Args)]
pub struct Args {}

/// Runs the command.
///
/// # Errors
/// Always, so far.
pub fn run(_args: &Args) -> Result<()> {
    anyhow::bail!("not built yet")
}

/// Whether the recording program is there.
pub fn is_installed() -> bool {
    false
}
