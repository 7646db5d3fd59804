//! `fourlimb check`: whether two hands and two feet can play a drum region, and what to change where they can't.

use crate::check::playable::TimedStroke;
use crate::check::verdict::judge;
use crate::midi::smf_read::{Read, read};
use crate::settings::Player;
use crate::time::tempo::{DEFAULT_BPM, MAX_BPM, MIN_BPM};
use anyhow::{Context as _, Result, bail};
use std::fmt::Write as _;
use std::io::Write;
use std::path::PathBuf;

/// Its options.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The drum region, a MIDI file.
    file: PathBuf,
    /// The sampler's note map, a JSON file (see docs/sampler.md); General MIDI where left out.
    #[arg(long, value_name = "FILE")]
    map: Option<PathBuf>,
    /// Who is to play it.
    #[arg(long, default_value = Player::Extreme.name(), value_parser = super::one_of::<Player>())]
    player: Player,
    /// The tempo, in quarter notes a minute, where the file names none.
    #[arg(long, value_name = "BPM", default_value_t = DEFAULT_BPM, value_parser = bpm)]
    bpm: f64,
}

/// Reads a tempo.
fn bpm(text: &str) -> Result<f64, String> {
    let bpm: Option<f64> = text.parse().ok();
    let sane = bpm.filter(|bpm| (MIN_BPM..=MAX_BPM).contains(bpm));
    sane.ok_or_else(|| format!("a tempo is a number from {MIN_BPM} to {MAX_BPM}"))
}

/// Runs the command. Fails where a file can't be read, or the region can't be played.
pub(super) fn run(args: &Args, out: &mut dyn Write) -> Result<()> {
    let map = super::note_map(args.map.as_deref())?;
    let file = args.file.display();
    let bytes = super::read(&args.file)?;
    let region = read(&bytes, &map).with_context(|| format!("{file} can't be checked"))?;
    let (text, count) = report(&region, args.player, args.bpm);
    write!(out, "{text}")?;
    let who = format!("two hands and two feet ({})", args.player.name());
    if region.notes.is_empty() {
        bail!(
            "{file} has no note on a piece of the kit: name its keys in a map, `--map FILE` (see docs/sampler.md)"
        );
    }
    if count > 0 {
        let strokes = counted(count, "stroke");
        bail!("{file}: {strokes} can't be played by {who}");
    }
    writeln!(out, "{file} can be played by {who}.")?;
    Ok(())
}

/// What a region asks of a player, in words, and how many strokes can't be played. `bpm` is its tempo where it names none.
fn report(region: &Read, player: Player, bpm: f64) -> (String, usize) {
    let mut text = String::new();
    let stretch = if region.names_tempo {
        1.0
    } else {
        let _ = writeln!(
            text,
            "the file names no tempo: it is checked at {bpm} BPM (`--bpm`)"
        );
        DEFAULT_BPM / bpm
    };
    let strokes = strokes(region, stretch);
    let last = region
        .notes
        .last()
        .map_or(0, |note| region.bar(note.tick).0);
    let (played, bars) = (counted(strokes.len(), "stroke"), counted(last, "bar"));
    let _ = writeln!(text, "{played} in {bars}");
    let doubled = region.notes.len() - strokes.len();
    if doubled > 0 {
        let (double, count) = if doubled == 1 {
            ("doubles", "counts")
        } else {
            ("double", "count")
        };
        let _ = writeln!(
            text,
            "{} {double} a stroke of the same piece and {count} with it",
            counted(doubled, "note")
        );
    }
    for (key, count) in region.unknown_keys() {
        let _ = writeln!(
            text,
            "key {key} is no piece of the kit: its {} not checked",
            are(count)
        );
    }
    if region.elsewhere > 0 {
        let _ = writeln!(
            text,
            "{} not checked: on another channel than the sampler's. Give them that channel in your recording program",
            are(region.elsewhere)
        );
    }
    let verdict = judge(&strokes, player, |tick| region.bar(tick));
    let _ = write!(text, "{verdict}");
    (text, verdict.problems)
}

