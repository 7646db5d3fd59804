//! What the developers' commands are made of. What a songwriter calls is the program's (`src/cli`).

pub mod install;
pub mod kit;
pub mod real_host;
pub mod session;
pub mod session_guitar;
#[cfg(feature = "shots")]
pub mod shots;
pub mod soak;
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

/// Bundles the plugin in release, without the program, which would be linked once more.
///
/// # Errors
/// As [`bundle`].
pub fn bundle_plugin() -> Result<()> {
    bundle(["fourlimb", "--release", "--lib"].map(str::to_owned))
}
