//! The note map as a file: JSON with a version, pieces by their names. `docs/sampler.md` describes it.
//!
//! A plain object of pieces and keys, `{"kick": 36, "snare": [38, 40]}`, is read as well: the first key of a piece is
//! played, the others are read as it.

use super::hi_hat::{Controller, HiHat, MOST_LEAD_MS, MOST_OPENINGS};
use super::note_map::{Choke, Instead, Length, MOST_NOTES, NoteMap, Notes, PieceNotes, Turns};
use super::{Note, Piece, Response};
use crate::choice::unknown;
use serde::ser::SerializeMap as _;
use serde::{Deserialize, Serialize, Serializer};
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

/// A note as it is written: a key on the map's channel, or with a channel of its own.
#[derive(Serialize, Deserialize)]
#[serde(
    untagged,
    expecting = "write a key from 0 to 127, or {\"channel\": 10, \"key\": 36}"
)]
enum WrittenNote {
    Key(u64),
    OnChannel { channel: u64, key: u64 },
}

#[derive(Deserialize)]
#[serde(
    untagged,
    expecting = "write one key, as in 36, or several, as in [38, 40]"
)]
enum OneOrSeveral {
    One(WrittenNote),
    Several(Vec<WrittenNote>),
}

#[derive(Deserialize)]
#[serde(
    untagged,
    expecting = "write \"note-off\", \"aftertouch\" or {\"note\": 50}"
)]
enum WrittenChoke {
    Word(String),
    Note { note: WrittenNote },
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields, default)]
struct WrittenPiece {
    notes: Option<OneOrSeveral>,
    alternates: Option<String>,
    #[serde(rename = "also read")]
    also_read: Option<OneOrSeveral>,
    velocity: Response,
    length: Option<String>,
    choke: Option<WrittenChoke>,
    instead: Option<String>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct WrittenController {
    controller: u64,
    channel: u64,
    closed: u64,
    open: u64,
    #[serde(default)]
    lead_ms: u64,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct WrittenOpening {
    opening: u64,
    note: WrittenNote,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    #[expect(dead_code, reason = "looked at before the rest is read")]
    fourlimb_map: u64,
    #[serde(default)]
    name: String,
    #[serde(default = "ten")]
    channel: u64,
    pieces: BTreeMap<String, WrittenPiece>,
    #[serde(default)]
    openings: Vec<WrittenOpening>,
    hi_hat: Option<WrittenController>,
}

fn ten() -> u64 {
    10
}

/// Reads numbers and names, and says where one is out of range.
struct At<'a>(&'a str);

impl At<'_> {
    fn error(&self, what: impl Into<String>) -> MapError {
        MapError::Field(self.0.to_owned(), what.into())
    }

    fn number(&self, what: &str, number: u64, from: u8, to: u8) -> Result<u8, MapError> {
        let fits = u8::try_from(number)
            .ok()
            .filter(|n| (from..=to).contains(n));
        fits.ok_or_else(|| {
            self.error(format!(
                "{what} {number} is out of range: use {from} to {to}"
            ))
        })
    }

    fn channel(&self, number: u64) -> Result<u8, MapError> {
        Ok(self.number("channel", number, 1, 16)? - 1)
    }

    fn note(&self, written: &WrittenNote, channel: u8) -> Result<Note, MapError> {
        let (channel, key) = match written {
            WrittenNote::Key(key) => (channel, *key),
            WrittenNote::OnChannel { channel, key } => (self.channel(*channel)?, *key),
        };
        let key = self.number("key", key, 0, 127)?;
        Ok(Note { channel, key })
    }

    fn notes(&self, written: &OneOrSeveral, channel: u8) -> Result<Notes, MapError> {
        let written = match written {
            OneOrSeveral::One(one) => std::slice::from_ref(one),
            OneOrSeveral::Several(several) => several,
        };
        let mut notes = Notes::new();
        for one in written {
            let note = self.note(one, channel)?;
            if notes.try_push(note).is_err() {
                let most = format!("a piece has room for {MOST_NOTES} keys: leave some out");
                return Err(self.error(most));
            }
        }
        Ok(notes)
    }

    fn piece(&self, name: &str) -> Result<Piece, MapError> {
        let names = Piece::ALL.map(Piece::name);
        Piece::from_name(name).ok_or_else(|| self.error(unknown("piece", name, &names)))
    }

    fn choice<T>(
        &self,
        text: Option<&str>,
        otherwise: T,
        read: impl Fn(&str) -> Result<T, String>,
    ) -> Result<T, MapError> {
        text.map_or(Ok(otherwise), |text| {
            read(text).map_err(|what| self.error(what))
        })
    }

