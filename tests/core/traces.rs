//! What a real recording program said of every process block, played back to the player.
//!
//! The fixtures in `traces/` were recorded with `cargo xtask real-host --record-traces`; each names
//! its program and what was done in it. A VST3 host's position in samples is exact, so what should
//! sound, and when, is worked out here from that and from the offline engine, without the clock.

use crate::support::Blocks as _;
use fourlimb::engine::LivePlayer;
use fourlimb::engine::offline::play;
use fourlimb::groove::DRUMMER;
use fourlimb::kit::{Note, NoteMap};
use fourlimb::midi::NoteEvent;
use fourlimb::settings::{HandRate, Settings};
use fourlimb::song::file::{Level, Section, VERSION};
use fourlimb::song::{SongFile, Timeline};
use fourlimb::time::{TICKS_PER_QUARTER, TempoMap};
use fourlimb::transport::HostTime;
use std::collections::BTreeMap;

/// A block of a trace: what the host said and its length in samples.
type Block = (HostTime, u32);

struct Trace {
    sample_rate: f64,
    blocks: Vec<Block>,
}

/// A struck note: the sample from the start of the trace, the note and its velocity.
type Struck = (i64, Note, u8);

/// A song of sections (bars, meter, BPM that they are composed at), at the plugin's defaults or with everything on.
fn song(sections: &[(u32, &str, f64)], busy: bool) -> Timeline {
    let bar_settings = Settings::default().bar_settings;
    let sections = sections.iter().map(|&(bars, meter, bpm)| Section {
        name: "section".to_owned(),
        bars,
        meter: Some(meter.to_owned().try_into().unwrap()),
        bpm: Some(bpm),
        hand_rate: busy.then_some(HandRate::Sixteenths),
        density: busy.then_some(Level::Steady(1.0)),
        fill_chance: busy.then_some(Level::Steady(1.0)),
        ..Section::default()
    });
    Timeline::automated(&SongFile {
        fourlimb_song: VERSION,
        drummer: DRUMMER,
        title: "As the host has it".to_owned(),
        take: bar_settings.take,
        phrase_bars: u32::try_from(bar_settings.phrase.bars()).unwrap(),
        start_bar: 1,
        sections: sections.collect(),
        automation: BTreeMap::new(),
        kick_source: None,
        riff_grid: None,
        riff: None,
        own_beats: BTreeMap::new(),
    })
    .unwrap()
}

/// The settings that hold throughout a song of [`song`].
fn settings(song: &Timeline) -> Settings {
    let mut settings = song.start_settings();
    for change in song.changes() {
        change.apply(&mut settings);
    }
    settings
}

impl Trace {
    fn parse(text: &str) -> Self {
        fn field<T: std::str::FromStr>(text: &str) -> Option<T> {
            (text != "-").then(|| text.parse().ok().expect("a field that parses"))
        }
        fn pair<T: std::str::FromStr>(text: &str, between: &str) -> Option<(T, T)> {
            let (a, b) = text.split_once(between)?;
            field(a).zip(field(b))
        }
        let mut sample_rate = 0.0;
        let mut blocks = Vec::new();
        for line in text.lines() {
            if let Some(rate) = line.strip_prefix("# sample_rate ") {
                sample_rate = rate.parse().unwrap();
            }
            if line.starts_with('#') {
                continue;
            }
            let fields: Vec<&str> = line.split(' ').collect();
            let host = HostTime {
                playing: fields[1] == "1",
                bpm: field(fields[2]),
                pos_quarters: field(fields[3]),
                pos_samples: field(fields[4]),
                meter: pair(fields[5], "/"),
                bar_quarters: field(fields[6]),
                loop_quarters: pair(fields[7], ".."),
            };
            blocks.push((host, fields[0].parse().unwrap()));
        }
        assert!(sample_rate > 0.0 && blocks.len() > 100);
        Self {
            sample_rate,
            blocks,
        }
    }

    /// Where the host's timeline truly was: (sample of the trace, first sample of the song, sample
    /// of the song after the last). Loops are wrapped where they end, not where the host's block
    /// does.
    fn stretches(&self) -> Vec<(i64, i64, i64)> {
        let mut stretches = Vec::new();
        let mut at = 0;
        for (host, frames) in &self.blocks {
            let frames = i64::from(*frames);
            if host.playing {
                let from = host.pos_samples.expect("VST3 hosts say samples");
                let around = host.loop_quarters.map(|(start, end)| {
                    let samples = self.sample_rate * 60.0 / host.bpm.unwrap();
                    #[expect(clippy::cast_possible_truncation)]
                    let ends = ((start * samples) as i64, (end * samples) as i64);
                    ends
                });
                match around {
                    Some((start, end)) if from < end && from + frames > end => {
                        stretches.push((at, from, end));
                        stretches.push((at + end - from, start, start + from + frames - end));
                    }
                    _ => stretches.push((at, from, from + frames)),
                }
            }
            at += frames;
        }
        stretches
    }

