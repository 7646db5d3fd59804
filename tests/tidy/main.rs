//! The walls between the rooms, as tests: what the core must not know, how long a file may be.

#![allow(missing_docs, clippy::unwrap_used)]

mod circles;

use serde_json::Value;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Every source file below a folder of the project.
fn sources(folder: &str) -> Vec<(PathBuf, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let mut files = Vec::new();
    let mut folders = vec![root];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|ext| ext == "rs") {
                let text = fs::read_to_string(&path).unwrap();
                files.push((path, text));
            }
        }
    }
    assert!(!files.is_empty(), "{folder} has no sources");
    files
}

/// The rooms of the core: everything but the shell, the editor, the stand-alone and the files.
fn core() -> Vec<(PathBuf, String)> {
    let mut files = sources("src");
    files.retain(|(path, _)| {
        let room = path
            .strip_prefix(Path::new(env!("CARGO_MANIFEST_DIR")).join("src"))
            .unwrap();
        let room = room
            .components()
            .next()
            .unwrap()
            .as_os_str()
            .to_string_lossy()
            .into_owned();
        let shell = [
            "plugin", "editor", "bridge", "params", "project", "files", "cli", "main", "lib",
        ];
        !shell.contains(&room.trim_end_matches(".rs"))
    });
    files
}

/// Design, house rule 1: the core knows no framework, host, thread, file or clock, and iterates no
/// map of random order.
#[test]
fn the_core_is_walled_off() {
    let forbidden = [
        "nice_plug",
        "egui",
        "triple_buffer",
        "std::time",
        "std::thread",
        "std::fs",
        "std::sync",
        "std::env",
        "HashMap",
        "HashSet",
        "thread_rng",
        "println!",
    ];
    for (path, text) in core() {
        // A table that is filled once, before anything is composed.
        let text = text.replace("use std::sync::LazyLock;", "");
        for word in forbidden {
            assert!(
                !text.contains(word),
                "{} must not use {word}",
                path.display()
            );
        }
    }
}

/// The rooms in the order of dependence, as DEVELOPERS.md lists them: a room knows those before it.
const ROOMS: [&str; 19] = [
    "choice",
    "time",
    "kit",
    "midi",
    "settings",
    "riff",
    "groove",
    "check",
    "song",
    "transport",
    "engine",
    "recorder",
    "export",
    "preview",
    "files",
    "project",
    "params",
    "bridge",
    "editor",
];

/// What comes last: the shell and the program, which know everything and are known by nobody but the library's own
/// file.
const LAST: [&str; 2] = ["plugin", "cli"];

/// The room of a source file: its folder in `src`, or its own name there.
fn room(path: &Path) -> String {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let first = path.strip_prefix(src).unwrap().components().next().unwrap();
    let name = first.as_os_str().to_string_lossy();
    name.trim_end_matches(".rs").to_owned()
}

/// Design, section 4: no room knows a later one.
#[test]
fn a_room_knows_those_before_it() {
    for (path, text) in sources("src") {
        let room = room(&path);
        let Some(place) = ROOMS.iter().position(|name| *name == room) else {
            let known = LAST.contains(&&*room) || ["lib", "main"].contains(&&*room);
            assert!(known, "{room} has no place in the order of rooms");
            continue;
        };
        for later in ROOMS[place + 1..].iter().chain(&LAST) {
            let used = format!("crate::{later}");
            let uses = text
                .lines()
                .any(|line| !line.trim_start().starts_with("//") && line.contains(&used));
            assert!(!uses, "{} must not use {used}", path.display());
        }
    }
}

/// Files that may be longer than 500 lines, each with its reason.
const LONG: [(&str, &str); 1] = [("src/groove/vocabulary.rs", "one entry a beat: data")];

#[test]
fn files_can_be_held_in_the_head() {
    for folder in ["src", "xtask/src", "fuzz/src", "tests"] {
        for (path, text) in sources(folder) {
            let listed = LONG.iter().any(|(name, _)| path.ends_with(name));
            let lines = text.lines().count();
            assert!(
                listed || lines <= 500,
                "{} has {lines} lines",
                path.display()
            );
        }
    }
}

