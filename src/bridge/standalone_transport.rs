//! The stand-alone's transport: what its user sets about time and devices. Part of the bridge: the editor
//! writes, the audio thread reads, through atomics; there is none in a host.

use crate::time::Ticks;
use std::sync::atomic::Ordering::{Acquire, Relaxed, Release};
use std::sync::atomic::{AtomicBool, AtomicI64, AtomicU32, AtomicU64};
use std::sync::{Arc, Mutex, PoisonError};

/// Least and greatest tempo, in quarter notes a minute.
pub const TEMPI: (f64, f64) = (30.0, 400.0);
/// Allowed denominators of a meter.
pub const UNITS: [u32; 4] = [2, 4, 8, 16];
/// Greatest numerator of a meter.
pub const MOST_COUNTS: u32 = 32;
/// The greatest last bar of a loop: that of the longest song.
pub const LAST_BAR: u32 = 20_000;

/// The user's transport settings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wishes {
    /// Whether the transport runs.
    pub playing: bool,
    /// Quarter notes a minute.
    pub bpm: f64,
    /// Numerator and denominator of the meter.
    pub meter: (u32, u32),
    /// Whether it loops.
    pub looping: bool,
    /// First and last bar of the loop, counted from 1.
    pub loop_bars: (u32, u32),
    /// Whether the JACK transport is followed in place of the strip's own.
    pub follow: bool,
}

impl Default for Wishes {
    fn default() -> Self {
        Self {
            playing: false,
            bpm: 120.0,
            meter: (4, 4),
            looping: false,
            loop_bars: (1, 4),
            follow: false,
        }
    }
}

impl Wishes {
    /// The same, clamped to what can be played: tempo, meter and loop in their ranges, the loop at least a bar
    /// long.
    #[must_use]
    pub fn sane(self) -> Self {
        let (counts, unit) = self.meter;
        let first = self.loop_bars.0.clamp(1, LAST_BAR);
        let bpm = if self.bpm.is_finite() {
            self.bpm
        } else {
            120.0
        };
        Self {
            bpm: bpm.clamp(TEMPI.0, TEMPI.1),
            meter: (
                counts.clamp(1, MOST_COUNTS),
                if UNITS.contains(&unit) { unit } else { 4 },
            ),
            loop_bars: (first, self.loop_bars.1.clamp(first, LAST_BAR)),
            ..self
        }
    }
}

/// The available devices and those in use.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Devices {
    /// The audio backend in use, in words.
    pub way: String,
    /// The reason why there is no sound, if there is none.
    pub trouble: Option<String>,
    /// Names of the output devices; empty where the backend connects them itself.
    pub sounds: Vec<String>,
    /// The one in use; `None` is the system's default.
    pub sound: Option<String>,
    /// Names of the MIDI output ports; empty as above.
    pub ports: Vec<String>,
    /// The one in use.
    pub port: Option<String>,
    /// Whether there is an external transport to follow.
    pub can_follow: bool,
}

/// A new choice of devices. The stand-alone restarts with it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct DeviceChoice {
    /// The output device; `None` is the system's default.
    pub sound: Option<String>,
    /// The MIDI output port.
    pub port: Option<String>,
    /// The values of the editor's controls, in the editor's order, to restore after the restart.
    pub values: Vec<f32>,
}

/// The stand-alone's transport and devices, as its user sets them.
#[derive(Debug, Default)]
pub struct StandaloneTransport {
    playing: AtomicBool,
    bpm: AtomicU64,
    counts: AtomicU32,
    unit: AtomicU32,
    looping: AtomicBool,
    first: AtomicU32,
    last: AtomicU32,
    follow: AtomicBool,
    /// Incremented with each request to go to the start of the song.
    rewinds: AtomicU32,
    /// The tick that was asked for last, and how often one was.
    sought: AtomicI64,
    seeks: AtomicU32,
    /// Where the transport is, in ticks, and whether its tempo and meter are a song's: the audio thread says so.
    at: AtomicI64,
    written: AtomicBool,
    devices: Devices,
    /// Main thread only, like the next field.
    choice: Mutex<Option<DeviceChoice>>,
    /// Values of the controls from before the restart.
    kept: Mutex<Vec<f32>>,
}

/// That of this program; `None` in a host. Main thread.
static OF_THE_PROGRAM: Mutex<Option<Arc<StandaloneTransport>>> = Mutex::new(None);

impl StandaloneTransport {
    /// One with these wishes; `kept` are the values of the editor's controls to go on with, if any.
    /// Main thread.
    pub fn new(wishes: Wishes, devices: Devices, kept: Vec<f32>) -> Self {
        let transport = Self {
            devices,
            kept: Mutex::new(kept),
            ..Self::default()
        };
        transport.set(wishes);
        transport
    }

    /// Makes this the one that every instance made from now on has. Main thread; the stand-alone
    /// alone does so.
    pub fn install(transport: Arc<Self>) {
        let mut place = OF_THE_PROGRAM
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        *place = Some(transport);
    }

    /// That of this program. Main thread.
    pub fn installed() -> Option<Arc<Self>> {
        let place = OF_THE_PROGRAM
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        place.clone()
    }

