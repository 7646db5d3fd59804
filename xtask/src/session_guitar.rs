//! The session's guitar: a palm-muted riff, made in code, that plays under the beats that follow
//! the riff. It goes into the plugin's side-chain once; the next time round the kick follows.

use crate::session;
use anyhow::Result;
use fourlimb::groove::vocabulary;
use fourlimb::riff::Riff;
use fourlimb::riff::attacks::RiffData;
use fourlimb::song::Timeline;
use fourlimb::time::Ticks;
use hosting::guitar::{Pick, Rig, Touch, play};
use hosting::host::Host;
use hosting::state;

/// What it plays, a sixteenth a letter: p muted, c left to ring. Bars take turns; longer bars go
/// round.
const BARS: [&str; 4] = [
    "p.pp..p.p.pp..pp",
    "p.pp..p.c---....",
    "p.pp..p.p.pp..pp",
    "pp.pp.pp.pp.p.c-",
];
const SIXTEENTH: Ticks = 240;
const STEP: usize = 240;
/// The lowest string of a guitar tuned to D, in Hz.
const ROOT_HZ: f64 = 73.42;
/// How far a stroke may lie from a captured one and still be it, in ticks: half a sixteenth.
const SAME: Ticks = SIXTEENTH / 2;

/// Plays the guitar into the plugin while it listens, and gives the song what was captured; a line
/// that says how well. `None` where no beat of the song follows the riff.
///
/// # Errors
/// Where the plugin fails or captures nothing.
pub fn capture(
    host: &mut Host,
    song: &mut Timeline,
    sample_rate: f64,
    block_size: u32,
) -> Result<Option<String>> {
    let strokes = strokes(song);
    if strokes.is_empty() {
        return Ok(None);
    }
    let picks: Vec<Pick> = strokes.iter().map(|(_, pick)| *pick).collect();
    let seconds = song.tempo().seconds(song.end() as f64);
    let sound = play(&picks, &Rig::HIGH_GAIN, sample_rate, seconds, 1);
    host.activate(sample_rate, block_size)?;
    host.set("Listen", "side-chain", block_size)?;
    session::listen(host, song, &sound, sample_rate, block_size, |_| ())?;
    host.set("Listen", "off", block_size)?;
    let riff = saved(host)?;
    load(host, &riff)?;
    let line = score(&strokes, &riff);
    song.set_riff(riff);
    Ok(Some(line))
}

/// Every stroke of the guitar: its tick, and how it is played.
fn strokes(song: &Timeline) -> Vec<(Ticks, Pick)> {
    let mut strokes = Vec::new();
    let mut turn = 0;
    for bar in song.bars() {
        let settings = song.settings(bar.start);
        if !vocabulary::beat(settings.bar_settings.style).follows_riff {
            turn = 0;
            continue;
        }
        let letters = BARS[turn % BARS.len()].bytes().cycle();
        turn += 1;
        for (letter, tick) in letters.zip((bar.start..bar.end()).step_by(STEP)) {
            let touch = match letter {
                b'p' => Touch::Mute,
                b'c' => Touch::Ring,
                _ => continue,
            };
            let at = song.tempo().seconds(tick as f64);
            let held = song.tempo().seconds((tick + SIXTEENTH) as f64) - at;
            let held = if touch == Touch::Ring {
                held * 4.0
            } else {
                held
            };
            let pick = Pick {
                at,
                held,
                hz: ROOT_HZ,
                force: 1.0,
                touch,
            };
            strokes.push((tick, pick));
        }
    }
    strokes
}

fn score(strokes: &[(Ticks, Pick)], riff: &Riff) -> String {
    let near = |tick: Ticks| {
        let mut attacks = riff.attacks().iter();
        attacks.any(|attack| (attack.tick - tick).abs() < SAME)
    };
    let found = strokes.iter().filter(|(tick, _)| near(*tick)).count();
    format!(
        "The guitar was struck {} times; the plugin heard {}, {found} of them where the guitar was.",
        strokes.len(),
        riff.attacks().len()
    )
}

/// The riff in the plugin's state.
fn saved(host: &mut Host) -> Result<Riff> {
    let riff = state::part(host, "riff")?;
    Ok(Riff::load(&serde_json::from_value::<RiffData>(riff)?)?)
}

/// Gives the plugin a riff, by its state.
///
/// # Errors
/// Where the state can't be saved or loaded.
pub fn load(host: &mut Host, riff: &Riff) -> Result<()> {
    state::set_part(host, "riff", &riff.save())
}
