//! Two independent libraries read our scores back, and a validator holds them against the published schema: music21 and
//! verovio, lxml with the schema that the package `musicxml` ships, all of PyPI. They live in an environment of their own
//! below `target`.

use crate::export::{demo, song};
use crate::score::{played, xml};
use fourlimb::export::score::form::Form;
use fourlimb::export::score::{Score, ScoreOptions};
use fourlimb::song::{SongFile, Timeline};
use hosting::songs::{self, Ranges};
use serde_json::json;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// What is installed, each in the version that the figures of `docs/score.md` were made with.
const PACKAGES: [&str; 3] = ["music21==10.5.1", "verovio==6.4.1", "lxml==6.1.3"];
/// For its schema alone.
const SCHEMA: &str = "musicxml==1.6.3";

/// The Python of the environment; an error says what is missing.
fn python() -> Result<PathBuf, String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/score-readers");
    // An environment has its Python, and a system its name for it, in one of two ways.
    let (system, own) = if cfg!(windows) {
        ("python", "Scripts/python.exe")
    } else {
        ("python3", "bin/python")
    };
    let python = root.join(own);
    let run = |command: &mut Command| match command.output() {
        Ok(output) if output.status.success() => Ok(()),
        Ok(output) => Err(String::from_utf8_lossy(&output.stderr).into_owned()),
        Err(error) => Err(error.to_string()),
    };
    let ready = root.join("ready");
    if !ready.exists() {
        run(Command::new(system).args(["-m", "venv"]).arg(&root))?;
        let pip = |more: &[&str]| {
            let quiet = [
                "-m",
                "pip",
                "install",
                "--quiet",
                "--disable-pip-version-check",
            ];
            run(Command::new(&python).args(quiet).args(more))
        };
        pip(&PACKAGES)?;
        pip(&["--no-deps", SCHEMA])?;
        fs::write(&ready, "").map_err(|error| error.to_string())?;
    }
    Ok(python)
}

/// How a piece is to be read: its step above the lowest line, its head, and whether it has a circle. Stated here once
/// more, not taken from the code.
fn look(piece: &str, by_foot: bool) -> (i32, &'static str, bool) {
    match piece {
        "hi-hat open" if by_foot => (-1, "x", true),
        "hi-hat foot" => (-1, "x", false),
        "kick" => (1, "normal", false),
        "floor tom low" => (2, "normal", false),
        "floor tom high" => (3, "normal", false),
        "snare" => (5, "normal", false),
        "side stick" => (5, "x", false),
        "rack tom low" => (6, "normal", false),
        "rack tom high" => (7, "normal", false),
        "sticks" => (7, "x", false),
        "ride" => (8, "x", false),
        "ride bell" => (8, "diamond", false),
        "hi-hat closed" => (9, "x", false),
        "hi-hat open" => (9, "x", true),
        "hi-hat loose" => (9, "circle-x", false),
        "crash left" => (10, "x", false),
        "china" => (11, "x", false),
        "crash right" => (12, "x", false),
        "splash" => (13, "x", false),
        other => panic!("{other}"),
    }
}

