//! `cargo xtask session`: the main job, end to end. Loads the built plugin into a headless host,
//! plays a song through it with tempo, meter and automation, records its notes, checks them against
//! the engine, and writes the region, a chart and what it sounds like.

use crate::session_guitar;
use anyhow::{Context, Result, bail, ensure};
use clack_host::prelude::{ClapId, PluginEntry};
use fourlimb::engine::offline;
use fourlimb::export::text_chart;
use fourlimb::export::write_song;
use fourlimb::files::{self, Existing, names};
use fourlimb::kit::Note;
use fourlimb::kit::map_file::NamedMap;
use fourlimb::midi::{Expression, Region, RegionExpression, RegionNote};
use fourlimb::settings::{SettingId, Settings};
use fourlimb::song::{SongFile, Timeline};
use fourlimb::time::{TICKS_PER_QUARTER, Ticks};
use hosting::host::{Automation, Expressed, Guitar, Host, Sent, Transport};
use hosting::sound::Sound;
use hosting::state;
use indicatif::{ProgressBar, ProgressStyle};
use std::fs;
use std::path::{Path, PathBuf};

/// Its options.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The song to play, a JSON file (see docs/song-file.md); the demo song where left out.
    #[arg(long, value_name = "FILE")]
    song: Option<PathBuf>,
    /// Samples in a block, 1 to 8192.
    #[arg(long, default_value_t = 512, value_parser = clap::value_parser!(u32).range(1..=8192))]
    block_size: u32,
    /// Sample rate in Hz, 8000 to 768000.
    #[arg(long, default_value_t = 48_000, value_parser = clap::value_parser!(u32).range(8_000..=768_000))]
    sample_rate: u32,
    /// Where to write the region, the chart and the sound; `session` in cargo's target folder where left out.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Play it by automating the panel, without the chart. How a section starts and ends, its take and its kick
    /// source have no parameter, and are left out.
    #[arg(long)]
    automate: bool,
    /// The sampler's note map, a JSON file (see docs/sampler.md); General MIDI where left out.
    #[arg(long, value_name = "FILE")]
    map: Option<PathBuf>,
    /// Play the bundle that is there, and build nothing.
    #[arg(long)]
    no_build: bool,
}

/// Runs the command.
///
/// # Errors
/// Where the song can't be played, the plugin misbehaves, or plays anything but what the engine
/// says.
pub fn run(args: &Args) -> Result<()> {
    let (song, mut timeline) = load_song(args)?;
    let map = args
        .map
        .as_deref()
        .map_or_else(|| Ok(NamedMap::default()), read_map)?;
    let library = if args.no_build {
        crate::bundled()?.join("Fourlimb.clap")
    } else {
        crate::build_library()?
    };
    let entry = load_plugin(&library)?;
    let mut host = Host::new(&entry)?;
    if !args.automate {
        state::set_part(&mut host, "song", &song)?;
    }
    state::set_part(&mut host, "map", &map)?;
    let (rate, block) = (f64::from(args.sample_rate), args.block_size);
    let guitar = if timeline.riff().is_empty() {
        session_guitar::capture(&mut host, &mut timeline, rate, block)?
    } else {
        session_guitar::load(&mut host, timeline.riff())?;
        None
    };
    let mut sound = Sound::new(args.sample_rate);
    let recorded = listen(&mut host, &timeline, &[], rate, block, |[left, right]| {
        sound.add(left, right);
    })?;
    let mut expected = offline::render(&timeline, &map.map);
    // The stop at the end comes before a hand grabs what rings on.
    expected.notes.retain(|note| note.tick < timeline.end());
    compare(&recorded, &expected)?;

    let mut hits = offline::play(&timeline);
    if args.map.is_some() {
        // What the sampler lacks is charted as what sounds in its place.
        hits.retain_mut(|hit| {
            map.map
                .sounding(hit.piece)
                .map(|piece| hit.piece = piece)
                .is_some()
        });
    }
    let chart = text_chart::chart(&timeline, &hits);
    let out = match &args.out {
        Some(out) => out.clone(),
        None => crate::target()?.join("session"),
    };
    fs::create_dir_all(&out)
        .with_context(|| format!("could not make the folder {}", out.display()))?;
    let name = file_name(timeline.title());
    let midi = out.join(format!("{name}.mid"));
    let page = out.join(format!("{name}.txt"));
    let region = write_song(&timeline, &recorded)?;
    files::write(&midi, &region, Existing::Replace)?;
    files::write(&page, chart.as_bytes(), Existing::Replace)?;
    let wav = out.join(format!("{name}.wav"));
    files::write(&wav, &sound.to_wav()?, Existing::Replace)?;
    let loudness = sound.loudness()?;
    print!("{chart}");
    if let Some(guitar) = guitar {
        println!("\n{guitar}");
    }
    println!(
        "\nRecorded {} notes in {} bars, all where the engine has them.\nRegion: {}\nChart:  {}\n\
         Sound:  {} ({:.1} LUFS, true peak {:.1} dB)",
        recorded.notes.len(),
        timeline.bars().len(),
        midi.display(),
        page.display(),
        wav.display(),
        loudness.lufs,
        loudness.true_peak_db
    );
    Ok(())
}

