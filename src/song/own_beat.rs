//! The file of an own beat: JSON, laid out for people.

use super::file::SongError;
use super::write::lay_out;
use crate::groove::own::{OwnBeat, OwnBeatError, VERSION};
use serde::Deserialize;

impl From<OwnBeatError> for SongError {
    fn from(error: OwnBeatError) -> Self {
        Self::new(error.place, error.problem)
    }
}

/// The text of an own beat's file. [`parse`] makes the same beat of it. Allocates.
pub fn to_text(beat: &OwnBeat) -> String {
    // Names and numbers alone: there is nothing in a beat that JSON can't say.
    lay_out(&serde_json::to_string(beat).unwrap_or_default())
}

/// Reads the file of an own beat.
///
/// # Errors
/// [`SongError`] names the field that can't be read and the remedy.
pub fn parse(json: &str) -> Result<OwnBeat, SongError> {
    #[derive(Deserialize)]
    struct Head {
        fourlimb_beat: Option<u32>,
    }
    // Some editors put a byte order mark before the text.
    let json = json.trim_start_matches('\u{feff}');
    let like = format!("a beat file is JSON that starts with {{\"fourlimb_beat\": {VERSION}");
    let no_json = |problem: &str| SongError::new("beat file", format!("{problem}: {like}"));
    if !json.trim_start().starts_with('{') {
        return Err(no_json("the text is no JSON object"));
    }
    if let Ok(Head { fourlimb_beat }) = serde_json::from_str(json) {
        match fourlimb_beat {
            Some(1..=VERSION) => {}
            Some(version) => {
                let problem = format!(
                    "this file is version {version}, and this program reads up to version {VERSION}: open it \
                     with a newer Fourlimb"
                );
                return Err(SongError::new("fourlimb_beat", problem));
            }
            None => {
                let problem =
                    format!("missing: a beat file starts with \"fourlimb_beat\": {VERSION}");
                return Err(SongError::new("fourlimb_beat", problem));
            }
        }
    }
    let reader = &mut serde_json::Deserializer::from_str(json);
    let beat: OwnBeat = serde_path_to_error::deserialize(&mut *reader).map_err(|error| {
        let inner = error.inner();
        if inner.is_syntax() || inner.is_eof() {
            return no_json(&format!("the text is not JSON ({inner})"));
        }
        let said = inner.to_string();
        let at = format!(" at line {} column {}", inner.line(), inner.column());
        let said = said.trim_end_matches(&at);
        match error.path().to_string() {
            // What a check says names its field itself.
            place if place == "." => match said.split_once(": ") {
                Some((field, problem)) if !field.contains(' ') => SongError::new(field, problem),
                _ => SongError::new("beat file", said),
            },
            place => SongError::new(place, said),
        }
    })?;
    let end = reader.end();
    end.map_err(|error| no_json(&format!("something follows the beat ({error})")))?;
    Ok(beat)
}
