//! `cargo xtask soak`: plays random projects through the built plugin for hours of song time, faster than they are heard.
//!
//! Passes take turns, by their seeds. A *plain* pass plays a song from start to end, and what is recorded has to be what the engine plays
//! offline. A *chaotic* pass does what hosts do (`chaos`) for minutes; every note has to end, and once. After each
//! minute the transport stops, and nothing may sound on. One instance lives through many passes, and the process may not
//! grow.

mod chaos;
mod project;
mod watch;

use crate::session;
use anyhow::{Context as _, Result, ensure};
use chaos::Chaos;
use clack_host::prelude::PluginEntry;
use fourlimb::engine::offline;
use fourlimb::files::{self, Existing};
use fourlimb::midi::{Region, RegionNote};
use fourlimb::settings::{KickSource, SettingId};
use hosting::host::Host;
use hosting::state;
use rand::RngExt as _;
use rand::seq::IndexedRandom as _;
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng as _;
use serde_json::Value;
use std::fmt;
use std::path::PathBuf;
use std::time::{Duration, Instant};

type Rng = Xoshiro256PlusPlus;

/// Its options.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Hours of song time.
    #[arg(long, default_value_t = 1.0, conflicts_with = "minutes")]
    hours: f64,
    /// Minutes of song time, in the place of hours.
    #[arg(long)]
    minutes: Option<f64>,
    /// The seed of the first pass; each pass after it has the next number. Drawn where left out.
    #[arg(long)]
    seed: Option<u64>,
    /// Use the bundle as it is, without building it.
    #[arg(long)]
    no_build: bool,
}

/// What is played.
#[derive(Debug, Clone, Copy)]
pub struct Plan {
    /// The seed of the first pass.
    pub seed: u64,
    /// How much, in minutes of song time.
    pub minutes: f64,
    /// The sample rates, in Hz.
    pub rates: &'static [f64],
    /// The most that the process may grow after a quarter of the time, in megabytes.
    pub growth_mb: f64,
}

/// The rates of recording programs, in Hz, twice where they are common.
const RATES: [f64; 5] = [44_100.0, 48_000.0, 48_000.0, 88_200.0, 96_000.0];

/// The most that a run may grow, in megabytes. Measured: 4 in twenty hours, up to 7 in twenty minutes, whose warm-up is five.
const GROWTH_MB: f64 = 16.0;

/// The longest warm-up, in seconds of song time.
const WARM_UP_S: f64 = 3600.0;

/// What a run saw.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Figures {
    /// Seconds of song time.
    pub song_s: f64,
    /// How long it took, in seconds.
    pub took_s: f64,
    /// Plain passes, and the notes in them.
    pub plain: (u64, u64),
    /// Chaotic passes.
    pub chaotic: u64,
    /// Notes of chaotic passes.
    pub chaotic_notes: u64,
    /// What the host did in them: stops, seeks, loops and so on.
    pub acts: u64,
    /// How often the transport stopped and nothing sounded on.
    pub silences: u64,
    /// Instances that were made.
    pub instances: u64,
    /// Blocks of chaotic passes.
    pub blocks: u64,
    /// Time in them, in seconds.
    pub blocks_s: f64,
    /// The longest block, in seconds, and the time that it had.
    pub worst_s: (f64, f64),
    /// Memory after the warm-up, and the most and the last after it, in megabytes.
    pub memory_mb: Option<[f64; 3]>,
}

impl Figures {
    /// A block took so many seconds of the `heard` that it lasts.
    fn took(&mut self, seconds: f64, heard: f64) {
        self.blocks += 1;
        self.blocks_s += seconds;
        if seconds > self.worst_s.0 {
            self.worst_s = (seconds, heard);
        }
    }

    /// Takes note of the memory; whether it is within bounds.
    ///
    /// # Errors
    /// Where the process has grown too far.
    fn memory(&mut self, plan: &Plan) -> Result<()> {
        let Some(now) = watch::memory_mb() else {
            return Ok(());
        };
        let warm_up = (plan.minutes * 15.0).min(WARM_UP_S);
        let [mut after, most, _] = self.memory_mb.unwrap_or([now; 3]);
        if self.song_s <= warm_up {
            after = now.max(after);
        }
        self.memory_mb = Some([after, now.max(most), now]);
        ensure!(
            now - after <= plan.growth_mb,
            "the process grew from {after:.1} MB after the warm-up to {now:.1} MB"
        );
        Ok(())
    }
}

