//! What a host says of time.

/// What a host says about a block, in plain numbers; whatever it does not say is `None`.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct HostTime {
    /// Whether the transport rolls.
    pub playing: bool,
    /// Quarter notes a minute.
    pub bpm: Option<f64>,
    /// Position of the block's first sample, in quarter notes from the start of the song.
    pub pos_quarters: Option<f64>,
    /// The same in samples.
    pub pos_samples: Option<i64>,
    /// Numerator and denominator of the time signature.
    pub meter: Option<(i32, i32)>,
    /// Start of the bar that the position is in, in quarter notes.
    pub bar_quarters: Option<f64>,
    /// Start and end of the loop, where one is active, in quarter notes.
    pub loop_quarters: Option<(f64, f64)>,
}

impl HostTime {
    /// Whether a later report says the same of all but the position.
    pub fn is_repeated_by(&self, later: &Self) -> bool {
        self.playing == later.playing
            && self.bpm == later.bpm
            && self.meter == later.meter
            && self.bar_quarters == later.bar_quarters
            && self.loop_quarters == later.loop_quarters
    }
}
