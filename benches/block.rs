//! Instructions inside the wrapper's `process`, Fourlimb against an empty plugin in the same
//! wrapper: blocks of 64 samples at 48 kHz and 300 BPM, everything on. Set-up blocks do not count. The aim is twice
//! the empty plugin on average, and 1.5 times where nothing sounds.

#![allow(missing_docs)]

use benches::{BLOCKS_IN_A_BAR, EMPTY, FOURLIMB, Rolling};
use gungraun::{
    Callgrind, EntryPoint, LibraryBenchmarkConfig, library_benchmark, library_benchmark_group, main,
};
use std::hint::black_box;

/// Blocks of the bench where nothing sounds.
const QUIET: u32 = 8;

/// Two bars in, so that the first block of a bench is the first of a bar.
fn two_bars_in(id: &str) -> Rolling {
    Rolling::new(id).run(BLOCKS_IN_A_BAR * 2).0
}

/// Two bars in, listening to a guitar.
fn listening(id: &str) -> Rolling {
    Rolling::listening(id).run(BLOCKS_IN_A_BAR * 2).0
}

/// One bar in: the bar that ends the phrase with a fill comes next.
fn before_the_fill(id: &str) -> Rolling {
    Rolling::new(id).run(BLOCKS_IN_A_BAR).0
}

/// The same with the preview sounding.
fn two_bars_in_heard(id: &str) -> Rolling {
    Rolling::heard(id).run(BLOCKS_IN_A_BAR * 2).0
}

/// Two bars in, then the transport stops.
fn stopped(id: &str) -> Rolling {
    // The first block at rest releases what sounds; that is not what a plugin at rest costs.
    Rolling::new(id)
        .run(BLOCKS_IN_A_BAR * 2)
        .0
        .standing()
        .run(2)
        .0
}

#[library_benchmark]
#[bench::fourlimb(args = (FOURLIMB), setup = stopped)]
#[bench::empty(args = (EMPTY), setup = stopped)]
fn eight_blocks_at_rest(rolling: Rolling) -> (Rolling, usize) {
    let (rolling, events) = rolling.measured(QUIET);
    assert_eq!(events, 0, "it is not at rest");
    black_box((rolling, events))
}

#[library_benchmark]
#[bench::fourlimb(args = (FOURLIMB), setup = two_bars_in)]
#[bench::with_preview(args = (FOURLIMB), setup = two_bars_in_heard)]
#[bench::listening(args = (FOURLIMB), setup = listening)]
#[bench::empty(args = (EMPTY), setup = two_bars_in)]
fn two_bars(rolling: Rolling) -> (Rolling, usize) {
    black_box(rolling.measured(BLOCKS_IN_A_BAR * 2))
}

// The worst block: the one that composes a bar with a fill.
#[library_benchmark]
#[bench::fourlimb(args = (FOURLIMB), setup = before_the_fill)]
#[bench::empty(args = (EMPTY), setup = before_the_fill)]
fn the_block_of_a_bar_line(rolling: Rolling) -> (Rolling, usize) {
    black_box(rolling.measured(1))
}

/// The blocks of a bar in which nothing sounds and nothing ends.
fn silence(id: &str) -> (Rolling, u32) {
    let (rolling, blocks) = Rolling::to_silence(id, FOURLIMB);
    assert!(blocks >= QUIET, "the longest silence has {blocks} blocks");
    (rolling, QUIET)
}

#[library_benchmark]
#[bench::fourlimb(args = (FOURLIMB), setup = silence)]
#[bench::empty(args = (EMPTY), setup = silence)]
fn eight_quiet_blocks((rolling, blocks): (Rolling, u32)) -> (Rolling, usize) {
    let (rolling, events) = rolling.measured(blocks);
    assert_eq!(events, 0, "it is not quiet");
    black_box((rolling, events))
}

library_benchmark_group!(
    name = process,
    benchmarks = [
        two_bars,
        the_block_of_a_bar_line,
        eight_quiet_blocks,
        eight_blocks_at_rest
    ]
);

main!(
    config = LibraryBenchmarkConfig::default().tool(
        Callgrind::with_args(["--zero-before=*Rolling*measured*"])
            .entry_point(EntryPoint::Custom("*Wrapper*process*".to_owned()))
    ),
    library_benchmark_groups = process
);
