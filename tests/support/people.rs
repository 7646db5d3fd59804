//! How people play, as numbers, and the same numbers of what Fourlimb plays.
//!
//! Source of every figure of people: the Groove MIDI Dataset (Gillick et al. 2019, CC BY 4.0), measured by us on 112
//! rock and punk performances of nine drummers in windows of four bars: median and range from the 10th to the 90th
//! percentile. No stroke of the data is copied. Its median tempo is 100 BPM, its drummers had no song to serve, and its
//! electronic kit clips loud backbeats: a guide, not a goal, for heavy music.

use fourlimb::groove::{Composer, Hit, Part, Request, vocabulary};
use fourlimb::kit::Piece;
use fourlimb::settings::{BarSettings, HandRate, Settings, StrokeSettings};
use fourlimb::time::tempo::ticks_per_second;
use fourlimb::time::{Bar, Meter, Ticks};

/// Bars in a window.
pub const BARS: i64 = 4;

const SIXTEENTH: Ticks = 240;
const BAR: Ticks = 3840;

/// A feature: its name and unit, people's median and 10th and 90th percentile, and how a window gives it.
pub struct Feature {
    /// Name and unit.
    pub name: &'static str,
    /// 10th percentile, median, 90th percentile of people.
    pub people: [f64; 3],
    /// Of a window; `None` where it has too few strokes.
    pub of: fn(&Window) -> Option<f64>,
}

/// Every feature.
pub const FEATURES: [Feature; 17] = [
    Feature {
        name: "velocity, SD of all",
        people: [23.0, 32.0, 41.0],
        of: |w| sd(&w.velocities(|_| true)),
    },
    Feature {
        name: "cymbal velocity, SD",
        people: [13.0, 26.0, 40.0],
        of: |w| sd(&w.velocities(is_cymbal)),
    },
    Feature {
        name: "cymbal velocity, range",
        people: [27.0, 64.0, 98.0],
        of: |w| range(&w.velocities(is_cymbal)),
    },
    Feature {
        name: "kick velocity, SD",
        people: [6.0, 14.0, 28.0],
        of: |w| sd(&w.velocities(is_kick)),
    },
    Feature {
        name: "loudest stroke",
        people: [124.0, 127.0, 127.0],
        of: |w| max(&w.velocities(|_| true)),
    },
    Feature {
        name: "softest stroke",
        people: [6.0, 12.0, 43.0],
        of: |w| {
            max(&w
                .velocities(|_| true)
                .iter()
                .map(|v| -v)
                .collect::<Vec<_>>())
            .map(|v| -v)
        },
    },
    Feature {
        name: "bars' mean velocity, SD",
        people: [2.3, 5.7, 13.0],
        of: |w| sd(&w.bars(|hit| f64::from(hit.velocity))),
    },
    Feature {
        name: "ghost notes, median velocity",
        people: [25.0, 35.0, 45.0],
        of: |w| median(&w.velocities(|h| h.ghost)),
    },
    Feature {
        name: "time, SD, cymbal, ms",
        people: [13.6, 16.0, 26.4],
        of: |w| sd(&w.times(is_cymbal)),
    },
    Feature {
        name: "time, SD, kick, ms",
        people: [16.1, 18.0, 27.8],
        of: |w| sd(&w.times(is_kick)),
    },
    Feature {
        name: "time, SD, snare, ms",
        people: [15.1, 19.0, 29.8],
        of: |w| sd(&w.times(is_snare)),
    },
    Feature {
        name: "time, lag-1 autocorrelation",
        people: [0.05, 0.49, 0.76],
        of: |w| lag_1(&w.times(is_cymbal)),
    },
    Feature {
        name: "time, range of bar means, ms",
        people: [10.0, 25.0, 45.0],
        of: |w| range(&w.bars(|hit| w.ms(hit))),
    },
    Feature {
        name: "time, snare and cymbal together, r",
        people: [0.60, 0.87, 0.96],
        of: Window::together,
    },
    Feature {
        name: "different cymbal bars of 4",
        people: [2.0, 3.0, 4.0],
        of: |w| Some(w.different(is_cymbal)),
    },
    Feature {
        name: "likeness of cymbal bars (Jaccard)",
        people: [0.44, 0.74, 0.96],
        of: |w| Some(w.likeness(is_cymbal, 1)),
    },
    Feature {
        // Flams, drags and what else falls between the sixteenths, as it was counted in people.
        name: "grace notes a bar",
        people: [0.0, 0.25, 1.5],
        of: |w| {
            let between = |h: &&Hit| h.grace || h.grid % SIXTEENTH != 0;
            Some(w.hits.iter().filter(between).count() as f64 / BARS as f64)
        },
    },
];

