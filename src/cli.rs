//! The program: a command for songs, regions and guitars, or the window. One file a command.
//!
//! What begins with no command is for the window, and goes to the framework as it is.

mod check;
mod export;
mod lock;
mod map;
mod onsets;
mod riff;
mod score;
mod teach;

use crate::choice::Choice;
use crate::kit::NoteMap;
use crate::kit::map_file::NamedMap;
use anyhow::{Context as _, Result};
use clap::builder::{PossibleValuesParser, TypedValueParser};
use clap::{CommandFactory, Parser, Subcommand};
use std::ffi::{OsStr, OsString};
use std::fs;
use std::io::{self, ErrorKind, Write};
use std::path::Path;
use std::process::ExitCode;

/// The exit code where the command line makes no sense, as clap has it.
const USAGE: u8 = 2;

/// How to build the window.
const WINDOW: &str = "\
Without a command, it opens a window, if it was built with one: `cargo run --release --features standalone` \
(docs/stand-alone.md).";

#[derive(Debug, Parser)]
#[command(
    name = "fourlimb",
    version,
    about = "Drums for songs of heavy music, as a person with two hands and two feet plays them",
    after_help = WINDOW,
    subcommand_required = true,
    arg_required_else_help = true
)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Write a song, some of its bars or a section as a MIDI file.
    Export(export::Args),
    /// Write a song, some of its bars or a section as a chart that drummers read: MusicXML, PDF, SVG or text.
    Score(score::Args),
    /// Say whether two hands and two feet can play a drum region, and what to change.
    Check(check::Args),
    /// Bring a section back that was edited by hand, to be played as it is; or unlock it.
    Lock(lock::Args),
    /// Make a beat of your own from a drum region or a text chart.
    Teach(teach::Args),
    /// Read, show and write the note maps of drum samplers.
    Map(map::Args),
    /// Make a MIDI file or a recording of the guitar the riff of a song file.
    Riff(riff::Args),
    /// Say where a recorded guitar is struck.
    Onsets(onsets::Args),
}

impl Command {
    /// Runs it; what it has to say goes to `out`.
    fn run(&self, out: &mut dyn Write) -> Result<()> {
        match self {
            Self::Export(args) => export::run(args, out),
            Self::Score(args) => score::run(args, out),
            Self::Check(args) => check::run(args, out),
            Self::Lock(args) => lock::run(args, out),
            Self::Teach(args) => teach::run(args, out),
            Self::Map(args) => map::run(args, out),
            Self::Riff(args) => riff::run(args, out),
            Self::Onsets(args) => onsets::run(args, out),
        }
    }
}

/// The program's commands and their options, for whoever checks documents against them.
pub fn command() -> clap::Command {
    Cli::command()
}

/// Runs the program. `args` as it got them, its own name first. The exit code is 0 where all went well, 1 where
/// something failed, 2 where the command line makes no sense; what is wrong goes to the standard error, a sentence
/// with its remedy.
pub fn run(args: Vec<OsString>) -> ExitCode {
    if is_for_the_window(args.get(1).map(OsString::as_os_str)) {
        return window(&args);
    }
    match Cli::try_parse_from(args) {
        Ok(cli) => {
            let mut out = io::stdout().lock();
            let done = cli.command.run(&mut out);
            finish(done.and_then(|()| Ok(out.flush()?)))
        }
        Err(error) => {
            let _ = error.print();
            u8::try_from(error.exit_code()).map_or(ExitCode::FAILURE, ExitCode::from)
        }
    }
}

/// Whether a command line that begins with this is for the window: it names no command. A word that is no
/// option would be refused there, and is answered here with the commands that there are.
fn is_for_the_window(first: Option<&OsStr>) -> bool {
    let Some(first) = first else {
        return cfg!(feature = "standalone");
    };
    let is_option = first.as_encoded_bytes().starts_with(b"-");
    // The window's own help says what options it takes.
    let ours: &[&str] = if cfg!(feature = "standalone") {
        &["-V", "--version"]
    } else {
        &["-h", "--help", "-V", "--version"]
    };
    is_option && !ours.iter().any(|option| first == *option)
}

