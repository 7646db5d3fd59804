//! What happens in the recording program, and what the plugin must play there. The script has the other half.

use super::compare::{self, Leeway};
use super::program::Recording;
use anyhow::{Context as _, Result, bail};
use fourlimb::kit::{NoteMap, Piece};
use fourlimb::settings::Settings;
use fourlimb::song::SongFile;

/// The scenarios of the script that are judged.
pub(super) const NAMES: [&str; 6] = ["roll", "loop", "passes", "tempi", "automated", "riff"];

/// The quarters of a bar at which the script's guitar is struck: every eighth but the last.
const STROKES: [f64; 7] = [0.0, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0];
/// How far a kick that follows the guitar may be beside a stroke, in the program's ticks (1920 a quarter, 120 BPM): 25 ms. The
/// drummer is loose by some milliseconds, and the detector is measured within 25 ms (docs/riff.md).
const BESIDE: i64 = 96;

/// Whether the recording of a scenario is what the engine composes. The message says what was compared.
///
/// # Errors
/// Where it is not; the first differences are printed.
pub(super) fn judge(
    name: &str,
    recording: &Recording,
    seconds: u32,
    map: &NoteMap,
) -> Result<String> {
    // Two seconds a bar at 120 BPM, less where it is faster; the transport may roll a little longer than it was asked to.
    let bars = seconds + 16;
    let song = match name {
        "roll" | "loop" | "passes" => song(&format!(r#"{{"bars": {bars}}}"#), ""),
        "tempi" => song(
            &format!(
                r#"{{"bars": 2, "bpm": 120}}, {{"bars": 2, "bpm": 151}}, {{"bars": {bars}, "bpm": 97}}"#
            ),
            "",
        ),
        "automated" => song(
            &format!(r#"{{"bars": {bars}}}"#),
            r#""intensity": [{"bar": 1, "value": 0.3, "hold": true}, {"bar": 3, "value": 0.9, "hold": true},
                             {"bar": 5, "value": 0.5, "hold": true}],
               "style": [{"bar": 1, "value": "rock"}, {"bar": 3, "value": "double-kick"}, {"bar": 4, "value": "breakdown"}]"#,
        ),
        "riff" => {
            let kick = map
                .note(Piece::Kick)
                .context("the map has no key for the kick")?
                .key;
            return compare::kicks_follow(recording, &STROKES, kick, BESIDE);
        }
        _ => bail!("nothing is known of the scenario {name}"),
    }?;
    let leeway = match name {
        "tempi" => Leeway::CHANGE_OF_TEMPO,
        _ => Leeway::EXACT,
    };
    compare::compare(recording, &compare::expected(&song, map)?, leeway)
}

/// A song that says nothing but this.
fn song(sections: &str, lanes: &str) -> Result<SongFile> {
    let bar_settings = Settings::default().bar_settings;
    let (take, phrase) = (bar_settings.take, bar_settings.phrase.bars());
    let named = sections.replace(r#"{"bars""#, r#"{"name": "All", "bars""#);
    let text = format!(
        r#"{{"fourlimb_song": 1, "title": "As the plugin plays it", "take": {take}, "phrase_bars": {phrase},
            "sections": [{named}], "automation": {{{lanes}}}}}"#
    );
    SongFile::parse(&text).context("the song of a scenario")
}
