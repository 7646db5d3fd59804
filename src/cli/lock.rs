//! `fourlimb lock`: a section that was edited by hand comes back into the song file, which then plays it as
//! it is.

use crate::export::hand_edit::{Reading, Unknown, as_edits, bring_back, strokes, to_midi};
use crate::export::{NamedSection, What, bars_of, number_of, sections};
use crate::files::{self, Existing};
use crate::settings::Player;
use crate::song::locked::Row;
use crate::song::{SongFile, Timeline};
use anyhow::{Context, Result, bail};
use std::fmt::Write as _;
use std::io::Write;
use std::path::{Path, PathBuf};

/// Its options.
#[derive(Debug, clap::Args)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is an option of its own"
)]
pub(super) struct Args {
    /// The song, a JSON file (see docs/song-file.md); it is written anew.
    song: PathBuf,
    /// The section: its name or its number; "Verse 2" is the second of several named Verse.
    #[arg(long, value_name = "NAME")]
    section: String,
    /// The section as it was edited by hand, a MIDI file.
    #[arg(long, value_name = "FILE", required_unless_present = "unlock")]
    from: Option<PathBuf>,
    /// Only these bars of the MIDI file, counted from 1, as many as the section has; all of it where left out.
    #[arg(long, value_name = "A-B", requires = "from", value_parser = bars)]
    bars: Option<(u32, u32)>,
    /// The sampler's note map, a JSON file (see docs/sampler.md); General MIDI where left out.
    #[arg(long, value_name = "FILE")]
    map: Option<PathBuf>,
    /// Who is to play it; what can't be played is told, and locked all the same.
    #[arg(long, default_value = Player::Extreme.name(), value_parser = super::one_of::<Player>())]
    player: Player,
    /// Leave out notes on keys that are no piece of the kit.
    #[arg(long)]
    leave_out: bool,
    /// Replace the strokes of a section that is locked already.
    #[arg(long)]
    replace: bool,
    /// Write what the region does otherwise than the drummer as edits, and let the drummer go on around them.
    #[arg(long, requires = "from", conflicts_with = "unlock")]
    as_edits: bool,
    /// Unlock the section: the drummer plays it again.
    #[arg(long, requires = "out", conflicts_with_all = ["from", "replace"])]
    unlock: bool,
    /// Where the strokes go that the section was locked with, a MIDI file.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

/// Reads bars, as in 5-8.
pub(super) fn bars(text: &str) -> Result<(u32, u32), String> {
    match text.parse() {
        Ok(What::Bars(from, to)) => Ok((from, to)),
        Ok(_) => Err(format!("\"{text}\" are no bars: write them as in 5-8")),
        Err(error) => Err(error.to_string()),
    }
}

/// Runs the command. Fails where a file can't be read or written, or does not fit the section; the song is as it
/// was then.
pub(super) fn run(args: &Args, out: &mut dyn Write) -> Result<()> {
    write!(out, "{}", lock(args)?)?;
    Ok(())
}

/// Does what is asked, and says what was done.
fn lock(args: &Args) -> Result<String> {
    let lay_out = |song: SongFile| Timeline::new(&song).map(|timeline| (song, timeline));
    let (mut song, timeline) = files::read_song(&args.song, lay_out)?;
    let number = number_of(&timeline, &args.section)?;
    let section = sections(&timeline).swap_remove(number);
    let mut told = String::new();
    let before = song.unlock(number);
    if let Some(from) = &args.from {
        let label = &section.label;
        if let Some(before) = before.as_ref().filter(|_| !args.replace) {
            bail!(
                "{label} is locked already, with {}: add --replace to put others in their place, and \
                 --out FILE to keep them as a MIDI file",
                strokes(before.len())
            );
        }
        let rows = read(args, from, &timeline, &section, &mut told)?;
        if args.as_edits {
            edit(&mut song, number, &rows, &mut told)?;
        } else {
            song.lock(number, rows)?;
        }
    } else if before.is_none() {
        bail!("{} is not locked", section.label);
    }
    if let (Some(before), Some(out)) = (&before, &args.out) {
        keep(args, before, out, (&timeline, &section), &mut told)?;
    }
    // What is written is laid out first, so that it can be read again.
    for warning in Timeline::new(&song)?.warnings() {
        let _ = writeln!(told, "{warning}");
    }
    files::write(&args.song, song.to_text().as_bytes(), Existing::Replace)?;
    let _ = writeln!(told, "Song: {}", args.song.display());
    Ok(told)
}

/// Reads the edited section, and tells what is in it.
fn read(
    args: &Args,
    from: &Path,
    timeline: &Timeline,
    section: &NamedSection,
    told: &mut String,
) -> Result<Vec<Row>> {
    let name = from.display();
    let map = super::note_map(args.map.as_deref())?;
    let bytes = super::read(from)?;
    let unknown = if args.leave_out {
        Unknown::LeaveOut
    } else {
        Unknown::Refuse
    };
    let reading = Reading {
        map: &map,
        bars: args.bars,
        unknown,
        player: args.player,
    };
    let back = bring_back(&bytes, timeline, section, &reading)
        .with_context(|| format!("{name} can't be {}", section.label))?;
    let count = strokes(back.rows.len());
    let _ = write!(
        told,
        "{} {} {count} of {name}\n{back}",
        section.label,
        if args.as_edits {
            "is compared with"
        } else {
            "is locked with"
        },
    );
    Ok(back.rows)
}

/// Puts the difference between a region and the drummer into the song, and tells how large it is. The song is played by
/// itself, at its own tempi, with its own riff.
fn edit(song: &mut SongFile, place: usize, rows: &[Row], told: &mut String) -> Result<()> {
    if let Some(section) = song.sections.get_mut(place) {
        section.edits.clear();
    }
    let timeline = Timeline::new(song)?;
    let section = sections(&timeline).swap_remove(place);
    let found = as_edits(rows, &timeline, &section, place)?;
    if found.left > 0 {
        bail!(
            "{} of {} can't be said as edits: lock the section instead, without --as-edits",
            strokes(found.left),
            section.label
        );
    }
    let edits = found.edits.len();
    let _ = writeln!(
        told,
        "{edits} edits make {} what the region is",
        section.label
    );
    if !found.is_small() {
        let _ = writeln!(
            told,
            "That is much of it: a lock may serve better, without --as-edits"
        );
    }
    song.sections[place].edits = found.edits;
    Ok(())
}

/// Writes strokes that leave the song to a file of their own, which must be new.
fn keep(
    args: &Args,
    rows: &[Row],
    out: &Path,
    (timeline, section): (&Timeline, &NamedSection),
    told: &mut String,
) -> Result<()> {
    let map = super::note_map(args.map.as_deref())?;
    let (bytes, early) = to_midi(rows, timeline, section, &map)?;
    files::write(out, &bytes, Existing::Keep)?;
    let (count, out) = (strokes(rows.len()), out.display());
    let begins = if early {
        let last = bars_of(timeline, section).len() + 1;
        format!("; the section begins in its bar 2: --bars 2-{last}")
    } else {
        String::new()
    };
    let _ = writeln!(
        told,
        "{}: {count} that it was locked with: {out}{begins}",
        section.label
    );
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::offline;
    use crate::export::{Options, export};
    use crate::kit::NoteMap;
    use clap::Parser;
    use std::fs;
    use tempfile::TempDir;

    #[derive(Debug, Parser)]
    struct Cli {
        #[command(flatten)]
        args: Args,
    }

    /// A folder with the demo song in it, and its second section as a MIDI file.
    fn folder() -> TempDir {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("song.json"), SongFile::DEMO).unwrap();
        fs::write(folder.path().join("riff.mid"), section("Riff")).unwrap();
        folder
    }

