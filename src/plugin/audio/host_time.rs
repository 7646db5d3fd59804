//! Converts the framework's transport to the clock's [`HostTime`].

use crate::transport::HostTime;
use nice_plug::prelude::Transport;

/// The host's time for a block. Leaves out fields that the framework could only guess.
pub fn host_time(transport: &Transport) -> HostTime {
    HostTime {
        playing: transport.playing,
        bpm: transport.tempo,
        // The framework derives it from seconds or samples and the tempo where the host gives no beats.
        pos_quarters: transport.pos_beats(),
        pos_samples: transport.pos_samples,
        meter: transport
            .time_sig_numerator
            .zip(transport.time_sig_denominator),
        bar_quarters: transport.bar_start_pos_beats,
        loop_quarters: transport.loop_range_beats(),
    }
}
