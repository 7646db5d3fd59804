//! `fourlimb map`: reads, shows and writes note maps.

use crate::files::{self, Existing};
use crate::kit::hi_hat::HiHat;
use crate::kit::map_file::NamedMap;
use crate::kit::note_map::{Choke, Instead, Length};
use crate::kit::proposal::{Proposal, Sureness};
use crate::kit::{MiddleC, Note, NoteMap, Piece, Response, midnam};
use crate::midi::map_source;
use anyhow::{Context as _, Result};
use std::fmt::Write as _;
use std::io::Write;
use std::path::PathBuf;

/// Its commands.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, clap::Subcommand)]
enum Command {
    /// Make a map of a MIDI name document (.midnam), of a drum region that was played on the sampler, or of another map.
    Read(ReadArgs),
    /// Show a map: each piece with its keys, and what is played in its place where it has none.
    Show(ShowArgs),
    /// Write a MIDI name document with the names of a map's keys, for the recording program to show.
    Names(NamesArgs),
}

#[derive(Debug, clap::Args)]
struct ReadArgs {
    /// The .midnam file, the region, or the map.
    file: PathBuf,
    /// Where to write the map, a JSON file (see docs/sampler.md).
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    /// The list of names to read, where the document has several; else the one that names the most pieces.
    #[arg(long, value_name = "NAME")]
    list: Option<String>,
    /// Replace the file if it is there already.
    #[arg(long)]
    replace: bool,
}

#[derive(Debug, clap::Args)]
struct ShowArgs {
    /// The map, a JSON file (see docs/sampler.md).
    map: PathBuf,
    /// The number that your program gives to the octave of middle C, key 60: 3, 4 or 5.
    #[arg(long, default_value = "3", value_name = "OCTAVE", value_parser = middle_c)]
    middle_c: MiddleC,
}

#[derive(Debug, clap::Args)]
struct NamesArgs {
    /// The map, a JSON file (see docs/sampler.md).
    map: PathBuf,
    /// Where to write the name document, a .midnam file.
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    /// Replace the file if it is there already.
    #[arg(long)]
    replace: bool,
}

fn middle_c(text: &str) -> Result<MiddleC, String> {
    let octave: u8 = text
        .parse()
        .map_err(|_| format!("\"{text}\" is no octave: use 3, 4 or 5"))?;
    MiddleC::try_from(octave)
}

fn existing(replace: bool) -> Existing {
    if replace {
        Existing::Replace
    } else {
        Existing::Keep
    }
}

/// Runs the command. Fails where a file can't be read or written; nothing is written then.
pub(super) fn run(args: &Args, out: &mut dyn Write) -> Result<()> {
    match &args.command {
        Command::Read(args) => read(args, out),
        Command::Show(args) => {
            let map = super::load_map(&args.map)?;
            write!(out, "{}", table(&map, args.middle_c))?;
            Ok(())
        }
        Command::Names(args) => {
            let map = super::load_map(&args.map)?;
            let name = if map.name.is_empty() {
                "Drums"
            } else {
                &map.name
            };
            let keys = named_keys(&map.map);
            let borrowed: Vec<_> = keys
                .iter()
                .map(|(note, name)| (*note, name.as_str()))
                .collect();
            let text = midnam::write(name, &borrowed);
            files::write(&args.out, text.as_bytes(), existing(args.replace))?;
            writeln!(out, "Names: {}", args.out.display())?;
            Ok(())
        }
    }
}

fn read(args: &ReadArgs, out: &mut dyn Write) -> Result<()> {
    let bytes = super::read(&args.file)?;
    let file = args.file.display();
    let read = map_source::read(&bytes, args.list.as_deref())
        .with_context(|| format!("no map can be read from {file}"))?;
    let stem = args.file.file_stem().unwrap_or_default();
    let map = read.map.or_named(&stem.to_string_lossy());
    files::write(&args.out, map.to_text().as_bytes(), existing(args.replace))?;
    if let Some(proposal) = &read.proposal {
        write!(out, "{}", told(proposal))?;
    }
    if !read.others.is_empty() {
        writeln!(
            out,
            "Other lists of names, for --list: {}",
            read.others.join(", ")
        )?;
    }
    write!(out, "{}", lacking(&map.map))?;
    writeln!(out, "Map: {}", args.out.display())?;
    Ok(())
}

/// The notes that a map plays, with the names of their pieces: those of several pieces have all of them.
fn named_keys(map: &NoteMap) -> Vec<(Note, String)> {
    let mut names: std::collections::BTreeMap<Note, Vec<&str>> = std::collections::BTreeMap::new();
    for (piece, note) in map.read() {
        let pieces = names.entry(note).or_default();
        if !pieces.contains(&piece.name()) {
            pieces.push(piece.name());
        }
    }
    names
        .into_iter()
        .map(|(note, pieces)| (note, pieces.join(", ")))
        .collect()
}

