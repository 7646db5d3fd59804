//! The framework's transport in the clock's words.

use crate::transport::HostTime;
use nice_plug::prelude::Transport;

/// What the host says about a block. Fields that the framework could only guess are left out.
pub fn host_time(transport: &Transport) -> HostTime {
    HostTime {
        playing: transport.playing,
        bpm: transport.tempo,
        // Derived from seconds or samples and the tempo where the host gives no beats.
        pos_quarters: transport.pos_beats(),
        pos_samples: transport.pos_samples,
        meter: transport
            .time_sig_numerator
            .zip(transport.time_sig_denominator),
        bar_quarters: transport.bar_start_pos_beats,
        loop_quarters: transport.loop_range_beats(),
    }
}
