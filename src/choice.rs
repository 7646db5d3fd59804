//! Enumerations with a text for each value.

/// The interface of every choice.
pub trait Choice: Copy + PartialEq + Sized + 'static {
    /// The name of the kind of choice, for messages.
    const WHAT: &'static str;
    /// Every choice, in its frozen order.
    const CHOICES: &'static [Self];
    /// The text of each choice, in the same order.
    const TEXTS: &'static [&'static str];

    /// Its place in the frozen order.
    fn place(self) -> u8;

    /// The choice at a place; the last one for places beyond the end.
    fn at(place: usize) -> Self {
        Self::CHOICES[place.min(Self::CHOICES.len() - 1)]
    }

    /// The choice with this text, or with one that it had in earlier files.
    ///
    /// # Errors
    /// A sentence that lists the valid texts.
    fn parse(text: &str) -> Result<Self, String>;
}

/// The message for an unknown name.
pub(crate) fn unknown(what: &str, name: &str, names: &[&str]) -> String {
    let names = names.join(", ");
    format!("there is no {what} \"{name}\": use one of {names}")
}

/// Declares an enumeration whose order, and so whose place in saved projects, never changes. Files store its text.
macro_rules! choice {
    ($(#[$doc:meta])* $name:ident $what:literal { $($(#[$vdoc:meta])* $variant:ident = $text:literal $(| $earlier:literal)?),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        pub enum $name { $($(#[$vdoc])* $variant),+ }

        impl $name {
            /// Every choice, in its frozen order.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// The text of each choice, in the same order.
            pub const NAMES: &'static [&'static str] = &[$($text),+];

            /// The text shown, saved and parsed.
            pub fn name(self) -> &'static str {
                Self::NAMES[self as usize]
            }

            /// The choice with this text, or with one that it had in earlier files.
            pub fn from_name(text: &str) -> Option<Self> {
                let earlier: &[(&str, Self)] = &[$($(($earlier, Self::$variant),)?)+];
                let of_today = Self::NAMES.iter().position(|name| *name == text).map(|i| Self::ALL[i]);
                of_today.or_else(|| {
                    let was = earlier.iter().find(|(name, _)| *name == text);
                    was.map(|(_, choice)| *choice)
                })
            }
        }

        impl $crate::choice::Choice for $name {
            const WHAT: &'static str = $what;
            const CHOICES: &'static [Self] = Self::ALL;
            const TEXTS: &'static [&'static str] = Self::NAMES;

            fn place(self) -> u8 {
                self as u8
            }

            fn parse(text: &str) -> Result<Self, String> {
                let unknown = || $crate::choice::unknown(Self::WHAT, text, Self::TEXTS);
                Self::from_name(text).ok_or_else(unknown)
            }
        }

        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.serialize_str(self.name())
            }
        }

        impl<'de> serde::Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                let text = std::borrow::Cow::<'de, str>::deserialize(deserializer)?;
                <Self as $crate::choice::Choice>::parse(&text).map_err(serde::de::Error::custom)
            }
        }
    };
}
