//! `cargo xtask check`: whether two hands and two feet can play a drum region, and what to change
//! where they can't.

use anyhow::{Context, Result, bail};
use fourlimb::groove::Player;
use fourlimb::groove::playable::{Change, Problem, Struck, TOLERANCE_S, Why, problems};
use fourlimb::kit::{KeyMap, Piece};
use fourlimb::output::smf_read::{Read, read};
use fourlimb::time::Ticks;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

/// Its options.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The drum region, a MIDI file.
    file: PathBuf,
    /// Which keys sound which pieces, a JSON file (see docs/check.md); General MIDI where left out.
    #[arg(long, value_name = "FILE")]
    map: Option<PathBuf>,
    /// Who is to play it.
    #[arg(long, default_value = Player::Extreme.name(), value_parser = clap::builder::PossibleValuesParser::new(Player::NAMES))]
    player: String,
}

/// Runs the command.
///
/// # Errors
/// Where a file can't be read, or the region can't be played.
pub fn run(args: &Args) -> Result<()> {
    let player = Player::from_name(&args.player).context("no such player")?;
    let map = match &args.map {
        Some(path) => load_map(path)?,
        None => KeyMap::GENERAL_MIDI,
    };
    let file = args.file.display();
    let bytes = fs::read(&args.file).with_context(|| format!("could not read {file}"))?;
    let region = read(&bytes, &map).with_context(|| format!("{file} can't be checked"))?;
    let (text, count) = report(&region, player);
    print!("{text}");
    let who = format!("two hands and two feet ({})", player.name());
    if region.notes.is_empty() {
        bail!(
            "{file} has no note on a piece of the kit: name its keys in a map, `--map FILE` (see docs/check.md)"
        );
    }
    if count > 0 {
        let strokes = if count == 1 { "stroke" } else { "strokes" };
        bail!("{file}: {count} {strokes} can't be played by {who}");
    }
    println!("{file} can be played by {who}.");
    Ok(())
}

fn load_map(path: &Path) -> Result<KeyMap> {
    let name = path.display();
    let json =
        fs::read_to_string(path).with_context(|| format!("could not read the map {name}"))?;
    KeyMap::from_json(&json).with_context(|| format!("the map {name} can't be used"))
}

/// What a region asks of a player, in words, and how many strokes can't be played.
pub fn report(region: &Read, player: Player) -> (String, usize) {
    let mut text = String::new();
    let strokes = strokes(region);
    let last = region
        .notes
        .last()
        .map_or(0, |note| region.bar(note.tick).0);
    let _ = writeln!(text, "{} strokes in {last} bars", strokes.len());
    let doubled = region.notes.len() - strokes.len();
    if doubled > 0 {
        let _ = writeln!(
            text,
            "{doubled} notes double a stroke of the same piece and count with it"
        );
    }
    for (key, count) in &region.unknown {
        let _ = writeln!(
            text,
            "key {key} is no piece of the kit: its {count} notes are not checked"
        );
    }
    if region.elsewhere > 0 {
        let _ = writeln!(
            text,
            "{} notes on other channels than 10 are not checked",
            region.elsewhere
        );
    }
    let found = problems(&strokes, &player.limits());
    let mut groups: Vec<Group> = Vec::new();
    for problem in &found {
        let it = strokes[problem.stroke];
        let (bar, _) = region.bar(it.tick);
        let same = |g: &&mut Group| {
            (g.bar, g.piece, g.why, g.change) == (bar, it.piece, problem.why, problem.change)
        };
        let count = count(region, it.tick);
        if let Some(group) = groups.iter_mut().find(same) {
            group.counts.push(count);
        } else {
            groups.push(Group {
                bar,
                piece: it.piece,
                why: problem.why,
                change: problem.change,
                counts: vec![count],
                beside: beside(region, &strokes, problem),
            });
        }
    }
    for group in &groups {
        let _ = writeln!(
            text,
            "bar {}, count {}: {}: {} ({}). Nearest: {}.",
            group.bar,
            group.counts.join(", "),
            group.piece.name(),
            group.why,
            group.beside,
            group.change.words(group.piece),
        );
    }
    (text, found.len())
}

