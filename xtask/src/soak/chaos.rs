//! A host that does whatever hosts do: it stops, starts, seeks, loops, changes tempo and meter, the size of its blocks and
//! its sample rate, automates everything, and brings a guitar.

use super::watch::{self, Watch};
use super::{Figures, Rng};
use anyhow::{Context as _, Result, ensure};
use hosting::host::{Automation, Guitar, Host, Transport};
use rand::RngExt as _;
use rand::seq::IndexedRandom as _;
use std::time::Instant;

/// The largest block, in samples.
pub(super) const MOST_FRAMES: u32 = 4096;

/// How blocks are cut.
#[derive(Debug, Clone, Copy)]
enum Sizes {
    Always(u32),
    UpTo(u32),
}

/// The host's side, between two blocks.
pub(super) struct Chaos {
    rng: Rng,
    rates: &'static [f64],
    rate: f64,
    sizes: Sizes,
    transport: Transport,
    /// Where the playhead is, in quarter notes.
    at: f64,
    /// Where the meter changed last, in quarter notes.
    bars_from: f64,
    /// A second of a guitar by chance.
    guitar: Vec<f32>,
}

impl Chaos {
    pub(super) fn new(mut rng: Rng, rates: &'static [f64]) -> Self {
        let guitar = (0..48_000)
            .map(|i| {
                // Bursts that die away, six a second.
                let fade = 1.0 - (i % 8000) as f32 / 8000.0;
                fade * fade * rng.random_range(-0.5..0.5_f32)
            })
            .collect();
        let rate = rates.choose(&mut rng).copied().unwrap_or(48_000.0);
        Self {
            rng,
            rates,
            rate,
            sizes: Sizes::Always(512),
            transport: Transport {
                playing: true,
                ..Transport::AT_REST
            },
            at: 0.0,
            bars_from: 0.0,
            guitar,
        }
    }

    /// Plays so many seconds of song time, then stops.
    ///
    /// # Errors
    /// Where the plugin fails, or a note does not end as it should.
    pub(super) fn play(
        &mut self,
        host: &mut Host,
        seconds: f64,
        figures: &mut Figures,
    ) -> Result<()> {
        let mut watch = Watch::default();
        host.activate(self.rate, MOST_FRAMES)?;
        let (mut played, mut minute) = (0.0, 60.0_f64.min(seconds));
        while played < seconds {
            if self.act(host)? {
                figures.acts += 1;
            }
            let frames = match self.sizes {
                Sizes::Always(frames) => frames,
                Sizes::UpTo(most) => self.rng.random_range(1..=most),
            };
            let is_playing = self.transport.playing;
            self.block(host, frames, &mut watch, figures)
                .with_context(|| format!("{played:.2} s into the pass, in {:?}", self.transport))?;
            if is_playing {
                played += f64::from(frames) / self.rate;
            }
            if played >= minute {
                self.stop(host, &mut watch, figures)
                    .with_context(|| format!("after {played:.2} s of the pass"))?;
                minute += 60.0;
            }
        }
        self.stop(host, &mut watch, figures)?;
        figures.song_s += played;
        figures.chaotic_notes += watch.notes;
        Ok(())
    }

    /// Stops, sees that nothing sounds on, and starts again.
    fn stop(&mut self, host: &mut Host, watch: &mut Watch, figures: &mut Figures) -> Result<()> {
        self.transport.playing = false;
        let sent = self.run(host, &[], &Guitar::default(), 64, figures)?;
        watch.block(&sent, 64, self.rate)?;
        watch.silent()?;
        figures.silences += 1;
        self.transport.playing = true;
        Ok(())
    }

