//! A player passes over blocks in which nothing can happen (`src/engine/rest.rs`). It must play every event at the same
//! sample as a player that never rests, and the recorder must keep the same.

use crate::played::collect;
use crate::support::*;
use fourlimb::engine::{BlockInput, EventSink, LivePlayer, Passing};
use fourlimb::midi::{ExpressionEvent, NoteEvent, NoteOut};
use fourlimb::recorder::tap::{Entry, RecorderTap};
use fourlimb::riff::GuitarStroke;
use fourlimb::settings::{KickSource, Listen, Settings};
use fourlimb::song::{Chart, SongFile, Timeline};
use fourlimb::transport::{HostTime, Span};
use hosting::songs::{self, Ranges};
use proptest::prelude::*;
use serde_json::json;

const RATE: f64 = 48_000.0;

/// How a host tells its position.
#[derive(Debug, Clone, Copy)]
enum Report {
    /// In quarter notes alone.
    Exact,
    /// And in samples.
    WithSamples,
    /// On a grid of 1/1920 of a quarter.
    Quantised,
    /// Early and late in turn, by so many ticks.
    Jitter(f64),
    /// Not at all.
    None,
}

/// What a host does next.
#[derive(Debug, Clone)]
enum Act {
    /// Blocks of one size.
    Play(u32, u32),
    /// Stops for a block.
    Stop,
    Seek(f64),
    Tempo(f64),
    Meter((i32, i32)),
    Loop(Option<(f64, f64)>),
    Report(Report),
    Settings(Box<Settings>),
    Bypass(bool),
    Reset,
    /// The guitar plays in the next block.
    Guitar,
    /// Another chart comes, or none.
    Chart(bool),
}

fn acts() -> impl Strategy<Value = Vec<Act>> {
    let report = prop_oneof![
        Just(Report::Exact),
        Just(Report::WithSamples),
        Just(Report::Quantised),
        (0.0..3.0_f64).prop_map(Report::Jitter),
        Just(Report::None),
    ];
    let place = prop_oneof![(-4..32_i32).prop_map(f64::from), -4.0..32.0_f64];
    let around = (place.clone(), 0.2..9.0_f64).prop_map(|(start, len)| (start, start + len));
    let size = prop_oneof![Just(64), 1..=8_u32, 1..=300_u32, 300..=2000_u32];
    let meter = likely_meters().prop_map(|m| (m.numerator().into(), m.denominator().into()));
    let act = prop_oneof![
        12 => (size, 1..=300_u32).prop_map(|(frames, blocks)| Act::Play(frames, blocks)),
        1 => Just(Act::Stop),
        1 => place.prop_map(Act::Seek),
        3 => bpms().prop_map(Act::Tempo),
        1 => meter.prop_map(Act::Meter),
        2 => proptest::option::of(around).prop_map(Act::Loop),
        2 => report.prop_map(Act::Report),
        3 => settings().prop_map(|s| Act::Settings(Box::new(s))),
        1 => any::<bool>().prop_map(Act::Bypass),
        1 => Just(Act::Reset),
        2 => Just(Act::Guitar),
        1 => any::<bool>().prop_map(Act::Chart),
    ];
    proptest::collection::vec(act, 2..24)
}

fn charts() -> impl Strategy<Value = Chart> {
    let ranges = Ranges {
        fields: section_fields().collect(),
        bars: 1..=4,
        bpm: 90.0..=240.0,
    };
    random_sections(ranges, 4).prop_map(|sections| {
        let text = songs::song(&json!({}), sections);
        let song = Timeline::new(&SongFile::parse(&text).unwrap()).unwrap();
        song.chart().clone()
    })
}

/// What comes of it.
#[derive(Default)]
struct Heard {
    events: Vec<Event>,
    tape: Vec<Entry>,
    /// Where the playhead was after each block.
    playhead: Vec<Option<i64>>,
    /// How many spans were told of.
    spans: usize,
}

struct Sink<'a> {
    heard: &'a mut Heard,
    tape: &'a mut RecorderTap<Vec<Entry>>,
    /// Where the block begins, in samples since the first.
    at: i64,
}

impl NoteOut for Sink<'_> {
    fn send(&mut self, event: NoteEvent) -> bool {
        self.tape.note(&event);
        self.heard.events.push(Event {
            at: self.at + i64::from(event.sample),
            key: event.note.key,
            velocity: event.velocity,
        });
        true
    }

    fn express(&mut self, event: ExpressionEvent) -> bool {
        self.tape.express(&event);
        true
    }
}

impl EventSink for Sink<'_> {
    fn passes(&mut self, span: &Span, passing: &Passing) {
        self.heard.spans += 1;
        self.tape.pass(span, passing);
    }

    fn ends(&mut self, frames: u32) {
        self.tape.end_block(frames);
    }
}

/// A host with a player.
struct Session<'a> {
    player: LivePlayer,
    tape: RecorderTap<Vec<Entry>>,
    heard: Heard,
    chart: &'a Chart,
    /// The player is told before each block that its chart has changed, so that it never rests.
    restless: bool,
    host: HostTime,
    report: Report,
    /// Quarter notes.
    position: f64,
    /// Samples since the first block.
    played: i64,
    panel: Settings,
    guitar: bool,
}

