//! Whatever a host does: no panic, no note left sounding, nothing outside its block or out of order.

use crate::hostile::targets::ODD;
use crate::support::*;
use fourlimb::engine::{EventSink, LivePlayer};
use fourlimb::kit::Note;
use fourlimb::midi::{ExpressionEvent, NoteEvent, NoteOut};
use fourlimb::settings::Settings;
use fourlimb::transport::HostTime;
use proptest::prelude::*;
use proptest::sample::select;
use std::collections::BTreeSet;

/// What a host does next.
#[derive(Debug, Clone)]
enum Act {
    /// A few blocks of these sizes.
    Play(Vec<u32>),
    /// The transport stops or goes.
    Roll(bool),
    /// Moves the playhead, in quarter notes.
    Seek(f64),
    Tempo(Option<f64>),
    Meter(Option<(i32, i32)>),
    BarStart(Option<f64>),
    Loop(Option<(f64, f64)>),
    Settings(Box<Settings>),
    Bypass(bool),
    Reset,
    /// Deactivates, and activates again at this rate in Hz.
    Activate(f64),
    /// The host stops telling its position, or tells it again.
    Mute(bool),
    /// From here on the sink refuses an event where the next of these bits is set.
    Refuse(u64),
}

fn odd() -> impl Strategy<Value = f64> {
    select(ODD.to_vec())
}

fn positions() -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => -8.0..64.0_f64,
        2 => (-8..64_i32).prop_map(f64::from),
        1 => -1e9..1e9_f64,
        1 => odd(),
    ]
}

fn acts() -> impl Strategy<Value = Act> {
    let sizes = prop_oneof![0..=64_u32, 0..=8192_u32, Just(0_u32), Just(8192_u32)];
    let meter = prop_oneof![
        (1..=32_i32, select(vec![2, 4, 8, 16])),
        (any::<i32>(), any::<i32>()),
        (-2..40_i32, -2..40_i32),
    ];
    let ends = prop_oneof![
        (positions(), 0.0..9.0_f64).prop_map(|(a, len)| (a, a + len)),
        (positions(), 0.0..0.1_f64).prop_map(|(a, len)| (a, a + len)),
        (positions(), positions()),
    ];
    prop_oneof![
        8 => proptest::collection::vec(sizes, 1..12).prop_map(Act::Play),
        2 => any::<bool>().prop_map(Act::Roll),
        2 => positions().prop_map(Act::Seek),
        2 => prop_oneof![bpms().prop_map(Some), odd().prop_map(Some), Just(None)]
            .prop_map(Act::Tempo),
        2 => proptest::option::of(meter).prop_map(Act::Meter),
        1 => proptest::option::of(positions()).prop_map(Act::BarStart),
        2 => proptest::option::of(ends).prop_map(Act::Loop),
        2 => settings().prop_map(|s| Act::Settings(Box::new(s))),
        1 => any::<bool>().prop_map(Act::Bypass),
        1 => Just(Act::Reset),
        1 => select(RATES.to_vec()).prop_map(Act::Activate),
        1 => any::<bool>().prop_map(Act::Mute),
        2 => prop_oneof![Just(0_u64), any::<u64>(), Just(u64::MAX)].prop_map(Act::Refuse),
    ]
}

/// A host's event buffer that checks every event.
#[derive(Debug, Default)]
struct Checker {
    frames: u32,
    last: u32,
    sounding: BTreeSet<(u8, u8)>,
    refuse: u64,
    wrong: Option<String>,
    taken: usize,
}

impl Checker {
    fn begin(&mut self, frames: u32) {
        self.frames = frames;
        self.last = 0;
    }

    fn blame(&mut self, what: &str, event: NoteEvent) {
        let (frames, last) = (self.frames, self.last);
        let found = || format!("{what}: {event:?} in a block of {frames}, after sample {last}");
        self.wrong.get_or_insert_with(found);
    }
}

impl EventSink for Checker {}

impl NoteOut for Checker {
    fn express(&mut self, _: ExpressionEvent) -> bool {
        true
    }

    fn send(&mut self, event: NoteEvent) -> bool {
        if event.sample >= self.frames {
            self.blame("outside its block", event);
        }
        if event.sample < self.last {
            self.blame("out of order", event);
        }
        let refused = self.refuse & 1 == 1;
        self.refuse = self.refuse.rotate_right(1);
        if refused {
            return false;
        }
        self.taken += 1;
        self.last = event.sample;
        let Note { channel, key } = event.note;
        match event.velocity {
            Some(0) | Some(128..) => self.blame("a velocity that is none", event),
            Some(_) if !self.sounding.insert((channel, key)) => {
                self.blame("struck while it sounds", event);
            }
            None if !self.sounding.remove(&(channel, key)) => {
                self.blame("released while silent", event);
            }
            _ => {}
        }
        true
    }
}

