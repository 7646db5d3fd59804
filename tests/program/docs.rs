//! The documents name the commands and options that there are.

use fourlimb::cli::command;
use std::fs;
use std::path::{Path, PathBuf};

/// How documents call the program in a clone.
const CALL: &str = "cargo fourlimb ";
/// How they call the program of a download.
const NAME: &str = "fourlimb ";

/// Every document: its path and its text.
fn documents() -> Vec<(PathBuf, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let docs = fs::read_dir(root.join("docs")).unwrap();
    let mut paths: Vec<_> = docs.map(|entry| entry.unwrap().path()).collect();
    paths.retain(|path| path.extension().is_some_and(|ext| ext == "md"));
    paths.extend(["README.md", "DEVELOPERS.md"].map(|name| root.join(name)));
    let text = |path: PathBuf| (path.clone(), fs::read_to_string(path).unwrap());
    paths.into_iter().map(text).collect()
}

/// The words of a command line; what stands in quotes is one.
fn words(line: &str) -> Vec<String> {
    let mut words = Vec::new();
    for (i, part) in line.split('"').enumerate() {
        if i % 2 == 1 {
            words.push(part.to_owned());
        } else {
            words.extend(part.split_whitespace().map(str::to_owned));
        }
    }
    words
}

/// What stands in code blocks can be typed as it is.
#[test]
fn command_lines_in_the_documents_make_sense() {
    let mut seen = 0;
    for (path, text) in documents() {
        for line in text.lines() {
            let line = line.strip_prefix("$ ").unwrap_or(line);
            // With a download the program is called by its name.
            let Some(line) = line
                .strip_prefix("cargo ")
                .unwrap_or(line)
                .strip_prefix(NAME)
            else {
                continue;
            };
            let words = std::iter::once("fourlimb".to_owned()).chain(words(line));
            let parsed = command().try_get_matches_from(words);
            assert!(
                parsed.is_ok(),
                "{}: {line}: {}",
                path.display(),
                parsed.unwrap_err()
            );
            seen += 1;
        }
    }
    assert!(seen >= 8, "{seen}");
}

/// No document calls a command that there is not, or has `xtask` do what the program does.
#[test]
fn the_documents_call_no_other_commands() {
    let names: Vec<_> = command()
        .get_subcommands()
        .map(|command| command.get_name().to_owned())
        .collect();
    for (path, text) in documents() {
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        let after = |call: &str| {
            let calls = text.split(call).skip(1);
            let word = |rest: &str| {
                let letters = rest.chars().take_while(char::is_ascii_alphanumeric);
                letters.collect::<String>()
            };
            calls.map(word).collect::<Vec<_>>()
        };
        for word in after(CALL).iter().filter(|word| !word.is_empty()) {
            assert!(names.contains(word), "{}: {CALL}{word}", path.display());
        }
        for word in after("cargo xtask ") {
            assert!(
                !names.contains(&word),
                "{}: cargo xtask {word}",
                path.display()
            );
        }
    }
}

/// A command and those within it, each with the words that call it.
fn with_those_within(command: &clap::Command, call: &str) -> Vec<(String, clap::Command)> {
    let call = format!("{call}{}", command.get_name());
    let within = command.get_subcommands();
    let within = within.flat_map(|inner| with_those_within(inner, &format!("{call} ")));
    std::iter::once((call.clone(), command.clone()))
        .chain(within)
        .collect()
}

/// Every command is called in some document, which names all its options.
#[test]
fn every_command_and_option_is_in_the_documents() {
    let documents = documents();
    let all = command();
    let commands = all.get_subcommands();
    let mut seen = 0;
    for (call, command) in commands.flat_map(|command| with_those_within(command, CALL)) {
        let told: Vec<_> = documents
            .iter()
            .filter(|(_, text)| text.contains(&call))
            .collect();
        assert!(!told.is_empty(), "no document calls {call}");
        let long = |arg: &clap::Arg| arg.get_long().map(|name| format!("--{name}"));
        for option in command.get_arguments().filter_map(long) {
            let is_named = told.iter().any(|(_, text)| text.contains(&option));
            assert!(is_named, "no document that calls {call} names {option}");
        }
        seen += 1;
    }
    assert!(seen >= 9, "{seen}");
}