impl<'a> Session<'a> {
    fn new(chart: &'a Chart, restless: bool) -> Self {
        Self {
            player: LivePlayer::new(RATE),
            tape: RecorderTap::new(Vec::new()),
            heard: Heard::default(),
            chart,
            restless,
            host: HostTime {
                playing: true,
                bpm: Some(150.0),
                meter: Some((4, 4)),
                ..HostTime::default()
            },
            report: Report::Exact,
            position: 0.0,
            played: 0,
            panel: Settings::default(),
            guitar: false,
        }
    }

    fn act(&mut self, act: &Act) {
        match act {
            Act::Play(frames, blocks) => (0..*blocks).for_each(|_| self.block(*frames)),
            Act::Stop => {
                self.host.playing = false;
                self.block(64);
                self.host.playing = true;
            }
            Act::Seek(to) => self.position = *to,
            Act::Tempo(bpm) => self.host.bpm = Some(*bpm),
            Act::Meter(meter) => self.host.meter = Some(*meter),
            Act::Loop(ends) => self.host.loop_quarters = *ends,
            Act::Report(report) => self.report = *report,
            Act::Settings(settings) => {
                self.panel = Settings {
                    bypass: self.panel.bypass,
                    follow_chart: self.panel.follow_chart,
                    ..**settings
                };
                self.panel.listen = Listen::Notes;
                self.panel.bar_settings.kick_source = KickSource::Both;
            }
            Act::Bypass(on) => self.panel.bypass = *on,
            Act::Reset => self.player.reset(),
            Act::Guitar => self.guitar = true,
            Act::Chart(on) => {
                let chart = if *on {
                    self.chart.clone()
                } else {
                    Chart::default()
                };
                self.panel.follow_chart = *on;
                self.player.exchange_chart(|used| {
                    *used = chart;
                    true
                });
            }
        }
    }

    fn time(&self) -> HostTime {
        let position = match self.report {
            Report::Exact | Report::WithSamples => Some(self.position),
            Report::Quantised => Some((self.position * 1920.0).round() / 1920.0),
            Report::Jitter(ticks) if self.heard.playhead.len().is_multiple_of(2) => {
                Some(self.position + ticks / 960.0)
            }
            Report::Jitter(ticks) => Some(self.position - ticks / 960.0),
            Report::None => None,
        };
        let (n, d) = self.host.meter.unwrap_or((4, 4));
        let bar = f64::from(n) * 4.0 / f64::from(d);
        let samples = self.position * 60.0 / self.host.bpm.unwrap_or(120.0) * RATE;
        HostTime {
            pos_quarters: position,
            pos_samples: matches!(self.report, Report::WithSamples).then_some(samples as i64),
            bar_quarters: Some((self.position / bar + 1e-9).floor() * bar),
            ..self.host
        }
    }

    fn block(&mut self, frames: u32) {
        if self.restless {
            self.player.exchange_chart(|_| true);
        }
        let stroke = GuitarStroke {
            sample: frames / 2,
            ago: 0,
            strength: 0.8,
            note: true,
        };
        let strokes = [stroke];
        let block = BlockInput {
            host: self.time(),
            guitar: if std::mem::take(&mut self.guitar) {
                &strokes
            } else {
                &[]
            },
            frames,
        };
        self.player.set_panel(&self.panel);
        let mut sink = Sink {
            heard: &mut self.heard,
            tape: &mut self.tape,
            at: self.played,
        };
        self.player.process(&block, &mut sink);
        self.heard
            .playhead
            .push(self.player.playhead().map(|(_, tick)| tick));
        self.played += i64::from(frames);
        if self.host.playing {
            self.position += f64::from(frames) * self.host.bpm.unwrap_or(120.0) / 60.0 / RATE;
            if let Some((start, end)) = self.host.loop_quarters
                && self.position >= end
                && self.position < end + 1.0
            {
                self.position -= end - start;
            }
        }
    }

    fn run(mut self, acts: &[Act]) -> Heard {
        acts.iter().for_each(|act| self.act(act));
        self.act(&Act::Stop);
        self.heard.tape = self.tape.outlet().clone();
        self.heard
    }
}

proptest! {
    #![proptest_config(cases(128))]

    #[test]
    fn resting_changes_nothing(chart in charts(), acts in acts()) {
        let rested = Session::new(&chart, false).run(&acts);
        let restless = Session::new(&chart, true).run(&acts);
        prop_assert_eq!(&rested.events, &restless.events);
        prop_assert_eq!(&rested.playhead, &restless.playhead);
        let ((a, seen), (b, all)) = (collect(&rested.tape), collect(&restless.tape));
        prop_assert_eq!(a.latest(), b.latest());
        prop_assert_eq!(seen.meters(), all.meters());
    }
}

/// The property above would hold for a player that never rests.
#[test]
fn most_blocks_are_rest() {
    let chart = Chart::default();
    let reports = [
        Report::Exact,
        Report::WithSamples,
        Report::Quantised,
        Report::None,
    ];
    for report in reports {
        let acts = [Act::Report(report), Act::Play(64, 3000)];
        let told = |restless| Session::new(&chart, restless).run(&acts);
        let (rested, restless) = (told(false), told(true));
        assert!(restless.spans >= 3000);
        assert!(rested.spans < 1000, "{report:?}: {}", rested.spans);
        assert!(
            rested.events.len() > 50,
            "{report:?}: {}",
            rested.events.len()
        );
        assert_eq!(rested.events, restless.events, "{report:?}");
    }
}
