//! What the project's commands are made of; the hosted tests use the host and the session too.

pub mod check;
pub mod export;
pub mod guitar;
pub mod host;
pub mod install;
pub mod lock;
pub mod onsets;
pub mod real_host;
pub mod riff;
pub mod session;
pub mod session_guitar;
#[cfg(feature = "shots")]
pub mod shots;
pub mod sound;
pub mod state;
pub mod test;

use anyhow::Result;

/// Bundles with the framework's own bundler; `args` as for `cargo xtask bundle`.
///
/// # Errors
/// Where the build or the bundling fails.
pub fn bundle(args: impl IntoIterator<Item = String>) -> Result<()> {
    let command = std::iter::once("bundle".to_owned());
    nice_plug_xtask::main_with_args("cargo xtask", command.chain(args))
}
