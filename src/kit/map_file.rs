//! The note map as a file: JSON with a version, pieces by their names. `docs/sampler.md` describes it.
//!
//! A plain object of pieces and keys, `{"kick": 36, "snare": [38, 40]}`, is read as well: the first key of a piece is
//! played, the others are read as it.

mod read;

use super::hi_hat::HiHat;
use super::note_map::{Choke, Instead, NoteMap, Notes, PieceNotes};
use super::{Note, Piece};
use read::{Written, WrittenController, WrittenNote, WrittenOpening, keys_alone};
use serde::ser::SerializeMap as _;
use serde::{Serialize, Serializer};
use serde_json::Value;
use std::collections::BTreeMap;

/// The version of the file that this program writes, and the latest that it reads.
pub const VERSION: u64 = 1;

/// The largest file that is read, in bytes. Judged: a full map has under 20,000.
pub const MOST_BYTES: usize = 1 << 20;

/// The longest name of a map, in characters. Judged.
pub const LONGEST_NAME: usize = 80;

/// A map with the name of what it is for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NamedMap {
    /// Its name, for people; may be empty.
    pub name: String,
    /// The map.
    pub map: NoteMap,
}

impl NamedMap {
    /// A name that is short enough for a map.
    pub fn short(name: &str) -> String {
        name.trim().chars().take(LONGEST_NAME).collect()
    }

    /// The same, named after its file where it has no name.
    #[must_use]
    pub fn or_named(self, file: &str) -> Self {
        if self.name.trim().is_empty() {
            let name = Self::short(file);
            Self { name, ..self }
        } else {
            self
        }
    }
}

impl Default for NamedMap {
    /// General MIDI.
    fn default() -> Self {
        Self {
            name: "General MIDI 2".to_owned(),
            map: NoteMap::default(),
        }
    }
}

/// A file that is no map. Each message says what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum MapError {
    /// Larger than [`MOST_BYTES`].
    #[error("it is larger than any map: choose the JSON file of a map")]
    TooLarge,
    /// Not JSON, or not of the form of a map.
    #[error(
        "it is not a map of pieces to keys ({0}): write it as {{\"kick\": 36, \"snare\": [38, 40]}}, or save it \
         from Fourlimb"
    )]
    Json(String),
    /// Written by a newer program.
    #[error(
        "a newer Fourlimb wrote it (version {0}, and this one reads up to {VERSION}): update Fourlimb"
    )]
    Newer(String),
    /// Something in it makes no sense: where, and what.
    #[error("{0}: {1}")]
    Field(String, String),
}

const NOTE_OFF: &str = "note-off";
const AFTERTOUCH: &str = "aftertouch";
const NEAREST: &str = "nearest";
const NOTHING: &str = "nothing";

impl NamedMap {
    /// Reads a file.
    ///
    /// # Errors
    /// [`MapError`] says what is wrong and how to write it.
    pub fn parse(json: &str) -> Result<Self, MapError> {
        if json.len() > MOST_BYTES {
            return Err(MapError::TooLarge);
        }
        let value: Value =
            serde_json::from_str(json).map_err(|error| MapError::Json(error.to_string()))?;
        Self::read(&value)
    }

    /// Reads the value of a file, as a project keeps it.
    ///
    /// # Errors
    /// As [`NamedMap::parse`].
    pub fn read(value: &Value) -> Result<Self, MapError> {
        match value.get("fourlimb_map") {
            None => keys_alone(value),
            Some(version) if version.as_u64().is_some_and(|v| (1..=VERSION).contains(&v)) => {
                let written: Written =
                    serde_path_to_error::deserialize(value).map_err(|error| {
                        MapError::Field(error.path().to_string(), error.inner().to_string())
                    })?;
                written.into_map()
            }
            Some(version) => Err(MapError::Newer(version.to_string())),
        }
    }

    /// Its file.
    pub fn to_text(&self) -> String {
        // Names and numbers alone: nothing in a map can't be said in JSON.
        let mut text = serde_json::to_string_pretty(self).unwrap_or_default();
        text.push('\n');
        text
    }
}

/// Writes notes: keys alone on the map's channel.
fn written(note: Note, channel: u8) -> WrittenNote {
    let key = note.key.into();
    if note.channel == channel {
        WrittenNote::Key(key)
    } else {
        let channel = u64::from(note.channel) + 1;
        WrittenNote::OnChannel { channel, key }
    }
}

/// A piece of a map whose notes are on a channel unless they say otherwise.
struct OnChannel<'a>(&'a PieceNotes, u8);

impl Serialize for OnChannel<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let Self(piece, channel) = self;
        let plain = PieceNotes::default();
        let notes = |notes: &Notes| -> Vec<_> {
            notes.iter().map(|note| written(*note, *channel)).collect()
        };
        let mut map = serializer.serialize_map(None)?;
        if !piece.notes.is_empty() {
            map.serialize_entry("notes", &notes(&piece.notes))?;
        }
        if piece.turns != plain.turns {
            map.serialize_entry("alternates", piece.turns.name())?;
        }
        if !piece.also_read.is_empty() {
            map.serialize_entry("also read", &notes(&piece.also_read))?;
        }
        if piece.response != plain.response {
            map.serialize_entry("velocity", &piece.response)?;
        }
        if piece.length != plain.length {
            map.serialize_entry("length", piece.length.name())?;
        }
        match piece.choke {
            Choke::NoteOff => {}
            Choke::Aftertouch => map.serialize_entry("choke", AFTERTOUCH)?,
            Choke::Key(note) => {
                let note = BTreeMap::from([("note", written(note, *channel))]);
                map.serialize_entry("choke", &note)?;
            }
        }
        match piece.instead {
            Instead::Nearest => {}
            Instead::Nothing => map.serialize_entry("instead", NOTHING)?,
            Instead::Piece(other) => map.serialize_entry("instead", other.name())?,
        }
        map.end()
    }
}

