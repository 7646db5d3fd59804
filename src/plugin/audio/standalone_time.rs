//! The transport of the stand-alone: its own, or JACK's with corrections of the framework's errors.

use crate::bridge::standalone_transport::{StandaloneTransport, Wishes};
use crate::transport::HostTime;
use nice_plug::prelude::Transport;
use std::sync::Arc;

/// The stand-alone's own time. Audio thread; no allocation.
pub struct StandaloneTime {
    transport: Arc<StandaloneTransport>,
    /// Position of the next block's first sample, in quarter notes.
    at: f64,
    rolling: bool,
    rewinds: u32,
    meter: (u32, u32),
}

impl StandaloneTime {
    /// At the start of the song. Main thread.
    pub fn new(transport: Arc<StandaloneTransport>) -> Self {
        Self {
            at: 0.0,
            rolling: false,
            rewinds: transport.rewinds(),
            meter: transport.wishes().meter,
            transport,
        }
    }

    /// The time of a block of `frames` samples, in place of the framework's.
    pub fn block(&mut self, framework: &Transport, frames: u32) -> HostTime {
        let wishes = self.transport.wishes();
        if wishes.follow {
            self.rolling = false;
            return jack(framework);
        }
        self.roll(&wishes, f64::from(framework.sample_rate), frames)
    }

    fn roll(&mut self, wishes: &Wishes, sample_rate: f64, frames: u32) -> HostTime {
        let bar = f64::from(wishes.meter.0) * 4.0 / f64::from(wishes.meter.1);
        let (first, last) = wishes.loop_bars;
        let (start, end) = (f64::from(first - 1) * bar, f64::from(last) * bar);
        let rewinds = self.transport.rewinds();
        if rewinds != self.rewinds || wishes.meter != self.meter {
            // Bars are counted in one meter from the start, so a change of meter restarts the song.
            self.rewinds = rewinds;
            self.meter = wishes.meter;
            self.at = if wishes.looping { start } else { 0.0 };
        }
        if wishes.playing && !self.rolling {
            // Moves back to the bar line, since nobody practises from mid-bar.
            self.at = (self.at / bar).floor() * bar;
        }
        self.rolling = wishes.playing;
        if wishes.looping && !(start..end).contains(&self.at) {
            self.at = start;
        }
        let time = HostTime {
            playing: wishes.playing,
            bpm: Some(wishes.bpm),
            pos_quarters: Some(self.at),
            pos_samples: None,
            meter: Some((wishes.meter.0.cast_signed(), wishes.meter.1.cast_signed())),
            bar_quarters: Some((self.at / bar).floor() * bar),
            loop_quarters: wishes.looping.then_some((start, end)),
        };
        if wishes.playing {
            self.at += f64::from(frames) * wishes.bpm / 60.0 / sample_rate;
            if wishes.looping && self.at >= end {
                self.at = start + (self.at - start).rem_euclid(end - start);
            }
        }
        time
    }
}

