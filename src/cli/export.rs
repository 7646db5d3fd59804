//! `fourlimb export`: a song, some of its bars or a section as a MIDI file.

use crate::export::{ExportError, OPTIONS, Options};
use crate::files::{self, Existing};
use anyhow::Result;
use clap::error::ErrorKind;
use clap::{Arg, ArgMatches, Command, FromArgMatches};
use std::io::Write;
use std::path::PathBuf;

/// Its options.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The song, a JSON file (see docs/song-file.md).
    song: PathBuf,
    /// Where to write the MIDI file.
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    /// Replace the file if it is there already.
    #[arg(long)]
    replace: bool,
    /// The sampler's note map, a JSON file (see docs/sampler.md); General MIDI where left out.
    #[arg(long, value_name = "FILE")]
    map: Option<PathBuf>,
    #[command(flatten)]
    options: Chosen,
}

/// The options of [`OPTIONS`].
#[derive(Debug)]
struct Chosen(Options);

impl clap::Args for Chosen {
    fn augment_args(command: Command) -> Command {
        command.args(OPTIONS.map(|option| {
            Arg::new(option.name)
                .long(option.name)
                .value_name(option.value)
                .help(option.about)
                .allow_hyphen_values(true)
        }))
    }

    fn augment_args_for_update(command: Command) -> Command {
        Self::augment_args(command)
    }
}

impl FromArgMatches for Chosen {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, clap::Error> {
        let mut chosen = Self(Options::default());
        chosen.update_from_arg_matches(matches)?;
        Ok(chosen)
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), clap::Error> {
        let misuse = |error: ExportError| clap::Error::raw(ErrorKind::ValueValidation, error);
        for option in OPTIONS {
            if let Some(text) = matches.get_one::<String>(option.name) {
                self.0.set(option.name, text).map_err(misuse)?;
            }
        }
        self.0.check().map_err(misuse)
    }
}

/// Runs the command. Fails where the song can't be read or exported as asked, or the file not written; nothing
/// is written then.
pub(super) fn run(args: &Args, out: &mut dyn Write) -> Result<()> {
    let existing = if args.replace {
        Existing::Replace
    } else {
        Existing::Keep
    };
    let map = super::note_map(args.map.as_deref())?;
    let told = files::export_song(&args.song, &args.out, &args.options.0, &map, existing)?;
    writeln!(out, "{told}")?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::export::{Tracks, What};
    use clap::Parser;

    #[derive(Debug, Parser)]
    struct Cli {
        #[command(flatten)]
        args: Args,
    }

    fn parse(line: &str) -> Result<Args, String> {
        let words = ["export", "a.json", "--out", "a.mid"].into_iter();
        let parsed = Cli::try_parse_from(words.chain(line.split_whitespace()));
        parsed
            .map(|cli| cli.args)
            .map_err(|error| error.to_string())
    }

    #[test]
    fn options_are_those_of_the_core() {
        let args = parse("--bars 5-8 --feel=0 --take 12 --tracks limbs").unwrap();
        let expected = Options {
            what: What::Bars(5, 8),
            feel: Some(0.0),
            take: Some(12),
            tracks: Tracks::Limbs,
            ..Options::default()
        };
        assert_eq!(args.options.0, expected);
        assert!(!args.replace);
    }

    #[test]
    fn what_makes_no_sense_is_said_at_once() {
        for (line, expected) in [
            ("--bars five", "write first and last"),
            ("--bars 1-4 --section Verse", "leave one of them out"),
            ("--tracks hands", "one, limbs, pieces"),
            ("--format 2", "0, 1"),
            ("--take many", "1 to 999"),
            ("--take 1000", "1 to 999"),
            ("--feel 2", "0 (the exact grid) to 1"),
            ("--format 0 --tracks limbs", "a single track"),
        ] {
            let error = parse(line).unwrap_err();
            assert!(error.contains(expected), "{line}: {error}");
        }
    }
}
