//! `fourlimb riff`: the guitar of a MIDI file or a recording becomes the riff of a song file.

use crate::files::{self, Existing};
use crate::riff::Riff;
use crate::riff::import::{Place, from_midi, from_sound, is_midi};
use crate::song::{SongFile, Timeline};
use anyhow::{Context, Result, ensure};
use indicatif::ProgressBar;
use std::io::Write;
use std::path::PathBuf;

/// Its options.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The guitar: a MIDI file, or a recording (WAV, FLAC).
    file: PathBuf,
    /// The song file that gives tempo and meter, and gets the riff; the demo song where left out.
    #[arg(long, value_name = "FILE")]
    song: Option<PathBuf>,
    /// Where to write the song with its riff.
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    /// The bar of the song at which the file begins, from 1.
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..))]
    bar: u32,
    /// The track of the MIDI file, from 1; the only one with notes where left out.
    #[arg(long)]
    track: Option<usize>,
    /// How readily a change of the sound counts as a stroke, 0 to 1.
    #[arg(long, value_name = "X", default_value_t = 0.5, value_parser = super::share)]
    sensitivity: f32,
}

/// Runs the command. Fails where a file can't be read or written, or holds no guitar.
pub(super) fn run(args: &Args, out: &mut dyn Write) -> Result<()> {
    let lay_out = |song: SongFile| Timeline::new(&song).map(|timeline| (song, timeline));
    let (mut song, timeline) = match &args.song {
        Some(path) => files::read_song(path, lay_out)?,
        None => SongFile::parse(SongFile::DEMO).and_then(lay_out)?,
    };
    let riff = read(args, &timeline)?;
    song.riff = Some(riff.save());
    files::write(&args.out, song.to_text().as_bytes(), Existing::Replace)?;
    let attacks = riff.attacks().len();
    writeln!(out, "{attacks} attacks\nSong: {}", args.out.display())?;
    Ok(())
}

fn read(args: &Args, timeline: &Timeline) -> Result<Riff> {
    let name = args.file.display();
    let bytes = super::read(&args.file)?;
    let bars = timeline.bars();
    let bar = bars.get(args.bar as usize - 1);
    ensure!(
        bar.is_some(),
        "the song has only {last} bars: choose one from 1 to {last}",
        last = bars.len()
    );
    let place = bar.map_or(Place { at: 0, bar: 3840 }, |bar| Place {
        at: bar.start,
        bar: bar.meter.bar_len(),
    });
    let riff = if is_midi(&bytes) {
        from_midi(&bytes, args.track, place)
    } else {
        let progress = ProgressBar::new(1000);
        let riff = from_sound(bytes, args.sensitivity, timeline.tempo(), place, |share| {
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            progress.set_position((share * 1000.0) as u64);
            true
        });
        progress.finish_and_clear();
        riff
    };
    riff.with_context(|| format!("{name} gives no riff"))
}
