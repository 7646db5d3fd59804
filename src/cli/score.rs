//! `fourlimb score`: a song, some of its bars or a section as a chart that drummers read.

use crate::export::score::{Paper, ScoreOptions};
use crate::export::{ExportError, What};
use crate::files::{self, Existing};
use anyhow::Result;
use std::io::Write;
use std::path::PathBuf;

/// Its options.
#[derive(Debug, clap::Args)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a switch of the command line"
)]
pub(super) struct Args {
    /// The song, a JSON file (see docs/song-file.md).
    song: PathBuf,
    /// Where to write it. Its ending says what: .musicxml or .mxl for a notation program, .pdf or .svg for a short chart
    /// to print, .txt for plain text.
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    /// Replace the file if it is there already.
    #[arg(long)]
    replace: bool,
    /// Only these bars, counted from 1; the whole song where left out.
    #[arg(long, value_name = "A-B", conflicts_with = "section", value_parser = bars)]
    bars: Option<What>,
    /// Only this section: its name or its number; "Verse 2" is the second of several named Verse.
    #[arg(long, value_name = "NAME")]
    section: Option<String>,
    /// Say which hand and which foot strikes: R and L, B for both.
    #[arg(long)]
    stickings: bool,
    /// In plain text, say how hard each stroke is, from 1 to 9. Pages and MusicXML have the usual signs.
    #[arg(long)]
    dynamics: bool,
    /// Slashes for bars that keep time, with the hits above; the first bar of every beat is written out.
    #[arg(long)]
    slashes: bool,
    /// The paper to print on.
    #[arg(long, value_name = "A4|letter", default_value = "A4", value_parser = super::one_of::<Paper>())]
    paper: Paper,
}

fn bars(text: &str) -> Result<What, ExportError> {
    text.parse()
}

/// Runs the command. Fails where the song can't be read or written down as asked, or the file not written; nothing is
/// written then.
pub(super) fn run(args: &Args, out: &mut dyn Write) -> Result<()> {
    let existing = if args.replace {
        Existing::Replace
    } else {
        Existing::Keep
    };
    let section = args.section.clone().map(What::Section);
    let options = ScoreOptions {
        what: args.bars.clone().or(section).unwrap_or(What::Whole),
        stickings: args.stickings,
        dynamics: args.dynamics,
        slashes: args.slashes,
        paper: args.paper,
    };
    let told = files::export_score(&args.song, &args.out, &options, existing)?;
    writeln!(out, "{told}")?;
    Ok(())
}