    /// Every note that should be struck, in order of time: the engine's hits in each stretch, at
    /// the first sample at or after their places.
    fn ideal(&self, song: &Timeline, tempo: &TempoMap) -> Vec<Struck> {
        let hits: Vec<Struck> = play(song)
            .iter()
            .map(|hit| {
                let sample = tempo.seconds(hit.tick as f64) * self.sample_rate;
                #[expect(clippy::cast_possible_truncation)]
                let sample = (sample - 1e-6).ceil() as i64;
                (
                    sample,
                    NoteMap::default().note(hit.piece).unwrap(),
                    hit.velocity,
                )
            })
            .collect();
        let mut struck = Vec::new();
        for (at, from, to) in self.stretches() {
            let inside = hits.iter().filter(|hit| (from..to).contains(&hit.0));
            struck.extend(
                inside.map(|&(sample, note, velocity)| (at + sample - from, note, velocity)),
            );
        }
        struck
    }

    /// What the player strikes. Checks on the way that events lie in their block, in order, and
    /// that every note-on has its note-off.
    fn played(&self, settings: &Settings) -> Vec<Struck> {
        let mut player = LivePlayer::new(self.sample_rate);
        let mut sounding = Vec::new();
        let mut struck = Vec::new();
        let mut at = 0;
        for (host, frames) in &self.blocks {
            let mut events: Vec<NoteEvent> = Vec::new();
            player.block(host, settings, *frames, false, &mut events);
            assert!(
                events.is_sorted_by_key(|event| event.sample),
                "at {at}: {events:?}"
            );
            for event in events {
                assert!(
                    event.sample < *frames,
                    "at {at}: {event:?} is outside its block"
                );
                let open = sounding.iter().position(|note| *note == event.note);
                match (event.velocity, open) {
                    (Some(velocity), None) => {
                        sounding.push(event.note);
                        struck.push((at + i64::from(event.sample), event.note, velocity));
                    }
                    (None, Some(i)) => {
                        sounding.swap_remove(i);
                    }
                    (Some(_), Some(_)) => panic!("at {at}: {event:?} before its note-off"),
                    (None, None) => panic!("at {at}: {event:?} without a note-on"),
                }
            }
            at += i64::from(*frames);
        }
        assert!(sounding.is_empty(), "{sounding:?} sound on after the stop");
        struck
    }

    /// Where each block begins, from the start of the trace.
    fn starts(&self) -> Vec<i64> {
        let ends = self.blocks.iter().scan(0, |at, (_, frames)| {
            *at += i64::from(*frames);
            Some(*at)
        });
        std::iter::once(0).chain(ends).collect()
    }

    /// The blocks before those that are the first to say a new meter. The bar line may lie in them,
    /// and what is struck there is struck as in a bar of the old meter.
    fn late_meter(&self) -> Vec<std::ops::Range<i64>> {
        let starts = self.starts();
        (1..self.blocks.len())
            .filter(|&i| self.blocks[i].0.meter != self.blocks[i - 1].0.meter)
            .map(|i| starts[i - 1]..starts[i])
            .collect()
    }

    /// How far a note at a sample of the trace may be off. A host tells a new tempo with the first
    /// block that begins in it, so the end of the block before is played in the old one, and the
    /// clock leans back over the next blocks; then it has to find its place between the host's
    /// quantised positions. From there on, and where the tempo never changes: one sample.
    fn tolerance(&self) -> impl Fn(i64) -> i64 + use<> {
        let starts = self.starts();
        let changes = (1..self.blocks.len())
            .filter(|&i| self.blocks[i].0.bpm != self.blocks[i - 1].0.bpm)
            .map(|i| {
                let end = |after: usize| starts[(i + after).min(starts.len() - 1)];
                (starts[i - 1]..end(LEANING), starts[i - 1]..end(SETTLING))
            })
            .collect::<Vec<_>>();
        move |at| {
            if changes.iter().any(|(leaning, _)| leaning.contains(&at)) {
                WHILE_LEANING
            } else if changes.iter().any(|(_, settling)| settling.contains(&at)) {
                WHILE_SETTLING
            } else {
                1
            }
        }
    }
}