/// The pieces of a map, in the order of the kit; those that say nothing are left out.
struct Pieces<'a>(&'a NoteMap, u8);

impl Serialize for Pieces<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        for piece in Piece::ALL {
            let notes = self.0.get(piece);
            if *notes != PieceNotes::default() {
                map.serialize_entry(piece.name(), &OnChannel(notes, self.1))?;
            }
        }
        map.end()
    }
}

impl Serialize for NamedMap {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let first = self.map.played().next();
        let channel = first.map_or(super::general_midi::PERCUSSION_CHANNEL, |(_, note)| {
            note.channel
        });
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("fourlimb_map", &VERSION)?;
        map.serialize_entry("name", &self.name)?;
        map.serialize_entry("channel", &(channel + 1))?;
        map.serialize_entry("pieces", &Pieces(&self.map, channel))?;
        match &self.map.hi_hat {
            HiHat::Keys(between) if between.is_empty() => {}
            HiHat::Keys(between) => {
                let openings: Vec<_> = between
                    .iter()
                    .map(|(opening, note)| WrittenOpening {
                        opening: (*opening).into(),
                        note: written(*note, channel),
                    })
                    .collect();
                map.serialize_entry("openings", &openings)?;
            }
            HiHat::Controller(controller) => {
                let controller = WrittenController {
                    controller: controller.number.into(),
                    channel: u64::from(controller.channel) + 1,
                    closed: controller.closed.into(),
                    open: controller.open.into(),
                    lead_ms: controller.lead_ms.into(),
                };
                map.serialize_entry("hi_hat", &controller)?;
            }
        }
        map.end()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plain_object_of_keys_is_a_map() {
        let read = NamedMap::parse(r#"{"kick": 24, "snare": [38, 40]}"#).unwrap();
        let keys = |notes: &Notes| notes.iter().map(|note| note.key).collect::<Vec<_>>();
        assert_eq!(keys(&read.map.get(Piece::Kick).notes), [24]);
        let snare = read.map.get(Piece::Snare);
        assert_eq!(
            (keys(&snare.notes), keys(&snare.also_read)),
            (vec![38], vec![40])
        );
        assert!(!read.map.is_sent(Piece::Ride));
    }

    #[test]
    fn mistakes_are_named() {
        for (json, word) in [
            ("[]", "write it as"),
            ("{", "write it as"),
            (r#"{"kick": "C1"}"#, "write one key"),
            (r#"{"cowbell": 56}"#, "hi-hat closed"),
            (r#"{"kick": 128}"#, "use 0 to 127"),
            (r#"{"kick": [1,2,3,4,5,6,7,8,9]}"#, "room for 8"),
            (r#"{"fourlimb_map": 2, "pieces": {}}"#, "update Fourlimb"),
            (r#"{"fourlimb_map": "x", "pieces": {}}"#, "update Fourlimb"),
            (r#"{"fourlimb_map": 1}"#, "pieces"),
            (
                r#"{"fourlimb_map": 1, "pieces": {}, "channel": 17}"#,
                "use 1 to 16",
            ),
            (
                r#"{"fourlimb_map": 1, "pieces": {"ride": {"keys": 51}}}"#,
                "unknown field",
            ),
            (
                r#"{"fourlimb_map": 1, "pieces": {"ride": {"length": "long"}}}"#,
                "as it rings",
            ),
            (
                r#"{"fourlimb_map": 1, "pieces": {"ride": {"choke": "hand"}}}"#,
                "aftertouch",
            ),
            (
                r#"{"fourlimb_map": 1, "pieces": {"ride": {"instead": "gong"}}}"#,
                "no piece",
            ),
            (
                r#"{"fourlimb_map": 1, "pieces": {"ride": {"velocity": {"floor": 0}}}}"#,
                "1 to 127",
            ),
            (
                r#"{"fourlimb_map": 1, "pieces": {}, "hi_hat": {"controller": 4, "channel": 10, "closed": 128, "open": 0}}"#,
                "use 0 to 127",
            ),
            (
                r#"{"fourlimb_map": 1, "pieces": {}, "openings": [{"opening": 9, "note": 1}], "hi_hat": {"controller": 4, "channel": 10, "closed": 127, "open": 0}}"#,
                "leave one of them out",
            ),
        ] {
            let error = NamedMap::parse(json).unwrap_err().to_string();
            assert!(error.contains(word), "{json}: {error}");
        }
        let huge = " ".repeat(MOST_BYTES + 1);
        assert_eq!(NamedMap::parse(&huge), Err(MapError::TooLarge));
    }
}
