//! `cargo xtask performance`: runs the benches and writes what they measured as `docs/performance.md`.

use crate::test::cargo;
use anyhow::{Context as _, Result, ensure};
use fourlimb::files::{self, Existing};
use serde_json::Value;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Its options.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The page.
    #[arg(long, default_value = "docs/performance.md", value_name = "FILE")]
    out: PathBuf,
}

/// The benches that count instructions.
const COUNTED: [&str; 4] = ["block", "bars", "preview", "growth"];

/// Blocks of two bars in `benches/block.rs`, and of its stretches where nothing sounds.
const TWO_BARS: f64 = 1200.0;
const QUIET: f64 = 8.0;

/// The most instructions that a block may take on average, previewing or listening.
const TARGET: f64 = 15_000.0;

/// The most of one core that a hundred instances may take, in percent.
const SESSION: f64 = 10.0;

/// Figures by their names: `function.id` of a bench, or the name of a line of `benches/native.rs`.
type Figures = BTreeMap<String, f64>;

/// Runs the command.
///
/// # Errors
/// Where a bench fails, or tells no number that the page needs.
pub fn run(args: &Args) -> Result<()> {
    let mut figures = Figures::new();
    for bench in COUNTED {
        let line = format!("bench --package benches --bench {bench} -- --save-summary=json");
        let words: Vec<_> = line.split_whitespace().collect();
        cargo(bench, &words)?;
    }
    summaries(&crate::target()?.join("gungraun"), &mut figures)?;
    native(&mut figures)?;
    let page = page(&figures)?;
    files::write(&args.out, page.as_bytes(), Existing::Replace)?;
    println!("{}", args.out.display());
    Ok(())
}

/// Reads every summary below a folder.
fn summaries(folder: &Path, figures: &mut Figures) -> Result<()> {
    let entries = std::fs::read_dir(folder)
        .with_context(|| format!("the benches left no summaries in {}", folder.display()))?;
    for entry in entries {
        let path = entry?.path();
        if path.is_dir() {
            summaries(&path, figures)?;
        } else if path.file_name().is_some_and(|name| name == "summary.json") {
            let (name, count) = summary(&std::fs::read_to_string(&path)?)
                .with_context(|| format!("no instructions in {}", path.display()))?;
            figures.insert(name, count);
        }
    }
    Ok(())
}

/// The name of a bench and how many instructions it took.
fn summary(json: &str) -> Option<(String, f64)> {
    let json: Value = serde_json::from_str(json).ok()?;
    let id = json["id"].as_str().unwrap_or_default();
    let name = format!("{}.{id}", json["function_name"].as_str()?);
    let total = json["profiles"].as_array()?.first()?["data"]["total"].clone();
    // What an earlier run counted stands beside it, as `old`.
    Some((name, find(&total, "Ir")?["values"]["new"].as_f64()?))
}

/// The value of a key, however deep it stands.
fn find<'a>(value: &'a Value, key: &str) -> Option<&'a Value> {
    match value {
        Value::Object(fields) => fields
            .get(key)
            .or_else(|| fields.values().find_map(|value| find(value, key))),
        Value::Array(values) => values.iter().find_map(|value| find(value, key)),
        _ => None,
    }
}

/// Runs the measurements of this machine and takes their lines.
fn native(figures: &mut Figures) -> Result<()> {
    let words = ["bench", "--package", "benches", "--bench", "native"];
    println!("\n== native: cargo {}", words.join(" "));
    let output = Command::new(crate::cargo())
        .args(words)
        .output()
        .context("could not run cargo")?;
    ensure!(
        output.status.success(),
        "the bench native failed: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    for line in String::from_utf8_lossy(&output.stdout).lines() {
        if let Some((name, number)) = line.split_once(' ')
            && let Ok(number) = number.parse()
        {
            figures.insert(name.to_owned(), number);
        }
    }
    Ok(())
}

/// A whole number with its thousands apart.
fn whole(number: f64) -> String {
    let digits = format!("{number:.0}");
    let mut text = String::new();
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i) % 3 == 0 {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

/// Whether a target is reached, in words.
fn reached(found: f64, most: f64) -> &'static str {
    if found <= most {
        "reached"
    } else {
        "not reached"
    }
}

