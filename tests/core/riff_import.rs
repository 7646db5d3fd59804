//! Riffs from files: MIDI tracks, recordings, song files.

use fourlimb::engine::offline;
use fourlimb::midi::smf_tracks::Tracks;
use fourlimb::riff::import::{ImportError, Place, from_midi, from_sound, is_midi};
use fourlimb::riff::{Attack, Riff};
use fourlimb::settings::{KickSource, RiffGrid};
use fourlimb::song::{SongFile, Timeline};
use fourlimb::time::{TempoMap, Ticks};
use hosting::guitar::{Pick, Rig, Touch, play};
use midly::num::{u4, u7, u15, u28};
use midly::{Format, Header, MetaMessage, MidiMessage, Smf, Timing, TrackEvent, TrackEventKind};

const PLACE: Place = Place {
    at: 3840,
    bar: 3840,
};

fn note(delta: u32, velocity: u8) -> TrackEvent<'static> {
    TrackEvent {
        delta: u28::new(delta),
        kind: TrackEventKind::Midi {
            channel: u4::new(0),
            message: MidiMessage::NoteOn {
                key: u7::new(40),
                vel: u7::new(velocity),
            },
        },
    }
}

fn named(name: &'static [u8]) -> TrackEvent<'static> {
    TrackEvent {
        delta: u28::new(0),
        kind: TrackEventKind::Meta(MetaMessage::TrackName(name)),
    }
}

/// 480 ticks a quarter: a power chord, its release, and two more strokes.
fn midi(two: bool) -> Vec<u8> {
    let end = TrackEvent {
        delta: u28::new(0),
        kind: TrackEventKind::Meta(MetaMessage::EndOfTrack),
    };
    let guitar = vec![
        named(b"Guitar"),
        note(0, 100),
        note(3, 127),
        note(117, 0),
        note(120, 64),
        note(240, 127),
        end,
    ];
    let mut smf = Smf::new(Header::new(
        Format::Parallel,
        Timing::Metrical(u15::new(480)),
    ));
    smf.tracks.push(vec![named(b"Tempo"), end]);
    smf.tracks.push(guitar.clone());
    if two {
        smf.tracks.push(guitar);
    }
    let mut bytes = Vec::new();
    smf.write_std(&mut bytes).unwrap();
    bytes
}

#[test]
fn a_midi_track_becomes_the_riff() {
    let file = midi(false);
    assert!(is_midi(&file));
    assert_eq!(
        Tracks::read(&file)
            .unwrap()
            .tracks
            .iter()
            .map(|t| t.notes.len())
            .collect::<Vec<_>>(),
        [0, 4]
    );
    let riff = from_midi(&file, None, PLACE).unwrap();
    // A chord is one stroke, as strong as its strongest note.
    let wished = [(3840, 1.0), (3840 + 480, 64.0 / 127.0), (3840 + 960, 1.0)];
    let wished = wished.map(|(tick, strength)| Attack { tick, strength });
    assert_eq!(riff.attacks(), wished);
    assert_eq!(riff.extent(), Some((3840, 2 * 3840)));
    assert_eq!(from_midi(&file, Some(2), PLACE).unwrap(), riff);
    assert!(matches!(
        from_midi(&file, Some(1), PLACE),
        Err(ImportError::Track(1, _))
    ));
    assert!(matches!(
        from_midi(&midi(true), None, PLACE),
        Err(ImportError::Which(_))
    ));
    assert!(from_midi(&midi(true), Some(3), PLACE).is_ok());
    assert!(matches!(
        from_midi(b"no midi", None, PLACE),
        Err(ImportError::Midi(_))
    ));
    assert!(from_midi(&file[..40], None, PLACE).is_err());
}

/// A WAV file of 16 bits (RIFF WAVE, the plain PCM header of 44 bytes, from memory).
fn wav(sound: &[f32], rate: u32) -> Vec<u8> {
    let data = u32::try_from(sound.len() * 2).unwrap();
    let mut bytes = b"RIFF".to_vec();
    bytes.extend((36 + data).to_le_bytes());
    bytes.extend(b"WAVEfmt ");
    bytes.extend(16_u32.to_le_bytes());
    bytes.extend(1_u16.to_le_bytes());
    bytes.extend(1_u16.to_le_bytes());
    bytes.extend(rate.to_le_bytes());
    bytes.extend((rate * 2).to_le_bytes());
    bytes.extend(2_u16.to_le_bytes());
    bytes.extend(16_u16.to_le_bytes());
    bytes.extend(b"data");
    bytes.extend(data.to_le_bytes());
    for sample in sound {
        bytes.extend(((sample * 32_767.0) as i16).to_le_bytes());
    }
    bytes
}

#[test]
fn a_recording_becomes_the_riff() {
    let bpm = 150.0;
    let truth: Vec<Ticks> = (0..16).map(|i| 960 + i * 480).collect();
    let second = |tick: Ticks| tick as f64 / 960.0 * 60.0 / bpm;
    let picks: Vec<Pick> = truth
        .iter()
        .map(|t| Pick {
            at: second(*t),
            held: 0.15,
            hz: 82.41,
            force: 1.0,
            touch: Touch::Mute,
        })
        .collect();
    let sound = play(&picks, &Rig::HIGH_GAIN, 44_100.0, 5.0, 8);
    let file = wav(&sound, 44_100);
    let mut last = 0.0;
    let riff = from_sound(
        file.clone(),
        0.5,
        &TempoMap::constant(bpm),
        PLACE,
        |share| {
            assert!(share >= last);
            last = share;
            true
        },
    )
    .unwrap();
    assert!(last > 0.99);
    assert_eq!(riff.attacks().len(), truth.len());
    for (attack, tick) in riff.attacks().iter().zip(&truth) {
        let off = attack.tick - 3840 - tick;
        assert!(off.abs() < 24, "{off} ticks, 10 ms");
    }
    let stopped = from_sound(
        file.clone(),
        0.5,
        &TempoMap::constant(bpm),
        PLACE,
        |share| share < 0.3,
    );
    assert!(stopped.unwrap().attacks().len() < truth.len());
    for bad in [&b"RIFF"[..], b"", &file[..30]] {
        assert!(from_sound(bad.to_vec(), 0.5, &TempoMap::constant(bpm), PLACE, |_| true).is_err());
    }
    let silent = wav(&[0.0; 44_100], 44_100);
    let empty = from_sound(silent, 0.5, &TempoMap::constant(bpm), PLACE, |_| true);
    assert_eq!(empty, Err(ImportError::Empty));
}

#[test]
fn a_song_file_carries_its_riff() {
    let mut song = SongFile::parse(SongFile::DEMO).unwrap();
    let plain = Timeline::new(&song).unwrap();
    let attacks = (0..64).map(|i| Attack {
        tick: i * 480,
        strength: 1.0,
    });
    song.riff = Some(Riff::new(attacks, 0, 64 * 480).save());
    song.kick_source = Some(KickSource::Riff);
    song.riff_grid = Some(RiffGrid::Sixteenths);
    let json = serde_json::to_string(&song).unwrap();
    let back = SongFile::parse(&json).unwrap();
    assert_eq!(back, song);
    let timeline = Timeline::new(&back).unwrap();
    assert_eq!(timeline.riff().attacks().len(), 64);
    assert_ne!(offline::play(&timeline), offline::play(&plain));
    let wrong = json.replace(r#""kick_source":"riff""#, r#""kick_source":"bass""#);
    let error = SongFile::parse(&wrong).unwrap_err();
    assert_eq!(error.place, "kick_source");
    assert!(error.problem.contains("beat, riff, both"));
}
