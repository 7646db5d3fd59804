//! `cargo xtask install`: build release bundles and copy them where hosts look, for this user.

use crate::folders::System;
use anyhow::{Context, Result, bail};
use std::fs;
use std::io;
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
        let from = crate::bundled()?.join(name);
        let to = folder.join(name);
        let left = install(&from, &to)?;
        println!("Installed {}", to.display());
        if let Some(left) = left {
            println!(
                "A program still uses the old one, which is now {}: close the recording program. The next \
                 installation removes it.",
                left.display()
            );
        }
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
/// the new one lies whole beside it. Returns where the older one is if it could not be removed.
fn install(from: &Path, to: &Path) -> Result<Option<PathBuf>> {
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
    let staged = beside(to, "new");
    remove(&staged)?;
    copy(from, &staged)?;
    put_in_place(&staged, to, |from, to| fs::rename(from, to), remove)
}

/// Puts a bundle that lies beside an older one in its place, and removes that: first both are renamed, which takes place
/// or does not, then the old one is removed. Windows refuses to remove a library that a program has loaded, and a bundle
/// would be left without the rest of its files. Returns where the older one is if it could not be removed.
fn put_in_place(
    staged: &Path,
    to: &Path,
    rename: impl Fn(&Path, &Path) -> io::Result<()>,
    remove: impl Fn(&Path) -> Result<()>,
) -> Result<Option<PathBuf>> {
    let in_use = || {
        format!(
            "{} could not be replaced, and is as it was: close the recording program, then install again",
            to.display()
        )
    };
    let old = beside(to, "old");
    let is_there = to.symlink_metadata().is_ok();
    if is_there {
        let aside = remove(&old)
            .and_then(|()| rename(to, &old).map_err(Into::into))
            .with_context(in_use);
        if aside.is_err() {
            // It says why the installation failed; what is left of this is removed by the next one.
            let _ = remove(staged);
            return aside.map(|()| None);
        }
    }
    if let Err(error) = rename(staged, to) {
        if is_there {
            rename(&old, to).with_context(|| {
                format!(
                    "could not put {} back: it is {}",
                    to.display(),
                    old.display()
                )
            })?;
        }
        let _ = remove(staged);
        return Err(error).with_context(in_use);
    }
    Ok((is_there && remove(&old).is_err()).then_some(old))
}

/// A path beside a bundle that no host takes for a plugin.
fn beside(bundle: &Path, ending: &str) -> PathBuf {
    let name = bundle.file_name().unwrap_or_default().to_string_lossy();
    bundle.with_file_name(format!(".{name}.{ending}"))
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

    /// A folder with an old bundle of two files, and a new one beside it.
    fn two_bundles(name: &str) -> (PathBuf, PathBuf, PathBuf) {
        let dir = folder(name);
        let to = dir.join("Fourlimb.vst3");
        let staged = beside(&to, "new");
        for (bundle, text) in [(&to, "old"), (&staged, "new")] {
            fs::create_dir(bundle).unwrap();
            for file in ["a", "b"] {
                fs::write(bundle.join(file), text).unwrap();
            }
        }
        (dir, to, staged)
    }

    fn texts(bundle: &Path) -> [String; 2] {
        ["a", "b"].map(|file| fs::read_to_string(bundle.join(file)).unwrap())
    }

    /// Removes the first file of a bundle and then fails, as Windows does where a program has loaded the second one.
    fn removes_half(bundle: &Path) -> Result<()> {
        if bundle.exists() {
            fs::remove_file(bundle.join("a"))?;
            bail!("access denied");
        }
        Ok(())
    }

    #[test]
    fn a_bundle_that_can_not_be_removed_is_out_of_the_way() {
        let (dir, to, staged) = two_bundles("install-loaded");
        let left =
            put_in_place(&staged, &to, |from, to| fs::rename(from, to), removes_half).unwrap();
        assert_eq!(left, Some(dir.join(".Fourlimb.vst3.old")));
        assert_eq!(texts(&to), ["new", "new"]);
        assert!(!staged.exists());
        // The next installation removes it.
        fs::write(to.join("a"), MARKS[1]).unwrap();
        let from = dir.join("from");
        copy(&to, &from).unwrap();
        assert_eq!(install(&from, &to).unwrap(), None);
        assert!(!dir.join(".Fourlimb.vst3.old").exists());
        fs::remove_dir_all(dir).unwrap();
    }

    #[test]
    fn a_bundle_that_can_not_be_renamed_stays_whole() {
        for refused in [1, 2] {
            let (dir, to, staged) = two_bundles("install-refused");
            let calls = std::cell::Cell::new(0);
            let rename = |from: &Path, to: &Path| {
                calls.set(calls.get() + 1);
                if calls.get() == refused {
                    return Err(io::ErrorKind::PermissionDenied.into());
                }
                fs::rename(from, to)
            };
            let error = put_in_place(&staged, &to, rename, remove).unwrap_err();
            let error = format!("{error:#}");
            assert!(error.contains("close the recording program"), "{error}");
            assert_eq!(texts(&to), ["old", "old"]);
            assert_eq!(fs::read_dir(&dir).unwrap().count(), 1);
            fs::remove_dir_all(dir).unwrap();
        }
    }

    /// A file of the bundle is open, and nobody else may touch it.
    #[cfg(windows)]
    #[test]
    fn a_bundle_in_use_stays_whole() {
        use std::os::windows::fs::OpenOptionsExt as _;
        let (dir, to, staged) = two_bundles("install-open");
        let held = fs::File::options()
            .read(true)
            .share_mode(1)
            .open(to.join("b"))
            .unwrap();
        let from = dir.join("from");
        fs::rename(&staged, &from).unwrap();
        fs::write(to.join("a"), MARKS[1]).unwrap();
        let done = install(&from, &to);
        drop(held);
        if done.is_err() {
            assert_eq!(fs::read(to.join("a")).unwrap(), MARKS[1]);
            assert_eq!(fs::read(to.join("b")).unwrap(), b"old");
        } else {
            assert_eq!(texts(&to), ["new", "new"]);
        }
        fs::remove_dir_all(dir).unwrap();
    }
}
