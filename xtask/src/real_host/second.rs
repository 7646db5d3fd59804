//! A second recording program, Debian's `qtractor`, which loads CLAP: whether it finds the plugin and its ports.
//!
//! It plays only where the system has an ALSA sequencer, and takes orders from nobody but a person. So what it plays was
//! tried by hand, and here it only looks at the plugin.

use anyhow::{Context as _, Result, ensure};
use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// Where Debian puts the program that looks at plugins, below each folder of `/usr/lib`.
const SCANNER: &str = "qtractor/qtractor_plugin_scan";

/// What the second program says of the built CLAP. `None` where it is not installed.
///
/// # Errors
/// Where it does not find the plugin, or finds other ports than the plugin has.
pub(super) fn list(bundle: &Path) -> Result<Option<String>> {
    let Some(scanner) = scanner() else {
        return Ok(None);
    };
    let mut child = Command::new(&scanner)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .with_context(|| format!("starting {}", scanner.display()))?;
    let mut to = child.stdin.take().context("the scanner has no input")?;
    writeln!(to, "CLAP:{}", bundle.display())?;
    drop(to);
    let said = child.wait_with_output()?;
    let said = String::from_utf8_lossy(&said.stdout);
    found(&said).map(Some)
}

/// The plugin's line, in words: `CLAP|name|audio in:out|MIDI in:out|parameters in:out|...`.
fn found(said: &str) -> Result<String> {
    let line = said.lines().find(|line| line.starts_with("CLAP|Fourlimb|"));
    let line = line.with_context(|| format!("the second program found no plugin: {said:?}"))?;
    let fields: Vec<_> = line.split('|').collect();
    let &[_, _, audio, midi, ..] = fields.as_slice() else {
        anyhow::bail!("the second program said \"{line}\", which makes no sense here");
    };
    ensure!(
        audio.ends_with(":2") && midi == "1:1",
        "the second program found {audio} audio and {midi} MIDI ports: two channels and notes are to leave the plugin"
    );
    Ok(format!(
        "finds the CLAP, with {audio} audio and {midi} MIDI ports (in:out)"
    ))
}

/// The scanner, where the program is installed.
fn scanner() -> Option<PathBuf> {
    let folders = fs::read_dir("/usr/lib").ok()?.flatten();
    let mut scanners = folders.map(|folder| folder.path().join(SCANNER));
    scanners.find(|scanner| scanner.is_file())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plugin_without_notes_is_not_the_drummer() {
        let line =
            |midi| format!("CLAP|Fourlimb|0:2|{midi}|27:1|GUI,EXT,RT|/x/Fourlimb.clap|0|0x1\n");
        assert!(found(&line("1:1")).is_ok());
        let error = found(&line("1:0")).unwrap_err().to_string();
        assert!(error.contains("1:0 MIDI ports"), "{error}");
        assert!(found("CLAP|Another|0:2|1:1\n").is_err());
    }
}
