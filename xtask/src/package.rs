//! `cargo xtask package`: what a songwriter downloads, as a folder and as an archive: the plugins, the program, the
//! guide as pages, the licences of all that is in it, an installer, checksums.

pub mod archive;
pub mod licences;
pub mod pages;
pub mod scripts;

use crate::folders::System;
use crate::root;
use anyhow::{Context, Result, bail, ensure};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Its options.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Where to: a folder and an archive of this version and system.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Use what is built as it is.
    #[arg(long)]
    no_build: bool,
    /// The program without its window, where its libraries are missing: its commands alone.
    #[arg(long)]
    without_window: bool,
    /// For both processors of macOS at once; it needs both of Rust's targets.
    #[arg(long)]
    universal: bool,
}

/// The project's own licences, which come along.
pub const LICENCES: [&str; 2] = ["LICENSE-APACHE", "LICENSE-MIT"];

/// What is built.
#[derive(Debug)]
pub struct Parts {
    /// The CLAP plugin: a file, or a folder on macOS.
    pub clap: PathBuf,
    /// The VST3 plugin: a folder.
    pub vst3: PathBuf,
    /// The program: a file, or a folder on macOS.
    pub program: PathBuf,
}

/// Runs the command.
///
/// # Errors
/// Where something can't be built, read or written, or a crate's licence is not one that we take.
pub fn run(args: &Args) -> Result<()> {
    let system = System::here();
    ensure!(
        !args.universal || system == System::Macos,
        "only macOS has programs for two processors: leave `--universal` out"
    );
    if !args.no_build {
        build(args, system)?;
    }
    let target = crate::target()?;
    let bundled = crate::bundled()?;
    let parts = Parts {
        clap: bundled.join("Fourlimb.clap"),
        vst3: bundled.join("Fourlimb.vst3"),
        program: match system {
            System::Macos => bundled.join("Fourlimb.app"),
            System::Linux | System::Windows => target
                .join(crate::framework::PROGRAMS)
                .join(scripts::program(system)),
        },
    };
    let targets = if args.universal {
        vec![
            "aarch64-apple-darwin".to_owned(),
            "x86_64-apple-darwin".to_owned(),
        ]
    } else {
        vec![compiler("host")?]
    };
    let licences = licences::list(&targets)?;
    let processor = if args.universal {
        "universal"
    } else {
        std::env::consts::ARCH
    };
    let version = env!("CARGO_PKG_VERSION");
    let name = format!("fourlimb-{version}-{}-{processor}", system.name());
    let out = args.out.clone().unwrap_or_else(|| target.join("package"));
    let folder = out.join(&name);
    if folder.exists() {
        fs::remove_dir_all(&folder).with_context(|| format!("removing {}", folder.display()))?;
    }
    assemble(&parts, system, &licences.to_text(), &folder)?;
    let archive = archive::pack(&folder, system, time()?)?;
    let sum = archive::sum(&archive)?;
    let file_name = archive.file_name().unwrap_or_default().to_string_lossy();
    let beside = out.join(format!("{file_name}.sha256"));
    fs::write(&beside, format!("{sum}  {file_name}\n"))
        .with_context(|| format!("could not write {}", beside.display()))?;
    println!(
        "{} libraries, {} licence texts",
        licences.entries.len(),
        licences.texts.len()
    );
    println!("{sum}  {}", archive.display());
    Ok(())
}

/// Builds the program, then the plugins: what is bundled last is the plugin without the program's window.
fn build(args: &Args, system: System) -> Result<()> {
    let (features, what): (&[&str], _) = if args.without_window {
        (
            &["--no-default-features", "--features", "cli"],
            "the program without its window",
        )
    } else {
        (
            &["--features", "standalone"],
            "the program (on Debian it needs pkg-config, libasound2-dev and libjack-jackd2-dev; `--without-window` \
             packs its commands alone)",
        )
    };
    let bundle = |options: &[&str]| {
        let words = [&["fourlimb", "--release"], options].concat();
        let words = words.into_iter().map(str::to_owned);
        if args.universal {
            crate::bundle_universal(words)
        } else {
            crate::bundle(words)
        }
    };
    if system == System::Macos {
        // A program is a folder there, which the framework's bundler makes.
        bundle(features).context(what)?;
    } else {
        crate::framework::program(features).context(what)?;
    }
    bundle(&["--lib"])
}

/// Lays out a folder with everything but the archive.
///
/// # Errors
/// Where a part is missing, is not ours, or a file can't be read or written.
pub fn assemble(parts: &Parts, system: System, licences: &str, folder: &Path) -> Result<()> {
    fs::create_dir_all(folder).with_context(|| format!("making {}", folder.display()))?;
    let marks = [crate::install::MARKS[0], scripts::PROGRAM_MARK.as_bytes()];
    for (part, name) in [
        (&parts.clap, "Fourlimb.clap"),
        (&parts.vst3, "Fourlimb.vst3"),
        (&parts.program, scripts::program(system)),
    ] {
        ensure!(
            part.exists(),
            "{} is missing: run `cargo xtask package` without `--no-build`",
            part.display()
        );
        ensure!(
            crate::install::carries(part, &marks)?,
            "{} holds none of the marks by which the installer knows it again",
            part.display()
        );
        crate::install::copy(part, &folder.join(name))?;
    }
    let write = |name: &str, bytes: &[u8]| {
        let path = folder.join(name);
        fs::write(&path, bytes).with_context(|| format!("could not write {}", path.display()))
    };
    for (name, text) in scripts::scripts(system) {
        write(name, text.as_bytes())?;
        make_runnable(&folder.join(name))?;
    }
    write("README.txt", scripts::read_me(system).as_bytes())?;
    write("THIRD-PARTY.txt", licences.as_bytes())?;
    for name in LICENCES {
        write(name, &fs::read(root().join(name)).context(name)?)?;
    }
    fs::create_dir_all(folder.join("guide")).context("making the guide's folder")?;
    for (name, bytes) in pages::render(&root())? {
        write(&format!("guide/{name}"), &bytes)?;
    }
    let sums = archive::sums(folder)?;
    write("SHA256SUMS", sums.as_bytes())
}

