//! Who wants a stroke: what gives way to what.

/// Who wants a stroke, from least to most.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    /// The drummer.
    Own,
    /// The drummer, who catches the guitar's stroke.
    Caught,
    /// The band: it is a hit.
    Stab,
    /// The songwriter, who added or changed it.
    Asked,
}