    fn song(folder: &TempDir) -> SongFile {
        let text = fs::read_to_string(folder.path().join("song.json")).unwrap();
        SongFile::parse(&text).unwrap()
    }

    fn section(name: &str) -> Vec<u8> {
        let timeline = Timeline::new(&SongFile::parse(SongFile::DEMO).unwrap()).unwrap();
        let mut options = Options::default();
        options.set("section", name).unwrap();
        export(&timeline, &options, &NoteMap::default())
            .unwrap()
            .bytes
    }

    /// Runs a command line in a folder.
    fn run(folder: &TempDir, line: &str) -> Result<String, String> {
        let in_folder = |word: &str| match word.rsplit_once('.') {
            Some(_) => folder.path().join(word).display().to_string(),
            None => word.to_owned(),
        };
        let words = line.split_whitespace().map(in_folder);
        let cli = Cli::try_parse_from(std::iter::once("lock".to_owned()).chain(words));
        let args = cli.map_err(|error| error.to_string())?.args;
        lock(&args).map_err(|error| format!("{error:#}"))
    }

    #[test]
    fn a_section_goes_out_comes_back_locked_and_is_let_go_again() {
        let folder = folder();
        let plain = song(&folder);
        let told = run(&folder, "song.json --section riff --from riff.mid").unwrap();
        assert!(told.starts_with("Riff is locked with "), "{told}");
        assert!(
            told.contains("It can be played by two hands and two feet (extreme)."),
            "{told}"
        );
        let locked = song(&folder);
        let hits = |song: &SongFile| offline::play(&Timeline::new(song).unwrap());
        let play_tick = |song: &SongFile| -> Vec<_> {
            let mut hits: Vec<_> = hits(song)
                .iter()
                .map(|h| (h.tick, h.piece, h.velocity))
                .collect();
            hits.sort_unstable();
            hits
        };
        // Unedited, it changes nothing, the loose hi-hat included, which shares its key.
        assert_eq!(play_tick(&locked), play_tick(&plain));
        assert!(locked.sections[2].locked.is_some());

        let error = run(&folder, "song.json --section 3 --from riff.mid").unwrap_err();
        assert!(
            error.contains("locked already") && error.contains("--replace"),
            "{error}"
        );
        let error = run(&folder, "song.json --section Riff --unlock").unwrap_err();
        assert!(error.contains("--out"), "{error}");
        assert_eq!(song(&folder), locked);

        let told = run(&folder, "song.json --section Riff --unlock --out kept.mid").unwrap();
        assert!(told.contains("kept.mid"), "{told}");
        assert_eq!(song(&folder), plain);
        run(&folder, "song.json --section Riff --from kept.mid").unwrap();
        assert_eq!(song(&folder), locked);
        // What was kept is not written over.
        let error = run(&folder, "song.json --section Riff --unlock --out kept.mid").unwrap_err();
        assert!(error.contains("exists already"), "{error}");
        assert_eq!(song(&folder), locked);
        run(
            &folder,
            "song.json --section Riff --from riff.mid --replace --out new.mid",
        )
        .unwrap();
        assert!(folder.path().join("new.mid").exists());
    }

