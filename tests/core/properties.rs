//! Rules that never bend (`docs/design.md`), for anything that a songwriter may set: the block size
//! is invisible, starting anywhere gives the same, loops repeat.
//!
//! The bound of one sample and the size of blocks are the project's own promise, no source.

use crate::support::*;
use fourlimb::engine::{LivePlayer, Sequencer};
use fourlimb::kit::NoteMap;
use fourlimb::midi::NoteEvent;
use fourlimb::settings::{BarSettings, Play, Player, Settings};
use fourlimb::transport::HostTime;
use fourlimb::transport::bars::BarGrid;
use proptest::prelude::*;
use proptest::sample::select;

/// Longest performance of a case, in samples: what debug builds play in a few milliseconds.
const LONGEST: i64 = 200_000;

fn length(host: &Host, bars: f64) -> i64 {
    ((host.samples_per_bar() * bars) as i64).clamp(1, LONGEST)
}

fn hosts() -> impl Strategy<Value = Host> {
    (select(RATES.to_vec()), likely_meters(), bpms(), settings())
        .prop_map(|(rate, meter, bpm, settings)| Host::steady(rate, meter, bpm, settings))
}

/// Values and the samples from which they hold.
type Script<T> = Vec<(i64, T)>;

/// Changes of settings and tempo at samples of their own.
fn scripts() -> impl Strategy<Value = (Script<Settings>, Script<f64>)> {
    let changes = proptest::collection::vec((1..LONGEST, settings()), 0..12);
    let tempi = proptest::collection::vec((1..LONGEST, bpms()), 0..4);
    (changes, tempi).prop_map(|(mut changes, mut tempi)| {
        changes.sort_by_key(|c| c.0);
        changes.dedup_by_key(|c| c.0);
        tempi.sort_by_key(|t| t.0);
        tempi.dedup_by_key(|t| t.0);
        (changes, tempi)
    })
}

proptest! {
    #![proptest_config(cases(48))]

    #[test]
    fn block_size_is_invisible(host in hosts(), cutting in cuttings()) {
        let to = length(&host, 6.0);
        let whole = host.play(0, to, &[1000]);
        let cut = host.play(0, to, &cutting);
        prop_assert_eq!(same(&whole, &cut, 1), Ok(()));
    }

    #[test]
    fn block_size_is_invisible_under_automation_and_tempo_changes(
        mut host in hosts(),
        (changes, tempi) in scripts(),
        cutting in cuttings(),
    ) {
        host.settings.extend(changes);
        host.tempo.extend(tempi);
        let whole = host.play(0, LONGEST, &[4096]);
        let cut = host.play(0, LONGEST, &cutting);
        prop_assert_eq!(same(&whole, &cut, 1), Ok(()));
    }

    #[test]
    fn starting_anywhere_gives_the_same_from_there_on(
        host in hosts(),
        start in 0.0..5.0_f64,
        at_the_line in any::<bool>(),
        cutting in cuttings(),
    ) {
        let start = if at_the_line { start.floor() } else { start };
        let from = (host.samples_per_bar() * start).ceil() as i64;
        let to = from + length(&host, 4.0);
        let whole = ons(&host.play(from - LONGEST / 2, to, &[4096]));
        // What stands where playback begins, and would have sounded a little before, sounds at once.
        let tick = host.samples_per_bar() / host.meter.bar_len() as f64;
        let begun = |mut events: Vec<Event>| {
            events.retain(|e| e.at > from + tick.ceil() as i64 + 1);
            events
        };
        let later = begun(whole);
        let there = begun(ons(&host.play(from, to, &cutting)));
        prop_assert_eq!(same(&later, &there, 1), Ok(()));
    }

    /// Every stroke sounds on the first sample at or after its exact place, whether the host tells its
    /// position exactly or on a grid of 1/1920 of a quarter, as one real recording program does.
    #[test]
    fn strokes_sound_in_their_place(
        host in hosts(),
        quantised in any::<bool>(),
        cutting in cuttings(),
    ) {
        let to = length(&host, 6.0);
        prop_assert_eq!(in_place(&host, quantised, to, &cutting), Ok(()));
    }
}

proptest! {
    // Differences are rare: a stroke must lie within a sample of the loop's ends.
    #![proptest_config(cases(400))]

    #[test]
    fn loops_repeat_themselves(
        host in hosts(),
        style in select(LoopStyle::ALL.to_vec()),
        bars in 1..=2_i64,
        // A loop may end a hair after a stroke.
        odd_end in select(vec![0.0, 0.0, 0.25, 0.5, 1.0 / 3.0, 0.25001, 0.500002]),
        cutting in cuttings(),
    ) {
        prop_assert_eq!(passes(&host, style, bars, odd_end, &cutting), Ok(()));
    }
}