/// Problems of one kind in one bar.
struct Group {
    bar: i64,
    piece: Piece,
    why: Why,
    change: Change,
    counts: Vec<String>,
    beside: String,
}

/// The strokes of a region: notes of one piece on one tick are one stroke, as where two keys are
/// layered.
fn strokes(region: &Read) -> Vec<Struck> {
    let mut strokes: Vec<Struck> = Vec::with_capacity(region.notes.len());
    for note in &region.notes {
        let same = |s: &&Struck| s.tick == note.tick;
        let now = strokes.iter().rev().take_while(same);
        if !now.into_iter().any(|s| s.piece == note.piece) {
            strokes.push(Struck {
                tick: note.tick,
                seconds: note.seconds,
                piece: note.piece,
            });
        }
    }
    strokes
}

/// What is in the way of a stroke, in words.
fn beside(region: &Read, strokes: &[Struck], problem: &Problem) -> String {
    let it = strokes[problem.stroke];
    let mut others = problem.in_the_way.clone();
    others.sort_by(|&a, &b| strokes[a].seconds.total_cmp(&strokes[b].seconds));
    let words = others.into_iter().map(|i| {
        let other = strokes[i];
        let ms = (it.seconds - other.seconds) * 1000.0;
        let name = other.piece.name();
        if ms.abs() < TOLERANCE_S * 1000.0 {
            return format!("{name} at once");
        }
        let side = if ms > 0.0 { "after" } else { "before" };
        let count = count(region, other.tick);
        format!("{:.0} ms {side} the {name} on {count}", ms.abs())
    });
    words.collect::<Vec<_>>().join(", ")
}

/// A tick as a drummer says it: the count, and `e`, `&`, `a` for the sixteenths of a quarter, or
/// the note of the group and its second half; ticks beyond that.
fn count(region: &Read, tick: Ticks) -> String {
    let (_, bar) = region.bar(tick);
    let at = tick - bar.start;
    let counts = bar.meter.counts();
    let i = counts.iter().rposition(|c| c.start <= at).unwrap_or(0);
    let (number, rest) = (i + 1, at - counts[i].start);
    let parts: &[&str] = match counts[i].units {
        3 => &["", "&", ".2", ".2&", ".3", ".3&"],
        _ => &["", "e", "&", "a"],
    };
    let step = counts[i].len / Ticks::try_from(parts.len()).unwrap_or(1);
    let nearest = usize::try_from((rest + step / 2) / step).unwrap_or(0);
    let nearest = nearest.min(parts.len() - 1);
    let off = rest - step * Ticks::try_from(nearest).unwrap_or(0);
    if off == 0 {
        format!("{number}{}", parts[nearest])
    } else {
        format!("{number}{} {off:+} ticks", parts[nearest])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use fourlimb::output::smf_read::ReadNote;
    use fourlimb::time::{Meter, TempoMap};
    use std::collections::BTreeMap;

    fn region(notes: &[(Ticks, Piece)]) -> Read {
        let tempo = TempoMap::constant(120.0);
        let note = |&(tick, piece): &(Ticks, Piece)| ReadNote {
            tick,
            seconds: tempo.seconds(tick as f64),
            length: 120,
            piece,
            velocity: 100,
        };
        Read {
            notes: notes.iter().map(note).collect(),
            unknown: BTreeMap::from([(56, 3)]),
            elsewhere: 0,
            tempo: tempo.clone(),
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
        let (text, count) = report(&region(&notes), Player::Extreme);
        assert_eq!(count, 1);
        let expected = "5 strokes in 3 bars\n\
            1 notes double a stroke of the same piece and count with it\n\
            key 56 is no piece of the kit: its 3 notes are not checked\n\
            bar 2, count 1a: hi-hat closed: needs a third hand (snare at once, crash left at once). \
            Nearest: leave out the hi-hat closed.\n";
        assert_eq!(text, expected);
    }

    #[test]
    fn a_run_that_is_too_fast_is_one_line_a_bar() {
        let notes: Vec<_> = (0..64).map(|i| (i * 120, Piece::Ride)).collect();
        let (text, count) = report(&region(&notes), Player::Everyday);
        assert!(count > 8);
        let lines = text.lines().filter(|line| line.starts_with("bar ")).count();
        assert!(lines <= 4, "{text}");
    }
}
