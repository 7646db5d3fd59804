//! The piece of each MIDI key: the inverse of a note map.
//!
//! A note map has one key for each piece. Drum samplers and players use several, so reading needs a map of its own.

use super::Piece;
use std::collections::BTreeMap;

/// Keys to pieces. Some keys have no piece.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeyMap {
    pieces: [Option<Piece>; 128],
}

/// A map that can't be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum KeyMapError {
    /// Not JSON of the expected form.
    #[error(
        "it is not a map of pieces to keys ({0}): write it as {{\"kick\": 36, \"snare\": [38, 40]}}"
    )]
    Json(String),
    /// No piece has that name.
    #[error("there is no piece \"{0}\": the pieces are {all}", all = names())]
    Piece(String),
    /// A number that is not a MIDI key.
    #[error("\"{0}\" has the key {1}: MIDI keys go from 0 to 127")]
    Key(String, u64),
    /// Two pieces claim one key.
    #[error("key {0} is given to \"{1}\" and to \"{2}\": leave it with one of them")]
    Twice(u8, &'static str, &'static str),
}

fn names() -> String {
    Piece::ALL.map(Piece::name).join(", ")
}

#[derive(serde::Deserialize)]
#[serde(untagged)]
enum Keys {
    One(u64),
    Several(Vec<u64>),
}

impl KeyMap {
    /// The percussion keys of General MIDI (see [`super::general_midi`]) that are pieces of a kit. Its six toms map
    /// to four: 41 and 43 to the floor toms, 45 and 47 to the large rack tom, 48 and 50 to the small one. The two
    /// ride keys are one cymbal.
    pub const GENERAL_MIDI: Self = {
        let mut pieces = [None; 128];
        pieces[31] = Some(Piece::Sticks); // Sticks (Level 2)
        pieces[35] = Some(Piece::Kick); // Acoustic Bass Drum
        pieces[36] = Some(Piece::Kick); // Bass Drum 1
        pieces[37] = Some(Piece::SideStick);
        pieces[38] = Some(Piece::Snare); // Acoustic Snare
        pieces[40] = Some(Piece::Snare); // Electric Snare
        pieces[41] = Some(Piece::FloorLow); // Low Floor Tom
        pieces[42] = Some(Piece::HiHatClosed);
        pieces[43] = Some(Piece::FloorHigh); // High Floor Tom
        pieces[44] = Some(Piece::HiHatFoot); // Pedal Hi-Hat
        pieces[45] = Some(Piece::RackLow); // Low Tom
        pieces[46] = Some(Piece::HiHatOpen);
        pieces[47] = Some(Piece::RackLow); // Low-Mid Tom
        pieces[48] = Some(Piece::RackHigh); // Hi-Mid Tom
        pieces[49] = Some(Piece::CrashLeft); // Crash Cymbal 1
        pieces[50] = Some(Piece::RackHigh); // High Tom
        pieces[51] = Some(Piece::Ride); // Ride Cymbal 1
        pieces[52] = Some(Piece::China); // Chinese Cymbal
        pieces[53] = Some(Piece::RideBell);
        pieces[55] = Some(Piece::Splash);
        pieces[57] = Some(Piece::CrashRight); // Crash Cymbal 2
        pieces[59] = Some(Piece::Ride); // Ride Cymbal 2
        Self { pieces }
    };

    /// Reads a map from JSON: `{"kick": 36, "snare": [38, 40]}`, pieces by their names.
    ///
    /// # Errors
    /// [`KeyMapError`] says what is wrong and how to write it.
    pub fn from_json(json: &str) -> Result<Self, KeyMapError> {
        let named: BTreeMap<String, Keys> =
            serde_json::from_str(json).map_err(|error| KeyMapError::Json(error.to_string()))?;
        let mut pieces = [None; 128];
        for (name, keys) in named {
            let piece = Piece::from_name(&name).ok_or_else(|| KeyMapError::Piece(name.clone()))?;
            let keys = match keys {
                Keys::One(key) => vec![key],
                Keys::Several(keys) => keys,
            };
            for number in keys {
                let key = u8::try_from(number).ok().filter(|key| *key < 128);
                let key = key.ok_or_else(|| KeyMapError::Key(name.clone(), number))?;
                let place = &mut pieces[usize::from(key)];
                if let Some(other) = place.replace(piece).filter(|other| *other != piece) {
                    return Err(KeyMapError::Twice(key, other.name(), piece.name()));
                }
            }
        }
        Ok(Self { pieces })
    }

    /// The piece of a key.
    pub fn piece(&self, key: u8) -> Option<Piece> {
        self.pieces.get(usize::from(key)).copied().flatten()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kit::NoteMap;

    #[test]
    fn what_the_note_map_writes_is_read_back() {
        for piece in Piece::ALL {
            let read = KeyMap::GENERAL_MIDI.piece(NoteMap::GENERAL_MIDI.note(piece).key);
            // General MIDI has one key for loose and open.
            let expected = match piece {
                Piece::HiHatLoose => Piece::HiHatOpen,
                other => other,
            };
            assert_eq!(read, Some(expected));
        }
    }

    #[test]
    fn maps_are_read_and_mistakes_named() {
        let map = KeyMap::from_json(r#"{"kick": 24, "snare": [38, 40]}"#).unwrap();
        assert_eq!(map.piece(24), Some(Piece::Kick));
        assert_eq!(map.piece(40), Some(Piece::Snare));
        assert_eq!(map.piece(36), None);
        for (json, word) in [
            ("[]", "write it as"),
            (r#"{"kick": "C1"}"#, "write it as"),
            (r#"{"cowbell": 56}"#, "hi-hat closed"),
            (r#"{"kick": 128}"#, "0 to 127"),
            (r#"{"kick": 36, "snare": 36}"#, "key 36"),
        ] {
            let error = KeyMap::from_json(json).unwrap_err().to_string();
            assert!(error.contains(word), "{error}");
        }
    }
}
