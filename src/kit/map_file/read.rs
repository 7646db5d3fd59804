//! Reads a map from its file.

use super::{AFTERTOUCH, LONGEST_NAME, MapError, NEAREST, NOTE_OFF, NOTHING, NamedMap};
use crate::choice::unknown;
use crate::kit::general_midi::PERCUSSION_CHANNEL;
use crate::kit::hi_hat::{Controller, HiHat, MOST_LEAD_MS, MOST_OPENINGS};
use crate::kit::note_map::{Choke, Instead, Length, MOST_NOTES, NoteMap, Notes, PieceNotes, Turns};
use crate::kit::{Note, Piece, Response};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::BTreeMap;

/// A note as it is written: a key on the map's channel, or with a channel of its own.
#[derive(Serialize, Deserialize)]
#[serde(
    untagged,
    expecting = "write a key from 0 to 127, or {\"channel\": 10, \"key\": 36}"
)]
pub(super) enum WrittenNote {
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
pub(super) struct WrittenController {
    pub(super) controller: u64,
    pub(super) channel: u64,
    pub(super) closed: u64,
    pub(super) open: u64,
    #[serde(default)]
    pub(super) lead_ms: u64,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct WrittenOpening {
    pub(super) opening: u64,
    pub(super) note: WrittenNote,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Written {
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

/// Reads an object of pieces and keys.
pub(super) fn keys_alone(value: &Value) -> Result<NamedMap, MapError> {
    let pieces: BTreeMap<String, OneOrSeveral> = Deserialize::deserialize(value)
        .map_err(|error: serde_json::Error| MapError::Json(error.to_string()))?;
    let mut map = NoteMap::silent();
    for (name, written) in &pieces {
        let at = At(name);
        let mut notes = at.notes(written, PERCUSSION_CHANNEL)?;
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
    pub(super) fn into_map(self) -> Result<NamedMap, MapError> {
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