/// The page.
fn page(figures: &Figures) -> Result<String> {
    let of = |name: &str| {
        let found = figures.get(name).copied();
        found.with_context(|| format!("the benches tell no \"{name}\": run them all"))
    };
    let block = |name: &str, blocks: f64| Ok::<_, anyhow::Error>(of(name)? / blocks);
    let empty = block("two_bars.empty", TWO_BARS)?;
    let previewing = block("two_bars.with_preview", TWO_BARS)?;
    let listening = block("two_bars.listening", TWO_BARS)?;
    let session = of("session_percent_fourlimb")?;
    let mut page = String::from(HEAD);
    let rows = [
        (
            "the transport stands",
            block("eight_blocks_at_rest.fourlimb", QUIET)?,
            block("eight_blocks_at_rest.empty", QUIET)?,
        ),
        (
            "nothing begins or ends",
            block("eight_quiet_blocks.fourlimb", QUIET)?,
            block("eight_quiet_blocks.empty", QUIET)?,
        ),
        ("playing", block("two_bars.fourlimb", TWO_BARS)?, empty),
        ("playing, with the preview", previewing, empty),
        ("playing, listening to a guitar", listening, empty),
        (
            "the block that composes a bar with a fill",
            of("the_block_of_a_bar_line.fourlimb")?,
            of("the_block_of_a_bar_line.empty")?,
        ),
    ];
    for (what, ours, empty) in rows {
        writeln!(
            page,
            "| {what} | {} | {} | {:.1} |",
            whole(ours),
            whole(empty),
            ours / empty
        )?;
    }
    writeln!(page, "{TARGETS}")?;
    for (what, found, most, unit) in [
        (
            "a block with the preview",
            previewing,
            TARGET,
            "instructions",
        ),
        ("a block while listening", listening, TARGET, "instructions"),
        (
            "100 instances, previews off",
            session,
            SESSION,
            "% of one core",
        ),
    ] {
        let (found_text, most_text) = if unit.starts_with('%') {
            (format!("{found:.1}"), format!("{most:.0}"))
        } else {
            (whole(found), whole(most))
        };
        writeln!(
            page,
            "| {what} | {most_text} {unit} | {found_text} {unit} | {} |",
            reached(found, most)
        )?;
    }
    writeln!(page, "{SOUND}")?;
    for (what, name) in [
        ("dry", "dry.at_48"),
        ("dry, four open hi-hats choked", "dry.choked_at_48"),
        ("in the room", "in_the_room.at_48"),
        (
            "dry, the block in which sixteen strokes fall",
            "the_block_of_the_strokes.at_48",
        ),
    ] {
        writeln!(page, "| {what} | {} |", whole(of(name)?))?;
    }
    writeln!(page, "{COMPOSING}")?;
    for (what, name, each) in [
        ("rock, 100 bars", "bars.rock_100", 100.0),
        ("rock, 1,000 bars", "bars.rock_1000", 1000.0),
        ("bomb blast, 100 bars", "bars.bomb_blast_100", 100.0),
        ("bomb blast, 1,000 bars", "bars.bomb_blast_1000", 1000.0),
        (
            "a chart of 10 sections, played offline",
            "sections.of_10",
            40.0,
        ),
        (
            "a chart of 100 sections, played offline",
            "sections.of_100",
            400.0,
        ),
        ("16 bars beside a riff of 256 attacks", "riff.of_256", 16.0),
        (
            "16 bars beside a riff of 65,536 attacks",
            "riff.of_65536",
            16.0,
        ),
        ("reading and laying out 10 sections", "laid_out.of_10", 40.0),
        (
            "reading and laying out 100 sections",
            "laid_out.of_100",
            400.0,
        ),
    ] {
        writeln!(page, "| {what} | {} |", whole(of(name)? / each))?;
    }
    writeln!(page, "{NATIVE}")?;
    for (what, value) in [
        ("making an instance", format!("{:.1} ms", of("make_ms")?)),
        ("activating it", format!("{:.1} ms", of("activate_ms")?)),
        (
            "memory an instance",
            format!(
                "{} kB, of which the host and an empty plugin take {}",
                whole(of("memory_kb_fourlimb")?),
                whole(of("memory_kb_empty")?)
            ),
        ),
        ("100 instances", format!("{session:.1} % of one core")),
        (
            "100 empty plugins",
            format!("{:.1} % of one core", of("session_percent_empty")?),
        ),
        (
            "a frame of the window",
            format!("{} µs", whole(of("frame_us_fourlimb")?)),
        ),
        (
            "a frame of an empty window",
            format!("{} µs", whole(of("frame_us_empty")?)),
        ),
    ] {
        writeln!(page, "| {what} | {value} |")?;
    }
    Ok(page + TAIL)
}

const HEAD: &str = "\
# Performance

What Fourlimb costs. `cargo xtask performance` measures it all and writes this page; [the page for developers](../DEVELOPERS.md#benches)
says what the benches need, and why the figures are what they are.

## A block

Instructions a block of 64 samples at 48 kHz and 300 BPM, with the densest beat and everything on, inside the framework's wrapper
(callgrind, release). *Empty* is a plugin that does nothing in the same wrapper. The first two rows are means of eight blocks, the
next three of the 1,200 blocks of two bars.

| block | Fourlimb | empty | times |
| --- | --- | --- | --- |
";

const TARGETS: &str = "
## Targets

| what | target | measured | |
| --- | --- | --- | --- |";

const SOUND: &str = "
## The built-in sound alone

Instructions a block of 64 samples at 48 kHz in which sixteen voices sound, without the wrapper.

| block | instructions |
| --- | --- |";

const COMPOSING: &str = "
## Composing, and how it grows

Instructions a bar. A bar of a long song, or beside a long riff, should cost about what it costs in a short one.

| what | instructions a bar |
| --- | --- |";

const NATIVE: &str = "
## On the machine that wrote this page

Measured, and different on every machine. Instances play blocks of 64 samples at 48 kHz and 300 BPM for ten seconds of song
time; the test host that drives them is counted as well. Times are medians.

| what | measured |
| --- | --- |";

const TAIL: &str = "
The built-in sound's kit is shared by all instances at a sample rate, and is not in the memory of an instance.
";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn instructions_are_read_from_a_summary_however_deep() {
        let json = r#"{"function_name": "bars", "id": "rock_100", "profiles": [{"data": {"total": {"metrics":
            {"Callgrind": {"Ir": {"values": {"new": 11, "old": 12}}}}}}}]}"#;
        assert_eq!(summary(json), Some(("bars.rock_100".to_owned(), 11.0)));
        assert_eq!(summary("{}"), None);
    }

    #[test]
    fn a_page_of_missing_figures_is_refused() {
        let told = page(&Figures::new()).unwrap_err().to_string();
        assert!(told.contains("two_bars.empty"), "{told}");
    }

    #[test]
    fn thousands_stand_apart() {
        for (number, text) in [
            (0.0, "0"),
            (999.4, "999"),
            (1000.0, "1,000"),
            (1_234_567.0, "1,234,567"),
        ] {
            assert_eq!(whole(number), text);
        }
        assert_eq!(
            (reached(10.0, 10.0), reached(10.1, 10.0)),
            ("reached", "not reached")
        );
    }
}
