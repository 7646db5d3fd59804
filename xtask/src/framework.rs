//! The framework that the bundles are built with: its published source with the repairs of `docs/upstream.md`.
//!
//! A bundle is built in a copy of this project (`target/framework-patched/project`), whose manifest names copies of
//! the framework's packages (`target/framework-patched/nice-plug-VERSION`, and so on). So the committed `Cargo.lock` and a plain
//! `cargo build` stay as they are. The copy has a target folder of its own: cargo gives a plugin's library a name
//! without a hash, and two builds of it in one folder would overwrite each other unseen.

mod repairs;

use anyhow::{Context, Result, bail, ensure};
use serde_json::Value;
use std::collections::BTreeSet;
use std::env::consts::{DLL_PREFIX, DLL_SUFFIX, EXE_SUFFIX};
use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// A package that is repaired.
struct Package {
    name: &'static str,
    /// The version that the repairs were written for.
    version: &'static str,
    repairs: &'static [Repair],
}

/// All of them.
const PACKAGES: [Package; 3] = [
    Package {
        name: "nice-plug",
        version: "0.4.2",
        repairs: repairs::PLUGIN,
    },
    Package {
        name: "egui-baseview",
        version: "0.9.0",
        repairs: repairs::WINDOW,
    },
    Package {
        name: "baseview",
        version: "0.4.2",
        repairs: repairs::WINDOW_OF_SYSTEM,
    },
];

impl Package {
    /// Its folder among others.
    fn folder(&self) -> String {
        format!("{}-{}", self.name, self.version)
    }

    /// Its name and version, as a message has them.
    fn label(&self) -> String {
        format!("{} {}", self.name, self.version)
    }
}

/// What a build needs of this project: the manifests of all members, and the sources of what is built.
const NEEDED: [&str; 6] = [
    "Cargo.toml",
    "Cargo.lock",
    "src",
    "benches",
    "tests/hosting",
    "xtask",
];

/// A replacement in one file of a package.
struct Repair {
    /// The file, from the package's folder.
    file: &'static str,
    /// What stands there exactly once.
    search: &'static str,
    /// What stands there instead.
    replace: &'static str,
}

/// What macOS runs on: a universal bundle has both.
const PROCESSORS: [&str; 2] = ["x86_64-apple-darwin", "aarch64-apple-darwin"];

/// Builds the plugin against the repaired framework and bundles it in `target/bundled`; `args` as for
/// `cargo xtask bundle`. A `universal` bundle is for both processors of macOS.
///
/// # Errors
/// Where the framework is not the one that the repairs are for, or building or bundling fails.
pub(crate) fn bundle(args: impl IntoIterator<Item = String>, universal: bool) -> Result<()> {
    let (packages, options) = packages_and_options(args)?;
    let (found, Site { project, target }) = prepare()?;
    if universal {
        for processor in PROCESSORS {
            let chosen = ["--target", processor].map(str::to_owned);
            build(
                &project,
                &target,
                &packages,
                &[&options[..], &chosen].concat(),
            )?;
        }
    } else {
        build(&project, &target, &packages, &options)?;
    }

    let bundled = target.join("bundled");
    // What an earlier build left there is no part of this one.
    if bundled.exists() {
        fs::remove_dir_all(&bundled)?;
    }
    for package in &packages {
        nice_plug_xtask::bundle(&target, package, &options, universal)?;
    }
    let place = found.target.join("bundled");
    for name in moved(&bundled, &place)? {
        let path = place.join(name);
        // Builds may go elsewhere.
        let shown = path.strip_prefix(&found.root).unwrap_or(&path);
        println!("Bundled {}", shown.display());
    }
    Ok(())
}

