//! What the themes share: strategies for songs and settings, and a host in plain arithmetic.

use fourlimb::engine::{BlockInput, EventSink, Inputs, LivePlayer, Played, Sequencer};
use fourlimb::groove::vocabulary::VOCABULARY;
use fourlimb::groove::{Hit, Limb, Part, compose};
use fourlimb::kit::{Note, NoteMap, NoteReader, Piece};
use fourlimb::midi::NoteEvent;
use fourlimb::riff::Riff;
use fourlimb::settings::{
    BarSettings, FillShape, Hand, HandRate, Phrase, Play, Player, SettingId, Settings,
    StrokeSettings, Style, SwitchAt,
};
use fourlimb::song::Chart;
use fourlimb::time::{Bar, Meter, TICKS_PER_QUARTER, Ticks};
use fourlimb::transport::{BarGrid, HostTime};
use hosting::songs::{self, Ranges};
use proptest::prelude::*;
use proptest::sample::select;
use serde_json::Value;
use std::collections::BTreeMap;

pub const BEATS: u8 = VOCABULARY.len() as u8;

/// Samples before the start of the song, at which a script's first entries stand.
const LONG_AGO: i64 = 1 << 40;

/// The sample rates that audio devices offer, in Hz.
pub const RATES: [f64; 7] = [
    22_050.0, 32_000.0, 44_100.0, 48_000.0, 88_200.0, 96_000.0, 192_000.0,
];

/// How many cases a property of average cost tries: `PROPTEST_CASES` where it is set. A case that fails is
/// kept in `tests/proptest-regressions`, and tried first from then on.
pub fn cases(usual: u32) -> ProptestConfig {
    let cases = std::env::var("PROPTEST_CASES")
        .ok()
        .and_then(|n| n.parse().ok());
    ProptestConfig {
        cases: cases.unwrap_or(usual),
        ..ProptestConfig::default()
    }
}

/// The fields of a section that are settings, each with its texts; a level has none.
pub fn section_fields() -> impl Iterator<Item = (&'static str, &'static [&'static str])> {
    let settings = SettingId::shown().filter(|setting| setting.is_of_section());
    settings.map(|setting| match setting {
        SettingId::Style => (setting.row().id, Style::NAMES),
        _ => (setting.row().id, setting.kind().texts()),
    })
}

/// Random sections of a song file.
pub fn random_sections(ranges: Ranges, most: usize) -> impl Strategy<Value = Vec<Value>> {
    let seeds = proptest::collection::vec(any::<u64>().no_shrink(), 1..=most);
    let section = move |seed| songs::section(seed, &ranges);
    seeds.prop_map(move |seeds| seeds.into_iter().map(&section).collect())
}

/// What is struck where, without how hard and how early or late.
pub fn decisions(hits: &[Hit]) -> Vec<(Ticks, Limb, Piece)> {
    let mut struck: Vec<_> = hits.iter().map(|h| (h.grid, h.limb, h.piece)).collect();
    struck.sort_unstable_by_key(|&(grid, limb, _)| (grid, limb));
    struck
}

pub fn meters() -> impl Strategy<Value = Meter> {
    (1..=32_i64, select(vec![2, 4, 8, 16])).prop_map(|(n, d)| Meter::new(n, d).unwrap())
}

/// Meters that songs are written in, and then all the others.
pub fn likely_meters() -> impl Strategy<Value = Meter> {
    let usual = ["4/4", "4/4", "3/4", "5/4", "6/8", "7/8", "12/8"];
    prop_oneof![
        select(usual.to_vec()).prop_map(|m| m.parse().unwrap()),
        meters()
    ]
}

pub fn bpms() -> impl Strategy<Value = f64> {
    prop_oneof![
        (30..=400_u32).prop_map(f64::from),
        30.0..400.0_f64,
        // Where sixteenths and eighths meet the limits of hands and feet.
        select(vec![142.0, 143.0, 157.0, 158.0, 285.0, 286.0, 315.0, 316.0]),
    ]
}

pub fn plans() -> impl Strategy<Value = BarSettings> {
    (
        0..BEATS,
        select(HandRate::ALL),
        prop_oneof![Just(0.0), Just(1.0), 0.0..=1.0_f32],
        select(Phrase::ALL),
        select(Player::ALL),
        1..=999_u32,
        prop_oneof![Just(0.0), Just(0.5), Just(1.0), 0.0..=1.0_f32],
        prop_oneof![Just(0.5), Just(0.5), Just(2.0 / 3.0), 0.5..=0.75_f32],
        prop_oneof![3 => Just(FillShape::Auto), 2 => select(FillShape::ALL)],
        prop_oneof![9 => Just(Play::Beat), 1 => select(Play::ALL)],
    )
        .prop_map(
            |(
                style,
                hand_rate,
                fill_chance,
                phrase,
                player,
                take,
                feel,
                swing,
                fill_shape,
                play,
            )| BarSettings {
                style,
                hand_rate,
                fill_chance,
                fill_shape,
                play,
                phrase,
                player,
                take,
                feel,
                swing,
                ..fourlimb::settings::Settings::default().bar_settings
            },
        )
}

pub fn moments() -> impl Strategy<Value = StrokeSettings> {
    (
        0.0..=1.0_f32,
        prop_oneof![Just(Hand::Auto), select(Hand::ALL)],
        prop_oneof![Just(0.0), Just(1.0), 0.0..=1.0_f32],
        0.0..=1.0_f32,
    )
        .prop_map(|(intensity, hand, density, accent)| StrokeSettings {
            intensity,
            hand,
            density,
            accent,
        })
}

pub fn settings() -> impl Strategy<Value = Settings> {
    (plans(), moments(), select(SwitchAt::ALL)).prop_map(
        |(bar_settings, stroke_settings, switch_at)| Settings {
            bar_settings,
            stroke_settings,
            switch_at,
            ..Settings::default()
        },
    )
}

/// Block sizes to go round in turn, from 1 to 8192 samples, small ones as often as large ones.
pub fn cuttings() -> impl Strategy<Value = Vec<u32>> {
    let size = prop_oneof![
        1..=8_u32,
        9..=128_u32,
        129..=1024_u32,
        1025..=8192_u32,
        select(vec![32, 64, 256, 441, 512, 1024, 4096, 8192]),
    ];
    proptest::collection::vec(size, 1..24)
}

/// A bar of a meter, by its place in the row.
pub fn bar(index: i64, meter: Meter) -> Bar {
    Bar {
        start: index * meter.bar_len(),
        meter,
    }
}

pub fn part(bar: Bar, bpm: f64, bar_settings: &BarSettings) -> Part {
    let mut part = Part::new();
    compose(bar, bpm, bar_settings, &mut part);
    part
}

/// A note event on the timeline.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Event {
    /// Samples from the start of the song.
    pub at: i64,
    pub key: u8,
    pub velocity: Option<u8>,
}

