//! What the developers' commands are made of. What a songwriter calls is the program's (`src/cli`).

pub mod conformance;
pub mod folders;
mod framework;
pub mod install;
pub mod kit;
pub mod package;
pub mod performance;
mod plist;
pub mod real_host;
mod running;
pub mod session;
pub mod session_guitar;
#[cfg(feature = "shots")]
pub mod shots;
pub mod soak;
pub mod test;

use anyhow::{Context as _, Result, bail, ensure};
use cargo_metadata::camino::Utf8PathBuf;
use serde_json::Value;
use std::env::consts::DLL_SUFFIX;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// Builds against the repaired framework and bundles with the framework's own bundler; `args` as for
/// `cargo xtask bundle`.
///
/// # Errors
/// Where the framework is not the one that the repairs are for, or building or bundling fails.
pub fn bundle(args: impl IntoIterator<Item = String>) -> Result<()> {
    framework::bundle(args, false)?;
    plist::mend_all(&bundled()?)
}

/// The same for both processors of macOS.
///
/// # Errors
/// As [`bundle`].
pub fn bundle_universal(args: impl IntoIterator<Item = String>) -> Result<()> {
    framework::bundle(args, true)?;
    plist::mend_all(&bundled()?)
}

/// Bundles the plugin in release, without the program, which would be linked once more.
///
/// # Errors
/// As [`bundle`].
pub fn bundle_plugin() -> Result<()> {
    bundle(["fourlimb", "--release", "--lib"].map(str::to_owned))
}

/// Builds the plugin's library as `cargo build` does, in much less time than a bundle, and returns where it is. It is
/// built already: this program depends on it.
///
/// # Errors
/// Where building fails.
pub fn build_library() -> Result<PathBuf> {
    let library = library()?;
    if has_plugin(&library)? {
        return Ok(library);
    }
    // Where it is missing, cargo builds it once more.
    std::fs::remove_file(&library)?;
    self::library()
}

/// Has cargo build the library, and asks it where that is.
fn library() -> Result<PathBuf> {
    let args = ["build", "--package", "xtask", "--lib"];
    let told = Command::new(cargo())
        .args(args)
        .arg("--message-format=json-render-diagnostics")
        .current_dir(root())
        .stderr(Stdio::inherit())
        .output()
        .context("could not run cargo")?;
    ensure!(told.status.success(), "the plugin can't be built");
    for message in cargo_metadata::Message::parse_stream(&*told.stdout) {
        let cargo_metadata::Message::CompilerArtifact(artifact) = message? else {
            continue;
        };
        let is_library = |file: &&Utf8PathBuf| file.as_str().ends_with(DLL_SUFFIX);
        if artifact.target.name == "fourlimb"
            && let Some(file) = artifact.filenames.iter().find(is_library)
        {
            return Ok(file.clone().into());
        }
    }
    bail!("cargo tells of no library of the plugin");
}

/// Whether a library is one for hosts. Cargo gives every build of it the same name, and `cargo fourlimb` builds one that
/// has no plugin.
fn has_plugin(library: &Path) -> Result<bool> {
    const ENTRY: &[u8] = b"clap_entry";
    let bytes = std::fs::read(library)?;
    Ok(bytes.windows(ENTRY.len()).any(|bytes| bytes == ENTRY))
}

/// The workspace.
pub fn root() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.parent().unwrap_or(here).to_owned()
}

/// Where cargo builds, as the environment and cargo's configuration say.
///
/// # Errors
/// Where cargo can't be asked.
pub fn target() -> Result<PathBuf> {
    target_of(&mut metadata())
}

/// Where the bundler puts the bundles.
///
/// # Errors
/// As [`target`].
pub fn bundled() -> Result<PathBuf> {
    Ok(target()?.join("bundled"))
}

/// What the bundler asks cargo too, from the same folder.
fn metadata() -> Command {
    let mut command = Command::new(cargo());
    let args = ["metadata", "--no-deps", "--format-version", "1"];
    command.args(args).current_dir(root());
    command
}

fn target_of(metadata: &mut Command) -> Result<PathBuf> {
    let output = metadata.output().context("could not run cargo")?;
    let why = String::from_utf8_lossy(&output.stderr);
    ensure!(output.status.success(), "cargo metadata failed: {why}");
    let told: Value = serde_json::from_slice(&output.stdout)?;
    let folder = told["target_directory"].as_str();
    Ok(folder.context("cargo tells no target folder")?.into())
}

/// The cargo that runs this, where one does.
fn cargo() -> std::ffi::OsString {
    std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_library_without_the_plugin_is_told_apart() {
        let file = tempfile::NamedTempFile::new().unwrap();
        for (bytes, has) in [(&b"..clap_entry\0"[..], true), (b"..clap_init\0..", false)] {
            std::fs::write(file.path(), bytes).unwrap();
            assert_eq!(has_plugin(file.path()).unwrap(), has);
        }
    }

    /// Whether the folder is told by the environment, whole or from the workspace, or not at all.
    #[test]
    fn bundles_are_where_cargo_builds() {
        let elsewhere = tempfile::tempdir().unwrap();
        let whole = elsewhere.path().to_str().unwrap();
        for (told, expected) in [
            (Some(whole), elsewhere.path().to_owned()),
            (Some("else/where"), root().join("else/where")),
            (None, root().join("target")),
        ] {
            let mut command = metadata();
            command.env_remove("CARGO_TARGET_DIR");
            command.env_remove("CARGO_BUILD_TARGET_DIR");
            command.envs(told.map(|told| ("CARGO_TARGET_DIR", told)));
            assert_eq!(target_of(&mut command).unwrap(), expected);
        }
    }
}
