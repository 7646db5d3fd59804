//! MIDI notes: a channel and a key, and the names of keys.

use std::fmt;

/// A MIDI channel (0..=15) and key (0..=127).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Note {
    /// 0..=15; programs count from 1.
    pub channel: u8,
    /// 0..=127.
    pub key: u8,
}

/// The names of the keys of an octave.
const NAMES: [&str; 12] = [
    "C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B",
];

/// The number that a program gives to the octave of middle C, key 60 of MIDI 1.0: programs say C3 or C4.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(into = "u8", try_from = "u8")]
pub enum MiddleC {
    /// Key 60 is C3.
    C3,
    /// Key 60 is C4.
    C4,
    /// Key 60 is C5.
    C5,
}

impl MiddleC {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::C3, Self::C4, Self::C5];

    /// The number of its octave.
    pub fn octave(self) -> u8 {
        match self {
            Self::C3 => 3,
            Self::C4 => 4,
            Self::C5 => 5,
        }
    }

    /// The name of a key, as in `C1` for 36 where middle C is C3.
    pub fn name(self, key: u8) -> String {
        let octave = i16::from(key / 12) - 5 + i16::from(self.octave());
        format!("{}{octave}", NAMES[usize::from(key % 12)])
    }

    /// The key of a number (`36`) or a name (`C1`, `f#2`, `Bb0`); `None` for what is neither, or beyond 0..=127.
    pub fn parse(self, text: &str) -> Option<u8> {
        let text = text.trim();
        if let Ok(key) = text.parse::<u8>() {
            return Some(key).filter(|key| *key < 128);
        }
        let mut letters = text.chars();
        let step: i16 = match letters.next()?.to_ascii_uppercase() {
            'C' => 0,
            'D' => 2,
            'E' => 4,
            'F' => 5,
            'G' => 7,
            'A' => 9,
            'B' => 11,
            _ => return None,
        };
        let rest = letters.as_str();
        let (by, octave) = match rest.chars().next()? {
            '#' | '♯' => (1, rest.trim_start_matches(['#', '♯'])),
            'b' | '♭' => (-1, rest.trim_start_matches(['b', '♭'])),
            _ => (0, rest),
        };
        let octave: i16 = octave
            .parse()
            .ok()
            .filter(|octave| (-9..=19).contains(octave))?;
        let key = (octave + 5 - i16::from(self.octave())) * 12 + step + by;
        u8::try_from(key).ok().filter(|key| *key < 128)
    }
}

impl From<MiddleC> for u8 {
    fn from(middle: MiddleC) -> Self {
        middle.octave()
    }
}

impl TryFrom<u8> for MiddleC {
    type Error = String;

    fn try_from(octave: u8) -> Result<Self, String> {
        let found = Self::ALL
            .into_iter()
            .find(|middle| middle.octave() == octave);
        found.ok_or_else(|| format!("middle C is no C{octave}: use 3, 4 or 5"))
    }
}

impl fmt::Display for Note {
    /// Key, and channel as programs count it.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "key {} on channel {}", self.key, self.channel + 1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// MIDI 1.0: key 60 is middle C. The lowest key of a piano, 21, is A0 and its highest, 108, C8 where middle C is C4
    /// (scientific pitch notation).
    #[test]
    fn keys_have_the_names_that_programs_give_them() {
        assert_eq!(MiddleC::C4.name(60), "C4");
        assert_eq!(MiddleC::C4.name(21), "A0");
        assert_eq!(MiddleC::C4.name(108), "C8");
        assert_eq!(MiddleC::C3.name(36), "C1");
        assert_eq!(MiddleC::C3.name(0), "C-2");
        assert_eq!(MiddleC::C3.name(127), "G8");
    }

    #[test]
    fn names_and_numbers_are_read_back() {
        for middle in MiddleC::ALL {
            for key in 0..128 {
                assert_eq!(middle.parse(&middle.name(key)), Some(key));
                assert_eq!(middle.parse(&key.to_string()), Some(key));
            }
        }
        assert_eq!(MiddleC::C3.parse(" bb1 "), Some(46));
        assert_eq!(MiddleC::C3.parse("f♯1"), Some(42));
        for text in ["", "H1", "C", "C99", "128", "-1", "C-9", "kick", "♯1"] {
            assert_eq!(MiddleC::C3.parse(text), None, "{text}");
        }
    }
}