/// A song as an exact host would play it: tempo and settings change at fixed samples, and the host
/// begins a block at every change.
#[derive(Debug, Clone)]
pub struct Host {
    /// Hz.
    pub rate: f64,
    pub meter: Meter,
    /// (sample, quarter notes a minute), the first at 0 or before.
    pub tempo: Vec<(i64, f64)>,
    /// (sample, settings), the first at 0 or before.
    pub settings: Vec<(i64, Settings)>,
}

impl Host {
    pub fn steady(rate: f64, meter: Meter, bpm: f64, settings: Settings) -> Self {
        Self {
            rate,
            meter,
            tempo: vec![(-LONG_AGO, bpm)],
            settings: vec![(-LONG_AGO, settings)],
        }
    }

    pub fn bpm(&self, sample: i64) -> f64 {
        self.tempo[self
            .tempo
            .partition_point(|t| t.0 <= sample)
            .saturating_sub(1)]
        .1
    }

    pub fn settings(&self, sample: i64) -> &Settings {
        &self.settings[self
            .settings
            .partition_point(|s| s.0 <= sample)
            .saturating_sub(1)]
        .1
    }

    /// Position of a sample in quarter notes; sample 0 is quarter 0.
    pub fn quarters(&self, sample: i64) -> f64 {
        let mut quarters = 0.0;
        let mut from = 0;
        let per_sample = |bpm: f64| bpm / 60.0 / self.rate;
        for &(at, _) in self.tempo.iter().filter(|t| t.0 > 0 && t.0 < sample) {
            quarters += (at - from) as f64 * per_sample(self.bpm(from));
            from = at;
        }
        quarters + (sample - from) as f64 * per_sample(self.bpm(from))
    }

    pub fn samples_per_bar(&self) -> f64 {
        self.meter.bar_len() as f64 / TICKS_PER_QUARTER as f64 * 60.0 / self.bpm(0) * self.rate
    }

    pub fn time(&self, sample: i64) -> HostTime {
        let pos = self.quarters(sample);
        let bar = self.meter.bar_len() as f64 / TICKS_PER_QUARTER as f64;
        HostTime {
            playing: true,
            bpm: Some(self.bpm(sample)),
            pos_quarters: Some(pos),
            pos_samples: Some(sample),
            meter: Some((
                self.meter.numerator().into(),
                self.meter.denominator().into(),
            )),
            bar_quarters: Some((pos / bar + 1e-9).floor() * bar),
            loop_quarters: None,
        }
    }

