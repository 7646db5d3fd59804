//! The program as a songwriter calls it: what it prints, how it ends, and what the documents say of it.

#![allow(missing_docs, clippy::unwrap_used)]

mod docs;

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use tempfile::TempDir;

/// The program, in a folder, where failing programs are to print backtraces. The environment may name another one, such as that
/// of a package.
fn program(folder: &Path, args: &[&str]) -> Command {
    let own = || env!("CARGO_BIN_EXE_fourlimb").into();
    let asked = std::env::var_os("FOURLIMB_TEST_PROGRAM").unwrap_or_else(own);
    let mut program = Command::new(asked);
    program
        .args(args)
        .current_dir(folder)
        .env("RUST_BACKTRACE", "1")
        .env("RUST_LIB_BACKTRACE", "1");
    program
}

fn run(folder: &Path, args: &[&str]) -> Output {
    program(folder, args).output().unwrap()
}

/// Whether the program was built with its window.
fn has_window() -> bool {
    let folder = tempfile::tempdir().unwrap();
    let (help, _) = texts(&run(folder.path(), &["--help"]));
    !help.contains("--features standalone")
}

/// What was printed, and what was said to be wrong.
fn texts(output: &Output) -> (String, String) {
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    (text(&output.stdout), text(&output.stderr))
}

/// A folder with the demo song.
fn folder() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(
        folder.path().join("song.json"),
        fourlimb::song::SongFile::DEMO,
    )
    .unwrap();
    folder
}

#[test]
fn a_song_is_exported_checked_and_locked() {
    let folder = folder();
    let folder = folder.path();
    for (line, expected) in [
        (
            &["export", "song.json", "--out", "song.mid"][..],
            "written to song.mid\n",
        ),
        (
            &["check", "song.mid"],
            "song.mid can be played by two hands and two feet (extreme).\n",
        ),
        (
            &[
                "export",
                "song.json",
                "--out",
                "riff.mid",
                "--section",
                "Riff",
            ],
            "written to riff.mid\n",
        ),
        (
            &[
                "lock",
                "song.json",
                "--section",
                "Riff",
                "--from",
                "riff.mid",
            ],
            "Song: song.json\n",
        ),
        (
            &["riff", "riff.mid", "--out", "new.json"],
            "Song: new.json\n",
        ),
    ] {
        let output = run(folder, line);
        let (out, wrong) = texts(&output);
        assert!(
            out.ends_with(expected) && wrong.is_empty(),
            "{line:?}: {out}{wrong}"
        );
        assert_eq!(output.status.code(), Some(0));
    }
    assert!(
        fs::read(folder.join("song.mid"))
            .unwrap()
            .starts_with(b"MThd")
    );
}

#[test]
fn a_song_is_written_down_in_every_form_and_nothing_is_overwritten() {
    let folder = folder();
    let folder = folder.path();
    for (ending, begins) in [
        ("musicxml", &b"<?xml"[..]),
        ("mxl", b"PK"),
        ("pdf", b"%PDF"),
        ("svg", b"<?xml"),
        ("txt", b"Cinder Mill"),
    ] {
        let file = format!("song.{ending}");
        let line = ["score", "song.json", "--out", &file];
        let output = run(folder, &line);
        let (out, wrong) = texts(&output);
        assert_eq!(
            out,
            format!("bars 1-77: 1417 strokes, written to {file}\n"),
            "{wrong}"
        );
        let written = fs::read(folder.join(&file)).unwrap();
        assert!(written.starts_with(begins), "{file}");
        let again = run(folder, &line);
        assert_eq!(again.status.code(), Some(1));
        assert!(texts(&again).1.contains("exists already"), "{file}");
        assert_eq!(fs::read(folder.join(&file)).unwrap(), written);
    }
    for (more, code, expected) in [
        (
            &["--out", "song.doc"][..],
            1,
            "end the name of the file in .musicxml, .mxl",
        ),
        (
            &["--out", "a.svg", "--bars", "five"],
            2,
            "write first and last",
        ),
        (
            &["--out", "a.svg", "--bars", "1-4", "--section", "Riff"],
            2,
            "cannot be used with",
        ),
        (
            &["--out", "a.svg", "--section", "Bridge"],
            1,
            "there is no section",
        ),
        (&["--out", "a.svg", "--paper", "foolscap"], 2, "A4, letter"),
    ] {
        let line: Vec<&str> = ["score", "song.json"].iter().chain(more).copied().collect();
        let output = run(folder, &line);
        let wrong = texts(&output).1;
        assert!(wrong.contains(expected), "{line:?}: {wrong}");
        assert_eq!(output.status.code(), Some(code), "{line:?}");
    }
    assert!(!folder.join("a.svg").exists());
}

