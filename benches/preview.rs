//! Instructions of the built-in sound by itself, without the wrapper: a block of 64 samples in which sixteen voices
//! sound. A bench that takes more than the project allows fails.

#![allow(missing_docs)]

use fourlimb::kit::Piece;
use fourlimb::preview::{DEFAULT_LEVEL_DB, Kit, Mix, Preview, Strike};
use gungraun::{
    Callgrind, EventKind, LibraryBenchmarkConfig, library_benchmark, library_benchmark_group, main,
};
use std::hint::black_box;

/// Samples in a block.
const FRAMES: usize = 64;
/// Blocks of a second at the highest rate of the benches.
const A_SECOND: u32 = 1500;
/// The most instructions that a dry block may take, whatever the rate.
const DRY: u64 = 12_500;
/// What the room may take more than the densest dry block: a choked voice costs more than one that rings.
const ROOM: u64 = 2_500;

/// Sixteen strokes, none of which chokes another or makes it go.
const SIXTEEN: [Piece; 16] = [
    Piece::Kick,
    Piece::Kick,
    Piece::Snare,
    Piece::Snare,
    Piece::RackHigh,
    Piece::RackLow,
    Piece::FloorHigh,
    Piece::FloorLow,
    Piece::HiHatClosed,
    Piece::HiHatOpen,
    Piece::Ride,
    Piece::RideBell,
    Piece::CrashLeft,
    Piece::CrashRight,
    Piece::China,
    Piece::Splash,
];

/// The same with four open hi-hats, choked as the last is struck closed.
const CHOKED: [Piece; 16] = [
    Piece::Kick,
    Piece::Kick,
    Piece::Snare,
    Piece::Snare,
    Piece::RackHigh,
    Piece::FloorLow,
    Piece::Ride,
    Piece::RideBell,
    Piece::CrashLeft,
    Piece::CrashRight,
    Piece::China,
    Piece::HiHatOpen,
    Piece::HiHatOpen,
    Piece::HiHatOpen,
    Piece::HiHatOpen,
    Piece::HiHatClosed,
];

/// A preview with its kit, and what it plays into; what a bench hands back is a pointer.
struct Playing {
    preview: Preview,
    kit: Kit,
    mix: Mix,
    left: [f32; FRAMES],
    right: [f32; FRAMES],
}

impl Playing {
    /// Struck, and so many blocks on.
    fn new(pieces: &[Piece], rate: f32, room: f32, blocks: u32) -> Box<Self> {
        let mut playing = Box::new(Self {
            preview: Preview::new(rate),
            kit: Kit::render(rate),
            mix: Mix {
                level_db: DEFAULT_LEVEL_DB,
                room,
            },
            left: [0.0; FRAMES],
            right: [0.0; FRAMES],
        });
        // The level has to glide to where it is asked for before it costs what it costs.
        playing.preview.strike(strike(0, Piece::SideStick));
        for _ in 0..A_SECOND {
            playing.block();
        }
        for (i, piece) in (1..).zip(pieces) {
            playing.preview.strike(strike(i, *piece));
        }
        for _ in 0..blocks {
            playing.block();
        }
        playing
    }

    fn block(&mut self) {
        self.left.fill(0.0);
        self.right.fill(0.0);
        self.preview
            .render(&self.kit, self.mix, &mut self.left, &mut self.right);
    }
}

fn strike(i: u64, piece: Piece) -> Strike {
    Strike {
        sample: 0,
        piece,
        velocity: 110,
        grab: None,
        chance: (i + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15),
    }
}

fn sixteen(rate: f32, room: f32) -> Box<Playing> {
    let playing = Playing::new(&SIXTEEN, rate, room, 1);
    assert_eq!(playing.preview.voices(), 16);
    playing
}

fn choked(rate: f32, room: f32) -> Box<Playing> {
    let playing = Playing::new(&CHOKED, rate, room, 1);
    assert_eq!(playing.preview.voices(), 16);
    playing
}

/// The block in which the sixteen fall is still to come.
fn struck(rate: f32, room: f32) -> Box<Playing> {
    let mut playing = Playing::new(&[], rate, room, 0);
    for (i, piece) in (1..).zip(SIXTEEN) {
        playing.preview.strike(strike(i, piece));
    }
    playing
}

fn within(instructions: u64) -> LibraryBenchmarkConfig {
    LibraryBenchmarkConfig::default()
        .tool(Callgrind::default().hard_limits([(EventKind::Ir, instructions)]))
        .clone()
}

#[library_benchmark(config = within(DRY))]
#[bench::at_48(args = (48_000.0, 0.0), setup = sixteen)]
#[bench::at_96(args = (96_000.0, 0.0), setup = sixteen)]
#[bench::choked_at_48(args = (48_000.0, 0.0), setup = choked)]
#[bench::choked_at_96(args = (96_000.0, 0.0), setup = choked)]
fn dry(mut playing: Box<Playing>) -> Box<Playing> {
    playing.block();
    black_box(playing)
}

#[library_benchmark(config = within(DRY + ROOM))]
#[bench::at_48(args = (48_000.0, 0.5), setup = sixteen)]
#[bench::at_96(args = (96_000.0, 0.5), setup = sixteen)]
fn in_the_room(mut playing: Box<Playing>) -> Box<Playing> {
    playing.block();
    black_box(playing)
}

// No bar: sixteen strokes in one block are more than four limbs have.
#[library_benchmark]
#[bench::at_48(args = (48_000.0, 0.0), setup = struck)]
#[bench::at_96(args = (96_000.0, 0.0), setup = struck)]
fn the_block_of_the_strokes(mut playing: Box<Playing>) -> Box<Playing> {
    playing.block();
    black_box(playing)
}

library_benchmark_group!(
    name = preview,
    benchmarks = [dry, in_the_room, the_block_of_the_strokes]
);

main!(library_benchmark_groups = preview);
