//! Blocks of any length at any rate, with what no sane host sends: numbers come out, and notes in order.

use super::{clap_host, library, named, seeds};
use anyhow::{Context, Result, ensure};
use hosting::host::{Automation, Guitar, Sent, Transport};
use hosting::vst3::plugin::{Param, Plugin};
use hosting::vst3::processing::{Block, Change, NoteIn, Processor, Side};
use rand::RngExt as _;
use rand::rngs::StdRng;
use std::collections::BTreeMap;

/// Odd and even, low and high, in Hz.
const RATES: [f64; 12] = [
    8000.0, 11_025.0, 16_000.0, 22_050.0, 32_000.0, 44_100.0, 44_099.5, 48_000.0, 96_000.0,
    192_000.0, 384_000.0, 768_000.0,
];
/// The longest block, in samples.
const MOST: usize = 16_384;
/// Blocks of a round.
const BLOCKS: usize = 400;

/// One of these.
fn one_of<T: Copy>(random: &mut StdRng, all: &[T]) -> T {
    all[random.random_range(0..all.len())]
}

/// A length of a block: short ones, long ones, none.
fn length(random: &mut StdRng) -> usize {
    match random.random_range(0..6) {
        0 => one_of(random, &[0, 1, 2, MOST]),
        1 => random.random_range(1..64),
        2 | 3 => one_of(random, &[32, 64, 441, 512, 1024]),
        _ => random.random_range(1..=2048),
    }
}

/// A transport from the sane to the odd.
fn transport(random: &mut StdRng, pos: f64) -> Transport {
    let odd = random.random_range(0..8);
    Transport {
        playing: odd != 0,
        pos_quarters: (odd != 1).then_some(if odd == 2 { -pos } else { pos }),
        bpm: (odd != 3).then(|| one_of(random, &[20.0, 120.0, 300.0, 987.0])),
        meter: (odd != 4).then(|| one_of(random, &[(4, 4), (7, 8), (1, 16), (15, 8)])),
        bar_quarters: (pos / 4.0).floor() * 4.0,
        loop_quarters: (odd == 5).then_some((0.0, 4.0)),
    }
}

/// Sound of the side-chain: silent, constant, noise, too loud, and no sound at all.
fn sound(random: &mut StdRng, frames: usize) -> Vec<f32> {
    let kind = random.random_range(0..7);
    (0..frames)
        .map(|_| match kind {
            0 => 0.0,
            1 => 1.0,
            2 => f32::from_bits(random.random()),
            3 => f32::NAN,
            4 => f32::INFINITY,
            5 => 1e-40,
            _ => random.random_range(-1.0..1.0),
        })
        .collect()
}

/// What came out.
#[derive(Default)]
struct Heard {
    /// How many notes of each channel and key sound.
    sounding: BTreeMap<(u8, u8), i32>,
    /// How many notes began.
    begun: usize,
    /// The largest sample.
    peak: f32,
}

impl Heard {
    /// Follows the notes that were sent.
    fn follow(&mut self, sent: &[Sent]) -> Result<()> {
        for note in sent {
            self.begun += usize::from(note.velocity.is_some());
            let count = self.sounding.entry((note.channel, note.key)).or_default();
            *count += if note.velocity.is_some() { 1 } else { -1 };
            ensure!(*count >= 0, "a note ends that did not begin: {note:?}");
            ensure!(*count <= 1, "a note begins that sounds: {note:?}");
        }
        Ok(())
    }

    /// Checks that every note has ended.
    fn is_silent(&self) -> Result<()> {
        let silent = self.sounding.values().all(|count| *count == 0);
        ensure!(silent, "a note hangs: {:?}", self.sounding);
        Ok(())
    }

    /// Checks the sound of a block.
    fn listen(&mut self, [left, right]: [&[f32]; 2]) -> Result<()> {
        for (at, x) in left.iter().chain(right).enumerate() {
            ensure!(x.is_finite(), "{x} comes out at sample {at}");
            ensure!(x.abs() <= 1.0, "{x} comes out, above full scale");
            ensure!(!x.is_subnormal(), "{x:e} comes out, a subnormal number");
            self.peak = self.peak.max(x.abs());
        }
        Ok(())
    }
}

/// Changes of parameters at samples in and outside of the block, by values in and outside of their range. Sound is
/// on more often than not.
fn changes(random: &mut StdRng, params: &[Param], frames: usize) -> Result<Vec<Change>> {
    let most = i32::try_from(frames)?;
    let mut changes = Vec::new();
    for _ in 0..random.random_range(0..6) {
        changes.push(Change {
            sample: match random.random_range(0..12) {
                0 => most,
                1 => i32::MAX,
                2 => -1,
                _ => random.random_range(0..most.max(1)),
            },
            param: params[random.random_range(0..params.len())].id,
            value: match random.random_range(0..30) {
                0 => f64::NAN,
                1 => -3.0,
                2 => 1e9,
                _ => random.random(),
            },
        });
    }
    Ok(changes)
}

fn notes(random: &mut StdRng, frames: usize) -> Result<Vec<NoteIn>> {
    let most = i32::try_from(frames)?;
    let note = |random: &mut StdRng| NoteIn {
        sample: random.random_range(0..most.max(1)),
        channel: one_of(random, &[0, 9, 15, -1, 16, i16::MAX]),
        key: one_of(random, &[0, 36, 127, -1, 128, i16::MIN]),
        velocity: random
            .random_bool(0.7)
            .then(|| one_of(random, &[0.0, 0.5, 1.0, -1.0, 7.0, f32::NAN])),
    };
    Ok((0..random.random_range(0..5))
        .map(|_| note(random))
        .collect())
}

