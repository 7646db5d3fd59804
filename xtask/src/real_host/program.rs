//! The recording program: where it is, and how it is made to record.

use super::compare::{HostTicks, Recorded};
use anyhow::{Context as _, Result, bail, ensure};
use indicatif::{ProgressBar, ProgressStyle};
use std::fs;
use std::io::{BufRead as _, BufReader, Write as _};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::mpsc::{self, RecvTimeoutError};
use std::time::{Duration, SystemTime};

/// What the program is told, in its own language.
const SCRIPT: &str = include_str!("../real_host.lua");
/// Longest silence that still looks like work: loading a session on a busy machine.
const PATIENCE: Duration = Duration::from_mins(1);
/// A guitar that the program plays, in its own language too.
const GUITAR: &str = include_str!("../real_host_guitar.lua");

/// The program, as Debian installs it.
pub(super) struct Program {
    /// Its Lua shell, which needs no display.
    shell: PathBuf,
    /// The folder of its libraries and of its VST3 scanner.
    libraries: PathBuf,
}

/// What was recorded: a take for each time that the transport rolled, or for each round of a loop.
pub(super) struct Recording {
    pub(super) takes: Vec<Take>,
}

/// What was recorded in one go.
pub(super) struct Take {
    /// Where it begins and ends, in the session's time.
    pub(super) from: HostTicks,
    pub(super) until: HostTicks,
    /// Its notes, in the session's time and its order.
    pub(super) notes: Vec<Recorded>,
}

impl Program {
    /// Finds the newest version of the program.
    pub(super) fn find() -> Result<Self> {
        let path = std::env::var_os("PATH").unwrap_or_default();
        // The shell carries the version in its name: ardour7-lua in Debian 12.
        let found = (5..100).rev().find_map(|version| {
            let shell = format!("ardour{version}-lua");
            let shell = std::env::split_paths(&path)
                .map(|dir| dir.join(&shell))
                .find(|shell| shell.is_file())?;
            let libraries = PathBuf::from(format!("/usr/lib/ardour{version}"));
            Some(Self { shell, libraries })
        });
        let Some(program) = found else {
            bail!(
                "the recording program is not installed: this command needs Debian's package \
                 `ardour` (apt install ardour)"
            );
        };
        ensure!(
            program.scanner().is_file(),
            "{} is there, but {} is not: is Debian's package `ardour` installed whole?",
            program.shell.display(),
            program.scanner().display()
        );
        Ok(program)
    }

    /// Its name and version, as it says them.
    pub(super) fn version(&self) -> String {
        let said = Command::new("ardour").arg("--version").output();
        let said = said.map(|out| String::from_utf8_lossy(&out.stdout).into_owned());
        said.ok()
            .as_deref()
            .and_then(|text| text.lines().find(|line| line.starts_with("Ardour")))
            .and_then(|line| line.split(" (").next())
            .map_or_else(|| self.shell.display().to_string(), str::to_owned)
    }

    /// The name of its folders, with the version: `ardour7`.
    fn name(&self) -> Result<&std::ffi::OsStr> {
        self.libraries
            .file_name()
            .context("the program has no folder of libraries")
    }

    fn scanner(&self) -> PathBuf {
        self.libraries.join("ardour-vst3-scanner")
    }

    /// Makes `dir` a home that knows one plugin, the bundle, so that neither settings nor plugins
    /// of the user get into the session, nor ours into theirs.
    pub(super) fn settle(&self, dir: &Path, bundle: &Path) -> Result<()> {
        if dir.exists() {
            fs::remove_dir_all(dir).with_context(|| format!("clearing {}", dir.display()))?;
        }
        let name = bundle.file_name().context("the bundle has no name")?;
        let installed = dir.join("home/.vst3").join(name);
        super::copy_dir(bundle, &installed)?;
        age(&installed)?;
        let log = dir.join("scan.log");
        let status = at_home(&self.scanner(), dir)
            .env("LD_LIBRARY_PATH", &self.libraries)
            .arg("-f")
            .arg(&installed)
            .stdout(fs::File::create(&log)?)
            .stderr(fs::File::create(dir.join("scan-errors.log"))?)
            .status()
            .with_context(|| format!("starting {}", self.scanner().display()))?;
        ensure!(
            status.success(),
            "the program's scanner refused the plugin; it says why in {}",
            log.display()
        );
        Ok(())
    }

    /// Records a scenario of the script in a fresh session under `dir`, which must be settled.
    /// `trace` is where a plugin built with the feature `trace` writes its blocks.
    pub(super) fn record(
        &self,
        dir: &Path,
        scenario: &str,
        seconds: u32,
        trace: Option<&Path>,
    ) -> Result<Recording> {
        let session = dir.join(format!("session-{scenario}"));
        let script = dir.join("script.lua");
        let log = dir.join(format!("{scenario}.log"));
        fs::write(&script, SCRIPT)?;
        let scripts = dir.join("home/.config").join(self.name()?).join("scripts");
        fs::create_dir_all(&scripts).with_context(|| format!("making {}", scripts.display()))?;
        fs::write(scripts.join("guitar.lua"), GUITAR)?;
        let mut command = at_home(&self.shell, dir);
        command
            .arg(&script)
            .env("REAL_HOST_SESSION", &session)
            .env("REAL_HOST_PLUGIN", "Fourlimb")
            .env("REAL_HOST_SCENARIO", scenario)
            .env("REAL_HOST_SECONDS", seconds.to_string())
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(fs::File::create(
                dir.join(format!("{scenario}-errors.log")),
            )?);
        if let Some(trace) = trace {
            command.env("FOURLIMB_TRACE", trace);
        }
        let lines = listen(command, scenario, seconds, &log)?;
        Recording::parse(&lines).with_context(|| format!("reading {}", log.display()))
    }
}