/// "1 bar", "2 bars".
fn counted<N: Copy + std::fmt::Display + PartialEq + From<u8>>(number: N, what: &str) -> String {
    let plural = if number == N::from(1) { "" } else { "s" };
    format!("{number} {what}{plural}")
}

/// "1 note is", "2 notes are".
fn are(notes: usize) -> String {
    let verb = if notes == 1 { "is" } else { "are" };
    format!("{} {verb}", counted(notes, "note"))
}

/// The strokes of a region: notes of one piece on one tick are one stroke, as where two keys are
/// layered. Each time is multiplied by `stretch`.
fn strokes(region: &Read, stretch: f64) -> Vec<TimedStroke> {
    let mut strokes: Vec<TimedStroke> = Vec::with_capacity(region.notes.len());
    for note in &region.notes {
        let same = |s: &&TimedStroke| s.tick == note.tick;
        let now = strokes.iter().rev().take_while(same);
        if !now.into_iter().any(|s| s.piece == note.piece) {
            strokes.push(TimedStroke {
                tick: note.tick,
                seconds: note.seconds * stretch,
                piece: note.piece,
            });
        }
    }
    strokes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kit::Piece;
    use crate::midi::smf_read::ReadNote;
    use crate::time::{Meter, TempoMap, Ticks};

    fn region(notes: &[(Ticks, Piece)]) -> Read {
        let tempo = TempoMap::constant(120.0);
        let note = |&(tick, piece): &(Ticks, Piece)| ReadNote {
            tick,
            seconds: tempo.seconds(tick as f64),
            length: 120,
            piece,
            candidates: [piece].into_iter().collect(),
            note: crate::kit::Note { channel: 9, key: 0 },
            sent: 100,
            velocity: 100,
            alternate: None,
            opening: None,
        };
        Read {
            notes: notes.iter().map(note).collect(),
            unknown: vec![(0, 56); 3],
            elsewhere: 0,
            tempo: tempo.clone(),
            names_tempo: true,
            meters: vec![(0, Meter::FOUR_FOUR)],
        }
    }

    #[test]
    fn problems_are_told_by_bar_and_count() {
        let notes = [
            (0, Piece::Kick),
            (0, Piece::Kick),
            (4560, Piece::Snare),
            (4560, Piece::HiHatClosed),
            (4560, Piece::CrashLeft),
            (7680, Piece::Kick),
        ];
        let (text, count) = report(&region(&notes), Player::Extreme, DEFAULT_BPM);
        assert_eq!(count, 1);
        let expected = "5 strokes in 3 bars\n\
            1 note doubles a stroke of the same piece and counts with it\n\
            key 56 is no piece of the kit: its 3 notes are not checked\n\
            bar 2, count 1 a: hi-hat closed: needs a third hand (snare at once, crash left at once). \
            Nearest: leave out the hi-hat closed.\n";
        assert_eq!(text, expected);
    }

    #[test]
    fn a_run_that_is_too_fast_is_one_line_a_bar() {
        let notes: Vec<_> = (0..64).map(|i| (i * 120, Piece::Ride)).collect();
        let (text, count) = report(&region(&notes), Player::Everyday, DEFAULT_BPM);
        assert!(count > 8);
        let lines = text.lines().filter(|line| line.starts_with("bar ")).count();
        assert!(lines <= 4, "{text}");
    }

    /// Some recording programs write a region without its tempo.
    #[test]
    fn a_file_without_a_tempo_is_checked_at_the_one_that_is_named() {
        let notes: Vec<_> = (0..64).map(|i| (i * 240, Piece::Ride)).collect();
        let mut region = region(&notes);
        let mut count = |names_tempo, bpm| {
            region.names_tempo = names_tempo;
            let (text, count) = report(&region, Player::Extreme, bpm);
            assert_eq!(text.contains(&format!("at {bpm} BPM")), !names_tempo);
            count
        };
        // Sixteenths of two hands: 125 ms at 120 BPM, 37.5 ms at 400.
        assert_eq!([true, false].map(|names| count(names, 120.0)), [0, 0]);
        assert_eq!(count(true, 400.0), 0);
        assert!(count(false, 400.0) > 8);
    }
}
