//! `cargo xtask kit`: the built-in sound in figures. Renders every piece at several forces and the demo song, and
//! prints what ears would notice, beside recorded strokes and beside the kit before this one.

mod picture;

use anyhow::{Context, Result};
use fourlimb::engine::offline;
use fourlimb::files::{self, Existing};
use fourlimb::kit::Piece;
use fourlimb::preview::{DEFAULT_LEVEL_DB, Kit, Mix, Preview, Strike, stroke_chance};
use fourlimb::settings::DEFAULT_ROOM;
use fourlimb::song::{SongFile, Timeline};
use hosting::figures::{Figures, RECORDED, THIRDS, figures, mono, thirds};
use hosting::sound::Sound;
use std::fs;
use std::path::PathBuf;

/// Its options.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// How much of the room, 0 to 1.
    #[arg(long, default_value_t = DEFAULT_ROOM)]
    room: f32,
    /// Also write every stroke and the demo song as WAV files, and the hardest strokes' spectrograms as `kit.png`.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

/// The sample rate, in Hz.
const RATE: u32 = 48_000;
/// The forces, as velocities.
const FORCES: [u8; 4] = [30, 60, 90, 127];

/// What the kit before this one had at velocity 127: decay in ms, centroids of attack and tail in Hz, flatness.
/// Its channels were one signal, panned.
const BEFORE: [(f32, f32, f32, f32); Piece::COUNT] = [
    (165.2, 128.5, 52.76, 5.168e-4),
    (113.4, 1928.0, 1042.0, 0.2883),
    (29.6, 1422.0, 1141.0, 1.209e-5),
    (32.9, 8477.0, 4961.0, 0.0149),
    (127.9, 8576.0, 7306.0, 0.1148),
    (312.7, 8802.0, 8037.0, 0.0876),
    (35.2, 5336.0, 3592.0, 0.0109),
    (666.2, 5612.0, 5285.0, 0.0288),
    (539.3, 3275.0, 2794.0, 0.0080),
    (762.2, 5534.0, 4555.0, 0.0737),
    (824.3, 5782.0, 4751.0, 0.0839),
    (283.2, 5014.0, 4209.0, 0.2261),
    (203.3, 6379.0, 5137.0, 0.0527),
    (200.0, 278.7, 153.9, 2.161e-8),
    (245.7, 249.8, 124.0, 7.088e-8),
    (306.4, 243.0, 97.06, 1.094e-7),
    (375.6, 252.9, 77.82, 2.189e-6),
    (21.9, 2485.0, 2350.0, 2.672e-4),
];

