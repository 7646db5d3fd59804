//! `fourlimb teach`: a beat of the songwriter's own from a region or a text chart, as a file to share or in a song.

use crate::export::taught::{Taught, from_chart, from_midi};
use crate::files::{self, Existing};
use crate::groove::own::SLOTS;
use crate::groove::own::learn::Wish;
use crate::song::own_beat::to_text;
use crate::song::{SongFile, Timeline};
use crate::time::Meter;
use anyhow::{Context, Result, bail};
use std::fmt::Write as _;
use std::io::Write;
use std::path::{Path, PathBuf};

/// Its options.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The region, a MIDI file of one bar or more.
    #[arg(required_unless_present = "text")]
    region: Option<PathBuf>,
    /// A text chart instead, as `fourlimb score` writes it, or typed (see docs/own-beats.md).
    #[arg(long, value_name = "FILE", conflicts_with_all = ["region", "bars", "map"])]
    text: Option<PathBuf>,
    /// The meter of a text chart that does not say it.
    #[arg(long, value_name = "N/D", requires = "text")]
    meter: Option<Meter>,
    /// Only these bars of the MIDI file, counted from 1; those from the first note to the last where left out.
    #[arg(long, value_name = "A-B", value_parser = super::lock::bars)]
    bars: Option<(u32, u32)>,
    /// The sampler's note map, a JSON file (see docs/sampler.md); General MIDI where left out.
    #[arg(long, value_name = "FILE")]
    map: Option<PathBuf>,
    /// What the beat is called; the name of the file where left out.
    #[arg(long)]
    name: Option<String>,
    /// How many bars its cycle has, 1 to 8; found where left out.
    #[arg(long, value_name = "BARS")]
    cycle: Option<usize>,
    /// Where the beat goes, a JSON file.
    #[arg(long, value_name = "FILE", required_unless_present = "song")]
    out: Option<PathBuf>,
    /// A song file that gets the beat; it is written anew.
    #[arg(long, value_name = "FILE", requires = "slot")]
    song: Option<PathBuf>,
    /// Which of the song's own beats it becomes, 1 to 8: its sections name it "own 1" to "own 8".
    #[arg(long, value_name = "NUMBER", requires = "song", value_parser = clap::value_parser!(u8).range(1..=i64::from(SLOTS)))]
    slot: Option<u8>,
    /// Replace a file, or a beat of the song.
    #[arg(long)]
    replace: bool,
}

/// Runs the command. Fails where a file can't be read or written, or no beat comes of it; nothing is written then.
pub(super) fn run(args: &Args, out: &mut dyn Write) -> Result<()> {
    write!(out, "{}", teach(args)?)?;
    Ok(())
}

/// Does what is asked, and says what was understood.
fn teach(args: &Args) -> Result<String> {
    let from = args.text.as_ref().or(args.region.as_ref());
    let from = from.context("name a region or a text chart")?;
    let name = args.name.clone().unwrap_or_else(|| {
        let stem = from.file_stem().map(|stem| stem.to_string_lossy());
        stem.unwrap_or_default().chars().take(40).collect()
    });
    let wish = Wish {
        name,
        cycle: args.cycle,
    };
    let taught = read(args, from, &wish)?;
    let mut told = taught.to_string();
    let beat = &taught.learned.beat;
    if let Some(out) = &args.out {
        let existing = if args.replace {
            Existing::Replace
        } else {
            Existing::Keep
        };
        files::write(out, to_text(beat).as_bytes(), existing)?;
        let _ = writeln!(told, "Beat \"{}\": {}", beat.name, out.display());
    }
    if let (Some(path), Some(slot)) = (&args.song, args.slot) {
        let lay_out = |song: SongFile| Timeline::new(&song).map(|_| song);
        let mut song = files::read_song(path, lay_out)?;
        let before = song.own_beats.insert(slot, beat.clone());
        if let Some(before) = before.filter(|before| before != beat && !args.replace) {
            bail!(
                "the song has \"{}\" as own {slot} already: choose another --slot, or add --replace",
                before.name
            );
        }
        Timeline::new(&song)?;
        files::write(path, song.to_text().as_bytes(), Existing::Replace)?;
        let _ = writeln!(
            told,
            "Song: {}; a section plays \"{}\" with \"style\": \"own {slot}\"",
            path.display(),
            beat.name
        );
    }
    Ok(told)
}

fn read(args: &Args, from: &Path, wish: &Wish) -> Result<Taught> {
    let bytes = super::read(from)?;
    let context = || format!("{} can't be made a beat", from.display());
    if args.text.is_some() {
        let text = String::from_utf8(bytes)
            .map_err(|_| anyhow::anyhow!("it is no text in UTF-8: save it as plain text"));
        let text = text.with_context(context)?;
        return from_chart(&text, args.meter, wish).with_context(context);
    }
    let map = super::note_map(args.map.as_deref())?;
    from_midi(&bytes, &map, args.bars, wish).with_context(context)
}