    /// The user's settings, always within range. Any thread; atomics only.
    pub fn wishes(&self) -> Wishes {
        Wishes {
            // Whoever sees it play sees the place that it is to play from.
            playing: self.playing.load(Acquire),
            bpm: f64::from_bits(self.bpm.load(Relaxed)),
            meter: (self.counts.load(Relaxed), self.unit.load(Relaxed)),
            looping: self.looping.load(Relaxed),
            loop_bars: (self.first.load(Relaxed), self.last.load(Relaxed)),
            follow: self.follow.load(Relaxed),
        }
        .sane()
    }

    /// Changes the user's settings. Any thread; atomics only.
    pub fn set(&self, wishes: Wishes) {
        let wishes = wishes.sane();
        self.bpm.store(wishes.bpm.to_bits(), Relaxed);
        self.counts.store(wishes.meter.0, Relaxed);
        self.unit.store(wishes.meter.1, Relaxed);
        self.looping.store(wishes.looping, Relaxed);
        self.first.store(wishes.loop_bars.0, Relaxed);
        self.last.store(wishes.loop_bars.1, Relaxed);
        self.follow.store(wishes.follow, Relaxed);
        self.playing.store(wishes.playing, Release);
    }

    /// Requests a jump to the start of the song, or of the loop. Any thread.
    pub fn rewind(&self) {
        self.rewinds.fetch_add(1, Relaxed);
    }

    /// The number of such requests. Any thread.
    pub fn rewinds(&self) -> u32 {
        self.rewinds.load(Relaxed)
    }

    /// Plays from a tick of the song: at once, on the tick itself, whether the transport runs or stands. A tick before
    /// the song is its start. Outside of the loop it plays on, and the loop holds it from where it enters. Any thread;
    /// atomics only.
    pub fn play_from(&self, tick: Ticks) {
        self.go_to(tick);
        self.playing.store(true, Release);
    }

    /// Goes to a tick of the song, as [`Self::play_from`] does, and leaves the transport rolling or standing. Any thread;
    /// atomics only.
    pub fn go_to(&self, tick: Ticks) {
        self.sought.store(tick.max(0), Relaxed);
        self.seeks.fetch_add(1, Release);
    }

    /// Loops over bars, counted from 1: those of the song where it is followed. The transport goes to the first of them
    /// unless it is within. It starts nothing. Any thread; atomics only.
    pub fn loop_over(&self, first: u32, last: u32) {
        self.set(Wishes {
            looping: true,
            loop_bars: (first, last),
            ..self.wishes()
        });
    }

    /// Stops. Any thread; atomics only.
    pub fn stop(&self) {
        self.playing.store(false, Release);
    }

    /// The number of requests for a tick, and the tick that was asked for last. Any thread.
    pub fn sought(&self) -> (u32, Ticks) {
        let seeks = self.seeks.load(Acquire);
        (seeks, self.sought.load(Relaxed))
    }

    /// Where the transport is, in ticks on the song's timeline, rolling or standing. Any thread.
    pub fn at(&self) -> Ticks {
        self.at.load(Relaxed)
    }

    /// Whether tempo and meter are those of the song that is followed, and not the wishes'. Any thread.
    pub fn is_written(&self) -> bool {
        self.written.load(Relaxed)
    }

    /// Says where the transport is, and whether a song gives tempo and meter. Audio thread; atomics only.
    pub fn tell(&self, at: Ticks, written: bool) {
        self.at.store(at, Relaxed);
        self.written.store(written, Relaxed);
    }

    /// The devices. They never change. Any thread.
    pub fn devices(&self) -> &Devices {
        &self.devices
    }

    /// Requests other devices. The stand-alone's main loop takes the request once the window is closed. Main
    /// thread.
    pub fn choose(&self, choice: DeviceChoice) {
        *self.choice.lock().unwrap_or_else(PoisonError::into_inner) = Some(choice);
    }

    /// Takes the values of the editor's controls to restore, once; empty where there are none. Main thread.
    pub fn take_kept(&self) -> Vec<f32> {
        std::mem::take(&mut *self.kept.lock().unwrap_or_else(PoisonError::into_inner))
    }

    /// Takes the device choice, once. Main thread.
    pub fn take_choice(&self) -> Option<DeviceChoice> {
        self.choice
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .take()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_set_is_read_and_nonsense_is_mended() {
        let transport = StandaloneTransport::new(Wishes::default(), Devices::default(), vec![0.5]);
        assert_eq!(
            (transport.take_kept(), transport.take_kept()),
            (vec![0.5], vec![])
        );
        assert_eq!(transport.wishes(), Wishes::default());
        let wild = Wishes {
            playing: true,
            bpm: f64::NAN,
            meter: (0, 3),
            looping: true,
            loop_bars: (7, 2),
            follow: false,
        };
        transport.set(wild);
        let mended = transport.wishes();
        assert_eq!(
            (mended.bpm, mended.meter, mended.loop_bars),
            (120.0, (1, 4), (7, 7))
        );
        assert!(mended.playing && mended.looping);
    }

    #[test]
    fn a_choice_is_taken_once() {
        let transport = StandaloneTransport::default();
        assert_eq!(transport.take_choice(), None);
        let choice = DeviceChoice {
            sound: Some("card".to_owned()),
            ..DeviceChoice::default()
        };
        transport.choose(choice.clone());
        assert_eq!(transport.take_choice(), Some(choice));
        assert_eq!(transport.take_choice(), None);
    }
}