/// Runs the command.
///
/// # Errors
/// Where the demo song can't be laid out, measured, or a file not be written.
pub fn run(args: &Args) -> Result<()> {
    let kit = Kit::render(RATE as f32);
    let mix = Mix {
        level_db: DEFAULT_LEVEL_DB,
        room: args.room,
    };
    println!(
        "{:.1} MB a kit, in a room of {:.0} %",
        kit.bytes() as f32 / 1e6,
        args.room * 100.0
    );
    println!(
        "\npiece            force  peak dB  decay ms  attack Hz  tail Hz  flatness  in a line  left/right  click dB"
    );
    let mut hardest = Vec::new();
    for (piece, before) in Piece::ALL.into_iter().zip(BEFORE) {
        for velocity in FORCES {
            let stroke = Strike {
                sample: 0,
                piece,
                velocity,
                grab: None,
                chance: stroke_chance(1, 0, piece),
            };
            let sound = play(&kit, mix, &[(0, stroke)], RATE as usize * 3);
            let Figures {
                peak_db,
                decay_ms,
                attack_hz,
                tail_hz,
                flatness,
                line,
                correlation,
                click_db,
            } = figures(&sound);
            println!(
                "{:<15} {velocity:>6} {peak_db:>8.1} {decay_ms:>9.0} {attack_hz:>10.0} {tail_hz:>8.0} {flatness:>9.2e} \
                 {line:>10.2} {correlation:>11.2} {click_db:>9.1}",
                piece.name()
            );
            write(
                args,
                &format!("{}-{velocity}", piece.name().replace(' ', "-")),
                &sound,
            )?;
            if velocity == 127 {
                hardest.push(sound);
            }
        }
        let (decay, attack, tail, flatness) = before;
        println!(
            "  before           127           {decay:>9.0} {attack:>10.0} {tail:>8.0} {flatness:>9.2e}                   1.00"
        );
        for recorded in RECORDED
            .iter()
            .filter(|recorded| recorded.piece == piece.name())
        {
            let range = |figure: Option<(f32, f32)>| match figure {
                Some((low, high)) if low == high => format!("{low}"),
                Some((low, high)) => format!("{low}..{high}"),
                None => "-".to_owned(),
            };
            println!(
                "  recorded: decay {} ms, attack {} Hz, tail {} Hz, flatness {}, in a line {} ({})",
                range(recorded.decay_ms),
                range(recorded.attack_hz),
                range(recorded.tail_hz),
                range(recorded.flatness),
                range(recorded.line),
                recorded.files
            );
        }
    }
    let song = demo(&kit, mix)?;
    let loudness = song.loudness()?;
    println!(
        "\nDemo song at {DEFAULT_LEVEL_DB} dB: {:.1} LUFS, true peak {:.1} dB",
        loudness.lufs, loudness.true_peak_db
    );
    println!("Its thirds of an octave beside pink noise, in dB from their mean:");
    let bands = thirds(&mono(&song), RATE as f32);
    // From 50 Hz to 16 kHz, where drums have something to say.
    let heard = &bands[3..29];
    let mean = heard.iter().sum::<f32>() / heard.len() as f32;
    for (middle, level) in THIRDS[3..29].iter().zip(heard) {
        println!("{middle:>7} Hz {:>+6.1}", level - mean);
    }
    write(args, "demo-song", &song)?;
    if let Some(folder) = &args.out {
        let sheet = picture::sheet(&hardest)?;
        files::write(&folder.join("kit.png"), &sheet, Existing::Replace)?;
    }
    Ok(())
}

fn write(args: &Args, name: &str, sound: &Sound) -> Result<()> {
    let Some(folder) = &args.out else {
        return Ok(());
    };
    fs::create_dir_all(folder)
        .with_context(|| format!("could not make the folder {}", folder.display()))?;
    files::write(
        &folder.join(format!("{name}.wav")),
        &sound.to_wav()?,
        Existing::Replace,
    )?;
    Ok(())
}

/// The demo song, as the plugin would sound it.
fn demo(kit: &Kit, mix: Mix) -> Result<Sound> {
    let timeline = Timeline::new(&SongFile::parse(SongFile::DEMO)?)?;
    let mut strikes: Vec<(usize, Strike)> = offline::play(&timeline)
        .into_iter()
        .map(|hit| {
            let seconds = timeline.tempo().seconds(hit.tick as f64).max(0.0);
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            let at = (seconds * f64::from(RATE)).ceil() as usize;
            let strike = Strike {
                sample: 0,
                piece: hit.piece,
                velocity: hit.velocity,
                grab: None,
                chance: stroke_chance(1, hit.tick, hit.piece),
            };
            (at, strike)
        })
        .collect();
    strikes.sort_by_key(|(at, _)| *at);
    let end = strikes.last().map_or(0, |(at, _)| *at);
    Ok(play(kit, mix, &strikes, end + RATE as usize * 3))
}

/// Plays strikes at samples of the whole, in order.
fn play(kit: &Kit, mix: Mix, strikes: &[(usize, Strike)], length: usize) -> Sound {
    const BLOCK: usize = 512;
    let mut preview = Preview::new(RATE as f32);
    let mut sound = Sound::new(RATE);
    let mut next = strikes.iter().peekable();
    for start in (0..length).step_by(BLOCK) {
        while let Some((at, strike)) = next.next_if(|(at, _)| *at < start + BLOCK) {
            let sample = u32::try_from(at.saturating_sub(start)).unwrap_or(0);
            preview.strike(Strike { sample, ..*strike });
        }
        let (mut left, mut right) = ([0.0; BLOCK], [0.0; BLOCK]);
        preview.render(kit, mix, &mut left, &mut right);
        sound.add(&left, &right);
    }
    sound
}
