//! `cargo xtask test`: every check, in the order in which a failure is cheapest to learn of.

use anyhow::{Context, Result, ensure};
use rand::RngExt as _;
use std::collections::BTreeMap;
use std::env::consts::{EXE_SUFFIX, OS};
use std::fs::{self, File};
use std::io::{self, Seek as _};
use std::path::PathBuf;
use std::process::{Child, Command};
use std::time::Instant;

/// The seed of the properties' cases: the same cases each time, so that a failure means the change and not the
/// dice. [`fresh_cases`] tries others.
const PINNED: u64 = 4;

/// How cargo runs tests. The benches have none: the lints build them.
pub const TESTS: [&str; 3] = ["test", "--workspace", "--exclude=benches"];

/// Where proptest keeps cases that failed.
const KEPT: [&str; 2] = [
    "tests/proptest-regressions",
    "xtask/tests/proptest-regressions",
];

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
    lints()?;
    let mut skipped = Vec::new();
    // With the pictures' renderer and the program's window from the start: everything is built once.
    let mut features = Vec::new();
    for (feature, need, found) in [
        ("xtask/shots", Need::Renderer, renderer_found()),
        (
            "fourlimb/standalone",
            Need::SoundLibraries,
            standalone_libraries_found(),
        ),
    ] {
        if found && !args.quick {
            features.push(feature);
        } else {
            skipped.push(missing(need, OS));
        }
    }
    let features = format!("--features={}", features.join(","));
    let features = &[features.as_str()][..];
    cargo("tests", &[&TESTS[..], features].concat())?;
    if args.quick {
        println!(
            "\nSkipped for --quick: pictures, playability sweep, readers of scores, fresh cases, documentation, package, session, conformance, real host, stand-alone."
        );
        return Ok(());
    }
    // As the tests above, which are built already.
    let core = [&TESTS[..], features, &["--test=core"]].concat();
    let mut long = vec!["a_quarter_of_a_million_bars_can_be_played"];
    if python_found() {
        long.push("two_libraries_read_every_stroke");
    } else {
        skipped.push(missing(Need::Python, OS));
    }
    let long = [&core[..], &["--", "--ignored", "--nocapture"], &long].concat();
    cargo("250,000 bars, and readers of scores", &long)?;
    let found = fresh_cases(&core)?;
    cargo(
        "documentation",
        &["doc", "--workspace", "--no-deps", "--quiet"],
    )?;
    cargo("package", &["xtask", "package", "--without-window"])?;
    let program = crate::target()?
        .join(crate::framework::PROGRAMS)
        .join(format!("fourlimb{EXE_SUFFIX}"));
    let asked = [&TESTS[..], features, &["--test=program"]].concat();
    let program = [(
        "FOURLIMB_TEST_PROGRAM",
        program.to_string_lossy().into_owned(),
    )];
    cargo_with("the packaged program", &asked, PINNED, &program)?;
    // The recording program mostly waits: the next checks go on beside it.
    let real_host = if crate::real_host::is_installed() {
        Some(Beside::start("real host", &["xtask", "real-host"])?)
    } else {
        skipped.push(missing(Need::RecordingProgram, OS));
        None
    };
    cargo(
        "session",
        &["xtask", "session", "--no-build", "--block-size", "441"],
    )?;

    let soak = "xtask soak --no-build --minutes 20 --seed 4";
    cargo("soak", &soak.split(' ').collect::<Vec<_>>())?;
    let asked = ["xtask", "conformance", "--rounds", "10", "--windows", "30"];
    let bundle = crate::bundled()?.join("Fourlimb.vst3");
    let bundle = bundle.to_string_lossy();
    let asked = [&asked[..], &["--library", &bundle], features].concat();
    cargo("conformance", &asked)?;
    if let Some(real_host) = real_host {
        real_host.end()?;
    }
    println!("\nAll checks passed.");
    for what in skipped {
        println!("Skipped {what}.");
    }
    if let Some(found) = found {
        println!("\nThe fresh cases found a fault. {found}");
    }
    Ok(())
}

/// Lints the workspace with all features, which only add, and the commands alone.
fn lints() -> Result<()> {
    let mut features = vec!["fourlimb/trace", "fourlimb/empty", "xtask/shots"];
    if standalone_libraries_found() {
        features.push("fourlimb/standalone");
    }
    let all = format!("--workspace --features {}", features.join(","));
    let alone = "--package fourlimb --no-default-features --features cli";
    for (what, chosen) in [
        ("all features", all.as_str()),
        ("the commands alone", alone),
    ] {
        let line = format!("clippy {chosen} --all-targets -- -D warnings");
        let words: Vec<_> = line.split_whitespace().collect();
        cargo(&format!("lints of {what}"), &words)?;
    }
    Ok(())
}