#[test]
fn every_file_says_what_it_is_for() {
    for folder in ["src", "xtask/src", "fuzz/src", "tests"] {
        for (path, text) in sources(folder) {
            assert!(
                text.starts_with("//! "),
                "{} has no first line",
                path.display()
            );
        }
    }
}

/// Module files are `x.rs` beside `x/`.
#[test]
fn no_mod_rs() {
    for (path, _) in sources("src").into_iter().chain(sources("xtask/src")) {
        assert!(!path.ends_with("mod.rs"), "{}", path.display());
    }
}

/// What the audio thread runs: nothing there locks, waits, logs, or frees by the way. What is made when the plugin
/// is switched on stands outside of these files, or says so in its line.
#[test]
fn the_audio_thread_takes_no_lock() {
    let mut files = sources("src/plugin/audio");
    files.extend(sources("src/engine"));
    files.extend(sources("src/groove"));
    files.extend(sources("src/transport"));
    let words = [
        "Mutex",
        "RwLock",
        ".lock()",
        "Condvar",
        "mpsc",
        "std::fs",
        "println!",
        "eprintln!",
        "thread::sleep",
        ".join()",
        "format!",
        "to_string()",
        "Rc<",
        "panic!",
        "unwrap()",
        "todo!",
    ];
    // A room's own tests are not of the audio thread.
    files.retain(|(path, _)| !path.ends_with("tests.rs"));
    // Own beats are read, learned and made ready on the main thread. What the audio thread plays of them is in these.
    let played = ["own/fit.rs", "own/sheet.rs", "own/strokes.rs"];
    files.retain(|(path, _)| {
        let of_own = path.to_string_lossy().contains("groove/own/");
        !of_own || played.iter().any(|file| path.ends_with(file))
    });
    for (path, text) in files {
        let text = text.split("#[cfg(test)]").next().unwrap();
        for (number, line) in text.lines().enumerate() {
            let code = line.split("//").next().unwrap();
            // The kit is rendered when the host activates, never while it plays.
            let at_activation = path.ends_with("audio/preview.rs");
            for word in words {
                let ok = !code.contains(word) || at_activation || code.contains("debug_assert");
                assert!(ok, "{}:{}: {word}", path.display(), number + 1);
            }
        }
    }
}

/// The README's table lists every beat with its description.
#[test]
fn the_readme_lists_every_beat() {
    let readme = Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md");
    let readme = fs::read_to_string(readme).unwrap();
    for beat in &fourlimb::groove::vocabulary::VOCABULARY {
        let row = format!("| {} | {} |", beat.name(), beat.about());
        assert!(readme.contains(&row), "the README lacks the row: {row}");
    }
}

/// The crates of this project by name, each with those of them that it depends on, for tests too.
fn crates() -> BTreeMap<String, Vec<String>> {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let told = Command::new(cargo)
        .args([
            "metadata",
            "--no-deps",
            "--offline",
            "--format-version",
            "1",
        ])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap();
    let told: Value = serde_json::from_slice(&told.stdout).unwrap();
    let name = |of: &Value| of["name"].as_str().unwrap().to_owned();
    let packages = told["packages"].as_array().unwrap();
    let all: Vec<_> = packages.iter().map(name).collect();
    let known = |package: &Value| {
        let needed = package["dependencies"].as_array().unwrap().iter().map(name);
        needed.filter(|needed| all.contains(needed)).collect()
    };
    packages
        .iter()
        .map(|package| (name(package), known(package)))
        .collect()
}

/// No crate of the project depends on one that depends on it, be it for its tests alone.
#[test]
fn no_circle_of_crates() {
    let mut left = crates();
    assert!(left["fourlimb"].contains(&"hosting".to_owned()));
    assert!(left["xtask"].contains(&"fourlimb".to_owned()));
    // Takes away whatever depends on nothing that is left; a circle stays.
    loop {
        let names: Vec<_> = left.keys().cloned().collect();
        let before = left.len();
        left.retain(|_, needed| needed.iter().any(|name| names.contains(name)));
        if left.len() == before {
            break;
        }
    }
    assert!(left.is_empty(), "a circle of crates: {left:?}");
}