/// What was read, line by line, with what speaks for it.
fn told(proposal: &Proposal) -> String {
    let mut text = String::new();
    for line in &proposal.lines {
        let sure = match line.sureness {
            Sureness::Sure => "",
            Sureness::Likely => " (likely)",
            Sureness::Guess => " (a guess: listen)",
        };
        let _ = writeln!(
            text,
            "{}: {}{sure}: {}",
            line.piece.name(),
            line.note,
            line.reason
        );
    }
    for unplaced in &proposal.unplaced {
        let _ = writeln!(text, "left out: {}: {}", unplaced.note, unplaced.reason);
    }
    text
}

/// The pieces that a map lacks, and what is played in their place.
fn lacking(map: &NoteMap) -> String {
    let mut text = String::new();
    for (piece, instead) in map.folded() {
        let plays = instead.map_or("nothing is played", Piece::name);
        let _ = writeln!(text, "no key for {}: {plays} instead", piece.name());
    }
    text.replace("nothing is played instead", "not played")
}

/// A map as a table.
fn table(named: &NamedMap, middle_c: MiddleC) -> String {
    let NamedMap { name, map } = named;
    let mut text = format!("{name}\n");
    for piece in Piece::ALL {
        let notes = map.get(piece);
        let key = |note: &Note| format!("{} {}", note.key, middle_c.name(note.key));
        let keys: Vec<_> = notes.notes.iter().map(key).collect();
        let _ = write!(text, "{:<16}", piece.name());
        if let Some(first) = notes.notes.first() {
            let _ = write!(text, "{} on channel {}", keys.join(", "), first.channel + 1);
            if notes.notes.len() > 1 {
                let _ = write!(text, ", {}", notes.turns.name());
            }
            if notes.response != Response::PLAIN {
                let Response {
                    floor,
                    ceiling,
                    bend,
                } = notes.response;
                let _ = write!(text, ", velocity {floor} to {ceiling}, bend {bend}");
            }
            if notes.length != Length::Rings {
                let _ = write!(text, ", {} notes", notes.length.name());
            }
            match notes.choke {
                Choke::NoteOff => {}
                Choke::Aftertouch => text.push_str(", choked by aftertouch"),
                Choke::Key(note) => {
                    let _ = write!(text, ", choked by {}", key(&note));
                }
            }
        } else {
            let plays = map.sounding(piece).map_or("not played", Piece::name);
            let by_hand = if notes.instead == Instead::Nearest {
                ""
            } else {
                ", as chosen"
            };
            let _ = write!(text, "none: {plays}{by_hand}");
        }
        if !notes.also_read.is_empty() {
            let read: Vec<_> = notes.also_read.iter().map(key).collect();
            let _ = write!(text, "; also read: {}", read.join(", "));
        }
        text.push('\n');
    }
    match &map.hi_hat {
        HiHat::Keys(_) => {
            for (opening, note) in map.hi_hat.openings() {
                let _ = writeln!(
                    text,
                    "hi-hat {opening} of 127 open: key {} {}",
                    note.key,
                    middle_c.name(note.key)
                );
            }
        }
        HiHat::Controller(controller) => {
            let _ = writeln!(
                text,
                "hi-hat by controller {} on channel {}: {} closed, {} open, {} ms ahead",
                controller.number,
                controller.channel + 1,
                controller.closed,
                controller.open,
                controller.lead_ms
            );
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kit::general_midi::level_1;

    #[test]
    fn a_map_is_shown_with_what_it_lacks() {
        let named = NamedMap {
            name: "Mine".to_owned(),
            map: level_1(),
        };
        let text = table(&named, MiddleC::C3);
        for line in [
            "Mine",
            "kick            36 C1 on channel 10; also read: 35 B0",
            "hi-hat loose    none: hi-hat open",
            "sticks          none: side stick",
        ] {
            assert!(text.lines().any(|shown| shown == line), "{text}");
        }
        let text = lacking(&named.map);
        assert_eq!(
            text,
            "no key for hi-hat loose: hi-hat open instead\nno key for sticks: side stick instead\n"
        );
    }

    #[test]
    fn keys_of_several_pieces_have_all_their_names() {
        let mut map = NoteMap::silent();
        let note = Note {
            channel: 9,
            key: 49,
        };
        for piece in [Piece::CrashLeft, Piece::Splash] {
            *map.get_mut(piece) = crate::kit::note_map::PieceNotes::of(note);
        }
        assert_eq!(named_keys(&map), [(note, "crash left, splash".to_owned())]);
    }
}
