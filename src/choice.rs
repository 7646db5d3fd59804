//! Small choices with a name each.

/// Declares a small choice whose order, and so whose place in saved projects, never changes.
macro_rules! choice {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident = $text:literal),+ $(,)? }) => {
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

            /// The choice with this text.
            pub fn from_name(text: &str) -> Option<Self> {
                Self::NAMES.iter().position(|name| *name == text).map(|i| Self::ALL[i])
            }
        }
    };
}
