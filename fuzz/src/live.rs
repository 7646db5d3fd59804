//! A host as bytes tell it: the live player in blocks, with every event checked. What a byte does is written where it is
//! read; a text of bytes of any length means something.

use fourlimb::engine::{BlockInput, EventSink, LivePlayer};
use fourlimb::kit::Note;
use fourlimb::midi::{ExpressionEvent, NoteEvent, NoteOut};
use fourlimb::riff::{GuitarStroke, Riff};
use fourlimb::settings::{SettingId, Settings};
use fourlimb::song::{SongFile, Timeline};
use fourlimb::transport::HostTime;
use std::collections::BTreeSet;
use std::sync::LazyLock;

/// The most samples that are played for one text of bytes: some bars, and more of the same finds nothing.
const MOST_SAMPLES: u32 = 48_000 * 20;

/// The most strokes that a block brings, as many as the plugin takes.
const MOST_STROKES: usize = 256;

/// Numbers that hosts have no business to say, and some do.
pub const ODD: [f64; 12] = [
    f64::NAN,
    f64::INFINITY,
    f64::NEG_INFINITY,
    0.0,
    -0.0,
    -1.0,
    1e-300,
    1e300,
    1e9,
    -1e9,
    1e10,
    9.007e15,
];

/// Bytes that are read one after the other; zeros after the last.
struct Reader<'a>(&'a [u8]);

impl Reader<'_> {
    fn byte(&mut self) -> u8 {
        let Some((first, rest)) = self.0.split_first() else {
            return 0;
        };
        self.0 = rest;
        *first
    }

    fn pair(&mut self) -> i16 {
        i16::from_le_bytes([self.byte(), self.byte()])
    }

    /// 0 to 1.
    fn share(&mut self) -> f32 {
        f32::from(self.byte()) / 255.0
    }

    /// A place in quarter notes: sixteenths of one, or an odd number.
    fn quarters(&mut self) -> f64 {
        match self.pair() {
            strange @ ..=-32_000 => ODD[usize::from(strange.unsigned_abs()) % ODD.len()],
            place => f64::from(place) / 16.0,
        }
    }
}

/// A host's buffer of events, which looks at each.
#[derive(Default)]
struct Checker {
    frames: u32,
    last: u32,
    sounding: BTreeSet<(u8, u8)>,
    /// An event is refused where the next of these bits is set.
    refuses: u8,
}

impl Checker {
    fn takes(&mut self, sample: u32) -> bool {
        assert!(
            sample < self.frames,
            "an event at {sample} in a block of {}",
            self.frames
        );
        assert!(
            sample >= self.last,
            "an event at {sample} after one at {}",
            self.last
        );
        let refused = self.refuses & 1 == 1;
        self.refuses = self.refuses.rotate_right(1);
        if !refused {
            self.last = sample;
        }
        !refused
    }
}

impl EventSink for Checker {}

impl NoteOut for Checker {
    fn express(&mut self, event: ExpressionEvent) -> bool {
        self.takes(event.sample)
    }

    fn send(&mut self, event: NoteEvent) -> bool {
        if !self.takes(event.sample) {
            return false;
        }
        let Note { channel, key } = event.note;
        assert!(channel < 16 && key < 128, "{event:?}");
        match event.velocity {
            Some(velocity) => {
                assert!((1..=127).contains(&velocity), "{event:?}");
                assert!(
                    self.sounding.insert((channel, key)),
                    "struck while it sounds: {event:?}"
                );
            }
            None => assert!(
                self.sounding.remove(&(channel, key)),
                "released while silent: {event:?}"
            ),
        }
        true
    }
}

/// A song with a section of each kind, for the chart.
static SONG: LazyLock<Timeline> = LazyLock::new(|| {
    let song = r#"{"fourlimb_song": 1, "title": "T", "sections": [
        {"name": "A", "bars": 2, "meter": "host", "style": "rock", "fill": "long", "hits": [[960, "short"]]},
        {"name": "B", "bars": 1, "meter": "7/8", "style": "blast", "edits": [[240, "add", "china"]]},
        {"name": "C", "bars": 1, "locked": [[-20, "kick", 104], [0, "crash left", 120, "rings"]]},
        {"name": "D", "bars": 1, "play": "ending", "as_panel": ["intensity"]}]}"#;
    let song = SongFile::parse(song).unwrap_or_else(|error| panic!("{error}"));
    Timeline::new(&song).unwrap_or_else(|error| panic!("{error}"))
});

/// What the bytes of a target may do.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Theme {
    /// The host's report of time: positions, tempi, meters, flags.
    Transport,
    /// Settings that change.
    Automation,
    /// The guitar's strokes, as notes and as sound.
    Notes,
}

struct Host {
    player: LivePlayer,
    checker: Checker,
    said: HostTime,
    settings: Settings,
    rate: f64,
    /// Where the playhead is; the host says so where it says anything.
    at: f64,
    is_mute: bool,
    left: u32,
}