/// A command that runs in a settled folder and knows no other home.
fn at_home(program: &Path, dir: &Path) -> Command {
    let mut command = Command::new(program);
    command
        .env("HOME", dir.join("home"))
        .env("FOURLIMB_CONFIG", dir.join("config"))
        .env_remove("XDG_CONFIG_HOME")
        .env_remove("XDG_CACHE_HOME")
        .env_remove("XDG_DATA_HOME")
        .current_dir(dir);
    command
}

/// Runs the script and returns its lines, showing how far the transport is. Kills it when it falls
/// silent.
fn listen(mut command: Command, scenario: &str, seconds: u32, log: &Path) -> Result<Vec<String>> {
    let mut child = command.spawn().context("starting the recording program")?;
    let out = child.stdout.take().context("the program has no output")?;
    let (sender, receiver) = mpsc::channel();
    std::thread::spawn(move || {
        for line in BufReader::new(out).lines().map_while(Result::ok) {
            if sender.send(line).is_err() {
                break;
            }
        }
    });
    println!("Recording {seconds} s in the recording program ({scenario}) ...");
    let bar = ProgressBar::new(u64::from(seconds));
    bar.set_style(ProgressStyle::with_template("{bar:40} {pos} of {len} s")?);
    let started = std::time::Instant::now();
    let mut lines = Vec::new();
    let mut file = fs::File::create(log)?;
    loop {
        match receiver.recv_timeout(PATIENCE) {
            Ok(line) => {
                writeln!(file, "{line}")?;
                if line.starts_with("at") {
                    bar.set_position(started.elapsed().as_secs().min(u64::from(seconds)));
                } else {
                    lines.push(line);
                }
            }
            Err(RecvTimeoutError::Disconnected) => break,
            Err(RecvTimeoutError::Timeout) => {
                child.kill()?;
                child.wait()?;
                bail!(
                    "the recording program fell silent for {} s and was stopped; its last words \
                     are in {}",
                    PATIENCE.as_secs(),
                    log.display()
                );
            }
        }
    }
    bar.finish_and_clear();
    let status = child.wait()?;
    let error = lines.iter().find_map(|line| line.strip_prefix("Error: "));
    if let Some(error) = error {
        bail!("the recording program's script failed: {error}");
    }
    ensure!(
        status.success() && lines.iter().any(|line| line == "done"),
        "the recording program ended early ({status}); its last words are in {}",
        log.display()
    );
    Ok(lines)
}

impl Recording {
    fn parse(lines: &[String]) -> Result<Self> {
        let (mut rolled, mut takes, mut start) = (false, Vec::<Take>::new(), 0);
        for line in lines {
            let mut words = line.split_whitespace();
            let keyword = words.next();
            if !matches!(keyword, Some("rolled" | "region" | "note")) {
                continue;
            }
            let numbers = words.map(str::parse).collect::<Result<Vec<i64>, _>>();
            match (keyword, numbers.as_deref(), takes.last_mut()) {
                (Some("rolled"), Ok(&[_]), _) => rolled = true,
                (Some("region"), Ok(&[position, first, length]), _) => {
                    // What the list of notes counts from.
                    start = position - first;
                    takes.push(Take {
                        from: HostTicks(position),
                        until: HostTicks(position + length),
                        notes: Vec::new(),
                    });
                }
                (Some("note"), Ok(&[at, length, channel, key, velocity]), Some(take)) => {
                    take.notes.push(Recorded {
                        start: HostTicks(at + start),
                        length: HostTicks(length),
                        channel: u8::try_from(channel)?,
                        key: u8::try_from(key)?,
                        velocity: u8::try_from(velocity)?,
                    });
                }
                _ => bail!("the script said \"{line}\", which makes no sense here"),
            }
        }
        ensure!(rolled, "the transport never rolled");
        for take in &mut takes {
            take.notes.sort_by_key(|note| (note.start, note.key));
        }
        Ok(Self { takes })
    }
}

/// Gives every file below a date long past: the program believes its scan only of plugins that are
/// older than the scan, and compares whole seconds.
fn age(dir: &Path) -> Result<()> {
    for entry in fs::read_dir(dir)? {
        let path = entry?.path();
        if path.is_dir() {
            age(&path)?;
        } else {
            let year = Duration::from_hours(365 * 24);
            let file = fs::File::options().write(true).open(&path)?;
            file.set_modified(SystemTime::now() - year)?;
        }
    }
    Ok(())
}
