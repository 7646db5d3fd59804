//! Block traces: what the program says of every process block, kept as fixtures of the clock's
//! tests (`tests/core/traces`).

use super::program::Program;
use anyhow::{Context as _, Result, ensure};
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// The script's scenarios and what happens in each: (name, seconds, description).
const SCENARIOS: [(&str, u32, &str); 6] = [
    ("roll", 4, "rolled from 0 at 120 BPM in 4/4, then stopped"),
    (
        "loop",
        6,
        "looped from quarter 2 to quarter 5 at 120 BPM in 4/4",
    ),
    (
        "seek",
        6,
        "rolled from 0, sought quarter 17.25 and then quarter 6 while rolling, at 120 BPM in 4/4",
    ),
    (
        "tempo",
        6,
        "rolled from 0 through tempo changes: 120 BPM, 151 from quarter 4, 97 from quarter 10",
    ),
    (
        "meter",
        6,
        "rolled from 0 through meter changes: 4/4, 7/8 from quarter 4, 4/4 from quarter 11",
    ),
    (
        "long_bars",
        8,
        "5/4 throughout at 120 BPM: rolled from 0, sought quarter 13 while rolling",
    ),
];
/// Blocks of a resting transport that are kept at either end.
const REST: usize = 3;

/// Records every scenario with a plugin built to trace, and writes one fixture each to `to`.
pub(super) fn record(program: &Program, dir: &Path, bundle: &Path, to: &Path) -> Result<()> {
    let traced = dir.join("traced").join("Fourlimb.vst3");
    build(bundle, &traced)?;
    let work = dir.join("traces");
    program.settle(&work, &traced)?;
    fs::create_dir_all(to).with_context(|| format!("making {}", to.display()))?;
    let version = program.version();
    for (name, seconds, what) in SCENARIOS {
        let raw = work.join(format!("{name}.trace"));
        program.record(&work, name, seconds, Some(&raw))?;
        let text = fs::read_to_string(&raw)
            .with_context(|| format!("the plugin left no trace in {}", raw.display()))?;
        let mut fixture = format!("# {version} (Debian), VST3, no sound card\n# {what}\n");
        let blocks = trim(&text, &mut fixture);
        let path = to.join(format!("{name}.txt"));
        fs::write(&path, fixture).with_context(|| format!("writing {}", path.display()))?;
        println!("{}: {blocks} blocks", path.display());
    }
    Ok(())
}

/// A copy of the bundle with the plugin built anew, feature `trace` on. The bundle itself stays as
/// it is: that feature is not for users.
fn build(bundle: &Path, traced: &Path) -> Result<()> {
    println!("Building the plugin with the feature `trace` ...");
    let status = Command::new(crate::cargo())
        .current_dir(crate::root())
        .args(["build", "--release", "--lib", "--package", "fourlimb"])
        .args(["--features", "trace"])
        .status()
        .context("starting cargo")?;
    ensure!(status.success(), "the plugin did not build");
    if traced.exists() {
        fs::remove_dir_all(traced)?;
    }
    super::copy_dir(bundle, traced)?;
    let library = crate::target()?.join("release/libfourlimb.so");
    let inside = shared_object(traced)?
        .with_context(|| format!("no shared library in {}", traced.display()))?;
    fs::copy(&library, &inside).with_context(|| format!("copying {}", library.display()))?;
    Ok(())
}

/// The first shared library below a folder.
fn shared_object(dir: &Path) -> Result<Option<PathBuf>> {
    for entry in fs::read_dir(dir)? {
        let path = entry?.path();
        if path.is_dir() {
            if let Some(found) = shared_object(&path)? {
                return Ok(Some(found));
            }
        } else if path.extension().is_some_and(|ext| ext == "so") {
            return Ok(Some(path));
        }
    }
    Ok(None)
}

/// Appends a trace without the long rests before it starts and after it ends; returns how many
/// blocks it has.
fn trim(trace: &str, fixture: &mut String) -> usize {
    let (head, blocks): (Vec<&str>, Vec<&str>) =
        trace.lines().partition(|line| line.starts_with('#'));
    let playing = |line: &&str| line.split(' ').nth(1) == Some("1");
    let first = blocks.iter().position(playing).unwrap_or(0);
    let last = blocks.iter().rposition(playing).unwrap_or(0);
    let kept = &blocks[first.saturating_sub(REST)..blocks.len().min(last + 1 + REST)];
    for line in head.iter().chain(kept) {
        let _ = writeln!(fixture, "{line}");
    }
    kept.len()
}