impl fmt::Display for Figures {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let micros = |seconds: f64| seconds * 1e6;
        write!(
            f,
            "{:.2} hours of song time in {:.0} s ({:.0} times as fast as heard): {} plain passes with {} notes, all where \
             the engine has them; {} chaotic passes with {} notes and {} acts of the host, every note ended; {} stops, \
             nothing sounded on; {} instances; {} blocks, {:.1} µs on average, the worst {:.0} µs of {:.0} µs",
            self.song_s / 3600.0,
            self.took_s,
            self.song_s / self.took_s,
            self.plain.0,
            self.plain.1,
            self.chaotic,
            self.chaotic_notes,
            self.acts,
            self.silences,
            self.instances,
            self.blocks,
            micros(self.blocks_s) / self.blocks as f64,
            micros(self.worst_s.0),
            micros(self.worst_s.1),
        )?;
        match self.memory_mb {
            Some([after, most, last]) => write!(
                f,
                "; memory {after:.1} MB after the warm-up, {most:.1} MB at most, {last:.1} MB at the end."
            ),
            None => write!(f, "; memory not measured on this system."),
        }
    }
}

/// Runs the command.
///
/// # Errors
/// Where the plugin can't be built or loaded, or a check fails; the seed is in the message.
pub fn run(args: &Args) -> Result<()> {
    if !args.no_build {
        crate::bundle_plugin()?;
    }
    let entry = session::load_plugin(&crate::bundled()?.join("Fourlimb.clap"))?;
    let seed = args
        .seed
        .unwrap_or_else(|| rand::rng().random_range(0..1_000_000_000));
    let minutes = args.minutes.unwrap_or(args.hours * 60.0);
    println!("Seed {seed}");
    let plan = Plan {
        seed,
        minutes,
        rates: &RATES,
        growth_mb: GROWTH_MB,
    };
    println!("{}", soak(&entry, &plan)?);
    Ok(())
}

/// Plays a plan through a plugin. Prints a line an hour of song time.
///
/// # Errors
/// The first check that fails, with the seed of its pass.
pub fn soak(entry: &PluginEntry, plan: &Plan) -> Result<Figures> {
    let began = Instant::now();
    let mut figures = Figures::default();
    // The kit of a rate lives as long as an instance that has it: these keep it from being rendered at each turn.
    let mut keepers = Vec::new();
    for rate in plan.rates {
        let mut keeper = Host::new(entry)?;
        keeper.render_offline()?;
        keeper.activate(*rate, chaos::MOST_FRAMES)?;
        keepers.push(keeper);
    }
    let mut host = Host::new(entry)?;
    let fresh = host.save()?;
    figures.instances = 1;
    let mut hours = 1.0;
    for pass in 0.. {
        if figures.song_s >= plan.minutes * 60.0 {
            break;
        }
        let seed = plan.seed.wrapping_add(pass);
        let mut rng = Rng::seed_from_u64(seed);
        if rng.random_ratio(1, 8) {
            host = Host::new(entry)?;
            figures.instances += 1;
        }
        let is_plain = seed.is_multiple_of(2);
        let left = plan.minutes * 60.0 - figures.song_s;
        let drawn = project::draw(&mut rng, is_plain)?;
        load(&mut host, &fresh, &drawn)?;
        let done = if is_plain {
            plain(&mut host, &drawn, &mut rng, plan, &mut figures)
        } else {
            chaotic(&mut host, &mut rng, plan, left, &mut figures)
        };
        let done = done.map_err(|error| keep(&drawn, seed, error));
        let kind = if is_plain { "plain" } else { "chaotic" };
        done.and_then(|()| figures.memory(plan)).with_context(|| {
            format!(
                "the soak failed in {kind} pass {pass} after {:.1} minutes of song time; the same pass once more: cargo \
                 xtask soak --seed {seed} --minutes 4 (the whole run began at {})",
                figures.song_s / 60.0,
                plan.seed
            )
        })?;
        figures.took_s = began.elapsed().as_secs_f64();
        if figures.song_s >= hours * 3600.0 {
            println!("{figures}");
            hours = (figures.song_s / 3600.0).floor() + 1.0;
        }
    }
    Ok(figures)
}

/// Loads a project into an instance whose parameters stand as in a new one.
fn load(host: &mut Host, fresh: &[u8], drawn: &project::Drawn) -> Result<()> {
    let mut state = state::json_of(fresh)?;
    let mut document = state::document_of(&state)?;
    document["song"] = serde_json::to_value(&drawn.song)?;
    document["riff"] = serde_json::to_value(drawn.riff.save())?;
    document["map"] = serde_json::to_value(&drawn.map)?;
    state::set_document(&mut state, &document);
    host.load(&state::state_of(&state))
}

/// Writes the song and the map of a pass that failed, to be looked at.
fn keep(drawn: &project::Drawn, seed: u64, error: anyhow::Error) -> anyhow::Error {
    let mut song = drawn.song.clone();
    song.riff = Some(drawn.riff.save());
    let write = || -> Result<PathBuf> {
        let folder = crate::target()?.join("soak");
        std::fs::create_dir_all(&folder)?;
        let song = song.to_text();
        files::write(
            &folder.join(format!("{seed}.json")),
            song.as_bytes(),
            Existing::Replace,
        )?;
        let map = drawn.map.to_text();
        files::write(
            &folder.join(format!("{seed}-map.json")),
            map.as_bytes(),
            Existing::Replace,
        )?;
        Ok(folder)
    };
    match write() {
        Ok(folder) => error.context(format!("its song and map are in {}", folder.display())),
        Err(_) => error,
    }
}

