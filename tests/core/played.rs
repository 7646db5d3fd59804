//! What was played and is kept, against what a recording host would write: from the player through
//! the tape to passages and files.

use crate::support::Blocks as _;
use crate::support::{Host, bpms, cases, cuttings, likely_meters, settings};
use fourlimb::engine::{EventSink, LivePlayer, Passing};
use fourlimb::groove::Hit;
use fourlimb::midi::NoteOut;
use fourlimb::midi::{ExpressionEvent, NoteEvent, RegionNote};
use fourlimb::recorder::passes::{Passage, Recorder};
use fourlimb::recorder::tap::{Entry, Outlet, RecorderTap};
use fourlimb::settings::Settings;
use fourlimb::time::{ObservedTempoMap, TICKS_PER_QUARTER, Ticks};
use fourlimb::transport::{HostTime, Span};
use proptest::prelude::*;

const RATE: f64 = 48_000.0;
/// Samples of a quarter note at 120 BPM.
const QUARTER: i64 = 24_000;

/// The plugin's shell in small: a player whose notes go to a host and onto a tape.
struct Shell<O> {
    player: LivePlayer,
    tape: RecorderTap<O>,
    events: Vec<NoteEvent>,
    bypassed: bool,
}

struct Sink<'a, O> {
    tape: &'a mut RecorderTap<O>,
    events: &'a mut Vec<NoteEvent>,
}

impl<O: Outlet> NoteOut for Sink<'_, O> {
    fn express(&mut self, event: ExpressionEvent) -> bool {
        self.tape.express(&event);
        true
    }

    fn send(&mut self, event: NoteEvent) -> bool {
        self.tape.note(&event);
        self.events.push(event);
        true
    }
}

impl<O: Outlet> EventSink for Sink<'_, O> {
    fn struck(&mut self, _sample: u32, _hit: &Hit, _grab: Option<u32>) {}

    fn passes(&mut self, span: &Span, passing: &Passing) {
        self.tape.pass(span, passing);
    }

    fn ends(&mut self, frames: u32) {
        self.tape.end_block(frames);
    }
}

impl<O: Outlet> Shell<O> {
    fn new(rate: f64, outlet: O) -> Self {
        Self {
            player: LivePlayer::new(rate),
            tape: RecorderTap::new(outlet),
            events: Vec::new(),
            bypassed: false,
        }
    }

    /// One block; the events of it.
    fn block(&mut self, time: &HostTime, settings: &Settings, frames: u32) -> Vec<NoteEvent> {
        let mut sink = Sink {
            tape: &mut self.tape,
            events: &mut self.events,
        };
        self.player
            .block(time, settings, frames, self.bypassed, &mut sink);
        std::mem::take(&mut self.events)
    }

    fn stop(&mut self) {
        let standing = HostTime::default();
        self.block(&standing, &Settings::default(), 64);
    }
}

pub fn collect<'a>(entries: impl IntoIterator<Item = &'a Entry>) -> (Recorder, ObservedTempoMap) {
    let (mut played, mut seen) = (Recorder::default(), ObservedTempoMap::default());
    for entry in entries {
        if let Entry::Over(stretch) = entry {
            assert!(seen.pass(stretch));
        }
        played.take(entry);
    }
    (played, seen)
}

/// Key, tick and velocity of note-ons.
type On = (u8, Ticks, u8);

fn ons(passage: &Passage) -> Vec<On> {
    let mut ons: Vec<_> = passage
        .region
        .notes
        .iter()
        .map(|n| (n.note.key, n.tick, n.velocity))
        .collect();
    ons.sort_unstable();
    ons
}

fn apart(kept: &[On], recorded: &[On]) -> Option<String> {
    if kept.len() != recorded.len() {
        let lost: Vec<_> = recorded.iter().filter(|on| !kept.contains(on)).collect();
        return Some(format!("{} for {}: {lost:?}", kept.len(), recorded.len()));
    }
    let near = |(a, b): &(&On, &On)| (a.0, a.2) == (b.0, b.2) && (a.1 - b.1).abs() <= 1;
    let mut pairs = kept.iter().zip(recorded);
    pairs
        .find(|pair| !near(pair))
        .map(|pair| format!("{pair:?}"))
}