    #[test]
    fn early_strokes_go_out_with_a_bar_before_them() {
        let folder = folder();
        let mut early = song(&folder);
        let row = |tick| Row::new(tick, crate::kit::Piece::Snare, 77);
        // One beyond the end, too.
        early
            .lock(2, vec![row(-40), row(960), row(4 * 3840 + 5)])
            .unwrap();
        fs::write(folder.path().join("song.json"), early.to_text()).unwrap();
        let told = run(&folder, "song.json --section Riff --unlock --out kept.mid").unwrap();
        assert!(told.contains("--bars 2-5"), "{told}");
        let told = run(
            &folder,
            "song.json --section Riff --from kept.mid --bars 2-5",
        )
        .unwrap();
        assert!(told.contains("1 notes in other bars"), "{told}");
        assert_eq!(
            song(&folder).sections[2].locked,
            Some(vec![row(-40), row(960)])
        );
    }

    #[test]
    fn what_does_not_fit_is_refused_and_the_song_stays() {
        let folder = folder();
        fs::write(folder.path().join("map.json"), r#"{"kick": 36}"#).unwrap();
        fs::write(folder.path().join("chorus.mid"), section("Chorus 1")).unwrap();
        fs::write(folder.path().join("turn.mid"), section("Turn")).unwrap();
        let before = fs::read(folder.path().join("song.json")).unwrap();
        let table = [
            (
                "--section Bridge --from riff.mid",
                "there is no section \"Bridge\"",
            ),
            ("--section Riff --from none.mid", "could not read"),
            (
                "--section Riff --from song.json",
                "not a Standard MIDI File",
            ),
            (
                "--section Riff --from chorus.mid",
                "in bars 1-8, and the section has 4: choose as many of them, as in 1-4",
            ),
            ("--section Riff --from chorus.mid --bars 3-5", "choose 3-6"),
            ("--section Riff --from chorus.mid --bars 0-3", "choose 1-4"),
            (
                "--section Riff --from chorus.mid --bars 90-93",
                "no note on a piece",
            ),
            (
                "--section Riff --from chorus.mid --bars x",
                "write first and last",
            ),
            (
                "--section Riff --from turn.mid",
                "bar 1 of the file is in 7/8",
            ),
            (
                "--section Riff --from riff.mid --map map.json",
                "no piece of the kit has key 38",
            ),
            (
                "--section Riff --unlock --out kept.mid",
                "Riff is not locked",
            ),
            ("--section Riff", "--from"),
        ];
        for (line, words) in table {
            let error = run(&folder, &format!("song.json {line}")).unwrap_err();
            assert!(error.contains(words), "{line}: {error}");
            assert_eq!(fs::read(folder.path().join("song.json")).unwrap(), before);
            assert!(!folder.path().join("kept.mid").exists());
        }
        let told = run(
            &folder,
            "song.json --section Riff --from riff.mid --map map.json --leave-out",
        );
        let told = told.unwrap();
        assert!(
            told.contains("key 38 (") && told.contains("): left out"),
            "{told}"
        );
        let told = run(
            &folder,
            "song.json --section Riff --from chorus.mid --bars 5-8 --replace --player everyday",
        );
        let told = told.unwrap();
        assert!(
            told.contains("notes in other bars of the file are left out"),
            "{told}"
        );
        assert!(told.contains("locked all the same"), "{told}");
    }
}