/// Blocks after a change of tempo until the clock is back at the host's positions.
const LEANING: usize = 3;
/// Blocks after a change of tempo until the clock is exact to the sample: half a second.
const SETTLING: usize = 24;
/// Samples: what a block of 1024 lasts longer at 97 BPM than at 151.
const WHILE_LEANING: i64 = 570;
/// Samples: a quarter of the host's step of 1/1920 quarter.
const WHILE_SETTLING: i64 = 3;

/// Checks a trace against the song that was played in it, at the plugin's defaults and with
/// everything on. `tempi` are the song's: (quarter, BPM) from quarter 0 on.
fn check(
    text: &str,
    sections: &[(u32, &str, f64)],
    tempi: &[(i64, f64)],
) -> [(Trace, Vec<Struck>); 2] {
    [false, true].map(|busy| {
        let trace = Trace::parse(text);
        let song = song(sections, busy);
        let mut tempo = TempoMap::constant(tempi[0].1);
        for &(quarter, bpm) in &tempi[1..] {
            tempo.change(quarter * TICKS_PER_QUARTER, bpm);
        }
        let mut ideal = trace.ideal(&song, &tempo);
        let struck = trace.played(&settings(&song));
        let mut played = struck.clone();
        assert!(ideal.len() > 20, "a trace worth playing");
        let tolerance = trace.tolerance();
        let late_meter = trace.late_meter();
        // By key, then time: strokes of one moment may come in any order.
        for notes in [&mut ideal, &mut played] {
            notes.sort_by_key(|&(at, note, _)| (note.key, at));
        }
        for (ideal, played) in ideal.iter().zip(&played) {
            let same = ideal.1 == played.1
                && (ideal.2 == played.2 || late_meter.iter().any(|b| b.contains(&ideal.0)));
            let off = (ideal.0 - played.0).abs();
            let allowed = tolerance(ideal.0);
            assert!(
                same && off <= allowed,
                "expected {ideal:?} within {allowed} samples, played {played:?}"
            );
        }
        assert_eq!(ideal.len(), played.len(), "a note is lost or doubled");
        (trace, struck)
    })
}

const FOUR_FOUR: [(u32, &str, f64); 1] = [(8, "4/4", 120.0)];
const AT_120: [(i64, f64); 1] = [(0, 120.0)];

#[test]
fn a_roll_from_zero() {
    check(include_str!("traces/roll.txt"), &FOUR_FOUR, &AT_120);
}

#[test]
fn a_loop_repeats_exactly() {
    let text = include_str!("traces/loop.txt");
    for (trace, struck) in check(text, &FOUR_FOUR, &AT_120) {
        // Where the loop begins again, and the notes of each whole pass from there.
        let stretches = trace.stretches();
        let wraps = stretches.windows(2).filter(|pair| pair[0].2 > pair[1].1);
        let wraps: Vec<i64> = wraps.map(|pair| pair[1].0).collect();
        let passes: Vec<Vec<Struck>> = wraps
            .windows(2)
            .map(|pass| {
                let inside = struck.iter().filter(|s| (pass[0]..pass[1]).contains(&s.0));
                inside
                    .map(|&(at, note, vel)| (at - pass[0], note, vel))
                    .collect()
            })
            .collect();
        assert!(passes.len() >= 2 && passes[0].len() > 5);
        for pass in &passes {
            assert_eq!(*pass, passes[0]);
        }
    }
}

#[test]
fn seeks_while_rolling() {
    check(include_str!("traces/seek.txt"), &FOUR_FOUR, &AT_120);
}

#[test]
fn tempo_changes() {
    // A bar is composed at the tempo that the host says of the block in which it begins: the bar
    // at quarter 4 still at 120, since the block that it begins in began before it.
    let sections = [(2, "4/4", 120.0), (1, "4/4", 151.0), (8, "4/4", 97.0)];
    let tempi = [(0, 120.0), (4, 151.0), (10, 97.0)];
    check(include_str!("traces/tempo.txt"), &sections, &tempi);
}

#[test]
fn meter_changes() {
    let sections = [(1, "4/4", 120.0), (2, "7/8", 120.0), (8, "4/4", 120.0)];
    check(include_str!("traces/meter.txt"), &sections, &AT_120);
}

#[test]
fn bars_longer_than_four_quarters() {
    check(
        include_str!("traces/long_bars.txt"),
        &[(8, "5/4", 120.0)],
        &AT_120,
    );
}