/// Reads a note map.
///
/// # Errors
/// Where the file can't be read, or is none.
pub fn read_map(path: &Path) -> Result<NamedMap> {
    let name = path.display();
    let json =
        fs::read_to_string(path).with_context(|| format!("could not read the map {name}"))?;
    NamedMap::parse(&json).with_context(|| format!("the map {name} can't be used"))
}

fn load_song(args: &Args) -> Result<(SongFile, Timeline)> {
    let lay_out = |song: SongFile| {
        let timeline = if args.automate {
            Timeline::automated(&song)?
        } else {
            Timeline::new(&song)?
        };
        Ok((song, timeline))
    };
    Ok(match &args.song {
        Some(path) => files::read_song(path, lay_out)?,
        None => SongFile::parse(SongFile::DEMO).and_then(lay_out)?,
    })
}

#[expect(unsafe_code, reason = "a plugin is a shared library")]
pub(crate) fn load_plugin(path: &Path) -> Result<PluginEntry> {
    // SAFETY: the library was built from this project.
    let entry = unsafe { PluginEntry::load(path) };
    entry.map_err(|error| anyhow::anyhow!("could not load {}: {error}", path.display()))
}

/// A change of a parameter, in samples from the start of the song.
struct Cue {
    at: u64,
    param: ClapId,
    value: f64,
}

/// Plays the song from start to end and returns what was recorded. `sample_rate` in Hz; blocks of
/// `block_size` samples, cut where tempo or meter change. Where the timeline follows the chart, the plugin
/// has to have the song in its state.
///
/// # Errors
/// Where the plugin fails, or breaks the pairing of note-ons and note-offs.
pub fn play(host: &mut Host, song: &Timeline, sample_rate: f64, block_size: u32) -> Result<Region> {
    listen(host, song, &[], sample_rate, block_size, |_| ())
}

/// How long the last cymbal may ring after the song, in seconds.
const RING_OUT_S: f64 = 3.0;

/// The same, with the sound of a guitar at the side-chain from the start of the song; hands every
/// block's sound to `heard`, left and right.
///
/// # Errors
/// As [`play`].
pub fn listen(
    host: &mut Host,
    song: &Timeline,
    guitar: &[f32],
    sample_rate: f64,
    block_size: u32,
    mut heard: impl FnMut([&[f32]; 2]),
) -> Result<Region> {
    // Faster than it is heard: the plugin has to wait for its sound.
    host.render_offline()?;
    host.activate(sample_rate, block_size)?;
    let still = Transport {
        bpm: Some(song.tempo().bpm_at(0)),
        ..Transport::AT_REST
    };
    let start: Vec<_> = start_values(host, &song.start_settings())?
        .into_iter()
        .map(|(param, value)| Automation {
            sample: 0,
            param,
            value,
        })
        .collect();
    ensure!(
        host.block(&still, &start, block_size)?.is_empty(),
        "it plays while it should stand"
    );

    let cues = cues(host, song, sample_rate)?;
    let cuts = cuts(song, sample_rate);
    let end = to_sample(song, song.end(), sample_rate);
    let progress = ProgressBar::new(song.bars().len() as u64).with_style(
        ProgressStyle::with_template("{spinner} playing bar {pos} of {len} [{bar:40}] {msg}")?,
    );
    let mut recorder = Recorder {
        song,
        sample_rate,
        open: Vec::new(),
        region: Region::default(),
    };
    let (mut at, mut next_cue) = (0, 0);
    while at < end {
        let until = cuts.iter().copied().find(|cut| *cut > at).unwrap_or(end);
        let frames = u64::from(block_size).min(until - at);
        let due = cues[next_cue..]
            .iter()
            .take_while(|cue| cue.at < at + frames)
            .count();
        let automation: Vec<_> = cues[next_cue..next_cue + due]
            .iter()
            .map(|cue| Automation {
                sample: u32::try_from(cue.at.saturating_sub(at)).unwrap_or(0),
                param: cue.param,
                value: cue.value,
            })
            .collect();
        next_cue += due;
        let tick = song.tempo().ticks(at as f64 / sample_rate);
        let bar = bar_at(song, tick);
        let transport = Transport {
            playing: true,
            pos_quarters: Some(tick / TICKS_PER_QUARTER as f64),
            bpm: Some(song.tempo().bpm_at(floor(tick + 0.5))),
            meter: Some((bar.meter.numerator().into(), bar.meter.denominator().into())),
            bar_quarters: bar.start as f64 / TICKS_PER_QUARTER as f64,
            loop_quarters: None,
        };
        let frames = u32::try_from(frames)?;
        let from = usize::try_from(at)?.min(guitar.len());
        let input = Guitar {
            sound: guitar.get(from..(from + frames as usize).min(guitar.len())),
            notes: &[],
            ..Guitar::default()
        };
        for sent in host.block_with(&transport, &automation, &input, frames)? {
            recorder.take(at, sent)?;
        }
        for &(sample, _, expressed) in host.expressed() {
            recorder.express(at, sample, expressed);
        }
        heard(host.heard(frames));
        at += u64::from(frames);
        let done = song.bars().partition_point(|bar| bar.end() as f64 <= tick);
        progress.set_position(done as u64);
        progress.set_message(section_at(song, tick));
    }
    for sent in host.block(&still, &[], block_size)? {
        recorder.take(end, sent)?;
    }
    heard(host.heard(block_size));
    let rings = floor(RING_OUT_S * sample_rate / f64::from(block_size));
    for _ in 0..rings {
        ensure!(
            host.block(&still, &[], block_size)?.is_empty(),
            "it plays after the end"
        );
        heard(host.heard(block_size));
    }
    progress.finish_and_clear();
    recorder.finish()
}