/// Builds the program in release against the repaired framework; `features` as for `cargo build`.
///
/// # Errors
/// Where the framework is not the one that the repairs are for, or building fails.
pub(crate) fn program(features: &[&str]) -> Result<()> {
    let (found, Site { project, target }) = prepare()?;
    let options = ["--release", "--bin", "fourlimb"];
    let options: Vec<_> = [&options[..], features].concat();
    let options: Vec<_> = options.into_iter().map(str::to_owned).collect();
    build(&project, &target, &["fourlimb".to_owned()], &options)?;
    let release = target.join("release");
    // Beside the plugin's library the bundler would take it along.
    let name = format!("fourlimb{EXE_SUFFIX}");
    let place = found.target.join(PROGRAMS);
    fs::create_dir_all(&place)?;
    fs::rename(release.join(&name), place.join(&name))
        .with_context(|| format!("could not write {}", place.join(&name).display()))?;
    // The program's library has the name of the plugin's. Where it is missing, cargo builds it anew.
    let library = format!("deps/{DLL_PREFIX}fourlimb{DLL_SUFFIX}");
    let library = release.join(library);
    if library.exists() {
        fs::remove_file(&library)
            .with_context(|| format!("could not remove {}", library.display()))?;
    }
    Ok(())
}

/// Where [`program`] puts it, below the folder of builds.
pub(crate) const PROGRAMS: &str = "framework-patched/program";

/// Where a build against the repaired framework takes place.
struct Site {
    /// The copy of this project.
    project: PathBuf,
    /// Where its builds go.
    target: PathBuf,
}

/// Repairs the framework and copies this project.
fn prepare() -> Result<(Found, Site)> {
    nice_plug_xtask::chdir_workspace_root()?;
    let found = Found::below(Path::new("."))?;
    let folder = found.target.join("framework-patched");
    for (package, source) in PACKAGES.iter().zip(&found.sources) {
        repaired(package, source, &folder.join(package.folder()))?;
    }
    let project = folder.join("project");
    copied(Path::new("."), &project)?;
    let target = folder.join("target");
    Ok((found, Site { project, target }))
}

/// Splits the packages (the first word, or each after `-p`) from the options of `cargo build`.
fn packages_and_options(
    args: impl IntoIterator<Item = String>,
) -> Result<(Vec<String>, Vec<String>)> {
    let (mut packages, mut options) = (Vec::new(), Vec::new());
    let mut args = args.into_iter();
    while let Some(arg) = args.next() {
        if arg == "-p" || arg == "--package" {
            packages.push(args.next().context("`-p` needs the name of a package")?);
        } else if packages.is_empty() && options.is_empty() && !arg.starts_with('-') {
            packages.push(arg);
        } else if arg != "--locked" {
            // The copy is always built with `--locked`, which cargo takes once.
            options.push(arg);
        }
    }
    ensure!(
        !packages.is_empty(),
        "name the package to bundle: `cargo xtask bundle fourlimb --release`"
    );
    Ok((packages, options))
}

/// Where cargo has things.
struct Found {
    /// This project.
    root: PathBuf,
    /// Where its builds go.
    target: PathBuf,
    /// The published sources of [`PACKAGES`].
    sources: Vec<PathBuf>,
}

impl Found {
    /// Asks cargo, in the project's folder. The versions are those in `Cargo.lock`.
    fn below(root: &Path) -> Result<Self> {
        let lock = fs::read_to_string(root.join("Cargo.lock"));
        let lock = lock.context("could not read Cargo.lock")?;
        for package in &PACKAGES {
            check_version(package, &lock)?;
        }
        let told = Command::new(crate::cargo())
            .args(["metadata", "--format-version", "1"])
            .current_dir(root)
            .output()
            .context("could not run cargo")?;
        ensure!(
            told.status.success(),
            "cargo metadata failed: {}",
            String::from_utf8_lossy(&told.stderr)
        );
        let told: Value = serde_json::from_slice(&told.stdout)?;
        let path = |value: &Value| value.as_str().map(PathBuf::from);
        let source = |package: &Package| -> Result<PathBuf> {
            let mut known = told["packages"].as_array().into_iter().flatten();
            let is_it = |known: &&Value| {
                known["name"] == package.name && known["version"] == package.version
            };
            let manifest = known
                .find(is_it)
                .and_then(|known| path(&known["manifest_path"]))
                .with_context(|| format!("cargo does not know {}", package.label()))?;
            let folder = manifest.parent().context("a manifest without a folder")?;
            Ok(folder.to_owned())
        };
        Ok(Self {
            root: path(&told["workspace_root"]).context("cargo names no workspace")?,
            target: path(&told["target_directory"]).context("cargo names no target folder")?,
            sources: PACKAGES.iter().map(source).collect::<Result<_>>()?,
        })
    }
}