/// Compares a performance with the strokes of its bars, in their exact places.
fn in_place(host: &Host, quantised: bool, to: i64, cutting: &[u32]) -> Result<(), String> {
    let settings = *host.settings(0);
    let per_tick = 60.0 / host.bpm(0) / 960.0 * host.rate;
    let mut grid = BarGrid::new();
    let meter = (
        host.meter.numerator().into(),
        host.meter.denominator().into(),
    );
    grid.update(0, Some(meter), Some(0.0), true);
    let mut wished = Vec::new();
    let end = (to as f64 / per_tick) as i64;
    play_span(
        &mut Sequencer::new(),
        (0, end),
        &settings,
        &grid,
        host.bpm(0),
        |hit| {
            wished.push(Event {
                at: (hit.tick as f64 * per_tick - 1e-6).ceil() as i64,
                key: NoteMap::default().note(hit.piece).unwrap().key,
                velocity: Some(hit.velocity),
            });
        },
    );
    let quarter = |sample| {
        let quarters = host.quarters(sample);
        if quantised {
            (quarters * 1920.0).round() / 1920.0
        } else {
            quarters
        }
    };
    let mut player = LivePlayer::new(host.rate);
    let mut heard = Vec::new();
    let (mut at, mut sizes) = (0, cutting.iter().cycle());
    while at < to {
        let time = HostTime {
            pos_quarters: Some(quarter(at)),
            ..host.time(at)
        };
        let mut block: Vec<NoteEvent> = Vec::new();
        let frames = *sizes.next().unwrap();
        player.block(&time, &settings, frames, false, &mut block);
        heard.extend(block.iter().map(|event| Event {
            at: at + i64::from(event.sample),
            key: event.note.key,
            velocity: event.velocity,
        }));
        at += i64::from(frames);
    }
    // The two end a few ticks apart.
    let until = |events: Vec<Event>| {
        let last = to - (2.0 * per_tick) as i64 - 2;
        events
            .into_iter()
            .filter(|e| e.at < last && e.velocity.is_some())
            .collect::<Vec<_>>()
    };
    let (wished, heard) = (until(wished), until(heard));
    same(&wished, &heard, 1)
}

/// What a host does at the end of a loop.
#[derive(Debug, Clone, Copy, PartialEq)]
enum LoopStyle {
    /// Plays its blocks as they come and jumps in the next one, by the loop's length: it overshoots
    /// the end and lands past the start.
    Overshoots,
    /// Ends a block at the loop's end and begins the next at its start, the fraction kept.
    Splits,
    /// The same, but begins the next at the start exactly.
    SplitsAndSnaps,
    /// Overshoots, and tells its position on a grid of 1/1920 of a quarter.
    Quantises,
}

impl LoopStyle {
    const ALL: [Self; 4] = [
        Self::Overshoots,
        Self::Splits,
        Self::SplitsAndSnaps,
        Self::Quantises,
    ];
}

/// Plays a loop a few times over, and compares the passes from the second on with the first.
fn passes(
    host: &Host,
    style: LoopStyle,
    bars: i64,
    odd_end: f64,
    cutting: &[u32],
) -> Result<(), String> {
    let bar = host.meter.bar_len() as f64 / 960.0;
    let (start, end) = (bar, bar * (1 + bars) as f64 + bar * odd_end);
    let per_sample = host.bpm(0) / 60.0 / host.rate;
    let pass_samples = (end - start) / per_sample;
    // A host that snaps moves its start by up to a sample each pass; the clock lets a difference of
    // 0.6 ticks be.
    let slack = match style {
        LoopStyle::SplitsAndSnaps | LoopStyle::Quantises => {
            2 + (0.6 / 960.0 / per_sample).ceil() as i64
        }
        _ => 2,
    };
    // In samples; no stroke of ours lies just so many ticks before the end of any loop above.
    let early = 3.37 / 960.0 / per_sample;
    // A steady host: the position is a function of the samples played, wrapped.
    let mut player = LivePlayer::new(host.rate);
    let mut notes: Vec<Vec<Event>> = vec![Vec::new(); 4];
    // A grid's first word may be ahead of the truth, and the clock with it.
    let late = match style {
        LoopStyle::Quantises => 0.3 / 960.0,
        _ => 0.0,
    };
    let (mut played, mut pass, mut position) = (0_i64, 0_usize, start + late);
    let mut pass_began = -late / per_sample;
    let mut sizes = cutting.iter().cycle();
    while pass < 4 && (played as f64) < pass_samples * 4.0 + 10_000.0 {
        let mut frames = i64::from(*sizes.next().unwrap());
        let left = ((end - position) / per_sample - 1e-6).ceil() as i64;
        if matches!(style, LoopStyle::Splits | LoopStyle::SplitsAndSnaps) {
            frames = frames.min(left.max(1));
        }
        let told = match style {
            LoopStyle::Quantises => (position * 1920.0).round() / 1920.0,
            _ => position,
        };
        let time = HostTime {
            pos_quarters: Some(told),
            pos_samples: (style != LoopStyle::Quantises)
                .then_some((position / per_sample).round() as i64),
            bar_quarters: Some((position / bar + 1e-9).floor() * bar),
            loop_quarters: Some((start, end)),
            ..host.time(0)
        };
        let mut block: Vec<NoteEvent> = Vec::new();
        let frames32 = u32::try_from(frames).unwrap();
        player.block(&time, host.settings(0), frames32, false, &mut block);
        for event in block.iter().filter(|e| e.velocity.is_some()) {
            let at = (played + i64::from(event.sample)) as f64;
            // A pass is counted from a little before its start, so that a stroke a hair before the
            // loop's end always counts for the next.
            let nth = ((at - pass_began + early) / pass_samples).floor().max(0.0);
            let of = pass + nth as usize;
            if of < notes.len() {
                notes[of].push(Event {
                    at: (at - pass_began - nth * pass_samples).round() as i64,
                    key: event.note.key,
                    velocity: event.velocity,
                });
            }
        }
        played += frames;
        position += frames as f64 * per_sample;
        while position >= end - 1e-9 {
            pass += 1;
            pass_began += pass_samples;
            position -= end - start;
            if style == LoopStyle::SplitsAndSnaps {
                position = start;
                pass_began = played as f64;
            }
        }
    }
    for (i, pass) in notes.iter().enumerate().skip(2) {
        same(&notes[1], pass, slack).map_err(|e| format!("pass {i}: {e}"))?;
    }
    // Nothing came before the first pass.
    let later = |pass: &[Event]| -> Vec<_> {
        let later = pass.iter().filter(|e| e.at > early as i64);
        later.copied().collect()
    };
    let (first, second) = (later(&notes[0]), later(&notes[1]));
    same(&first, &second, slack).map_err(|e| format!("pass 1: {e}"))?;
    // A bar that is shorter than a stroke of the slowest player may be left to the next.
    let playable = bar.min(end - start) / per_sample / host.rate >= 0.2;
    let BarSettings { style, play, .. } = host.settings(0).bar_settings;
    if playable && notes[0].is_empty() && style == 0 && play == Play::Beat {
        return Err("a loop of the rock beat is empty".to_owned());
    }
    Ok(())
}