/// The songs: the demo, one of every beat that has a rhythm of its own, and random ones in the usual meters.
fn all() -> Vec<(String, Timeline)> {
    let mut all = vec![("demo".to_owned(), demo())];
    let bare =
        r#""style": "rock", "density": 0, "fill_chance": 0, "fill": "none", "crashes": "none""#;
    let equal = [
        r#""name": "Wait", "bars": 3, "play": "rest""#.to_owned(),
        format!(r#""name": "A", "bars": 8, "play": "beat", "start": "nothing", {bare}"#),
        format!(r#""name": "B", "bars": 3, "start": "nothing", "meter": "7/8", {bare}"#),
    ];
    let equal: Vec<&str> = equal.iter().map(String::as_str).collect();
    all.push(("equal".to_owned(), song("Equal", &equal)));
    // Two bars in turn, twice and three times.
    let rows: Vec<_> = (0..16)
        .flat_map(|i| {
            let at = i * 960 + if i % 8 == 5 { 480 } else { 0 };
            [json!([at, "snare", 99]), json!([i * 960, "kick", 99])]
        })
        .collect();
    let rows = |bars: usize| serde_json::to_string(&rows[..bars * 8]).unwrap();
    let turns = [4, 2].map(|bars| {
        format!(
            r#""name": "{bars}", "bars": {bars}, "locked": {}"#,
            rows(bars)
        )
    });
    let turns: Vec<&str> = turns.iter().map(String::as_str).collect();
    all.push(("turns".to_owned(), song("In turn", &turns)));
    const METERS: [&[&str]; 3] = [&["4/4"], &["7/8"], &["12/8"]];
    for seed in 0..36_u64 {
        let meter = METERS[seed as usize % 3];
        let ranges = Ranges {
            fields: [("meter", meter)]
                .into_iter()
                .chain(crate::support::section_fields())
                .collect(),
            bars: 2..=4,
            bpm: 60.0..=240.0,
        };
        let sections = (0..4).map(|i| songs::section(seed * 10 + i, &ranges));
        let text = songs::song(&json!({ "phrase_bars": 2 }), sections);
        let song = Timeline::new(&SongFile::parse(&text).unwrap()).unwrap();
        all.push((format!("random-{seed:02}"), song));
    }
    all
}

/// Which strokes are of a foot, by bar, place and piece, as the drummer plays them.
fn strokes(song: &Timeline) -> Vec<serde_json::Value> {
    use fourlimb::groove::Limb;
    let hits = fourlimb::engine::offline::play(song);
    let mut feet: Vec<_> = hits
        .iter()
        .filter(|hit| matches!(hit.limb, Limb::LeadFoot | Limb::OtherFoot))
        .map(|hit| (hit.grid, hit.piece.name()))
        .collect();
    let strokes = played(song).into_iter().map(|stroke| {
        let at = song.bars()[stroke.bar - 1].start + stroke.at;
        let foot = feet
            .iter()
            .position(|(grid, piece)| (*grid, *piece) == (at, &*stroke.piece));
        let by_foot = foot.map(|found| feet.remove(found)).is_some();
        let (step, head, open) = look(&stroke.piece, by_foot);
        json!([stroke.bar, [stroke.at, 960], step, head, open, stroke.grace])
    });
    strokes.collect()
}

/// `cargo xtask test` runs it where Python can make environments.
#[test]
#[ignore = "needs Python and packages of PyPI"]
fn two_libraries_read_every_stroke_and_the_schema_holds() {
    let python = match python() {
        Ok(python) => python,
        Err(error) => {
            println!("skipped: no environment of Python could be made for the readers: {error}");
            return;
        }
    };
    let folder = tempfile::tempdir().unwrap();
    let mut in_pairs = 0;
    for (name, song) in all() {
        let path = folder.path().join(&name);
        let options = ScoreOptions {
            stickings: name.ends_with('3'),
            ..ScoreOptions::default()
        };
        fs::write(path.with_extension("musicxml"), xml(&song, &options)).unwrap();
        let forms = Score::of(&song, &options).unwrap().forms;
        let sign = |i: &usize| matches!(forms[*i], Form::Sign { bars: 2 } | Form::SignGoesOn);
        let pairs: Vec<_> = (0..forms.len()).filter(sign).map(|i| i + 1).collect();
        in_pairs += pairs.len();
        let told = json!({ "last": forms.len(), "strokes": strokes(&song), "pairs": pairs });
        fs::write(path.with_extension("json"), told.to_string()).unwrap();
    }
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/score/read_back.py");
    let output = Command::new(python)
        .arg(script)
        .arg(folder.path())
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stdout);
    println!("{said}{}", String::from_utf8_lossy(&output.stderr));
    assert!(output.status.success());
    assert_eq!(in_pairs, 2);
    assert!(
        said.contains("39 scores") && said.contains(" agreed"),
        "{said}"
    );
}