/// Runs a host's doings and returns what went wrong, and how many events there were.
fn run(rate: f64, acts: &[Act]) -> (Option<String>, usize) {
    let mut player = LivePlayer::new(rate);
    let mut checker = Checker::default();
    let mut settings = Settings::default();
    let (mut silent, mut mute, mut rate) = (false, false, rate);
    let mut host = HostTime {
        playing: true,
        bpm: Some(180.0),
        pos_quarters: Some(0.0),
        meter: Some((4, 4)),
        ..HostTime::default()
    };
    let mut position = 0.0;
    let mut block = |player: &mut LivePlayer,
                     checker: &mut Checker,
                     host: &mut HostTime,
                     settings: &Settings,
                     frames: u32,
                     (silent, mute, rate): (bool, bool, f64),
                     seek: Option<f64>| {
        position = seek.unwrap_or(position);
        host.pos_quarters = (!mute).then_some(position);
        host.pos_samples = None;
        checker.begin(frames);
        player.block(host, settings, frames, silent, checker);
        if host.playing {
            let bpm = host.bpm.filter(|b| b.is_finite()).unwrap_or(120.0);
            position += f64::from(frames) * bpm / 60.0 / rate;
            if let Some((start, end)) = host.loop_quarters
                && position > end
                && end - start > 0.01
            {
                position = start + (position - start).rem_euclid(end - start);
            }
        }
    };
    let mut seek = None;
    for act in acts {
        match act {
            Act::Play(sizes) => {
                for &frames in sizes {
                    let modes = (silent, mute, rate);
                    block(
                        &mut player,
                        &mut checker,
                        &mut host,
                        &settings,
                        frames,
                        modes,
                        seek.take(),
                    );
                }
            }
            Act::Roll(on) => host.playing = *on,
            Act::Seek(to) => seek = Some(*to),
            Act::Tempo(bpm) => host.bpm = *bpm,
            Act::Meter(meter) => host.meter = *meter,
            Act::BarStart(at) => host.bar_quarters = *at,
            Act::Loop(ends) => host.loop_quarters = *ends,
            Act::Settings(s) => settings = **s,
            Act::Bypass(on) => silent = *on,
            Act::Reset => player.reset(),
            Act::Activate(hz) => {
                rate = *hz;
                player.set_sample_rate(rate);
            }
            Act::Mute(on) => mute = *on,
            Act::Refuse(bits) => checker.refuse = *bits,
        }
    }
    // The transport stops, and the host's buffer has room again.
    host.playing = false;
    checker.refuse = 0;
    for _ in 0..3 {
        let modes = (silent, mute, rate);
        block(
            &mut player,
            &mut checker,
            &mut host,
            &settings,
            64,
            modes,
            None,
        );
    }
    if !checker.sounding.is_empty() {
        let left = format!("left sounding: {:?}", checker.sounding);
        checker.wrong.get_or_insert(left);
    }
    (checker.wrong, checker.taken)
}

proptest! {
    #![proptest_config(cases(192))]

    #[test]
    fn whatever_a_host_does(
        rate in select(RATES.to_vec()),
        acts in proptest::collection::vec(acts(), 1..40),
    ) {
        prop_assert_eq!(run(rate, &acts).0, None);
    }
}

/// The checks above would pass if nothing were ever played.
#[test]
fn a_quiet_host_is_played_to() {
    let (wrong, taken) = run(48_000.0, &[Act::Play(vec![8192; 40])]);
    assert_eq!(wrong, None);
    assert!(taken > 50, "{taken}");
}

/// A stop is heard in the block that it comes in.
#[test]
fn a_stop_releases_at_once() {
    let mut player = LivePlayer::new(48_000.0);
    let mut checker = Checker::default();
    let mut host = HostTime {
        playing: true,
        pos_quarters: Some(0.0),
        ..HostTime::default()
    };
    // Long enough for a first stroke that is a little late.
    checker.begin(2048);
    player.block(&host, &Settings::default(), 2048, false, &mut checker);
    assert!(!checker.sounding.is_empty());
    host.playing = false;
    checker.begin(64);
    player.block(&host, &Settings::default(), 64, false, &mut checker);
    assert!(checker.sounding.is_empty());
    assert_eq!((checker.wrong, checker.last), (None, 0));
}
