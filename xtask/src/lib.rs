//! What the developers' commands are made of. What a songwriter calls is the program's (`src/cli`).

pub mod conformance;
mod framework;
pub mod install;
pub mod kit;
pub mod real_host;
pub mod session;
pub mod session_guitar;
#[cfg(feature = "shots")]
pub mod shots;
pub mod test;

use anyhow::Result;

/// Builds against the repaired framework and bundles with the framework's own bundler; `args` as for
/// `cargo xtask bundle`.
///
/// # Errors
/// Where the framework is not the one that the repairs are for, or building or bundling fails.
pub fn bundle(args: impl IntoIterator<Item = String>) -> Result<()> {
    framework::bundle(args)
}

/// Bundles the plugin in release, without the program, which would be linked once more.
///
/// # Errors
/// As [`bundle`].
pub fn bundle_plugin() -> Result<()> {
    bundle(["fourlimb", "--release", "--lib"].map(str::to_owned))
}