#[cfg(feature = "standalone")]
fn window(args: &[OsString]) -> ExitCode {
    let texts: Option<Vec<_>> = args
        .iter()
        .map(|arg| Some(arg.to_str()?.to_owned()))
        .collect();
    let Some(args) = texts else {
        return misuse("an option has letters that are no Unicode: write it in others");
    };
    if args
        .iter()
        .skip(1)
        .any(|arg| arg == "-h" || arg == "--help")
    {
        let _ = writeln!(io::stdout(), "{}", command().after_help("").render_help());
    }
    if crate::plugin::standalone::run(args) {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}

#[cfg(not(feature = "standalone"))]
fn window(args: &[OsString]) -> ExitCode {
    let option = args.get(1).map(|arg| arg.to_string_lossy());
    let option = option.unwrap_or_default();
    misuse(&format!(
        "{option} is an option of the window, and this program was built without one. Build it with \
         `cargo run --release --features standalone -- {option}` (docs/stand-alone.md), or see `fourlimb help` for \
         the commands."
    ))
}

/// Says why a command line makes no sense.
fn misuse(why: &str) -> ExitCode {
    let _ = writeln!(io::stderr(), "{why}");
    ExitCode::from(USAGE)
}

/// Says what went wrong: its sentence and its remedy alone, without a backtrace, whatever the environment says.
fn finish(done: Result<()>) -> ExitCode {
    let Err(error) = done else {
        return ExitCode::SUCCESS;
    };
    // Errors of files have the name of the file as their context: an error without is that of the output.
    let output = error.downcast_ref::<io::Error>();
    match output.filter(|_| error.chain().len() == 1) {
        // Whoever reads it has enough, as `head` has.
        Some(output) if output.kind() == ErrorKind::BrokenPipe => return ExitCode::SUCCESS,
        Some(output) => {
            let _ = writeln!(io::stderr(), "could not write the output: {output}");
        }
        None => {
            let _ = writeln!(io::stderr(), "{error:#}");
        }
    }
    ExitCode::FAILURE
}

/// Reads one of the texts of a choice.
fn one_of<T: Choice + Send + Sync>() -> impl TypedValueParser<Value = T> {
    PossibleValuesParser::new(T::TEXTS).try_map(|text| T::parse(&text))
}

/// Reads a share, from 0 to 1.
fn share(text: &str) -> Result<f32, String> {
    let share = text
        .parse()
        .ok()
        .filter(|share| (0.0..=1.0).contains(share));
    share.ok_or_else(|| format!("\"{text}\" is out of range: use a number from 0 to 1"))
}

/// Reads a file that a command was given.
fn read(path: &Path) -> Result<Vec<u8>> {
    let context = || format!("could not read {}", path.display());
    fs::read(path).map_err(remedy).with_context(context)
}

/// What went wrong with a file that a command was given, and where the user can do something about it, what.
fn remedy(error: io::Error) -> anyhow::Error {
    match (error.kind(), std::env::current_dir()) {
        (ErrorKind::NotFound, Ok(folder)) => anyhow::anyhow!(
            "there is no such file: check its name, and its path from the folder {}",
            folder.display()
        ),
        (ErrorKind::IsADirectory, _) => anyhow::anyhow!("it is a folder: name a file in it"),
        _ => error.into(),
    }
}

/// The note map of a file; General MIDI where there is none.
fn note_map(path: Option<&Path>) -> Result<NoteMap> {
    path.map_or_else(|| Ok(NoteMap::default()), |path| Ok(load_map(path)?.map))
}

/// The note map of a file, with its name.
fn load_map(path: &Path) -> Result<NamedMap> {
    let name = path.display();
    let context = || format!("could not read the map {name}");
    let json = fs::read_to_string(path)
        .map_err(remedy)
        .with_context(context)?;
    NamedMap::parse(&json).with_context(|| format!("the map {name} can't be used"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_commands_hold_together() {
        command().debug_assert();
    }

    #[test]
    fn options_before_a_command_are_for_the_window() {
        for (first, expected) in [
            ("--backend", true),
            ("-b", true),
            ("check", false),
            ("chekc", false),
            ("help", false),
            ("--version", false),
            ("-V", false),
        ] {
            assert_eq!(
                is_for_the_window(Some(OsStr::new(first))),
                expected,
                "{first}"
            );
        }
        let window = cfg!(feature = "standalone");
        assert_eq!(is_for_the_window(None), window);
        assert_eq!(is_for_the_window(Some(OsStr::new("--help"))), window);
    }

    #[test]
    fn a_share_is_from_0_to_1() {
        assert_eq!(share("0.5"), Ok(0.5));
        for text in ["1.1", "-0.1", "NaN", "inf", "much", ""] {
            assert!(share(text).unwrap_err().contains("from 0 to 1"), "{text}");
        }
    }
}
