//! The guitar in the hosted plugin: notes in, capture from the side-chain, and the kicks that follow.

use crate::{QUARTER, RATE, host, rolling, set, standing};
use hosting::guitar::{Pick, Rig, Touch, play};
use hosting::host::{Guitar, Host, Sent};
use hosting::state::{document_of, set_document};

const KICK: u8 = 36;
/// Samples of the guitar before the song begins.
const LEAD: usize = 8000;

/// Rolls at 120 BPM with a guitar at the side-chain; returns the kicks' song samples.
fn roll_with(host: &mut Host, sound: &[f32], notes: &[u32], to: u32, block: u32) -> Vec<u32> {
    let (mut at, mut kicks) = (0, Vec::new());
    // The amplifier hisses before the song begins.
    let (hiss, sound) = sound.split_at(LEAD.min(sound.len()));
    let guitar = Guitar {
        sound: Some(hiss),
        notes: &[],
        ..Guitar::default()
    };
    host.block_with(&standing(0), &[], &guitar, 8000).unwrap();
    while at < to {
        let frames = block.min(to - at);
        let range = at as usize..((at + frames) as usize).min(sound.len()).max(at as usize);
        let due: Vec<_> = notes
            .iter()
            .filter(|n| (at..at + frames).contains(*n))
            .map(|n| (n - at, 0.8))
            .collect();
        let guitar = Guitar {
            sound: sound.get(range),
            notes: &due,
            ..Guitar::default()
        };
        let sent = host.block_with(&rolling(at), &[], &guitar, frames).unwrap();
        let kick = |s: &&Sent| s.key == KICK && s.velocity.is_some();
        kicks.extend(sent.iter().filter(kick).map(|s| at + s.sample));
        at += frames;
    }
    host.block(&standing(to), &[], 64).unwrap();
    kicks
}

/// Two bars of a gallop, palm-muted, a little off the grid; the second at which each is struck.
fn gallop() -> Vec<f64> {
    (0..8)
        .flat_map(|count| [0.0, 0.5, 0.75].map(|part| f64::from(count) + part))
        .enumerate()
        .map(|(i, beats)| beats * 0.5 + [0.004, -0.003, 0.006][i % 3])
        .collect()
}

fn sound(truth: &[f64], rig: &Rig) -> Vec<f32> {
    let picks: Vec<_> = truth
        .iter()
        .map(|&at| Pick {
            at: at + 8000.0 / RATE,
            held: 0.12,
            hz: 73.42,
            force: 1.0,
            touch: Touch::Mute,
        })
        .collect();
    play(&picks, rig, RATE, 4.3, 5)
}

fn prepare(grid: &str) -> Host {
    let mut host = host();
    for (name, text) in [
        ("Beat", "breakdown"),
        ("Looseness", "0%"),
        ("Fill chance", "0%"),
        ("Riff grid", grid),
    ] {
        set(&mut host, name, text);
    }
    host
}

/// A capture pass, then the kicks of the second pass lie on the guitar: within a few milliseconds
/// without a grid, on the sixteenths with one, whatever the block size.
#[test]
fn the_second_pass_plays_the_guitar() {
    let truth = gallop();
    for (rig, block) in [
        (Rig::CLEAN, 512),
        (Rig::HIGH_GAIN, 64),
        (Rig::HUM_AND_NOISE, 1999),
    ] {
        let guitar = sound(&truth, &rig);
        let mut host = prepare("off");
        set(&mut host, "Listen", "side-chain");
        roll_with(&mut host, &guitar, &[], 4 * QUARTER * 2, block);
        let kicks = roll_with(&mut host, &guitar, &[], 4 * QUARTER * 2, block);
        assert_eq!(kicks.len(), truth.len(), "{rig:?}: {kicks:?}");
        for (kick, at) in kicks.iter().zip(&truth) {
            let error = f64::from(*kick) / RATE - at;
            assert!(error.abs() < 0.006, "{rig:?}: {error} s off");
        }
        // Captured, saved, loaded elsewhere, and drawn to the grid.
        let state = host.save().unwrap();
        let mut other = prepare("off");
        other.load(&state).unwrap();
        set(&mut other, "Listen", "off");
        set(&mut other, "Riff grid", "sixteenths");
        let kicks = roll_with(&mut other, &[], &[], 4 * QUARTER * 2, block);
        let grid: Vec<u32> = (0..8)
            .flat_map(|count| [0, 12_000, 18_000].map(|s| count * QUARTER + s))
            .collect();
        assert_eq!(kicks, grid);
    }
}

