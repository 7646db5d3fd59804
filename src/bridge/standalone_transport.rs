//! The stand-alone's transport: what its user sets about time and devices. Part of the bridge: the editor
//! writes, the audio thread reads, through atomics; there is none in a host.

use std::sync::atomic::{AtomicBool, AtomicU32, AtomicU64, Ordering::Relaxed};
use std::sync::{Arc, Mutex, PoisonError};

/// Tempi that can be set, in quarter notes a minute.
pub const TEMPI: (f64, f64) = (30.0, 400.0);
/// Note values that a meter can count.
pub const UNITS: [u32; 4] = [2, 4, 8, 16];
/// Counts that a meter can have.
pub const MOST_COUNTS: u32 = 32;
/// The last bar that a loop can end with.
pub const LAST_BAR: u32 = 999;

/// What the user wants of the transport.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wishes {
    /// Whether it rolls.
    pub playing: bool,
    /// Quarter notes a minute.
    pub bpm: f64,
    /// Counts of a bar, and the note value that is counted.
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
    /// The same within what can be played: tempo, meter and loop in their ranges, the loop at least
    /// a bar long.
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

/// What there is to choose from, and what is in use.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Devices {
    /// The way to the sound card that is in use, in words.
    pub way: String,
    /// Why there is no sound, where there is none.
    pub trouble: Option<String>,
    /// Names of the devices that play sound; empty where the way to them leaves that to others.
    pub sounds: Vec<String>,
    /// The one in use; `None` is the system's default.
    pub sound: Option<String>,
    /// Names of the ports that take MIDI; empty as above.
    pub ports: Vec<String>,
    /// The one in use.
    pub port: Option<String>,
    /// Whether a transport can be followed.
    pub can_follow: bool,
}

/// What is chosen anew; the stand-alone starts over with it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct DeviceChoice {
    /// The device that plays sound; `None` is the system's default.
    pub sound: Option<String>,
    /// The port that takes MIDI.
    pub port: Option<String>,
    /// The values of the editor's controls, in its own order, to go on with.
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
    /// Goes up each time that the start of the song is asked for.
    rewinds: AtomicU32,
    devices: Devices,
    /// Main thread only, as is what follows.
    choice: Mutex<Option<DeviceChoice>>,
    /// Values of the controls from before devices were chosen.
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

    /// What the user wants, always playable. Any thread; atomics only.
    pub fn wishes(&self) -> Wishes {
        Wishes {
            playing: self.playing.load(Relaxed),
            bpm: f64::from_bits(self.bpm.load(Relaxed)),
            meter: (self.counts.load(Relaxed), self.unit.load(Relaxed)),
            looping: self.looping.load(Relaxed),
            loop_bars: (self.first.load(Relaxed), self.last.load(Relaxed)),
            follow: self.follow.load(Relaxed),
        }
        .sane()
    }

    /// Sets what the user wants. Any thread; atomics only.
    pub fn set(&self, wishes: Wishes) {
        let wishes = wishes.sane();
        self.bpm.store(wishes.bpm.to_bits(), Relaxed);
        self.counts.store(wishes.meter.0, Relaxed);
        self.unit.store(wishes.meter.1, Relaxed);
        self.looping.store(wishes.looping, Relaxed);
        self.first.store(wishes.loop_bars.0, Relaxed);
        self.last.store(wishes.loop_bars.1, Relaxed);
        self.follow.store(wishes.follow, Relaxed);
        self.playing.store(wishes.playing, Relaxed);
    }

    /// Goes to the start of the song, or of the loop. Any thread.
    pub fn rewind(&self) {
        self.rewinds.fetch_add(1, Relaxed);
    }

    /// How often that was asked for. Any thread.
    pub fn rewinds(&self) -> u32 {
        self.rewinds.load(Relaxed)
    }

    /// The devices. Any thread; they stay as they are.
    pub fn devices(&self) -> &Devices {
        &self.devices
    }

    /// Chooses devices anew: whoever runs the stand-alone takes them up once the window is closed.
    /// Main thread.
    pub fn choose(&self, choice: DeviceChoice) {
        *self.choice.lock().unwrap_or_else(PoisonError::into_inner) = Some(choice);
    }

    /// The values of the editor's controls to go on with, once; empty where there are none. Main
    /// thread.
    pub fn take_kept(&self) -> Vec<f32> {
        std::mem::take(&mut *self.kept.lock().unwrap_or_else(PoisonError::into_inner))
    }

    /// What was chosen, once. Main thread.
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