/// Plays a host's song up to a sample, and stops; what the host records, and what is on the tape.
fn record(host: &Host, to: i64, cutting: &[u32]) -> (Vec<On>, Vec<Entry>) {
    let mut shell = Shell::new(host.rate, Vec::new());
    let (mut at, mut recorded) = (0, Vec::new());
    for &size in cutting.iter().cycle() {
        if at >= to {
            break;
        }
        let until = host.tempo.iter().map(|t| t.0).filter(|&t| t > at);
        let frames = i64::from(size).min(until.min().unwrap_or(to).min(to) - at);
        let time = host.time(at);
        for event in shell.block(&time, host.settings(at), frames as u32) {
            let quarters = host.quarters(at + i64::from(event.sample));
            let tick = (quarters * TICKS_PER_QUARTER as f64 + 1e-6).floor() as Ticks;
            recorded.extend(event.velocity.map(|v| (event.note.key, tick, v)));
        }
        at += frames;
    }
    shell.stop();
    recorded.sort_unstable();
    (recorded, shell.tape.outlet().clone())
}

proptest! {
    #![proptest_config(cases(48))]

    /// Any meter, tempi and blocks: the notes are those of the recording, and the map has the host's
    /// tempi and bars.
    #[test]
    fn what_is_kept_is_what_a_host_records(
        meter in likely_meters(),
        bpm in bpms(),
        then in bpms(),
        settings in settings(),
        cutting in cuttings(),
        change in 10_000..200_000_i64,
    ) {
        let mut host = Host::steady(RATE, meter, bpm, settings);
        host.tempo.push((change, then));
        let to = 300_000;
        let (recorded, tape) = record(&host, to, &cutting);
        let (played, seen) = collect(&tape);
        match played.latest() {
            None => prop_assert!(recorded.is_empty()),
            Some(passage) => {
                prop_assert_eq!(apart(&ons(&passage), &recorded), None);
                prop_assert_eq!((passage.from, passage.lost), (0, 0));
            }
        }
        let changed = host.quarters(change) * 960.0;
        let tempi: Vec<_> = seen.tempo().changes().collect();
        prop_assert_eq!(tempi[0], (0, bpm));
        if (bpm - then).abs() > 0.01 {
            prop_assert_eq!(tempi.len(), 2);
            prop_assert!((tempi[1].0 as f64 - changed).abs() <= 1.0 && tempi[1].1 == then, "{:?}", tempi);
        }
        prop_assert_eq!(seen.meters(), [(0, meter)]);
    }
}

fn rolling(quarters: f64, bpm: f64, around: Option<(f64, f64)>) -> HostTime {
    HostTime {
        playing: true,
        bpm: Some(bpm),
        pos_quarters: Some(quarters),
        meter: Some((4, 4)),
        bar_quarters: Some((quarters / 4.0).floor() * 4.0),
        loop_quarters: around,
        ..HostTime::default()
    }
}

/// Rolls from quarter to quarter at 120 BPM; the host wraps an active loop at its very sample.
fn roll<O: Outlet>(shell: &mut Shell<O>, from: f64, quarters: f64, around: Option<(f64, f64)>) {
    let (mut at, mut left) = (from, (quarters * QUARTER as f64) as i64);
    while left > 0 {
        let frames = left.min(500);
        shell.block(
            &rolling(at, 120.0, around),
            &Settings::default(),
            frames as u32,
        );
        at += frames as f64 / QUARTER as f64;
        if let Some((start, end)) = around
            && at >= end
        {
            at = start + (at - end);
        }
        left -= frames;
    }
}

#[test]
fn of_a_loop_the_last_whole_round_is_kept() {
    let around = Some((8.0, 16.0));
    let mut shell = Shell::new(RATE, Vec::new());
    // From the start into the loop, twice round, and half way again.
    roll(&mut shell, 0.0, 16.0 + 2.0 * 8.0 + 4.0, around);
    shell.stop();
    let (played, _) = collect(shell.tape.outlet());
    let passage = played.latest().unwrap();
    assert_eq!((passage.from, passage.region.end), (8 * 960, 16 * 960));
    let mut once = Shell::new(RATE, Vec::new());
    roll(&mut once, 8.0, 8.0, None);
    once.stop();
    let (once, _) = collect(once.tape.outlet());
    assert_eq!(apart(&ons(&passage), &ons(&once.latest().unwrap())), None);
}

