//! The preview in a host: heard at its stroke, off in one click and then free, within limits.

use super::{Automation, QUARTER, host, roll, rolling, set, standing};
use fourlimb::song::{SongFile, Timeline};
use xtask::host::{Host, Sent};
use xtask::sound::Sound;

fn loudest(host: &Host, frames: u32) -> f32 {
    let [left, right] = host.heard(frames);
    left.iter()
        .chain(right)
        .fold(0.0, |peak, x| peak.max(x.abs()))
}

#[test]
fn a_fresh_instance_is_heard_at_its_first_stroke() {
    let mut host = host();
    set(&mut host, "Feel", "0");
    let sent = host.block(&rolling(0), &[], 512).unwrap();
    let first = sent
        .iter()
        .find(|note| note.velocity.is_some())
        .unwrap()
        .sample as usize;
    let [left, _] = host.heard(512);
    // The limiter looks ahead by 2 ms.
    let ahead = 96;
    assert!(
        left[..first + ahead].iter().all(|x| *x == 0.0),
        "silent before the stroke"
    );
    assert!(
        left[first + ahead..].iter().any(|x| x.abs() > 0.01),
        "heard after it"
    );
}

#[test]
fn off_lets_go_and_costs_no_sound() {
    let mut host = host();
    roll(&mut host, 0, QUARTER, 512);
    assert!(loudest(&host, 512) > 0.0);
    let param = host.param("Preview").unwrap().id;
    let off = Automation {
        sample: 0,
        param,
        value: 0.0,
    };
    host.block(&rolling(QUARTER), &[off], 1024).unwrap();
    let notes = roll(&mut host, QUARTER + 1024, QUARTER * 5, 512);
    assert!(
        notes.iter().any(|(_, note)| note.velocity.is_some()),
        "the notes go on"
    );
    assert_eq!(loudest(&host, 512), 0.0);
}

#[test]
fn it_rings_out_after_a_stop() {
    let mut host = host();
    roll(&mut host, 0, QUARTER / 4, 512);
    let mut levels = Vec::new();
    for _ in 0..400 {
        assert!(
            host.block(&standing(QUARTER), &[], 512)
                .unwrap()
                .iter()
                .all(|n| n.velocity.is_none())
        );
        levels.push(loudest(&host, 512));
    }
    assert!(
        levels[..10].iter().all(|level| *level > 1e-4),
        "the opening crash rings on"
    );
    assert_eq!(levels.last(), Some(&0.0), "and is over in the end");
}

#[test]
fn the_note_map_and_the_blocks_do_not_matter() {
    let render = |block: u32| {
        let mut host = host();
        let mut sound = Sound::new(48_000);
        for at in (0..QUARTER * 4).step_by(block as usize) {
            host.block(&rolling(at), &[], block).unwrap();
            let [left, right] = host.heard(block);
            sound.add(left, right);
        }
        sound
    };
    let (one, other) = (render(480), render(96));
    let apart = one.left.iter().zip(&other.left).map(|(a, b)| (a - b).abs());
    assert!(apart.fold(0.0, f32::max) < 1e-4);
}

/// What `cargo xtask session` writes: every stroke of the demo song is heard, nothing is too loud,
/// and the file is read back as it was written.
#[test]
fn the_demo_song_is_heard() {
    let song = Timeline::automated(&SongFile::parse(SongFile::DEMO).unwrap()).unwrap();
    let mut host = host();
    let (mut sound, mut struck, mut at) = (Sound::new(48_000), Vec::new(), 0);
    let region = xtask::session::listen(&mut host, &song, &[], 48_000.0, 512, |[left, right]| {
        sound.add(left, right);
    });
    for note in region.unwrap().notes {
        let sample = song.tempo().seconds(note.tick as f64) * 48_000.0;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        struck.push(sample as usize);
    }
    assert!(struck.len() > 1000);
    for sample in struck {
        let heard = &sound.left[sample..sample + 1000];
        let peak = heard.iter().fold(0.0_f32, |peak, x| peak.max(x.abs()));
        assert!(peak > 1e-3, "a stroke at sample {sample} is silent: {peak}");
        at = at.max(sample);
    }
    let loudness = sound.loudness().unwrap();
    assert!((-33.0..=-20.0).contains(&loudness.lufs), "{loudness:?}");
    assert!(loudness.true_peak_db <= -4.0, "{loudness:?}");
    assert!(sound.left.len() > at + 96_000, "the last cymbal rings out");

    let path = std::env::temp_dir().join(format!("fourlimb-demo-{}.wav", std::process::id()));
    sound.write(&path).unwrap();
    let mut reader = hound::WavReader::open(&path).unwrap();
    assert_eq!(
        (reader.spec().channels, reader.spec().sample_rate),
        (2, 48_000)
    );
    let samples: Vec<i32> = reader.samples().map(Result::unwrap).collect();
    assert_eq!(samples.len(), sound.left.len() * 2);
    let apart = samples
        .chunks(2)
        .zip(&sound.left)
        .map(|(pair, left)| (pair[0] as f32 / 8_388_607.0 - left).abs());
    assert!(apart.fold(0.0, f32::max) < 1e-6);
    std::fs::remove_file(path).unwrap();
}

#[test]
fn silence_and_a_full_scale_tone_are_measured_rightly() {
    // A sine of 997 Hz at full scale on both channels is -3.01 + 3.01 LUFS by BS.1770's definition
    // (a stereo sine at 0 dBFS measures 0.0 LUFS [derived: -3.01 LUFS in one channel, plus two]).
    let mut sound = Sound::new(48_000);
    let tone: Vec<f32> = (0..96_000)
        .map(|i| (i as f32 * 997.0 / 48_000.0 * std::f32::consts::TAU).sin())
        .collect();
    sound.add(&tone, &tone);
    let loudness = sound.loudness().unwrap();
    assert!(loudness.lufs.abs() < 0.1, "{loudness:?}");
    assert!(loudness.true_peak_db.abs() < 0.1, "{loudness:?}");
}

/// The densest block is still nothing but copies: no allocation (the framework's check is on), and
/// the voices that were ringing are gone after a reset.
#[test]
fn a_reset_is_silent_at_once() {
    let mut host = host();
    let _: Vec<(u32, Sent)> = roll(&mut host, 0, QUARTER, 512);
    host.reset();
    host.block(&standing(QUARTER), &[], 512).unwrap();
    assert_eq!(loudest(&host, 512), 0.0);
}