/// The exit code is 1, and the standard error has the sentence with its remedy, and nothing else.
#[test]
fn what_failed_is_a_sentence_without_a_backtrace() {
    let folder = folder();
    let folder = folder.path();
    fs::write(folder.join("map.json"), r#"{"kick": 300}"#).unwrap();
    for (line, expected) in [
        (
            &["check", "song.json"][..],
            "song.json can't be checked: it is not a Standard MIDI File",
        ),
        (
            &["check", "none.mid"],
            "could not read none.mid: there is no such file: check its name, and its path from the folder ",
        ),
        (&["onsets", "song.json"], "song.json can't be heard: "),
        (
            &["check", "song.json", "--map", "map.json"],
            "the map map.json can't be used: ",
        ),
        (
            &["export", "song.json", "--out", "a.mid", "--bars", "70-80"],
            "there are no bars 70-80: bars go from 1 to 77 in this song",
        ),
        (
            &["export", "song.json", "--out", "song.json"],
            "song.json is the song itself: choose another name",
        ),
        (
            &[
                "lock",
                "song.json",
                "--section",
                "Riff",
                "--from",
                "none.mid",
            ],
            "could not read none.mid: ",
        ),
        (
            &["riff", "song.json", "--out", "a.json"],
            "song.json gives no riff: ",
        ),
        (
            &["riff", "song.json", "--out", "a.json", "--bar", "900"],
            "the song has only 77 bars: choose one from 1 to 77",
        ),
    ] {
        let output = run(folder, line);
        let (_, wrong) = texts(&output);
        assert!(wrong.starts_with(expected), "{line:?}: {wrong}");
        assert_eq!(wrong.lines().count(), 1, "{line:?}: {wrong}");
        assert_eq!(output.status.code(), Some(1), "{line:?}");
    }
}

/// The exit code is 2, and the standard error says what can be written.
#[test]
fn a_command_line_that_makes_no_sense_is_answered_with_what_does() {
    let folder = folder();
    for (line, expected) in [
        (&["chekc", "a.mid"][..], "'check'"),
        (&["check"], "<FILE>"),
        (
            &["check", "a.mid", "--player", "nobody"],
            "everyday, skilled, extreme, machine",
        ),
        (&["check", "a.mid", "--loud"], "unexpected argument"),
        (
            &["check", "a.mid", "--bpm", "0"],
            "a tempo is a number from 1 to 1000",
        ),
        (
            &["export", "song.json", "--out", "a.mid", "--feel", "2"],
            "0 (the exact grid) to 1",
        ),
        (
            &["onsets", "a.wav", "--sensitivity", "9"],
            "use a number from 0 to 1",
        ),
        (&["--out"], "option"),
    ] {
        if has_window() && line == ["--out"] {
            continue;
        }
        let output = run(folder.path(), line);
        let (out, wrong) = texts(&output);
        assert!(wrong.contains(expected), "{line:?}: {wrong}");
        assert!(
            out.is_empty() && !wrong.contains("panicked"),
            "{line:?}: {wrong}"
        );
        assert_eq!(output.status.code(), Some(2), "{line:?}");
    }
}

/// Built without the window, it says how to build it, with the option that was meant for it.
#[test]
fn without_a_window_it_says_how_to_build_one() {
    if has_window() {
        println!("Skipped: this one has a window.");
        return;
    }
    let folder = folder();
    for line in [&[][..], &["--backend", "dummy"]] {
        let output = run(folder.path(), line);
        let (out, wrong) = texts(&output);
        assert!(
            out.is_empty() && wrong.contains("cargo run --release --features standalone"),
            "{line:?}: {wrong}"
        );
        assert_eq!(output.status.code(), Some(2));
    }
    let (help, _) = texts(&run(folder.path(), &["--help"]));
    assert!(
        help.contains("cargo run --release --features standalone"),
        "{help}"
    );
}

/// Built with the window, its options go to the framework as they are: its help stands under ours.
#[cfg(feature = "standalone")]
#[test]
fn options_go_to_the_framework() {
    if !has_window() {
        println!("Skipped: this one has no window.");
        return;
    }
    let folder = folder();
    let output = run(folder.path(), &["--help"]);
    let (help, _) = texts(&output);
    assert!(
        help.contains("onsets") && help.contains("--period-size"),
        "{help}"
    );
    assert_eq!(output.status.code(), Some(0));
    let output = run(folder.path(), &["--backend", "nothing"]);
    let (_, wrong) = texts(&output);
    assert!(
        wrong.contains("nothing") && wrong.contains("dummy"),
        "{wrong}"
    );
    // The framework names its backends, each system its own.
    let card = format!(" {},", fourlimb::plugin::standalone::CARD);
    assert!(wrong.contains(&card), "{wrong}");
    assert_eq!(output.status.code(), Some(2));
}

/// As `fourlimb export … | head` does.
#[test]
fn a_reader_that_has_enough_is_no_failure() {
    let folder = folder();
    let (reader, writer) = std::io::pipe().unwrap();
    drop(reader);
    let mut program = program(folder.path(), &["export", "song.json", "--out", "a.mid"]);
    let output = program
        .stdout(writer)
        .stderr(Stdio::piped())
        .output()
        .unwrap();
    assert_eq!(
        (texts(&output).1.as_str(), output.status.code()),
        ("", Some(0))
    );
    assert!(folder.path().join("a.mid").exists());
}

#[cfg(target_os = "linux")]
#[test]
fn an_output_that_can_not_be_written_is_a_failure() {
    let folder = folder();
    let full = fs::OpenOptions::new()
        .write(true)
        .open("/dev/full")
        .unwrap();
    let mut program = program(folder.path(), &["export", "song.json", "--out", "a.mid"]);
    let output = program
        .stdout(full)
        .stderr(Stdio::piped())
        .output()
        .unwrap();
    let (_, wrong) = texts(&output);
    assert!(wrong.starts_with("could not write the output: "), "{wrong}");
    assert_eq!((wrong.lines().count(), output.status.code()), (1, Some(1)));
}

#[cfg(unix)]
#[test]
fn a_name_that_is_no_unicode_is_a_name() {
    use std::os::unix::ffi::OsStrExt;
    let folder = folder();
    let name = std::ffi::OsStr::from_bytes(b"caf\xe9.mid");
    let mut program = program(folder.path(), &["export", "song.json", "--out"]);
    assert!(program.arg(name).output().unwrap().status.success());
    assert!(folder.path().join(name).exists());
}

/// The notes of a chart become a beat, the beat a file, and the song has it.
#[test]
fn a_beat_is_taught_shared_and_given_to_a_song() {
    let folder = folder();
    let folder = folder.path();
    let chart =
        "hi-hat |x-x-|x-x-|x-x-|x-x-|\nsnare |----|O---|----|O---|\nkick |o--o|----|--o-|----|\n";
    fs::write(folder.join("chart.txt"), chart).unwrap();
    let done = |line: &[&str], expected: &str| {
        let output = run(folder, line);
        let (out, wrong) = texts(&output);
        assert!(
            out.ends_with(expected) && wrong.is_empty(),
            "{line:?}: {out}{wrong}"
        );
        assert_eq!(output.status.code(), Some(0));
        out
    };
    done(
        &[
            "teach",
            "--text",
            "chart.txt",
            "--name",
            "limping",
            "--out",
            "beat.json",
        ],
        "Beat \"limping\": beat.json\n",
    );
    let beat = fs::read_to_string(folder.join("beat.json")).unwrap();
    let beat = fourlimb::song::own_beat::parse(&beat).unwrap();
    assert_eq!(beat.name, "limping");
    done(
        &["export", "song.json", "--out", "song.mid"],
        "written to song.mid\n",
    );
    let line = [
        "teach",
        "song.mid",
        "--bars",
        "5-8",
        "--song",
        "song.json",
        "--slot",
        "3",
    ];
    let out = done(
        &line,
        "Song: song.json; a section plays \"song\" with \"style\": \"own 3\"\n",
    );
    assert!(out.starts_with("bars 5-8: a cycle of "), "{out}");
    let song = fs::read_to_string(folder.join("song.json")).unwrap();
    let song = fourlimb::song::SongFile::parse(&song).unwrap();
    assert_eq!(song.own_beats[&3].name, "song");
    // The song with it plays as before, until a section asks for it.
    done(
        &["export", "song.json", "--out", "again.mid"],
        "written to again.mid\n",
    );
    assert_eq!(
        fs::read(folder.join("again.mid")).unwrap(),
        fs::read(folder.join("song.mid")).unwrap()
    );
}

#[test]
fn what_cannot_be_taught_is_said_with_its_remedy() {
    let folder = folder();
    let folder = folder.path();
    fs::write(folder.join("chart.txt"), "zither |x---|\n").unwrap();
    fs::write(
        folder.join("good.txt"),
        "kick |o---|o---|\nsnare |--o-|--o-|\n",
    )
    .unwrap();
    for (line, expected) in [
        (
            &["teach", "--text", "chart.txt", "--out", "beat.json"][..],
            "line 1: no piece is called \"zither\"",
        ),
        (
            &["teach", "none.mid", "--out", "beat.json"],
            "there is no such file",
        ),
        (
            &["teach", "song.json", "--out", "beat.json"],
            "song.json can't be made a beat",
        ),
        (
            &[
                "teach",
                "--text",
                "good.txt",
                "--cycle",
                "5",
                "--out",
                "beat.json",
            ],
            "a cycle of 5 bars is not 1 to 1",
        ),
    ] {
        let output = run(folder, line);
        let (out, wrong) = texts(&output);
        assert!(wrong.contains(expected), "{line:?}: {out}{wrong}");
        assert_eq!(output.status.code(), Some(1), "{line:?}");
        assert!(!folder.join("beat.json").exists());
    }
    // Neither a file nor another beat of the song is replaced without being asked to.
    let teach = ["teach", "--text", "good.txt"];
    for (name, code) in [("one", 0), ("other", 1)] {
        let to_song = ["--name", name, "--song", "song.json", "--slot", "1"];
        let line: Vec<_> = teach.iter().chain(&to_song).copied().collect();
        let output = run(folder, &line);
        assert_eq!(output.status.code(), Some(code), "{}", texts(&output).1);
    }
    let output = run(
        folder,
        &["teach", "--text", "good.txt", "--song", "song.json"],
    );
    assert_eq!(output.status.code(), Some(2));
}