/// The shortest script that once went wrong: the clock's lag of a sample is longer at the new tempo,
/// and it leant into the difference over a block of whatever size.
#[test]
fn a_fall_of_tempo_moves_nothing() {
    let mut settings = Settings::default();
    settings.bar_settings.style = 2;
    let mut host = Host::steady(22_050.0, "4/4".parse().unwrap(), 334.561, settings);
    host.tempo.push((2615, 64.0));
    let (whole, cut) = (host.play(0, 100_000, &[4096]), host.play(0, 100_000, &[1]));
    assert_eq!(same(&whole, &cut, 1), Ok(()));
}

/// Once the host landed a hair past the loop's start, and the clock took its own wrap for a seek and
/// lost the 1.
#[test]
fn a_loop_that_lands_past_its_start_keeps_its_first_stroke() {
    let meter = "7/8".parse().unwrap();
    let mut settings = Settings::default();
    settings.bar_settings.fill_chance = 0.0;
    let host = Host::steady(32_000.0, meter, 88.363_696_830_353_28, settings);
    assert_eq!(passes(&host, LoopStyle::Splits, 1, 0.25, &[1]), Ok(()));
}

/// The lag changes with the tempo; a stroke that lies between the old lag and the new is neither
/// lost nor struck twice.
#[test]
fn a_change_of_tempo_beside_a_stroke_keeps_it() {
    let mut settings = Settings::default();
    settings.bar_settings.style = 2;
    settings.bar_settings.player = Player::Machine;
    settings.bar_settings.fill_chance = 0.0;
    settings.bar_settings.feel = 0.0;
    for (slow, fast) in [(30.0, 280.0), (280.0, 30.0), (119.0, 121.0)] {
        let mut host = Host::steady(22_050.0, "4/4".parse().unwrap(), slow, settings);
        let stroke = (60.0 / slow * host.rate) as i64;
        for offset in -3..=3 {
            host.tempo.truncate(1);
            host.tempo.push((stroke + offset, fast));
            let to = stroke + (120.0 / fast * host.rate) as i64;
            let kicks = ons(&host.play(0, to, &[37]))
                .into_iter()
                .filter(|e| e.key == 36);
            let sixteenths = kicks.map(|e| (host.quarters(e.at) * 4.0).round() as i64);
            let sixteenths: Vec<_> = sixteenths.collect();
            assert!(sixteenths.len() >= 8, "{sixteenths:?}");
            let steady = (0..).take(sixteenths.len()).collect::<Vec<_>>();
            assert_eq!(sixteenths, steady, "{slow} to {fast}, {offset}");
        }
    }
}

/// A host on a grid says the loop's end, or less, while the clock is ahead of it and has wrapped.
#[test]
fn a_quantised_loop_in_small_blocks_repeats() {
    let mut settings = Settings::default();
    settings.bar_settings.fill_chance = 0.0;
    for (rate, size) in [(48_000.0, 1), (48_000.0, 3), (96_000.0, 2), (22_050.0, 1)] {
        let host = Host::steady(rate, "4/4".parse().unwrap(), 240.0, settings);
        let found = passes(&host, LoopStyle::Quantises, 1, 0.0, &[size]);
        assert_eq!(found, Ok(()), "{rate} Hz, blocks of {size}");
    }
}
