//! The sound that a session writes.

use super::host;
use fourlimb::song::{SongFile, Timeline};
use hosting::sound::Sound;
use xtask::session::listen;

/// Every stroke of the demo song is heard, nothing is too loud,
/// and the file is read back as it was written.
#[test]
fn the_demo_song_is_heard() {
    let song = Timeline::automated(&SongFile::parse(SongFile::DEMO).unwrap()).unwrap();
    let mut host = host();
    let (mut sound, mut struck, mut at) = (Sound::new(48_000), Vec::new(), 0);
    let region = listen(&mut host, &song, &[], 48_000.0, 512, |[left, right]| {
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

    let wav = sound.to_wav().unwrap();
    let mut reader = hound::WavReader::new(&wav[..]).unwrap();
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
}