/// Checks that a `Cargo.lock` has the version of a package that its repairs are for.
fn check_version(package: &Package, lock: &str) -> Result<()> {
    let (name, known) = (package.name, package.version);
    let start = format!("name = \"{name}\"\nversion = \"");
    let (_, rest) = lock
        .split_once(&start)
        .with_context(|| format!("Cargo.lock has no {name}"))?;
    let version = rest.split('"').next().unwrap_or_default();
    ensure!(
        version == known,
        "Cargo.lock has {name} {version}, and the repairs in xtask/src/framework/repairs.rs are for {known}: see in \
         docs/upstream.md which faults are left in {version}, adjust the repairs, then the version in PACKAGES in \
         xtask/src/framework.rs"
    );
    Ok(())
}

/// Copies a package and repairs the copy.
fn repaired(package: &Package, source: &Path, to: &Path) -> Result<()> {
    let mut files = contents(source)?;
    for repair in package.repairs {
        let file = Path::new(repair.file);
        let known = files.iter_mut().find(|(path, _)| path == file);
        let (_, bytes) =
            known.with_context(|| format!("{} has no {}", package.label(), file.display()))?;
        let text = String::from_utf8(std::mem::take(bytes))?;
        let text = replaced(&text, repair);
        *bytes = text.with_context(|| package.label())?.into_bytes();
    }
    written(&files, to)
}

/// The text with a repair, which must fit at exactly one place.
fn replaced(text: &str, repair: &Repair) -> Result<String> {
    // Packages made on Windows may have other ends of lines.
    let text = text.replace("\r\n", "\n");
    let times = text.matches(repair.search).count();
    ensure!(
        times == 1,
        "a repair of {} fits {times} places instead of one: compare the file with \
         xtask/src/framework/repairs.rs. It looks for:\n{}",
        repair.file,
        repair.search
    );
    Ok(text.replacen(repair.search, repair.replace, 1))
}

/// Copies this project, with the repaired framework in its manifest and lock.
fn copied(root: &Path, to: &Path) -> Result<()> {
    let mut files = Vec::new();
    for name in NEEDED {
        let path = root.join(name);
        if path.is_dir() {
            let inside = contents(&path)?;
            files.extend(
                inside
                    .into_iter()
                    .map(|(file, bytes)| (Path::new(name).join(file), bytes)),
            );
        } else {
            let bytes = fs::read(&path).with_context(|| format!("could not read {name}"))?;
            let text = String::from_utf8(bytes)?.replace("\r\n", "\n");
            let text = match name {
                "Cargo.toml" => with_patch(&text)?,
                _ => without_sources(text)?,
            };
            files.push((name.into(), text.into_bytes()));
        }
    }
    written(&files, to)
}

/// A manifest that takes the framework from the folders beside it.
fn with_patch(manifest: &str) -> Result<String> {
    ensure!(
        !manifest.contains("[patch."),
        "Cargo.toml has patches of its own: join them in `with_patch` in xtask/src/framework.rs"
    );
    let patch = |package: &Package| {
        let (name, folder) = (package.name, package.folder());
        format!("{name} = {{ path = \"../{folder}\" }}\n")
    };
    let patches: String = PACKAGES.iter().map(patch).collect();
    Ok(format!("{manifest}\n[patch.crates-io]\n{patches}"))
}

/// A lock as cargo writes it where the framework is in folders.
fn without_sources(lock: String) -> Result<String> {
    let without = |lock: String, package| without_source(package, &lock);
    PACKAGES.iter().try_fold(lock, without)
}

