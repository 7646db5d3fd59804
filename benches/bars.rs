//! Instructions to compose bars offline, and how they grow with the number of bars.

#![allow(missing_docs)]

use fourlimb::groove::{Composer, Part, Request, vocabulary};
use fourlimb::settings::Settings;
use fourlimb::time::{Bar, Meter};
use gungraun::{library_benchmark, library_benchmark_group, main};
use std::hint::black_box;

/// Composes bars of a beat in 4/4 at 180 BPM; every second one ends a phrase.
fn composed(style: &str, bars: i64) -> usize {
    let mut settings = Settings::default();
    settings.bar_settings.style = vocabulary::slot(style).unwrap_or_default();
    let (mut composer, mut part) = (Composer::new(), Part::new());
    let meter = Meter::FOUR_FOUR;
    (0..bars)
        .map(|i| {
            let bar = Bar {
                start: i * meter.bar_len(),
                meter,
            };
            composer.compose(&Request::new(bar, 180.0, &settings.bar_settings), &mut part);
            part.strokes().len()
        })
        .sum()
}

#[library_benchmark]
#[bench::rock_100("rock", 100)]
#[bench::rock_1000("rock", 1000)]
#[bench::bomb_blast_100("bomb blast", 100)]
#[bench::bomb_blast_1000("bomb blast", 1000)]
fn bars(style: &str, bars: i64) -> usize {
    black_box(composed(style, bars))
}

library_benchmark_group!(name = offline, benchmarks = bars);

main!(library_benchmark_groups = offline);