/// What is played in four bars of 4/4.
pub struct Window {
    /// The hits, in order of time.
    pub hits: Vec<Hit>,
    from: Ticks,
    ms_a_tick: f64,
}

impl Window {
    /// The four bars from a bar number on. `bpm` in quarter notes a minute.
    pub fn play(
        from: i64,
        bpm: f64,
        bar_settings: &BarSettings,
        stroke_settings: &StrokeSettings,
    ) -> Self {
        let (mut composer, mut part) = (Composer::new(), Part::new());
        let mut hits = Vec::new();
        for index in from..from + BARS {
            let bar = Bar {
                start: index * BAR,
                meter: Meter::FOUR_FOUR,
            };
            composer.compose(&Request::new(bar, bpm, bar_settings), &mut part);
            hits.extend(part.hits(stroke_settings));
        }
        hits.sort_by_key(|hit| (hit.tick, hit.limb));
        Self {
            hits,
            from: from * BAR,
            ms_a_tick: 1000.0 / ticks_per_second(bpm),
        }
    }

    /// Velocities of the strokes of a kind.
    pub fn velocities(&self, of: fn(&Hit) -> bool) -> Vec<f64> {
        let hits = self.hits.iter().filter(|hit| of(hit));
        hits.map(|hit| f64::from(hit.velocity)).collect()
    }

    /// Milliseconds from the grid.
    pub fn ms(&self, hit: &Hit) -> f64 {
        (hit.tick - hit.grid) as f64 * self.ms_a_tick
    }

    /// Milliseconds from the grid of the strokes of a kind, without grace notes.
    pub fn times(&self, of: fn(&Hit) -> bool) -> Vec<f64> {
        let hits = self.hits.iter().filter(|hit| of(hit) && !hit.grace);
        hits.map(|hit| self.ms(hit)).collect()
    }

    /// The mean of something over each bar.
    fn bars(&self, of: impl Fn(&Hit) -> f64) -> Vec<f64> {
        let bar = |i| {
            let hits = self
                .hits
                .iter()
                .filter(|hit| !hit.grace && (hit.grid - self.from) / BAR == i);
            let values: Vec<f64> = hits.map(&of).collect();
            mean(&values)
        };
        (0..BARS).map(bar).collect()
    }

    /// Correlation of the times of snare and cymbal at the same place.
    fn together(&self) -> Option<f64> {
        let pairs = self
            .hits
            .iter()
            .filter(|hit| is_snare(hit) && !hit.grace)
            .filter_map(|snare| {
                let cymbal = self
                    .hits
                    .iter()
                    .find(|hit| is_cymbal(hit) && hit.grid == snare.grid)?;
                Some((self.ms(snare), self.ms(cymbal)))
            });
        let (a, b): (Vec<f64>, Vec<f64>) = pairs.unzip();
        (a.len() >= 4).then(|| correlation(&a, &b))
    }

    /// The sixteenths of each bar at which a kind of stroke sounds.
    fn slots(&self, of: fn(&Hit) -> bool) -> [u16; BARS as usize] {
        let mut bars = [0; BARS as usize];
        for hit in self.hits.iter().filter(|hit| of(hit) && !hit.grace) {
            let at = hit.grid - self.from;
            bars[usize::try_from(at / BAR).unwrap()] |= 1 << (at % BAR / SIXTEENTH);
        }
        bars
    }

    fn different(&self, of: fn(&Hit) -> bool) -> f64 {
        let mut bars = self.slots(of).to_vec();
        bars.sort_unstable();
        bars.dedup();
        bars.len() as f64
    }

    /// Mean Jaccard index of the bars and those `lag` after them.
    pub fn likeness(&self, of: fn(&Hit) -> bool, lag: usize) -> f64 {
        let bars = self.slots(of);
        let pairs = bars.iter().zip(&bars[lag..]).map(|(a, b)| {
            let (both, any) = ((a & b).count_ones(), (a | b).count_ones());
            if any == 0 {
                1.0
            } else {
                f64::from(both) / f64::from(any)
            }
        });
        mean(&pairs.collect::<Vec<_>>())
    }
}

/// Whether a hit is on a cymbal that is ridden.
pub fn is_cymbal(hit: &Hit) -> bool {
    matches!(
        hit.piece,
        Piece::HiHatClosed
            | Piece::HiHatLoose
            | Piece::HiHatOpen
            | Piece::Ride
            | Piece::RideBell
            | Piece::CrashLeft
            | Piece::CrashRight
            | Piece::China
            | Piece::Splash
    )
}