/// Turns note events back into notes.
struct Recorder<'a> {
    song: &'a Timeline,
    sample_rate: f64,
    open: Vec<(Sent, Ticks)>,
    region: Region,
}

impl Recorder<'_> {
    fn tick(&self, block: u64, sample: u32) -> Ticks {
        let seconds = (block + u64::from(sample)) as f64 / self.sample_rate;
        // A stroke sounds on the first sample at or after its tick.
        floor(self.song.tempo().ticks(seconds) + ON_IT)
    }

    fn express(&mut self, block: u64, sample: u32, expressed: Expressed) {
        let expression = match expressed {
            Expressed::Control(channel, number, value) => Expression::Control {
                channel,
                number,
                value,
            },
            Expressed::Pressure(channel, key, value) => Expression::Pressure {
                note: Note { channel, key },
                value,
            },
        };
        let tick = self.tick(block, sample);
        self.region
            .expressions
            .push(RegionExpression { tick, expression });
    }

    fn take(&mut self, block: u64, sent: Sent) -> Result<()> {
        let tick = self.tick(block, sent.sample);
        let same = |open: &(Sent, Ticks)| (open.0.channel, open.0.key) == (sent.channel, sent.key);
        let open = self.open.iter().position(same);
        match (sent.velocity, open) {
            (Some(_), None) => self.open.push((sent, tick)),
            (None, Some(i)) => {
                let (on, start) = self.open.remove(i);
                self.region.notes.push(RegionNote {
                    tick: start,
                    length: (tick - start).max(1),
                    note: Note {
                        channel: on.channel,
                        key: on.key,
                    },
                    velocity: on.velocity.unwrap_or(0),
                });
            }
            (Some(_), Some(_)) => bail!("key {} was struck twice without a release", sent.key),
            (None, None) => bail!("key {} was released without being struck", sent.key),
        }
        Ok(())
    }

    fn finish(mut self) -> Result<Region> {
        ensure!(
            self.open.is_empty(),
            "{} notes were never released",
            self.open.len()
        );
        self.region.end = self.song.end();
        self.region
            .notes
            .sort_by_key(|note| (note.tick, note.note.key));
        Ok(self.region)
    }
}

/// The parameters and values that bring the plugin to a song's start.
fn start_values(host: &mut Host, settings: &Settings) -> Result<Vec<(ClapId, f64)>> {
    use SettingId::{FollowChart, KickSource, Phrase, RiffGrid, SwitchAt, Take};
    let mut values = Vec::new();
    let of_song = [Take, Phrase, SwitchAt, KickSource, RiffGrid, FollowChart];
    // What the song says nothing of stays as the host has it.
    let says = |setting: &SettingId| setting.is_of_lane() || of_song.contains(setting);
    for setting in SettingId::shown().filter(says) {
        values.push(param_value(host, setting, settings.get(setting))?);
    }
    Ok(values)
}