/// A lock as cargo writes it for a package in a folder: without its address and its sum.
fn without_source(package: &Package, lock: &str) -> Result<String> {
    let head = format!(
        "name = \"{}\"\nversion = \"{}\"\n",
        package.name, package.version
    );
    let (before, rest) = lock
        .split_once(&head)
        .with_context(|| format!("Cargo.lock has no {}", package.label()))?;
    let mut lines = rest.splitn(3, '\n');
    let (source, sum) = (lines.next(), lines.next());
    let is = |line: Option<&str>, start| line.is_some_and(|line| line.starts_with(start));
    if !is(source, "source = \"registry+") || !is(sum, "checksum = ") {
        bail!(
            "{} in Cargo.lock does not come from a registry",
            package.name
        );
    }
    Ok(format!(
        "{before}{head}{}",
        lines.next().unwrap_or_default()
    ))
}

/// Builds in the copy.
fn build(project: &Path, target: &Path, packages: &[String], options: &[String]) -> Result<()> {
    let names = packages.iter().flat_map(|package| ["-p", package]);
    let status = Command::new(crate::cargo())
        .args(["build", "--locked"])
        .args(names)
        .args(options)
        .current_dir(project)
        .env("CARGO_TARGET_DIR", target)
        .status()
        .context("could not run cargo")?;
    ensure!(status.success(), "could not build {}", packages.join(", "));
    Ok(())
}

/// Moves what is in a folder into another, in place of what has the same names there; returns the names.
fn moved(from: &Path, to: &Path) -> Result<Vec<OsString>> {
    fs::create_dir_all(to)?;
    let mut names = Vec::new();
    for entry in fs::read_dir(from)? {
        let name = entry?.file_name();
        let (old, new) = (to.join(&name), from.join(&name));
        let gone = match old.symlink_metadata() {
            Ok(data) if data.is_dir() => fs::remove_dir_all(&old),
            Ok(_) => fs::remove_file(&old),
            Err(_) => Ok(()),
        };
        gone.with_context(|| format!("could not replace {}", old.display()))?;
        fs::rename(&new, &old).with_context(|| format!("could not write {}", old.display()))?;
        names.push(name);
    }
    names.sort();
    Ok(names)
}

/// The files below a folder, by their paths from there, but for hidden ones.
fn contents(folder: &Path) -> Result<Vec<(PathBuf, Vec<u8>)>> {
    let mut files = Vec::new();
    let mut folders = vec![PathBuf::new()];
    while let Some(inner) = folders.pop() {
        let path = folder.join(&inner);
        let entries = fs::read_dir(&path);
        for entry in entries.with_context(|| format!("could not read {}", path.display()))? {
            let entry = entry?;
            let name = inner.join(entry.file_name());
            if entry.file_name().to_string_lossy().starts_with('.') {
                continue;
            }
            if entry.file_type()?.is_dir() {
                folders.push(name);
            } else {
                let bytes = fs::read(entry.path())
                    .with_context(|| format!("could not read {}", entry.path().display()))?;
                files.push((name, bytes));
            }
        }
    }
    Ok(files)
}

/// Makes a folder hold these files and no other. Files that are right already keep their time, so that cargo builds
/// only what changed.
fn written(files: &[(PathBuf, Vec<u8>)], to: &Path) -> Result<()> {
    fs::create_dir_all(to).with_context(|| format!("could not make {}", to.display()))?;
    let wanted: BTreeSet<_> = files.iter().map(|(path, _)| path).collect();
    for (path, _) in contents(to)? {
        if !wanted.contains(&path) {
            fs::remove_file(to.join(path))?;
        }
    }
    for (path, bytes) in files {
        let path = to.join(path);
        if fs::read(&path).is_ok_and(|old| old == *bytes) {
            continue;
        }
        fs::create_dir_all(path.parent().context("a file without a folder")?)?;
        fs::write(&path, bytes).with_context(|| format!("could not write {}", path.display()))?;
    }
    Ok(())
}

#[cfg(test)]
mod tests;