/// Whether a hit is a kick.
pub fn is_kick(hit: &Hit) -> bool {
    hit.piece == Piece::Kick
}

/// Whether a hit is a snare stroke that is no ghost note.
pub fn is_snare(hit: &Hit) -> bool {
    hit.piece == Piece::Snare && !hit.ghost
}

/// Arithmetic mean; 0 of nothing.
pub fn mean(x: &[f64]) -> f64 {
    x.iter().sum::<f64>() / (x.len() as f64).max(1.0)
}

/// Standard deviation of four values or more.
pub fn sd(x: &[f64]) -> Option<f64> {
    let middle = mean(x);
    let squares: f64 = x.iter().map(|v| (v - middle).powi(2)).sum();
    (x.len() >= 4).then(|| (squares / x.len() as f64).sqrt())
}

/// Pearson's correlation.
pub fn correlation(x: &[f64], y: &[f64]) -> f64 {
    let (a, b) = (mean(x), mean(y));
    let sum =
        |f: &dyn Fn(f64, f64) -> f64| x.iter().zip(y).map(|(&x, &y)| f(x - a, y - b)).sum::<f64>();
    sum(&|x, y| x * y) / (sum(&|x, _| x * x) * sum(&|_, y| y * y)).sqrt()
}

fn lag_1(x: &[f64]) -> Option<f64> {
    (x.len() >= 8).then(|| correlation(&x[1..], &x[..x.len() - 1]))
}

fn max(x: &[f64]) -> Option<f64> {
    x.iter().copied().reduce(f64::max)
}

fn range(x: &[f64]) -> Option<f64> {
    Some(max(x)? + max(&x.iter().map(|v| -v).collect::<Vec<_>>())?)
}

/// The middle value.
pub fn median(x: &[f64]) -> Option<f64> {
    Some(percentiles(x)?[1])
}

/// The 10th, 50th and 90th percentile.
pub fn percentiles(x: &[f64]) -> Option<[f64; 3]> {
    let mut x: Vec<f64> = x.iter().copied().filter(|v| v.is_finite()).collect();
    x.sort_by(f64::total_cmp);
    let last = x.len().checked_sub(1)?;
    Some([1, 5, 9].map(|tenth| x[last * tenth / 10]))
}

/// Windows of rock beats at 112 BPM, near the middle of the data: one of each of 200 takes, from different bars on.
pub fn windows(feel: f32, stroke_settings: &StrokeSettings) -> Vec<Window> {
    const BEATS: [&str; 5] = [
        "rock",
        "rock",
        "half-time",
        "four on the floor",
        "syncopated groove",
    ];
    const RATES: [HandRate; 4] = [
        HandRate::Eighths,
        HandRate::Eighths,
        HandRate::Auto,
        HandRate::Sixteenths,
    ];
    let window = |take: u32| {
        let turn = take as usize;
        let bar_settings = BarSettings {
            style: vocabulary::slot(BEATS[turn % BEATS.len()]).expect("a beat of the vocabulary"),
            hand_rate: RATES[turn % RATES.len()],
            take,
            feel,
            ..Settings::default().bar_settings
        };
        let from = i64::from(take) * BARS % 64;
        Window::play(from, 112.0, &bar_settings, stroke_settings)
    };
    (1..=200).map(window).collect()
}

/// The settings of the two comparisons: the defaults, and feel, accent and density at 100 %.
pub fn comparisons() -> [Vec<Window>; 2] {
    let usual = Settings::default().stroke_settings;
    let full = StrokeSettings {
        accent: 1.0,
        density: 1.0,
        ..usual
    };
    [windows(0.5, &usual), windows(1.0, &full)]
}

/// The table of people, the defaults, and everything at 100 %.
pub fn table() -> String {
    let windows = comparisons();
    let cell = |x: Option<[f64; 3]>| {
        x.map_or("-".to_owned(), |[low, middle, high]| {
            format!("{middle:.2} [{low:.2}..{high:.2}]")
        })
    };
    let mut out = String::from(
        "| four bars, rock | people | Fourlimb, defaults | feel, accent, density 100 % |\n|--|--|--|--|\n",
    );
    for feature in &FEATURES {
        let [usual, full] = [0, 1].map(|i: usize| cell(measure(feature, &windows[i])));
        let people = cell(Some(feature.people));
        out += &format!("| {} | {people} | {usual} | {full} |\n", feature.name);
    }
    out
}

/// The percentiles of a feature over windows.
pub fn measure(feature: &Feature, windows: &[Window]) -> Option<[f64; 3]> {
    let values: Vec<f64> = windows.iter().filter_map(feature.of).collect();
    percentiles(&values)
}