/// JACK's transport. The framework (0.4.2, `standalone/backend/jack.rs`) counts one bar and one count too many,
/// takes every bar as four quarters, and takes a count's ticks as a quarter's. Where counts are quarters, this
/// function corrects that. Otherwise, and without a timebase master, it computes the position from the frame and
/// the tempo.
fn jack(framework: &Transport) -> HostTime {
    let meter = framework
        .time_sig_numerator
        .zip(framework.time_sig_denominator)
        .filter(|(counts, unit)| *counts > 0 && *unit > 0);
    let bpm = framework.tempo.filter(|bpm| *bpm > 0.0);
    let counted = match (framework.bar_number, framework.pos_beats(), meter) {
        (Some(number), Some(said), Some((counts, 4))) => {
            let (number, counts) = (f64::from(number), f64::from(counts));
            Some((number - 1.0) * counts + said - number * 4.0 - 1.0)
        }
        _ => None,
    };
    let by_frames = || {
        let seconds = framework.pos_samples? as f64 / f64::from(framework.sample_rate);
        Some(seconds * bpm? / 60.0)
    };
    HostTime {
        playing: framework.playing,
        bpm,
        pos_quarters: counted.or_else(by_frames),
        pos_samples: None,
        meter,
        bar_quarters: None,
        loop_quarters: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bridge::standalone_transport::Devices;

    fn own(wishes: Wishes) -> (Arc<StandaloneTransport>, StandaloneTime) {
        let transport = Arc::new(StandaloneTransport::new(
            wishes,
            Devices::default(),
            Vec::new(),
        ));
        (transport.clone(), StandaloneTime::new(transport))
    }

    #[test]
    fn it_rolls_stops_and_goes_on_at_the_bar() {
        let rolls = Wishes {
            playing: true,
            ..Wishes::default()
        };
        let (transport, mut time) = own(rolls);
        let mut block = || time.roll(&transport.wishes(), 48_000.0, 24_000);
        // At 120 BPM a quarter has 24,000 samples.
        for i in 0..6 {
            let now = block();
            assert!(now.playing);
            assert_eq!(now.pos_quarters, Some(f64::from(i)));
            assert_eq!(now.bar_quarters, Some(if i < 4 { 0.0 } else { 4.0 }));
        }
        transport.set(Wishes::default());
        assert!(!block().playing);
        assert_eq!(block().pos_quarters, Some(6.0), "it stands");
        transport.set(rolls);
        assert_eq!(block().pos_quarters, Some(4.0), "the bar begins again");
        transport.rewind();
        assert_eq!(block().pos_quarters, Some(0.0));
        assert_eq!(block().pos_quarters, Some(1.0), "once");
    }

    #[test]
    fn it_loops_over_bars_of_any_meter() {
        let wishes = Wishes {
            playing: true,
            meter: (7, 8),
            looping: true,
            loop_bars: (2, 3),
            ..Wishes::default()
        };
        let (transport, mut time) = own(wishes);
        let mut seen = Vec::new();
        for _ in 0..16 {
            let now = time.roll(&transport.wishes(), 48_000.0, 12_000);
            assert_eq!(now.loop_quarters, Some((3.5, 10.5)));
            seen.push(now.pos_quarters.unwrap());
        }
        let expected: Vec<f64> = (0..16).map(|i| 3.5 + f64::from(i % 14) * 0.5).collect();
        assert_eq!(seen, expected);
    }

    #[test]
    fn another_meter_begins_the_song_again() {
        let wishes = Wishes {
            playing: true,
            ..Wishes::default()
        };
        let (transport, mut time) = own(wishes);
        for _ in 0..5 {
            time.roll(&transport.wishes(), 48_000.0, 24_000);
        }
        transport.set(Wishes {
            meter: (3, 4),
            ..wishes
        });
        assert_eq!(
            time.roll(&transport.wishes(), 48_000.0, 24_000)
                .pos_quarters,
            Some(0.0)
        );
    }

    /// The framework's conversion of JACK's bar, beat and tick, after its source.
    fn as_told(bar: i32, beat: f64, tick: f64, (counts, unit): (i32, i32)) -> Transport {
        let mut told = Transport::new(44_100.0);
        told.playing = true;
        told.tempo = Some(100.0);
        (told.time_sig_numerator, told.time_sig_denominator) = (Some(counts), Some(unit));
        told.bar_number = Some(bar);
        told.pos_samples = Some(44_100 * 6);
        told.pos_beats = Some(f64::from(bar) * 4.0 + beat / f64::from(unit) * 4.0 + tick);
        told
    }

    #[test]
    fn jack_counts_from_one_and_we_from_nought() {
        for (bar, beat, tick, meter, quarters) in [
            (1, 1.0, 0.0, (4, 4), 0.0),
            (1, 4.0, 0.5, (4, 4), 3.5),
            (3, 2.0, 0.25, (4, 4), 9.25),
            (2, 3.0, 0.0, (3, 4), 5.0),
            // Six seconds at 100 BPM, from the frame.
            (4, 2.0, 0.0, (7, 8), 10.0),
        ] {
            let time = jack(&as_told(bar, beat, tick, meter));
            let at = time.pos_quarters.unwrap();
            assert!(
                (at - quarters).abs() < 1e-9,
                "{bar} {beat} {tick} {meter:?}: {at}"
            );
        }
        let mut bare = as_told(1, 1.0, 0.0, (4, 4));
        (bare.pos_beats, bare.bar_number) = (None, None);
        assert_eq!(jack(&bare).pos_quarters, Some(10.0), "no timebase master");
    }
}
