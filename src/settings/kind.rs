//! What kinds of settings there are: their ranges and their texts.

use super::Style;
use crate::choice::Choice;

/// A setting's range, and how its value is written and read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    /// A share, written in percent.
    Percent {
        /// The least, as a share.
        min: f32,
        /// The greatest.
        max: f32,
        /// How many digits after the point.
        digits: u8,
    },
    /// A level in dB.
    Decibels {
        /// The least.
        min: f32,
        /// The greatest.
        max: f32,
    },
    /// One of a list.
    Choice {
        /// The text of each, in order.
        texts: &'static [&'static str],
    },
    /// A slot of the vocabulary of beats.
    Slot {
        /// How many there are.
        slots: u8,
    },
    /// Off or on.
    Switch {
        /// Both texts.
        texts: [&'static str; 2],
    },
    /// A whole number.
    Whole {
        /// The least.
        min: u16,
        /// The greatest.
        max: u16,
    },
}

/// The nearest whole number that a place in a list, a take or a slot can have.
pub fn whole(value: f32) -> u16 {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let whole = value.round().clamp(0.0, f32::from(u16::MAX)) as u16;
    whole
}

impl Kind {
    /// The least and the greatest value.
    pub fn range(self) -> (f32, f32) {
        let places = |count: usize| f32::from(u16::try_from(count - 1).unwrap_or(u16::MAX));
        match self {
            Self::Percent { min, max, .. } | Self::Decibels { min, max } => (min, max),
            Self::Choice { texts } => (0.0, places(texts.len())),
            Self::Slot { slots } => (0.0, places(usize::from(slots))),
            Self::Switch { .. } => (0.0, 1.0),
            Self::Whole { min, max } => (f32::from(min), f32::from(max)),
        }
    }

    /// Whether its values lie close together, so that ramps make sense.
    pub fn is_level(self) -> bool {
        matches!(self, Self::Percent { .. } | Self::Decibels { .. })
    }

    /// The nearest value that it can have.
    pub fn nearest(self, value: f32) -> f32 {
        let (min, max) = self.range();
        let value = value.clamp(min, max);
        if self.is_level() {
            value
        } else {
            value.round()
        }
    }

    /// What follows the number.
    pub fn unit(self) -> &'static str {
        match self {
            Self::Percent { .. } => "%",
            Self::Decibels { .. } => " dB",
            _ => "",
        }
    }

    /// What a value is multiplied by to be read aloud: percent, or the value as it is.
    pub fn scale(self) -> f64 {
        if matches!(self, Self::Percent { .. }) {
            100.0
        } else {
            1.0
        }
    }

    /// The texts of a choice among few, in order; empty for all others.
    pub fn texts(self) -> &'static [&'static str] {
        match self {
            Self::Choice { texts } => texts,
            _ => &[],
        }
    }

    /// A value without its unit.
    pub fn number(self, value: f32) -> String {
        match self {
            Self::Percent { digits: 0, .. } => format!("{:.0}", value * 100.0),
            // Triplets need a decimal; others would carry a zero.
            Self::Percent { .. } => format!("{}", (value * 1000.0).round() / 10.0),
            Self::Decibels { .. } => format!("{value:.1}"),
            Self::Choice { texts } => {
                texts[usize::from(whole(value)).min(texts.len() - 1)].to_owned()
            }
            Self::Slot { slots } => {
                let slot = u8::try_from(whole(value)).unwrap_or(u8::MAX);
                Style::slot_text(slot.min(slots - 1))
            }
            Self::Switch { texts } => texts[usize::from(value >= 0.5)].to_owned(),
            Self::Whole { .. } => whole(value).to_string(),
        }
    }

    /// A value as people read it, unit included.
    pub fn text(self, value: f32) -> String {
        self.number(value) + self.unit()
    }

    /// The value that a text stands for, with or without its unit; upper and lower case are the same. `None`
    /// for what makes no sense.
    pub fn parse(self, text: &str) -> Option<f32> {
        let text = text.trim();
        let number = || {
            let number = text.trim_end_matches(self.unit().trim()).trim_end();
            let number: f32 = number.parse().ok()?;
            number.is_finite().then_some(number)
        };
        let place = |texts: &[&str]| {
            let is = |name: &&str| name.eq_ignore_ascii_case(text);
            let place = texts.iter().position(is)?;
            Some(f32::from(u16::try_from(place).ok()?))
        };
        match self {
            Self::Percent { .. } => Some(number()? / 100.0),
            Self::Decibels { .. } => number(),
            Self::Whole { .. } => number().filter(|number| number.fract() == 0.0),
            Self::Choice { texts } => place(texts),
            Self::Switch { texts } => place(&texts),
            Self::Slot { .. } => Style::slot_from_text(text).map(f32::from),
        }
    }
}

/// A value of a setting, as a number.
pub(super) trait SettingValue: Sized {
    /// The texts of a choice, in order.
    const TEXTS: &'static [&'static str] = &[];

    fn number(self) -> f32;
    fn from_number(value: f32) -> Self;
}

impl SettingValue for f32 {
    fn number(self) -> f32 {
        self
    }

    fn from_number(value: f32) -> Self {
        value
    }
}

impl SettingValue for bool {
    fn number(self) -> f32 {
        f32::from(u8::from(self))
    }

    fn from_number(value: f32) -> Self {
        value >= 0.5
    }
}

impl SettingValue for u8 {
    fn number(self) -> f32 {
        f32::from(self)
    }

    fn from_number(value: f32) -> Self {
        Self::try_from(whole(value)).unwrap_or(Self::MAX)
    }
}

impl SettingValue for u32 {
    fn number(self) -> f32 {
        self as f32
    }

    fn from_number(value: f32) -> Self {
        Self::from(whole(value))
    }
}

impl<T: Choice> SettingValue for T {
    const TEXTS: &'static [&'static str] = T::TEXTS;

    fn number(self) -> f32 {
        f32::from(self.place())
    }

    fn from_number(value: f32) -> Self {
        T::at(usize::from(whole(value)))
    }
}
