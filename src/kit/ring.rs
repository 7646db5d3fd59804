//! How long a stroke is left to ring.

/// How long a stroke is left to ring.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Ring {
    /// As it does by itself.
    #[default]
    Free,
    /// A hand grabs the cymbal after an eighth.
    Grabbed,
    /// It rings on: the last hit of an ending.
    On,
}