#[test]
fn in_the_first_round_all_since_the_start_is_kept() {
    let mut shell = Shell::new(RATE, Vec::new());
    roll(&mut shell, 0.0, 18.0, Some((8.0, 16.0)));
    let (played, _) = collect(shell.tape.outlet());
    assert_eq!(played.latest().unwrap().from, 0);
}

/// Somebody who stops and plays a shorter bit wants that.
#[test]
fn a_fresh_start_is_kept_however_short() {
    let mut shell = Shell::new(RATE, Vec::new());
    roll(&mut shell, 0.0, 32.0, None);
    shell.stop();
    roll(&mut shell, 0.0, 5.0, None);
    shell.stop();
    let (played, _) = collect(shell.tape.outlet());
    let passage = played.latest().unwrap();
    assert_eq!((passage.from, passage.region.end), (0, 5 * 960));
    // A run in which nothing is played is none.
    shell.block(&rolling(64.0, 120.0, None), &Settings::default(), 1);
    shell.stop();
    let (played, _) = collect(shell.tape.outlet());
    assert!(played.latest().is_some());
}

/// A seek in mid-song begins a pass, and the place between is not in it.
#[test]
fn a_seek_begins_a_pass() {
    let mut shell = Shell::new(RATE, Vec::new());
    roll(&mut shell, 0.0, 8.0, None);
    roll(&mut shell, 40.0, 8.0, None);
    shell.stop();
    let (played, seen) = collect(shell.tape.outlet());
    let passage = played.latest().unwrap();
    assert_eq!((passage.from, passage.region.end), (40 * 960, 48 * 960));
    assert!(
        passage
            .region
            .notes
            .iter()
            .all(|n| n.tick >= 40 * 960 && n.length > 0)
    );
    assert_eq!(seen.tempo().changes().count(), 1);
}

/// While bypassed, the pass goes on without notes.
#[test]
fn bypass_leaves_a_hole() {
    let mut shell = Shell::new(RATE, Vec::new());
    roll(&mut shell, 0.0, 8.0, None);
    shell.bypassed = true;
    roll(&mut shell, 8.0, 8.0, None);
    shell.bypassed = false;
    roll(&mut shell, 16.0, 8.0, None);
    shell.stop();
    let (played, _) = collect(shell.tape.outlet());
    let passage = played.latest().unwrap();
    assert_eq!((passage.from, passage.region.end), (0, 24 * 960));
    let hole = 8 * 960..16 * 960;
    let inside = |n: &RegionNote| hole.contains(&n.tick);
    assert!(!passage.region.notes.iter().any(inside));
    let before = passage.region.notes.iter().filter(|n| n.tick < hole.start);
    let after = passage.region.notes.iter().filter(|n| n.tick >= hole.end);
    assert!(before.clone().all(|n| n.tick + n.length <= hole.start));
    assert!(before.count() > 4 && after.count() > 4);
}

/// The song slows down where the loop ends: what the next block says holds from the loop's start on.
#[test]
fn a_loops_start_has_its_own_tempo() {
    let mut shell = Shell::new(RATE, Vec::new());
    let around = Some((0.0, 8.0));
    roll(&mut shell, 0.0, 4.0, around);
    let settings = Settings::default();
    let mut at = 4.0;
    for _ in 0..200 {
        let bpm = if at < 4.0 { 120.0 } else { 60.0 };
        shell.block(&rolling(at, bpm, around), &settings, 700);
        at += 700.0 * bpm / 60.0 / RATE;
        if at >= 8.0 {
            // Wrapped inside the block; the host goes on at its tempo there.
            at = (at - 8.0) * 120.0 / bpm;
        }
    }
    let (_, seen) = collect(shell.tape.outlet());
    let tempi: Vec<_> = seen.tempo().changes().collect();
    assert_eq!(tempi.len(), 2, "{tempi:?}");
    assert_eq!((tempi[0], tempi[1].1), ((0, 120.0), 60.0));
    assert!((tempi[1].0 - 4 * 960).abs() <= 30, "{tempi:?}");
}