    fn choke(&self, written: Option<&WrittenChoke>, channel: u8) -> Result<Choke, MapError> {
        match written {
            None => Ok(Choke::NoteOff),
            Some(WrittenChoke::Note { note }) => Ok(Choke::Key(self.note(note, channel)?)),
            Some(WrittenChoke::Word(word)) if word == NOTE_OFF => Ok(Choke::NoteOff),
            Some(WrittenChoke::Word(word)) if word == AFTERTOUCH => Ok(Choke::Aftertouch),
            Some(WrittenChoke::Word(word)) => {
                Err(self.error(unknown("choke", word, &[NOTE_OFF, AFTERTOUCH])))
            }
        }
    }

    fn instead(&self, written: Option<&str>) -> Result<Instead, MapError> {
        match written {
            None | Some(NEAREST) => Ok(Instead::Nearest),
            Some(NOTHING) => Ok(Instead::Nothing),
            Some(name) => Ok(Instead::Piece(self.piece(name)?)),
        }
    }

    fn response(&self, response: Response) -> Result<Response, MapError> {
        if response == response.sane() {
            return Ok(response);
        }
        Err(self.error(
            "velocities go from 1 to 127, the floor not above the ceiling, and the bend from -100 to 100",
        ))
    }
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

/// Reads an object of pieces and keys.
fn keys_alone(value: &Value) -> Result<NamedMap, MapError> {
    let pieces: BTreeMap<String, OneOrSeveral> = Deserialize::deserialize(value)
        .map_err(|error: serde_json::Error| MapError::Json(error.to_string()))?;
    let mut map = NoteMap::silent();
    for (name, written) in &pieces {
        let at = At(name);
        let mut notes = at.notes(written, super::general_midi::PERCUSSION_CHANNEL)?;
        let also_read = notes.drain(notes.len().min(1)..).collect();
        *map.get_mut(at.piece(name)?) = PieceNotes {
            notes,
            also_read,
            ..PieceNotes::default()
        };
    }
    Ok(NamedMap {
        name: String::new(),
        map,
    })
}

impl Written {
    fn into_map(self) -> Result<NamedMap, MapError> {
        let channel = At("channel").channel(self.channel)?;
        if self.name.chars().count() > LONGEST_NAME {
            let what = format!("it is longer than {LONGEST_NAME} characters: shorten it");
            return Err(At("name").error(what));
        }
        let mut map = NoteMap::silent();
        for (name, written) in &self.pieces {
            let at = At(name);
            let notes = |written: &Option<OneOrSeveral>| match written {
                Some(written) => at.notes(written, channel),
                None => Ok(Notes::new()),
            };
            let (turns, length) = (written.alternates.as_deref(), written.length.as_deref());
            *map.get_mut(at.piece(name)?) = PieceNotes {
                notes: notes(&written.notes)?,
                turns: at.choice(turns, Turns::InTurn, crate::choice::Choice::parse)?,
                also_read: notes(&written.also_read)?,
                response: at.response(written.velocity)?,
                length: at.choice(length, Length::Rings, crate::choice::Choice::parse)?,
                choke: at.choke(written.choke.as_ref(), channel)?,
                instead: at.instead(written.instead.as_deref())?,
            };
        }
        let at = At("openings");
        let mut between = arrayvec::ArrayVec::new();
        for written in &self.openings {
            let opening = at.number("opening", written.opening, 0, 127)?;
            let note = at.note(&written.note, channel)?;
            if between.try_push((opening, note)).is_err() {
                let most = format!("there is room for {MOST_OPENINGS}: leave some out");
                return Err(at.error(most));
            }
        }
        map.hi_hat = match self.hi_hat {
            None => HiHat::Keys(between),
            Some(_) if !between.is_empty() => {
                return Err(at.error("the hi-hat has a controller too: leave one of them out"));
            }
            Some(written) => HiHat::Controller(written.into_controller()?),
        };
        Ok(NamedMap {
            name: self.name,
            map,
        })
    }
}

impl WrittenController {
    fn into_controller(self) -> Result<Controller, MapError> {
        let at = At("hi_hat");
        Ok(Controller {
            // The numbers from 120 on are channel mode messages (MIDI 1.0).
            number: at.number("controller", self.controller, 0, 119)?,
            channel: at.channel(self.channel)?,
            closed: at.number("value", self.closed, 0, 127)?,
            open: at.number("value", self.open, 0, 127)?,
            lead_ms: at.number("lead", self.lead_ms, 0, MOST_LEAD_MS)?,
        })
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