/// Plays what the bytes say, then stops: nothing may sound on.
pub(crate) fn play(bytes: &[u8], theme: Theme) {
    let mut bytes = Reader(bytes);
    let rate = [48_000.0, 44_100.0, 96_000.0, 8_000.0][usize::from(bytes.byte() % 4)];
    let mut host = Host {
        player: LivePlayer::new(rate),
        checker: Checker::default(),
        said: HostTime {
            playing: true,
            bpm: Some(120.0),
            pos_quarters: Some(0.0),
            meter: Some((4, 4)),
            ..HostTime::default()
        },
        settings: Settings::default(),
        rate,
        at: 0.0,
        is_mute: false,
        left: MOST_SAMPLES,
    };
    if bytes.byte() % 2 == 1 {
        host.settings.follow_chart = true;
        host.player.exchange_chart(|chart| {
            chart.clone_from(SONG.chart());
            true
        });
    }
    while !bytes.0.is_empty() && host.left > 0 {
        match theme {
            Theme::Transport => host.report(&mut bytes),
            Theme::Automation => host.automate(&mut bytes),
            Theme::Notes => host.strike(&mut bytes),
        }
    }
    host.stop();
    let saved = host.player.riff().save();
    let again = Riff::load(&saved).map(|riff| riff.save());
    assert_eq!(again.as_ref(), Ok(&saved), "the riff that was captured");
}

impl Host {
    /// The host says something new, and plays a few blocks.
    fn report(&mut self, bytes: &mut Reader) {
        match bytes.byte() % 12 {
            0 => self.said.playing = !self.said.playing,
            1 => self.at = bytes.quarters(),
            2 => self.said.bpm = Some(f64::from(bytes.pair()) / 16.0),
            3 => self.said.bpm = (bytes.byte() % 2 == 1).then(|| bytes.quarters()),
            4 => self.said.meter = Some((bytes.byte().into(), bytes.byte().into())),
            5 => {
                self.said.meter =
                    (bytes.byte() % 2 == 1).then(|| (bytes.pair().into(), bytes.pair().into()))
            }
            6 => self.said.bar_quarters = (bytes.byte() % 2 == 1).then(|| bytes.quarters()),
            7 => {
                self.said.loop_quarters =
                    (!bytes.byte().is_multiple_of(4)).then(|| (bytes.quarters(), bytes.quarters()))
            }
            8 => self.is_mute = !self.is_mute,
            9 => self.checker.refuses = bytes.byte(),
            10 => {
                self.rate = [48_000.0, 44_100.0, 192_000.0, 8_000.0][usize::from(bytes.byte() % 4)];
                self.player.set_sample_rate(self.rate);
            }
            _ => self.player.reset(),
        }
        let blocks = bytes.byte();
        for _ in 0..blocks % 8 {
            // Three bits: up to 8,064 samples.
            self.block(u32::from(blocks >> 3) * 256 + u32::from(blocks), &[]);
        }
    }

    /// A setting changes, at whatever place of a bar, and a block is played.
    fn automate(&mut self, bytes: &mut Reader) {
        let id = SettingId::ALL[usize::from(bytes.byte()) % SettingId::ALL.len()];
        let (low, high) = id.kind().range();
        let value = low + (high - low) * bytes.share();
        self.settings.set(id, id.kind().nearest(value));
        let frames = u32::from(bytes.byte()) * 64;
        for _ in 0..=bytes.byte() % 4 {
            self.block(frames, &[]);
        }
    }

    /// Strokes of the guitar come in with a block.
    fn strike(&mut self, bytes: &mut Reader) {
        let what = bytes.byte();
        // What is listened to, and what the feet follow, are settings: the first bits turn them.
        for (bit, id) in [
            (1, SettingId::Listen),
            (2, SettingId::KickSource),
            (4, SettingId::RiffGrid),
        ] {
            if what & bit != 0 {
                let (low, high) = id.kind().range();
                let value = low + (high - low) * bytes.share();
                self.settings.set(id, id.kind().nearest(value));
            }
        }
        if what & 8 != 0 {
            self.at = bytes.quarters();
        }
        if what & 16 != 0 {
            self.said.playing = !self.said.playing;
        }
        let frames = u32::from(bytes.byte()) * 32 + 1;
        let count = usize::from(bytes.byte()) % MOST_STROKES;
        let mut strokes: Vec<_> = (0..count.min(bytes.0.len()))
            .map(|i| {
                let (place, how) = (u32::from(bytes.byte()), bytes.byte());
                GuitarStroke {
                    sample: place * frames / 256,
                    ago: if i % 3 == 0 { u32::from(how) * 8 } else { 0 },
                    strength: f32::from(how) / 255.0,
                    note: how % 2 == 0,
                }
            })
            .collect();
        strokes.sort_by_key(|stroke| stroke.sample);
        self.block(frames, &strokes);
        self.player.capture_mut().drain(|_| what & 32 == 0);
    }

    fn block(&mut self, frames: u32, guitar: &[GuitarStroke]) {
        self.left = self.left.saturating_sub(frames.max(64));
        self.said.pos_quarters = (!self.is_mute).then_some(self.at);
        self.checker.frames = frames;
        self.checker.last = 0;
        self.player.set_panel(&self.settings);
        let block = BlockInput {
            host: self.said,
            guitar,
            frames,
        };
        self.player.process(&block, &mut self.checker);
        if self.said.playing {
            let bpm = self.said.bpm.filter(|bpm| bpm.is_finite()).unwrap_or(120.0);
            self.at += f64::from(frames) / self.rate * bpm / 60.0;
            if let Some((from, to)) = self.said.loop_quarters
                && self.at > to
                && to - from > 0.01
            {
                self.at = from + (self.at - from).rem_euclid(to - from);
            }
        }
    }

    /// The transport stops, and the host has room for every event.
    fn stop(&mut self) {
        self.said.playing = false;
        self.checker.refuses = 0;
        for _ in 0..3 {
            self.block(64, &[]);
        }
        assert!(
            self.checker.sounding.is_empty(),
            "left sounding: {:?}",
            self.checker.sounding
        );
    }
}