    /// Where the next change lies.
    fn next_change(&self, after: i64) -> i64 {
        let tempo = self.tempo.iter().map(|t| t.0);
        let settings = self.settings.iter().map(|s| s.0);
        tempo
            .chain(settings)
            .filter(|&at| at > after)
            .min()
            .unwrap_or(LONG_AGO)
    }

    /// Plays from one sample up to another in blocks of the given sizes, and stops.
    pub fn play(&self, from: i64, to: i64, cutting: &[u32]) -> Vec<Event> {
        let mut player = LivePlayer::new(self.rate);
        let mut events = Vec::new();
        let mut at = from;
        for &size in cutting.iter().cycle() {
            if at >= to {
                break;
            }
            let frames = i64::from(size).min(self.next_change(at) - at).min(to - at);
            let mut block: Vec<NoteEvent> = Vec::new();
            let frames32 = u32::try_from(frames).unwrap();
            player.block(
                &self.time(at),
                self.settings(at),
                frames32,
                false,
                &mut block,
            );
            events.extend(block.iter().map(|event| Event {
                at: at + i64::from(event.sample),
                key: event.note.key,
                velocity: event.velocity,
            }));
            at += frames;
        }
        events
    }
}

/// Whether two performances are the same, each note within `slack` samples; else the first
/// difference. Keys are compared apart, since events a sample apart may change places.
pub fn same(a: &[Event], b: &[Event], slack: i64) -> Result<(), String> {
    let by_key = |events: &[Event]| {
        let mut keys: BTreeMap<u8, Vec<Event>> = BTreeMap::new();
        for event in events {
            keys.entry(event.key).or_default().push(*event);
        }
        keys
    };
    let (a, b) = (by_key(a), by_key(b));
    if a.keys().ne(b.keys()) {
        return Err(format!("keys {:?} against {:?}", a.keys(), b.keys()));
    }
    for (key, ours) in &a {
        let theirs = &b[key];
        for (i, (x, y)) in ours.iter().zip(theirs).enumerate() {
            if x.velocity != y.velocity || (x.at - y.at).abs() > slack {
                return Err(format!("event {i} of key {key}: {x:?} against {y:?}"));
            }
        }
        if ours.len() != theirs.len() {
            let (n, m) = (ours.len(), theirs.len());
            return Err(format!("key {key} has {n} events against {m}"));
        }
    }
    Ok(())
}

/// Only the note-ons.
pub fn ons(events: &[Event]) -> Vec<Event> {
    events
        .iter()
        .copied()
        .filter(|e| e.velocity.is_some())
        .collect()
}

/// Ticks of a bar as a readable position: count, sixteenth, ticks beyond.
pub fn spoken(bar: Bar, tick: Ticks) -> String {
    let at = tick - bar.start;
    let counts = bar.meter.counts();
    let i = counts.iter().rposition(|c| c.start <= at).unwrap_or(0);
    let rest = at - counts[i].start;
    format!("{}.{}+{}", i + 1, rest / 240 + 1, rest % 240)
}

/// Blocks without a guitar.
pub trait Blocks {
    /// Plays one of `frames` samples.
    fn block(
        &mut self,
        host: &HostTime,
        panel: &Settings,
        frames: u32,
        silent: bool,
        sink: &mut impl EventSink,
    );
}

impl Blocks for LivePlayer {
    fn block(
        &mut self,
        host: &HostTime,
        panel: &Settings,
        frames: u32,
        silent: bool,
        sink: &mut impl EventSink,
    ) {
        self.set_panel(&Settings {
            bypass: silent,
            ..*panel
        });
        let block = BlockInput {
            host: *host,
            guitar: &[],
            frames,
        };
        self.process(&block, sink);
    }
}

/// Plays a span without chart or riff.
pub fn play_span(
    sequencer: &mut Sequencer,
    (from, to): (Ticks, Ticks),
    panel: &Settings,
    bars: &BarGrid,
    bpm: f64,
    mut hit: impl FnMut(Hit),
) {
    let inputs = Inputs {
        panel,
        chart: &Chart::default(),
        riff: &Riff::default(),
        bars,
        bpm,
    };
    sequencer.inputs_changed();
    sequencer.play(from, to, &inputs, |played| {
        if let Played::Hit(found) = played {
            hit(found);
        }
    });
}

/// The piece of a key of General MIDI percussion; none where it is no piece of a kit.
pub fn general_midi(key: u8) -> Option<Piece> {
    let map = NoteMap::default();
    let note = Note { channel: 9, key };
    let read = NoteReader::new(&map).read(note, 64, None)?;
    read.pieces.first().copied()
}