    /// Does something, now and then; whether it did.
    fn act(&mut self, host: &mut Host) -> Result<bool> {
        if !self.rng.random_ratio(1, 50) {
            return Ok(false);
        }
        let rng = &mut self.rng;
        match rng.random_range(0..14) {
            0 => self.transport.playing = false,
            // What stands goes on soon: song time is what counts.
            1..=3 => self.transport.playing = true,
            4 | 5 => self.at = rng.random_range(-4.0..160.0_f64),
            6 => self.at = rng.random_range(-4.0..160.0_f64).round(),
            7 => {
                let from = rng.random_range(0.0..64.0_f64).round();
                let length = rng.random_range(0.1..32.0);
                self.transport.loop_quarters =
                    rng.random_bool(0.6).then_some((from, from + length));
            }
            8 => self.transport.bpm = Some(rng.random_range(30.0..360.0)),
            9 => {
                let unit = *[2, 4, 8, 16].choose(rng).unwrap_or(&4);
                self.transport.meter = Some((rng.random_range(1..=16), unit));
                self.bars_from = self.at;
            }
            10 => {
                let most = *[64, 441, 1024, MOST_FRAMES].choose(rng).unwrap_or(&64);
                self.sizes = if rng.random() {
                    Sizes::Always(most)
                } else {
                    Sizes::UpTo(most)
                };
            }
            11 => {
                // A host that leaves something out for a while.
                let all = rng.random_ratio(3, 4);
                self.transport.bpm = (all || rng.random()).then_some(120.0);
                self.transport.meter = (all || rng.random()).then_some((4, 4));
            }
            12 => host.reset(),
            _ if rng.random_ratio(1, 8) => {
                self.rate = self.rates.choose(rng).copied().unwrap_or(self.rate);
                host.activate(self.rate, MOST_FRAMES)?;
            }
            _ => {}
        }
        Ok(true)
    }

    fn block(
        &mut self,
        host: &mut Host,
        frames: u32,
        watch: &mut Watch,
        figures: &mut Figures,
    ) -> Result<()> {
        let mut automation = Vec::new();
        if self.rng.random_ratio(1, 30) {
            for _ in 0..self.rng.random_range(1..=3) {
                automation.extend(self.change(host, frames));
            }
        }
        let notes: Vec<_> = if self.rng.random_ratio(1, 12) {
            vec![(
                self.rng.random_range(0..frames),
                self.rng.random_range(0.05..1.0),
            )]
        } else {
            Vec::new()
        };
        let from = self
            .rng
            .random_range(0..self.guitar.len() - MOST_FRAMES as usize);
        let sound = self.guitar[from..from + frames as usize].to_vec();
        let guitar = Guitar {
            sound: Some(&sound),
            notes: &notes,
            ..Guitar::default()
        };
        let sent = self.run(host, &automation, &guitar, frames, figures)?;
        watch.block(&sent, frames, self.rate)?;
        watch::sound(host.heard(frames))?;
        if self.transport.playing {
            self.advance(frames);
        }
        Ok(())
    }

    /// A parameter that changes in the block.
    fn change(&mut self, host: &Host, frames: u32) -> Option<Automation> {
        let rng = &mut self.rng;
        let param = host.params().choose(rng)?;
        let (low, high) = param.range;
        let mut value = rng.random_range(low..=high);
        if rng.random() {
            value = value.round();
        }
        // A plugin that is bypassed has nothing to show.
        if param.name == "Bypass" && rng.random_ratio(4, 5) {
            value = 0.0;
        }
        Some(Automation {
            sample: rng.random_range(0..frames),
            param: param.id,
            value,
        })
    }

    /// Runs a block and sees how long it took.
    fn run(
        &mut self,
        host: &mut Host,
        automation: &[Automation],
        guitar: &Guitar,
        frames: u32,
        figures: &mut Figures,
    ) -> Result<Vec<hosting::host::Sent>> {
        let (n, d) = self.transport.meter.unwrap_or((4, 4));
        let bar = f64::from(n) * 4.0 / f64::from(d);
        self.transport.pos_quarters = Some(self.at);
        self.transport.bar_quarters =
            self.bars_from + ((self.at - self.bars_from) / bar + 1e-9).floor() * bar;
        let began = Instant::now();
        let sent = host.block_with(&self.transport, automation, guitar, frames)?;
        figures.took(began.elapsed().as_secs_f64(), f64::from(frames) / self.rate);
        ensure!(sent.len() < 1000, "{} events in one block", sent.len());
        Ok(sent)
    }

    fn advance(&mut self, frames: u32) {
        let bpm = self.transport.bpm.unwrap_or(120.0);
        self.at += f64::from(frames) / self.rate * bpm / 60.0;
        if let Some((from, to)) = self.transport.loop_quarters
            && self.at >= to
            && self.at < to + 16.0
        {
            self.at = from + (self.at - from).rem_euclid(to - from);
        }
    }
}