/// What follows the end of the loop in the same block was never said, so it is not seen.
#[test]
fn a_stop_right_after_the_loop_tells_nothing_of_its_start() {
    let mut shell = Shell::new(RATE, Vec::new());
    let around = Some((0.0, 8.0));
    roll(&mut shell, 0.0, 7.0, around);
    let mut at = 7.0;
    while at < 8.0 {
        shell.block(&rolling(at, 60.0, around), &Settings::default(), 700);
        at += 700.0 / RATE;
    }
    shell.stop();
    let (played, seen) = collect(shell.tape.outlet());
    let tempi: Vec<_> = seen.tempo().changes().collect();
    assert_eq!(tempi, [(0, 120.0), (7 * 960, 60.0)]);
    assert_eq!(
        played.latest().unwrap().region.end,
        8 * 960,
        "the whole round"
    );
}

/// A ramp has a step a sixteenth at most, and takes its time.
#[test]
fn a_ramp_of_tempo_keeps_its_time() {
    let mut shell = Shell::new(RATE, Vec::new());
    let settings = Settings::default();
    let (mut quarters, mut samples) = (0.0, 0_u32);
    while quarters < 32.0 {
        let bpm = 100.0 + (quarters - 8.0_f64).clamp(0.0, 16.0) * 5.0;
        shell.block(&rolling(quarters, bpm, None), &settings, 64);
        quarters += 64.0 * bpm / 60.0 / RATE;
        samples += 64;
    }
    shell.stop();
    let (_, seen) = collect(shell.tape.outlet());
    let tempi: Vec<_> = seen.tempo().changes().collect();
    assert!((40..=70).contains(&tempi.len()), "{}", tempi.len());
    assert!(tempi.windows(2).all(|pair| pair[1].0 - pair[0].0 >= 200));
    let seconds = seen.tempo().seconds(quarters * 960.0);
    let error = seconds - f64::from(samples) / RATE;
    assert!(error.abs() < 0.002, "{error}");
    assert_eq!(tempi.last().map(|t| t.1.round()), Some(180.0));
}

/// Takes so many entries, then none until it is emptied.
struct Narrow {
    room: usize,
    entries: Vec<Entry>,
}

impl Outlet for Narrow {
    fn put(&mut self, entry: Entry) -> bool {
        let fits = self.room > 0;
        if fits {
            self.room -= 1;
            self.entries.push(entry);
        }
        fits
    }
}

/// What is lost is counted, the pass that began meanwhile is told later, and what comes then is whole.
#[test]
fn a_full_tape_says_what_it_lost() {
    let narrow = Narrow {
        room: 20,
        entries: Vec::new(),
    };
    let mut shell = Shell::new(RATE, narrow);
    roll(&mut shell, 0.0, 8.0, None);
    shell.stop();
    roll(&mut shell, 16.0, 8.0, None);
    shell.stop();
    let told = shell.tape.outlet().entries.len();
    assert_eq!(told, 20, "it is full");
    // Every note that was struck is on the tape or counted.
    let mut all = Shell::new(RATE, Vec::new());
    roll(&mut all, 0.0, 8.0, None);
    all.stop();
    roll(&mut all, 16.0, 8.0, None);
    all.stop();
    let is_on = |entry: &&Entry| matches!(entry, Entry::On { .. });
    let struck = all.tape.outlet().iter().filter(is_on).count();
    let kept = shell.tape.outlet().entries.iter().filter(is_on).count();
    shell.tape.outlet_mut().room = 100_000;
    roll(&mut shell, 32.0, 8.0, None);
    shell.stop();
    let entries = &shell.tape.outlet().entries[told..];
    let lost = u32::try_from(struck - kept).unwrap();
    assert_eq!(entries[0], Entry::Lost(lost));
    assert!(matches!(entries[1], Entry::Pass { .. }), "{:?}", entries[1]);
    let (played, _) = collect(&shell.tape.outlet().entries);
    let passage = played.latest().unwrap();
    assert_eq!((passage.from, passage.lost), (32 * 960, 0));
}