#[test]
fn notes_are_kicked_at_their_very_sample_and_captured() {
    let mut host = prepare("off");
    set(&mut host, "Listen", "notes");
    // From the second bar on, when notes lead.
    let notes: Vec<u32> = [100, 30_011, 96_007, 108_013, 120_001, 150_333].into();
    let kicks = roll_with(&mut host, &[], &notes, 2 * 96_000, 777);
    for note in &notes[2..] {
        assert!(kicks.contains(note), "{note} is not in {kicks:?}");
    }
    assert_eq!(
        kicks.iter().filter(|k| **k >= 96_000).count(),
        4,
        "{kicks:?}"
    );
    set(&mut host, "Listen", "off");
    host.reset();
    let again = roll_with(&mut host, &[], &[], 2 * 96_000, 64);
    let again: Vec<u32> = again.into_iter().filter(|k| *k >= 96_000).collect();
    assert_eq!(again.len(), 4, "{again:?}");
    for (kick, note) in again.iter().zip(&notes[2..]) {
        assert!(kick.abs_diff(*note) <= 26, "{kick} {note}");
    }
}

/// No note that comes in goes out again.
#[test]
fn nothing_of_the_input_is_passed_on() {
    let mut host = host();
    let mut at = 0;
    for _ in 0..400 {
        let guitar = Guitar {
            sound: None,
            notes: &[(3, 0.5), (9, 1.0)],
            ..Guitar::default()
        };
        let sent = host.block_with(&rolling(at), &[], &guitar, 512).unwrap();
        assert!(
            sent.iter().all(|s| s.key != 40 && s.channel == 9),
            "{sent:?}"
        );
        at += 512;
    }
}

