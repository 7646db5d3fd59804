//! The options of an export and their texts: one list for the commands, their help and the editor.

use crate::export::ExportError;
use crate::midi::smf_write::Format;
use std::fmt;
use std::str::FromStr;

/// What is exported, and how.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// Which part of the song.
    pub what: What,
    /// How far strokes deviate from the grid, 0..=1. 0 is the exact grid; swing and grace notes remain, since they
    /// belong to the beat. `None` for the song's own.
    pub feel: Option<f32>,
    /// Another take of the song, 1..=999; `None` for the song's own.
    pub take: Option<u32>,
    /// The format of the MIDI file.
    pub format: Format,
    /// How notes are spread over tracks.
    pub tracks: Tracks,
}

/// A part of a song.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum What {
    /// All of it.
    Whole,
    /// From this bar to that, both included, counted from 1.
    Bars(u32, u32),
    /// A section by its label (see [`super::sections`]), its name where no other has it, or its
    /// number in the song, counted from 1.
    Section(String),
}

choice! {
    /// How the notes of a file are spread over its tracks.
    Tracks "tracks" {
        /// All on one.
        One = "one",
        /// One track for each limb.
        Limbs = "limbs",
        /// One track for each piece of the kit.
        Pieces = "pieces",
    }
}

/// An option on a command line, `--NAME VALUE`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CommandOption {
    /// Its name, without dashes.
    pub name: &'static str,
    /// The form of its value.
    pub value: &'static str,
    /// What it does.
    pub about: &'static str,
}

/// Every option of an export, in the order in which help lists them.
pub const OPTIONS: [CommandOption; 6] = [
    CommandOption {
        name: "bars",
        value: "A-B",
        about: "Only these bars, counted from 1; the whole song where left out",
    },
    CommandOption {
        name: "section",
        value: "NAME",
        about: "Only this section: its name or its number; \"Verse 2\" is the second of several named Verse",
    },
    CommandOption {
        name: "feel",
        value: "X",
        about: "How far strokes stray from the grid: 0, the exact grid, to 1; the song's where left out",
    },
    CommandOption {
        name: "take",
        value: "N",
        about: "Another take, 1 to 999; the song's where left out",
    },
    CommandOption {
        name: "format",
        value: "0|1",
        about: "Format of the MIDI file: 1, several tracks, or 0, a single one; 1 where left out",
    },
    CommandOption {
        name: "tracks",
        value: "one|limbs|pieces",
        about: "All drums on one track, or a track a limb, or a track a piece; one where left out",
    },
];

/// The names of the options, as a message lists them.
pub(super) fn names() -> String {
    OPTIONS.map(|option| option.name).join(", ")
}

impl Options {
    /// Sets an option of [`OPTIONS`] from its text.
    ///
    /// # Errors
    /// [`ExportError`] where the option is unknown or the text is invalid.
    pub fn set(&mut self, option: &str, text: &str) -> Result<(), ExportError> {
        let text = text.trim();
        match option {
            "bars" | "section" if self.what != What::Whole => return Err(ExportError::Both),
            "bars" => self.what = bars(text)?,
            "section" => self.what = What::Section(text.to_owned()),
            "feel" => {
                let feel = text.parse().ok();
                self.feel = Some(feel.ok_or_else(|| ExportError::Feel(text.to_owned()))?);
            }
            "take" => {
                let take = text.parse().ok();
                self.take = Some(take.ok_or_else(|| ExportError::Take(text.to_owned()))?);
            }
            "format" => {
                let format = Format::from_name(text);
                self.format = format.ok_or_else(|| unknown("format", text, Format::NAMES))?;
            }
            "tracks" => {
                let tracks = Tracks::from_name(text);
                self.tracks = tracks.ok_or_else(|| unknown("tracks", text, Tracks::NAMES))?;
            }
            _ => return Err(ExportError::Option(option.to_owned())),
        }
        Ok(())
    }

    /// Whether the options are valid in themselves, for any song. [`super::export`] checks them too.
    ///
    /// # Errors
    /// [`ExportError`] names the invalid option.
    pub fn check(&self) -> Result<(), ExportError> {
        if let Some(feel) = self.feel
            && !(0.0..=1.0).contains(&feel)
        {
            return Err(ExportError::Feel(feel.to_string()));
        }
        if let Some(take) = self.take
            && !(1..=999).contains(&take)
        {
            return Err(ExportError::Take(take.to_string()));
        }
        if self.format == Format::Single && self.tracks != Tracks::One {
            return Err(ExportError::SingleTrack(self.tracks));
        }
        Ok(())
    }
}

fn unknown(option: &'static str, text: &str, names: &'static [&'static str]) -> ExportError {
    let text = text.to_owned();
    ExportError::Choice {
        option,
        text,
        names,
    }
}

/// `5-8`, or `5` for a single bar. An en dash also counts, since text editors replace hyphens by it.
fn bars(text: &str) -> Result<What, ExportError> {
    let not_bars = || ExportError::NotBars(text.to_owned());
    let number = |text: &str| text.trim().parse::<u32>().map_err(|_| not_bars());
    let (from, to) = text.split_once(['-', '–']).unwrap_or((text, text));
    Ok(What::Bars(number(from)?, number(to)?))
}

impl fmt::Display for What {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Whole => write!(f, "whole song"),
            Self::Bars(from, to) if from == to => write!(f, "bar {from}"),
            Self::Bars(from, to) => write!(f, "bars {from}-{to}"),
            Self::Section(name) => write!(f, "section {name}"),
        }
    }
}

impl FromStr for What {
    type Err = ExportError;

    /// Parses the displayed form.
    fn from_str(text: &str) -> Result<Self, ExportError> {
        let text = text.trim();
        if let Some(name) = text.strip_prefix("section ") {
            return Ok(Self::Section(name.trim().to_owned()));
        }
        match text.strip_prefix("bars ").or(text.strip_prefix("bar ")) {
            Some(numbers) => bars(numbers),
            None if text == "whole song" => Ok(Self::Whole),
            None => bars(text),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_are_read_as_they_are_written() {
        for what in [
            What::Whole,
            What::Bars(5, 8),
            What::Bars(7, 7),
            What::Section("Verse 2".to_owned()),
        ] {
            assert_eq!(what.to_string().parse(), Ok(what));
        }
        assert_eq!(" 5 – 8 ".parse(), Ok(What::Bars(5, 8)));
        for text in ["", "5-", "-5", "five", "1-2-3", "5.5", "99999999999"] {
            let error = text.parse::<What>().unwrap_err();
            assert_eq!(error, ExportError::NotBars(text.to_owned()));
        }
    }

    #[test]
    fn every_option_can_be_set() {
        let values = ["5-8", "Verse", "0", "12", "0", "limbs"];
        for (option, value) in OPTIONS.iter().zip(values) {
            let mut options = Options::default();
            options.set(option.name, value).unwrap();
            assert_ne!(options, Options::default(), "{}", option.name);
        }
        let listed = |name: &str| OPTIONS.iter().find(|o| o.name == name).unwrap().value;
        assert_eq!(listed("tracks"), Tracks::NAMES.join("|"));
        assert_eq!(listed("format"), Format::NAMES.join("|"));
    }
}