/// Tries the core's properties with cases that nobody has seen; `core` has cargo run them. Those that fail are kept by
/// proptest, and tried first from then on. Returns what there is to do where some fail: it is no failure of the checks,
/// which are about the change and not about the dice.
///
/// # Errors
/// Where the folders of kept cases can't be read.
fn fresh_cases(core: &[&str]) -> Result<Option<String>> {
    let seed: u64 = rand::rng().random();
    let before = kept(&KEPT)?;
    let line = core.join(" ");
    println!("\nFresh cases: PROPTEST_RNG_SEED={seed}");
    if let Err(error) = cargo_with("fresh cases", core, seed, &[]) {
        let grown = grown(&before, &kept(&KEPT)?);
        return Ok(Some(format!(
            "{error}\nThe same cases once more: PROPTEST_RNG_SEED={seed} cargo {line}\nCases that failed are kept in \
             {}: commit them with what mends them.",
            if grown.is_empty() {
                "no file".to_owned()
            } else {
                grown.join(", ")
            }
        )));
    }
    Ok(None)
}

/// The files below some folders, and how long they are.
fn kept(folders: &[&str]) -> Result<BTreeMap<PathBuf, u64>> {
    let mut files = BTreeMap::new();
    let mut folders: Vec<_> = folders.iter().map(PathBuf::from).collect();
    while let Some(folder) = folders.pop() {
        if !folder.exists() {
            continue;
        }
        for entry in fs::read_dir(&folder)? {
            let path = entry?.path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let length = path.metadata()?.len();
                files.insert(path, length);
            }
        }
    }
    Ok(files)
}

/// The files that are new or longer than before.
fn grown(before: &BTreeMap<PathBuf, u64>, after: &BTreeMap<PathBuf, u64>) -> Vec<String> {
    let is_longer =
        |(path, length): &(&PathBuf, &u64)| before.get(*path).is_none_or(|old| *length > old);
    let name = |(path, _): (&PathBuf, &u64)| path.display().to_string();
    after.iter().filter(is_longer).map(name).collect()
}

/// A check that runs beside others. What it prints comes when it is over.
struct Beside {
    what: &'static str,
    child: Child,
    said: File,
    started: Instant,
}

impl Beside {
    /// Has cargo begin.
    ///
    /// # Errors
    /// Where it can't be run.
    fn start(what: &'static str, args: &[&str]) -> Result<Self> {
        println!("\n== {what}, beside the next: cargo {}", args.join(" "));
        let said = tempfile::tempfile()?;
        let child = Command::new(crate::cargo())
            .args(args)
            .stdout(said.try_clone()?)
            .stderr(said.try_clone()?)
            .spawn()
            .context("could not run cargo")?;
        Ok(Self {
            what,
            child,
            said,
            started: Instant::now(),
        })
    }

    /// Waits for the end.
    ///
    /// # Errors
    /// Where it fails.
    fn end(mut self) -> Result<()> {
        let status = self.child.wait()?;
        self.said.rewind()?;
        io::copy(&mut self.said, &mut io::stdout())?;
        let what = self.what;
        println!("-- {what}: {} s", self.started.elapsed().as_secs());
        ensure!(status.success(), "{what} failed: what it said stands above");
        Ok(())
    }
}

impl Drop for Beside {
    /// Another check failed first.
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Runs cargo for a check, from the project's folder.
///
/// # Errors
/// Where it can't be run, or fails.
pub fn cargo(what: &str, args: &[&str]) -> Result<()> {
    cargo_with(what, args, PINNED, &[])
}

/// The same with a seed for the cases of properties; the environment's has the say over the pinned one. And with more of the
/// environment.
fn cargo_with(what: &str, args: &[&str], seed: u64, more: &[(&str, String)]) -> Result<()> {
    println!("\n== {what}: cargo {}", args.join(" "));
    crate::running::step_aside().context("could not make room for a new xtask")?;
    let mut command = Command::new(crate::cargo());
    command.envs(more.iter().map(|(name, value)| (name, value)));
    if args[0] == "doc" {
        command.env("RUSTDOCFLAGS", "-D warnings");
    }
    if seed != PINNED || std::env::var_os("PROPTEST_RNG_SEED").is_none() {
        command.env("PROPTEST_RNG_SEED", seed.to_string());
    }
    let started = Instant::now();
    let status = command.args(args).status().context("could not run cargo")?;
    println!("-- {what}: {} s", started.elapsed().as_secs());
    ensure!(status.success(), "{what} failed: cargo {}", args.join(" "));
    Ok(())
}

/// What a check needs beside cargo. Not every system needs it all.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Need {
    /// A Python that can make environments with packages in them.
    Python,
    /// The recording program of `cargo xtask real-host`.
    RecordingProgram,
    /// The libraries of the stand-alone.
    SoundLibraries,
    /// A driver that draws without a window.
    Renderer,
}