/// Whether the library has the repairs of the framework, which otherwise reads where a host leaves a list empty.
fn is_repaired() -> bool {
    named().is_some()
}

/// A round in the VST3 host.
fn in_vst3(random: &mut StdRng, plugin: &Plugin) -> Result<Heard> {
    let rate = one_of(random, &RATES);
    let params = plugin.params()?;
    let mut processor = plugin.activate(rate, i32::try_from(MOST)?)?;
    let mut heard = Heard::default();
    let mut pos = 0.0;
    for number in 0..BLOCKS {
        let frames = length(random);
        let transport = transport(random, pos);
        let (changes, notes) = (changes(random, &params, frames)?, notes(random, frames)?);
        let sound = sound(random, frames);
        let side = match random.random_range(0..8) {
            0 if random.random() && is_repaired() => Side::EmptyList,
            0 => Side::NoBus,
            1 => Side::NoChannels,
            2 => Side::InPlace,
            _ => Side::Sound(&sound),
        };
        let block = Block {
            frames,
            transport: (random.random_range(0..10) > 0).then_some(transport),
            at: random.random_range(-1000..1_000_000),
            changes: &changes,
            notes: &notes,
            side,
        };
        let told = || format!("block {number} of {frames} samples at {rate} Hz");
        let (sent, _) = processor.run(&block).with_context(told)?;
        heard.follow(&sent).with_context(told)?;
        heard.listen(processor.heard()).with_context(told)?;
        if random.random_range(0..10) == 0 {
            pos = random.random_range(0.0..400.0);
        }
        pos += frames as f64 / rate * 2.0;
    }
    ends(&mut processor, &mut heard)?;
    drop(processor);
    plugin.deactivate()?;
    Ok(heard)
}

/// At rest, every note has ended after a while.
fn ends(processor: &mut Processor, heard: &mut Heard) -> Result<()> {
    for _ in 0..8 {
        let (sent, _) = processor.run(&Block::new(MOST, Transport::AT_REST))?;
        heard.follow(&sent)?;
    }
    heard.is_silent()
}

#[test]
fn whatever_a_host_of_vst3_sends_numbers_come_out_and_notes_end() {
    let library = library();
    let plugin = Plugin::new(&library).unwrap();
    let mut begun = 0;
    seeds::each(|random| {
        begun += in_vst3(random, &plugin)?.begun;
        Ok(())
    });
    // The kit may still be rendering, so that there is no sound yet.
    assert!(begun > 10, "{begun} notes are too few to check");
}

#[test]
fn whatever_a_host_of_clap_sends_numbers_come_out_and_notes_end() {
    let mut host = clap_host();
    let (mut begun, mut peak) = (0, 0.0_f32);
    seeds::each(|random| {
        let rate = one_of(random, &RATES);
        host.activate(rate, u32::try_from(MOST)?)?;
        let params = host.params().to_vec();
        let mut heard = Heard::default();
        let mut pos = 0.0;
        for number in 0..BLOCKS {
            let frames = length(random).max(1);
            let transport = transport(random, pos);
            let changes: Vec<_> = (0..random.random_range(0..6))
                .map(|_| {
                    let param = &params[random.random_range(0..params.len())];
                    let (low, high) = param.range;
                    let part: f64 = random.random();
                    Automation {
                        sample: random.random_range(0..u32::try_from(frames).unwrap()),
                        param: param.id,
                        value: match random.random_range(0..20) {
                            0 => f64::NAN,
                            1 => high + 5.0,
                            2 => low - 5.0,
                            _ => low + (high - low) * part,
                        },
                    }
                })
                .collect();
            let sound = sound(random, frames);
            let guitar = Guitar {
                sound: Some(&sound),
                notes: &[(0, 0.5), (0, 0.0)][..random.random_range(0..=2)],
                unplugged: is_repaired() && random.random_range(0..8) == 0,
            };
            let told = || format!("block {number} of {frames} samples at {rate} Hz");
            let length = u32::try_from(frames)?;
            let sent = host.block_with(&transport, &changes, &guitar, length);
            heard.follow(&sent.with_context(told)?).with_context(told)?;
            heard.listen(host.heard(length)).with_context(told)?;
            if random.random_range(0..10) == 0 {
                pos = random.random_range(0.0..400.0);
            }
            pos += frames as f64 / rate * 2.0;
        }
        for _ in 0..8 {
            let sent = host.block(&Transport::AT_REST, &[], u32::try_from(MOST)?)?;
            heard.follow(&sent)?;
        }
        heard.is_silent()?;
        host.deactivate();
        (begun, peak) = (begun + heard.begun, peak.max(heard.peak));
        Ok(())
    });
    let enough = begun > 30 && peak > 0.001;
    assert!(enough, "{begun} notes, peak {peak}: too little to check");
}

#[test]
fn vst3_refuses_rates_and_lengths_that_no_host_can_mean() {
    let library = library();
    let plugin = Plugin::new(&library).unwrap();
    for rate in [0.0, -48_000.0, f64::NAN, f64::INFINITY, 768_001.0, 1e7] {
        assert!(plugin.activate(rate, 512).is_err(), "{rate} Hz");
    }
    for most in [0, -1, i32::MIN, i32::MAX] {
        assert!(plugin.activate(48_000.0, most).is_err(), "blocks of {most}");
    }
    // A refusal is no end.
    let mut processor = plugin.activate(768_000.0, 64).unwrap();
    processor.run(&Block::new(64, Transport::AT_REST)).unwrap();
}