#[cfg(unix)]
fn make_runnable(path: &Path) -> Result<()> {
    use std::os::unix::fs::PermissionsExt as _;
    fs::set_permissions(path, fs::Permissions::from_mode(0o755))
        .with_context(|| format!("could not make {} a program", path.display()))
}

/// Windows goes by the ending.
#[cfg(not(unix))]
#[expect(clippy::unnecessary_wraps, reason = "as on systems that can fail")]
fn make_runnable(_: &Path) -> Result<()> {
    Ok(())
}

/// The moment that the archive's files are given, in seconds since 1970: `SOURCE_DATE_EPOCH` as the reproducible-builds
/// project defines it, else the last commit's, else the first day of 1980.
fn time() -> Result<u64> {
    if let Ok(text) = std::env::var("SOURCE_DATE_EPOCH") {
        return text.parse().with_context(|| {
            format!("SOURCE_DATE_EPOCH is `{text}`: it must be whole seconds since 1970")
        });
    }
    let told = Command::new("git")
        .args(["log", "-1", "--format=%ct"])
        .current_dir(root())
        .output();
    let told = told
        .ok()
        .and_then(|told| String::from_utf8(told.stdout).ok());
    Ok(told
        .and_then(|text| text.trim().parse().ok())
        .unwrap_or(315_532_800))
}

/// What the compiler says of itself: `host`, `release`.
pub(crate) fn compiler(what: &str) -> Result<String> {
    let program = std::env::var_os("RUSTC").unwrap_or_else(|| "rustc".into());
    let told = Command::new(program)
        .arg("-vV")
        .output()
        .context("could not run rustc")?;
    let text = String::from_utf8_lossy(&told.stdout).into_owned();
    for line in text.lines() {
        if let Some((name, value)) = line.split_once(": ")
            && name == what
        {
            return Ok(value.to_owned());
        }
    }
    bail!("rustc does not say its {what}")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What a part is, as the framework's bundler leaves it.
    fn parts(folder: &Path) -> Parts {
        let write = |name: &str, mark: &[u8]| {
            let path = folder.join(name);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, mark).unwrap();
            folder.join(name.split('/').next().unwrap())
        };
        let mark = crate::install::MARKS[0];
        Parts {
            clap: write("Fourlimb.clap", mark),
            vst3: write("Fourlimb.vst3/Contents/bin/Fourlimb.so", mark),
            program: write("fourlimb", scripts::PROGRAM_MARK.as_bytes()),
        }
    }

    /// Another program reads the checksums; all files but their own list are in it.
    #[cfg(target_os = "linux")]
    #[test]
    fn the_folder_is_whole() {
        let place = tempfile::tempdir().unwrap();
        let folder = place.path().join("download");
        assemble(&parts(place.path()), System::Linux, "licences", &folder).unwrap();
        let told = Command::new("sha256sum")
            .args(["--check", "--strict", "SHA256SUMS"])
            .current_dir(&folder)
            .output()
            .unwrap();
        assert!(told.status.success(), "{told:?}");
        let lines = String::from_utf8(told.stdout).unwrap().lines().count();
        let files = archive::files(&folder).unwrap();
        assert_eq!(lines, files.len() - 1);
        for name in [
            "Fourlimb.clap",
            "Fourlimb.vst3/Contents/bin/Fourlimb.so",
            "LICENSE-APACHE",
            "LICENSE-MIT",
            "README.txt",
            "THIRD-PARTY.txt",
            "fourlimb",
            "guide/guide.html",
            "guide/editor.png",
            "install.sh",
        ] {
            assert!(files.iter().any(|file| file == name), "{name} is missing");
        }
    }

    #[test]
    fn a_part_that_is_missing_or_not_ours_is_named() {
        let place = tempfile::tempdir().unwrap();
        let folder = place.path().join("download");
        let mut parts = parts(place.path());
        parts.program = place.path().join("no such program");
        let error = assemble(&parts, System::Linux, "", &folder).unwrap_err();
        assert!(error.to_string().contains("no such program"), "{error}");
        fs::write(&parts.program, "something else").unwrap();
        let error = assemble(&parts, System::Linux, "", &folder).unwrap_err();
        assert!(error.to_string().contains("none of the marks"), "{error}");
    }

    /// The mark by which the installer knows the program is in the program's own words.
    #[test]
    fn the_program_says_its_mark() {
        let text = fs::read_to_string(root().join("src/cli.rs")).unwrap();
        assert!(text.contains(scripts::PROGRAM_MARK));
    }
}