/// Whether a system, as [`OS`] names it, comes with it: Windows and macOS have sound and a renderer of their own, and the
/// JACK library is opened at run time.
fn comes_with(system: &str, need: Need) -> bool {
    ["windows", "macos"].contains(&system) && matches!(need, Need::SoundLibraries | Need::Renderer)
}

/// Which check is skipped where something is missing, and what there is to do. Packages are named where they exist.
fn missing(need: Need, system: &str) -> String {
    let (check, what, packages) = match need {
        Need::Python => (
            "scores, read by two libraries",
            "needs Python with its module venv",
            "python3-venv",
        ),
        Need::RecordingProgram if system != "linux" => {
            return "real host: it is tried on Linux alone".to_owned();
        }
        Need::RecordingProgram => (
            "real host",
            "the recording program is not installed",
            "ardour",
        ),
        Need::SoundLibraries => (
            "stand-alone",
            "needs the development files of ALSA and JACK",
            "pkg-config libasound2-dev libjack-jackd2-dev",
        ),
        Need::Renderer => (
            "pictures",
            "no Vulkan driver is installed",
            "mesa-vulkan-drivers",
        ),
    };
    if system == "linux" {
        format!("{check}: {what} (on Debian: {packages})")
    } else {
        format!("{check}: {what}")
    }
}

/// Whether there is a Python that can make environments with packages in them.
fn python_found() -> bool {
    let python = if cfg!(windows) { "python" } else { "python3" };
    let status = Command::new(python)
        .args(["-c", "import ensurepip, venv"])
        .status();
    status.is_ok_and(|status| status.success())
}

/// Whether there is a driver that draws without a window.
fn renderer_found() -> bool {
    let drivers = || std::fs::read_dir("/usr/share/vulkan/icd.d");
    comes_with(OS, Need::Renderer) || drivers().is_ok_and(|mut drivers| drivers.next().is_some())
}

fn standalone_libraries_found() -> bool {
    let found = |library: &str| {
        let status = Command::new("pkg-config")
            .args(["--exists", library])
            .status();
        status.is_ok_and(|status| status.success())
    };
    comes_with(OS, Need::SoundLibraries) || (found("alsa") && found("jack"))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Where a system has something by itself, the check is not skipped; elsewhere the message is of that system.
    #[test]
    fn each_system_is_told_of_its_own_packages() {
        let needs = [
            Need::Python,
            Need::RecordingProgram,
            Need::SoundLibraries,
            Need::Renderer,
        ];
        for need in needs {
            assert!(!comes_with("linux", need), "{need:?}");
            let told = missing(need, "linux");
            assert!(told.contains("Debian"), "{told}");
            for system in ["windows", "macos"] {
                let told = missing(need, system);
                assert!(!told.contains("Debian"), "{system}: {told}");
            }
        }
        for system in ["windows", "macos"] {
            let own = needs.map(|need| comes_with(system, need));
            assert_eq!(own, [false, false, true, true], "{system}");
        }
    }

    #[test]
    fn a_check_beside_others_fails_as_any() {
        let ends = |args: &[&str]| Beside::start("cargo", args).unwrap().end();
        ends(&["--version"]).unwrap();
        let error = ends(&["no-such-command"]).unwrap_err().to_string();
        assert!(error.contains("cargo failed"), "{error}");
    }

    #[test]
    fn files_that_are_new_or_longer_have_grown() {
        let folder = tempfile::tempdir().unwrap();
        let inner = folder.path().join("preview");
        fs::create_dir(&inner).unwrap();
        fs::write(folder.path().join("riff.txt"), "cc 1").unwrap();
        fs::write(inner.join("same.txt"), "cc 1").unwrap();
        let name = folder.path().to_str().unwrap();
        let look = || kept(&[name, "no/such/folder"]).unwrap();
        let before = look();
        assert!(grown(&before, &look()).is_empty());
        fs::write(folder.path().join("riff.txt"), "cc 1\ncc 2").unwrap();
        fs::write(inner.join("new.txt"), "cc 3").unwrap();
        let grown = grown(&before, &look());
        assert_eq!(grown.len(), 2, "{grown:?}");
        assert!(grown[0].ends_with("preview/new.txt") && grown[1].ends_with("riff.txt"));
    }
}