/// Plays a song from start to end and compares it with the engine's.
fn plain(
    host: &mut Host,
    drawn: &project::Drawn,
    rng: &mut Rng,
    plan: &Plan,
    figures: &mut Figures,
) -> Result<()> {
    let song = &drawn.timeline;
    let rate = plan.rates.choose(rng).copied().unwrap_or(48_000.0);
    let block = rng.random_range(16..=chaos::MOST_FRAMES);
    let recorded = session::play(host, song, rate, block)?;
    let mut expected = offline::render(song, &drawn.map.map);
    expected.notes.retain(|note| note.tick < song.end());
    if !near(&recorded, &expected) {
        session::compare(&recorded, &expected)
            .with_context(|| format!("at {rate} Hz in blocks of {block} samples"))?;
    }
    figures.plain.0 += 1;
    figures.plain.1 += recorded.notes.len() as u64;
    figures.song_s += song.tempo().seconds(song.end() as f64);
    Ok(())
}

/// Whether two regions have the same notes, each within a tick: the plugin's clock lets a host stray by a twentieth of a
/// sample, so that a stroke whose place lies as little after a sample may sound on it, and is recorded before its tick.
fn near(a: &Region, b: &Region) -> bool {
    let sorted = |region: &Region| {
        let note = |n: &RegionNote| (n.note, n.tick, n.velocity);
        let mut notes: Vec<_> = region.notes.iter().map(note).collect();
        notes.sort_by_key(|(note, tick, _)| (note.channel, note.key, *tick));
        notes
    };
    let (a, b) = (sorted(a), sorted(b));
    let mut pairs = a.iter().zip(&b);
    a.len() == b.len() && pairs.all(|(a, b)| (a.0, a.2) == (b.0, b.2) && a.1.abs_diff(b.1) <= 1)
}

/// Plays a project in a host that does what it likes.
fn chaotic(
    host: &mut Host,
    rng: &mut Rng,
    plan: &Plan,
    left: f64,
    figures: &mut Figures,
) -> Result<()> {
    let seconds = rng.random_range(20.0..240.0_f64).min(left);
    let mut chaos = Chaos::new(Rng::seed_from_u64(rng.random()), plan.rates);
    host.activate(48_000.0, 512)?;
    if rng.random_ratio(2, 3) {
        host.set(SettingId::FollowChart.name(), "on", 64)?;
    }
    if rng.random_ratio(1, 2) {
        host.set(SettingId::KickSource.name(), KickSource::Both.name(), 64)?;
    }
    // A riff that is heard is captured, and so is what was played: the saved state has to be one.
    chaos.play(host, seconds, figures)?;
    let saved = state::json_of(&host.save()?)?;
    ensure!(
        state::document_of(&saved)?["song"] != Value::Null,
        "the song is gone from the saved state"
    );
    figures.chaotic += 1;
    // The instance's own thread takes up what was heard: give it a moment now and then.
    std::thread::sleep(Duration::from_millis(1));
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use fourlimb::kit::Note;

    fn region(notes: &[(i64, u8)]) -> Region {
        let notes = notes.iter().map(|(tick, velocity)| RegionNote {
            tick: *tick,
            length: 120,
            note: Note {
                channel: 9,
                key: 36,
            },
            velocity: *velocity,
        });
        Region {
            notes: notes.collect(),
            ..Region::default()
        }
    }

    #[test]
    fn a_note_is_near_within_a_tick_and_as_hard() {
        let kept = region(&[(0, 100), (960, 90)]);
        assert!(near(&kept, &region(&[(1, 100), (959, 90)])));
        for other in [
            &[(0, 100)][..],
            &[(2, 100), (960, 90)],
            &[(0, 100), (960, 91)],
        ] {
            assert!(!near(&kept, &region(other)), "{other:?}");
        }
    }

    #[test]
    fn what_grows_is_told() {
        let plan = Plan {
            seed: 0,
            minutes: 60.0,
            rates: &RATES,
            growth_mb: -1.0,
        };
        let mut figures = Figures {
            song_s: 3600.0,
            memory_mb: Some([0.0; 3]),
            ..Figures::default()
        };
        if watch::memory_mb().is_some() {
            let told = figures.memory(&plan).unwrap_err().to_string();
            assert!(told.contains("the process grew"), "{told}");
        }
        figures.took(0.5, 1.0);
        figures.took(0.25, 2.0);
        assert_eq!((figures.blocks, figures.worst_s), (2, (0.5, 1.0)));
    }
}
