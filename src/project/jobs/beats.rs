//! The jobs of own beats.

use super::Outcome;
use crate::export::taught::{from_chart, from_midi};
use crate::files::{self, Existing};
use crate::groove::own::OwnBeat;
use crate::groove::own::learn::Wish;
use crate::kit::NoteMap;
use crate::song::own_beat;
use std::path::Path;

/// Longest name that a beat gets of its file, in letters.
const NAME: usize = 40;

/// Reads a beat: from a beat file, from a region in a note map, or from a text chart. Returns it with what was understood.
/// The message names the file.
pub(super) fn load(path: &Path, map: &NoteMap) -> Result<(Box<OwnBeat>, String), String> {
    let bytes = files::read_small(path, "beat").map_err(|error| error.to_string())?;
    let of_file = |why: &str| format!("{}: {why}", path.display());
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let wish = Wish {
        name: stem.chars().take(NAME).collect(),
        cycle: None,
    };
    let ending = path
        .extension()
        .unwrap_or_default()
        .to_string_lossy()
        .to_lowercase();
    let text = || {
        String::from_utf8(bytes.clone())
            .map_err(|_| of_file("it is no text in UTF-8: save it as plain text"))
    };
    let taught = match &*ending {
        "json" => {
            let beat = own_beat::parse(&text()?).map_err(|error| of_file(&error.to_string()))?;
            return Ok((Box::new(beat), String::new()));
        }
        "txt" => from_chart(&text()?, None, &wish),
        _ => from_midi(&bytes, map, None, &wish),
    };
    let taught = taught.map_err(|error| of_file(&error.to_string()))?;
    let said = taught.to_string();
    Ok((Box::new(taught.learned.beat), said))
}

/// Writes a beat as a file to share.
pub(super) fn save(path: &Path, beat: &OwnBeat, existing: Existing) -> Outcome {
    let written = files::write(path, own_beat::to_text(beat).as_bytes(), existing);
    Outcome::BeatWritten(match written {
        Ok(()) => Ok(format!("\"{}\" written to {}", beat.name, path.display())),
        Err(error) => Err(error.to_string()),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A beat goes out as a file and comes back; a chart that is typed becomes one; what is none is named.
    #[test]
    fn beats_go_out_and_come_in() {
        let folder = tempfile::tempdir().unwrap();
        let chart = folder.path().join("limping.txt");
        let typed = "hi-hat |x-x-|x-x-|x-x-|x-x-|\nsnare  |----|O---|----|O---|\nkick   |o--o|----|--o-|----|\n";
        std::fs::write(&chart, typed).unwrap();
        let map = NoteMap::default();
        let (beat, _) = load(&chart, &map).unwrap();
        assert_eq!(beat.name, "limping");
        let file = folder.path().join("beat.json");
        let Outcome::BeatWritten(Ok(said)) = save(&file, &beat, Existing::Keep) else {
            panic!("it is not written");
        };
        assert!(said.contains("beat.json"), "{said}");
        assert_eq!(load(&file, &map).unwrap(), (beat.clone(), String::new()));
        assert!(matches!(
            save(&file, &beat, Existing::Keep),
            Outcome::BeatWritten(Err(_))
        ));
        std::fs::write(&file, "{}").unwrap();
        let why = load(&file, &map).unwrap_err();
        assert!(
            why.contains("beat.json") && why.contains("fourlimb_beat"),
            "{why}"
        );
    }
}
