//! Instructions to play a song offline, and how they grow with its sections and with its riff. A bar of a long song, or beside
//! a long riff, should cost what it costs in a short one.

#![allow(missing_docs)]

use fourlimb::engine::offline;
use fourlimb::riff::{Attack, Riff};
use fourlimb::settings::Style;
use fourlimb::song::{SongFile, Timeline};
use fourlimb::time::Ticks;
use gungraun::{library_benchmark, library_benchmark_group, main};
use std::fmt::Write as _;
use std::hint::black_box;

/// Bars of a section.
const BARS: usize = 4;
/// A bar of 4/4, in ticks.
const BAR: Ticks = 3840;

/// A song file of so many sections of four bars in 4/4.
fn text(sections: usize) -> String {
    let mut text =
        String::from(r#"{"fourlimb_song": 1, "title": "T", "kick_source": "both", "sections": ["#);
    for i in 0..sections {
        let beat = Style::NAMES[i % 8];
        let comma = if i > 0 { "," } else { "" };
        let _ = write!(
            text,
            r#"{comma}{{"name": "S", "bars": {BARS}, "bpm": 160, "style": "{beat}"}}"#
        );
    }
    text + "]}"
}

fn song(sections: usize) -> Box<Timeline> {
    let song = SongFile::parse(&text(sections)).expect("the song is read");
    Box::new(Timeline::new(&song).expect("the song is laid out"))
}

/// Sixteen bars, of which the guitar is known as far as its attacks reach.
fn with_riff(attacks: Ticks) -> Box<Timeline> {
    let mut song = song(4);
    let attack = |i| Attack {
        tick: i * 240,
        strength: 1.0,
    };
    song.set_riff(Riff::new(
        (0..attacks).map(attack),
        0,
        (attacks * 240).max(16 * BAR),
    ));
    song
}

#[library_benchmark]
#[bench::of_10(args = (10), setup = song)]
#[bench::of_100(args = (100), setup = song)]
fn sections(song: Box<Timeline>) -> (Box<Timeline>, usize) {
    let hits = offline::play(&song).len();
    black_box((song, hits))
}

#[library_benchmark]
#[bench::of_256(args = (256), setup = with_riff)]
#[bench::of_65536(args = (65_536), setup = with_riff)]
fn riff(song: Box<Timeline>) -> (Box<Timeline>, usize) {
    let hits = offline::play(&song).len();
    black_box((song, hits))
}

#[library_benchmark]
#[bench::of_10(args = (10), setup = text)]
#[bench::of_100(args = (100), setup = text)]
fn laid_out(text: String) -> (String, usize) {
    let song = SongFile::parse(&text).expect("the song is read");
    let bars = Timeline::new(&song)
        .expect("the song is laid out")
        .bars()
        .len();
    black_box((text, bars))
}

library_benchmark_group!(name = growth, benchmarks = [sections, riff, laid_out]);

main!(library_benchmark_groups = growth);