/// The parameter and value of a setting: choices by their text, as a person would set them.
fn param_value(host: &mut Host, setting: SettingId, value: f32) -> Result<(ClapId, f64)> {
    let id = host.param(setting.name())?.id;
    let kind = setting.kind();
    // A level is sent as it is, to its last bit; its text is rounded.
    if kind.is_level() && kind.range() == (0.0, 1.0) {
        return Ok((id, f64::from(value)));
    }
    Ok((id, host.parse(id, &kind.text(value))?))
}

fn cues(host: &mut Host, song: &Timeline, sample_rate: f64) -> Result<Vec<Cue>> {
    let mut cues = Vec::new();
    for change in song.changes() {
        // What is left to the panel, nobody automates.
        let Some(value) = change.value else {
            continue;
        };
        let (param, value) = param_value(host, change.setting, value)?;
        let exact = song.tempo().seconds(change.at as f64) * sample_rate;
        cues.push(Cue {
            at: floor(exact.round()).unsigned_abs(),
            param,
            value,
        });
    }
    Ok(cues)
}

/// The samples at which tempo or meter change, where a host starts a new block.
fn cuts(song: &Timeline, sample_rate: f64) -> Vec<u64> {
    let tempi = song.tempo().changes().map(|(at, _)| at);
    let meters = song
        .bars()
        .windows(2)
        .filter(|w| w[0].meter != w[1].meter)
        .map(|w| w[1].start);
    let mut cuts: Vec<_> = tempi
        .chain(meters)
        .map(|tick| to_sample(song, tick, sample_rate))
        .collect();
    cuts.sort_unstable();
    cuts
}

/// A place so little after a sample, in samples, is on it, as for the plugin's clock, which allows a host's rounding as much.
const ON_IT: f64 = 1e-3;

/// The first sample at or after a tick.
fn to_sample(song: &Timeline, tick: Ticks, sample_rate: f64) -> u64 {
    floor((song.tempo().seconds(tick as f64) * sample_rate - ON_IT).ceil()).unsigned_abs()
}

#[expect(clippy::cast_possible_truncation)]
fn floor(x: f64) -> i64 {
    x.floor() as i64
}

fn bar_at(song: &Timeline, tick: f64) -> fourlimb::time::Bar {
    // A tick's rounding error must not put a bar line into the bar before.
    let i = song
        .bars()
        .partition_point(|bar| bar.start as f64 <= tick + ON_IT);
    song.bars()[i.saturating_sub(1)]
}

fn section_at(song: &Timeline, tick: f64) -> String {
    let name = song
        .markers()
        .take_while(|(at, _)| *at as f64 <= tick)
        .last();
    name.map_or_else(String::new, |(_, name)| name.to_owned())
}

/// Stops with the first differences where the recording is not what the engine plays.
///
/// # Errors
/// Lists the first notes that are missing and the first too many.
pub fn compare(recorded: &Region, expected: &Region) -> Result<()> {
    let key = |note: &RegionNote| (note.tick, note.note.channel, note.note.key, note.velocity);
    let sorted = |region: &Region| {
        let mut notes: Vec<_> = region.notes.iter().map(key).collect();
        notes.sort_unstable();
        notes
    };
    let (recorded, expected) = (sorted(recorded), sorted(expected));
    ensure!(!expected.is_empty(), "the song has no notes");
    if recorded == expected {
        return Ok(());
    }
    let missing: Vec<_> = expected
        .iter()
        .filter(|n| !recorded.contains(n))
        .take(5)
        .collect();
    let surplus: Vec<_> = recorded
        .iter()
        .filter(|n| !expected.contains(n))
        .take(5)
        .collect();
    bail!(
        "the plugin played {} notes, the engine has {}; (tick, channel, key, velocity)\n  missing: \
         {missing:?}\n  surplus: {surplus:?}",
        recorded.len(),
        expected.len()
    )
}

/// A file name from a title: lower case, dashes for all else.
fn file_name(title: &str) -> String {
    let dashed = title
        .to_ascii_lowercase()
        .replace(|letter: char| !letter.is_alphanumeric(), "-");
    let name = names::safe(dashed.trim_matches('-'), names::LONGEST_TITLE);
    Some(name)
        .filter(|name| !name.is_empty())
        .unwrap_or_else(|| "song".to_owned())
}
