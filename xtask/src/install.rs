//! `cargo xtask install`: build release bundles and copy them where hosts look, for this user.

use crate::folders::System;
use anyhow::{Context, Result, bail};
use std::fs;
use std::path::{Path, PathBuf};

/// Its options.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Install below this folder (as `clap` and `vst3`) instead of the user's own.
    #[arg(long, value_name = "DIR")]
    dir: Option<PathBuf>,
    /// Use the bundles as they are, without building them.
    #[arg(long)]
    no_build: bool,
}

/// What marks a file as ours: the plugin's CLAP id and VST3 class id stand in every binary.
pub(crate) const MARKS: [&[u8]; 2] = [b"org.fourlimb.fourlimb", b"FourlimbDrummer1"];

/// Runs the command.
///
/// # Errors
/// Where building or copying fails, or something that is not ours is in the way.
pub fn run(args: &Args) -> Result<()> {
    if !args.no_build {
        crate::bundle_plugin()?;
    }
    let (clap, vst3) = match &args.dir {
        Some(dir) => (dir.join("clap"), dir.join("vst3")),
        None => user_folders()?,
    };
    for (folder, name) in [(clap, "Fourlimb.clap"), (vst3, "Fourlimb.vst3")] {
        let from = Path::new("target/bundled").join(name);
        let to = folder.join(name);
        install(&from, &to)?;
        println!("Installed {}", to.display());
    }
    println!("Scan for new plugins in your recording program, then look for Fourlimb.");
    Ok(())
}

/// Where this user's CLAP and VST3 plugins lie.
fn user_folders() -> Result<(PathBuf, PathBuf)> {
    let system = System::here();
    let base = system.base().context("this user has no home folder")?;
    let [clap, vst3] = system.plugin_folders();
    Ok((base.join(clap), base.join(vst3)))
}

/// Copies a bundle, a file or a folder, to its place; an older one of ours is replaced only when
/// the new one lies whole beside it.
fn install(from: &Path, to: &Path) -> Result<()> {
    if !from.exists() {
        bail!(
            "{} is missing: run `cargo xtask bundle fourlimb --release` first",
            from.display()
        );
    }
    if to.symlink_metadata().is_ok() && !is_ours(to)? {
        bail!(
            "{} is there and is not ours: move it away, then install again",
            to.display()
        );
    }
    let folder = to.parent().context("no folder to install to")?;
    fs::create_dir_all(folder)
        .with_context(|| format!("could not make the folder {}", folder.display()))?;
    let staged = folder.join(format!(
        ".{}.new",
        to.file_name().unwrap_or_default().to_string_lossy()
    ));
    remove(&staged)?;
    copy(from, &staged)?;
    remove(to)?;
    fs::rename(&staged, to).with_context(|| format!("could not put {} in place", to.display()))
}

/// Whether a file, or some file in a folder, carries one of our marks.
fn is_ours(path: &Path) -> Result<bool> {
    carries(path, &MARKS)
}

/// Whether a file, or some file in a folder, carries one of some marks.
///
/// # Errors
/// Where a file can't be read.
pub(crate) fn carries(path: &Path, marks: &[&[u8]]) -> Result<bool> {
    if path.is_dir() {
        for entry in fs::read_dir(path)? {
            if carries(&entry?.path(), marks)? {
                return Ok(true);
            }
        }
        return Ok(false);
    }
    let bytes = fs::read(path).with_context(|| format!("could not read {}", path.display()))?;
    let holds = |mark: &&[u8]| bytes.windows(mark.len()).any(|window| window == *mark);
    Ok(marks.iter().any(holds))
}

/// Copies a file, or a folder and all below it.
///
/// # Errors
/// Where something can't be read or written.
pub(crate) fn copy(from: &Path, to: &Path) -> Result<()> {
    if from.is_dir() {
        fs::create_dir_all(to)?;
        for entry in fs::read_dir(from)? {
            let entry = entry?;
            copy(&entry.path(), &to.join(entry.file_name()))?;
        }
    } else {
        fs::copy(from, to)
            .with_context(|| format!("could not copy {} to {}", from.display(), to.display()))?;
    }
    Ok(())
}

fn remove(path: &Path) -> Result<()> {
    let result = match path.symlink_metadata() {
        Ok(data) if data.is_dir() => fs::remove_dir_all(path),
        Ok(_) => fs::remove_file(path),
        Err(_) => return Ok(()),
    };
    result.with_context(|| format!("could not remove {}", path.display()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A fresh folder for one test.
    fn folder(name: &str) -> PathBuf {
        let dir = std::env::temp_dir().join(format!("fourlimb-{name}-{}", std::process::id()));
        let _ = fs::remove_dir_all(&dir);
        fs::create_dir_all(&dir).unwrap();
        dir
    }

    #[test]
    fn replaces_ours_and_nothing_else() {
        let dir = folder("install");
        let (from, to) = (dir.join("Fourlimb.clap"), dir.join("hosts/Fourlimb.clap"));
        fs::write(&from, b"new ..org.fourlimb.fourlimb..").unwrap();
        install(&from, &to).unwrap();
        fs::write(&to, b"old ..org.fourlimb.fourlimb..").unwrap();
        install(&from, &to).unwrap();
        assert!(fs::read(&to).unwrap().starts_with(b"new"));

        fs::write(&to, b"somebody else's").unwrap();
        let error = install(&from, &to).unwrap_err().to_string();
        assert!(error.contains("is not ours"), "{error}");
        assert_eq!(fs::read(&to).unwrap(), b"somebody else's");
        fs::remove_dir_all(dir).unwrap();
    }

    #[test]
    fn a_bundle_folder_is_copied_whole() {
        let dir = folder("install-bundle");
        let from = dir.join("Fourlimb.vst3");
        fs::create_dir_all(from.join("Contents/bin")).unwrap();
        fs::write(from.join("Contents/bin/Fourlimb.so"), b"FourlimbDrummer1").unwrap();
        let to = dir.join("vst3/Fourlimb.vst3");
        install(&from, &to).unwrap();
        install(&from, &to).unwrap();
        assert!(to.join("Contents/bin/Fourlimb.so").exists());
        assert_eq!(fs::read_dir(dir.join("vst3")).unwrap().count(), 1);
        fs::remove_dir_all(dir).unwrap();
    }
}