/// A state without a riff, as older versions saved it, leaves none behind.
#[test]
fn a_state_without_a_riff_clears_it() {
    let mut host = prepare("off");
    set(&mut host, "Listen", "notes");
    let without = host.save().unwrap();
    let json = String::from_utf8(without[8..].to_vec()).unwrap();
    let mut value: serde_json::Value = serde_json::from_str(&json).unwrap();
    let mut document = document_of(&value).unwrap();
    assert!(document.as_object_mut().unwrap().remove("riff").is_some());
    set_document(&mut value, &document);
    let body = value.to_string();
    let mut old = u64::try_from(body.len()).unwrap().to_le_bytes().to_vec();
    old.extend(body.bytes());
    roll_with(&mut host, &[], &[0, 24_000, 48_000], 96_000, 256);
    let captured = String::from_utf8_lossy(&host.save().unwrap()[8..]).into_owned();
    host.load(&old).unwrap();
    host.block(&standing(0), &[], 64).unwrap();
    let cleared = String::from_utf8_lossy(&host.save().unwrap()[8..]).into_owned();
    assert!(
        captured.len() > cleared.len() && cleared.len() <= json.len() + 64,
        "{cleared}"
    );
    assert!(cleared.contains(r#"\"attacks\":[]"#), "{cleared}");
}

/// A riff as full as can be is saved and loaded in good time.
#[test]
fn a_full_riff_is_saved_and_loaded() {
    use fourlimb::riff::{Attack, Riff};
    let attacks = (0..65_536).map(|i| Attack {
        tick: i * 240,
        strength: 0.9,
    });
    let riff = Riff::new(attacks, 0, 65_536 * 240);
    let mut host = host();
    let state = host.save().unwrap();
    let mut value: serde_json::Value = serde_json::from_slice(&state[8..]).unwrap();
    let mut document = document_of(&value).unwrap();
    document["riff"] = serde_json::to_value(riff.save()).unwrap();
    set_document(&mut value, &document);
    let body = value.to_string();
    let mut full = u64::try_from(body.len()).unwrap().to_le_bytes().to_vec();
    full.extend(body.bytes());
    let started = std::time::Instant::now();
    host.load(&full).unwrap();
    let loaded = started.elapsed();
    let saved = host.save().unwrap();
    println!(
        "{} bytes, loaded in {loaded:?}, both in {:?}",
        saved.len(),
        started.elapsed()
    );
    assert_eq!(saved.len(), full.len());
    assert!(saved.len() < 700_000);
}

/// What the editor's strip does to the riff reaches the audio thread, and can be taken back.
#[test]
fn the_strip_clears_moves_and_undoes() {
    use fourlimb::editor::{action::RiffAct, snapshot::RiffFacts};
    use fourlimb::project::Project;
    use fourlimb::riff::{Attack, Edit, Riff};
    let keeper = Project::default();
    let mut audio = keeper.take_audio().unwrap().riff;
    assert!(keeper.take_audio().is_none());
    let facts = || RiffFacts::of(&keeper.document().riff);
    let mut played = Riff::with_room();
    let attack = |tick| Attack {
        tick,
        strength: 0.5,
    };
    for edit in [Edit::Punch(0, 3840), Edit::Add(attack(480))] {
        played.apply(edit);
        assert!(audio.send(edit));
    }
    assert_eq!((facts().attacks, facts().known), (1, true));
    let act = |act: RiffAct| keeper.change_riff(|riff| act.apply(riff, 3840));
    assert!(!audio.receive(&mut played));
    assert_eq!(
        keeper.changes(),
        0,
        "what was captured is no change by the user"
    );
    act(RiffAct::Nudge(60));
    assert_eq!(keeper.changes(), 1);
    assert!(audio.receive(&mut played) && !audio.receive(&mut played));
    assert_eq!(played.attacks()[0].tick, 540);
    act(RiffAct::Repeat(true));
    act(RiffAct::Clear);
    assert!(audio.receive(&mut played));
    assert!(played.is_empty() && !facts().known);
    let _ = keeper.undo(&fourlimb::settings::Settings::default());
    assert!(audio.receive(&mut played));
    assert_eq!(played.attacks()[0].tick, 540);
    assert_eq!(played.repeat(), Some((0, 3840)));
    // An edit of a riff that was replaced meanwhile is void.
    act(RiffAct::Clear);
    assert!(audio.send(Edit::Add(attack(100))));
    assert!(!facts().known && facts().attacks == 0);
}

/// A file is read off the audio thread and laid over the riff; a bad one says why and changes nothing.
#[test]
fn a_file_is_loaded_in_the_background() {
    use fourlimb::project::jobs::RiffFile;
    use fourlimb::project::{Job, Outcome, Project};
    use fourlimb::riff::import::Place;
    let project = Project::default();
    let path = std::env::temp_dir().join(format!("fourlimb-riff-{}.mid", std::process::id()));
    // One track, 96 ticks a quarter: two notes, an eighth apart (Standard MIDI Files 1.0).
    let track = [
        &[0, 0x90, 40, 100, 48, 0x90, 40, 0, 0, 0x90, 40, 64][..],
        &[0, 0xff, 0x2f, 0],
    ]
    .concat();
    let mut file = b"MThd\0\0\0\x06\0\0\0\x01\0\x60MTrk\0\0\0".to_vec();
    file.push(u8::try_from(track.len()).unwrap());
    file.extend(track);
    std::fs::write(&path, file).unwrap();
    let job = Job::LoadRiff(RiffFile {
        path: path.clone(),
        track: None,
        place: Place {
            at: 3840,
            bar: 3840,
        },
        bpm: 120.0,
        sensitivity: 0.5,
    });
    let first = job.run(&project, |_| true);
    std::fs::remove_file(&path).unwrap();
    assert_eq!(first, Outcome::Riff(Ok(2)));
    let riff = project.document().riff;
    let ticks: Vec<_> = riff.attacks().iter().map(|a| a.tick).collect();
    assert_eq!(ticks, [3840, 4320]);
    assert!(matches!(job.run(&project, |_| true), Outcome::Riff(Err(_))));
    assert_eq!(project.document().riff.attacks().len(), 2);
}

/// Reading that is cancelled leaves the riff as it was, and says so.
#[test]
fn a_reading_that_is_cancelled_changes_nothing() {
    use fourlimb::project::jobs::RiffFile;
    use fourlimb::project::{Job, Outcome, Project};
    use fourlimb::riff::import::Place;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("guitar.wav");
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: 44_100,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut wav = hound::WavWriter::create(&path, spec).unwrap();
    for i in 0..44_100 * 4_i32 {
        // A click every half second.
        let into = i % 22_050;
        let click = if into < 400 { 20_000 - 50 * into } else { 0 };
        wav.write_sample(i16::try_from(if i % 8 < 4 { click } else { -click }).unwrap())
            .unwrap();
    }
    wav.finalize().unwrap();
    let job = Job::LoadRiff(RiffFile {
        path,
        track: None,
        place: Place { at: 0, bar: 3840 },
        bpm: 120.0,
        sensitivity: 0.5,
    });
    let project = Project::default();
    let mut told = 0;
    let outcome = job.run(&project, |_| {
        told += 1;
        told < 3
    });
    let Outcome::Riff(Err(why)) = outcome else {
        panic!("{outcome:?}")
    };
    assert!(why.contains("cancelled"), "{why}");
    assert!(project.document().riff.is_empty());
    assert!(matches!(job.run(&project, |_| true), Outcome::Riff(Ok(8))));
}
