//! A test once more in a process of its own, which may abort, hang or grow without harm to the others.

use crate::window::ended;
use std::io::{Read, Seek};
use std::process::{Command, Stdio};
use std::time::Duration;

/// Set in the process inside.
const INSIDE: &str = "FOURLIMB_TEST_INSIDE";

/// Whether this is the process inside.
pub(super) fn is_inside() -> bool {
    std::env::var_os(INSIDE).is_some()
}

/// Runs a test of this binary in a process of its own, with `display` as its X server; it must succeed within
/// `patience`. Returns what it printed.
pub(super) fn run(test: &str, display: Option<&str>, patience: Duration) -> String {
    let folder = tempfile::tempdir().unwrap();
    let mut said = tempfile::tempfile().unwrap();
    let mut command = Command::new(std::env::current_exe().unwrap());
    command
        .args([
            &format!("conformance::{test}"),
            "--exact",
            "--include-ignored",
            "--nocapture",
        ])
        .env(INSIDE, "1")
        .env("RUST_BACKTRACE", "0")
        .env("FOURLIMB_CONFIG", folder.path())
        .env_remove("WAYLAND_DISPLAY")
        .env_remove("DISPLAY")
        .stdin(Stdio::null())
        .stdout(said.try_clone().unwrap())
        .stderr(said.try_clone().unwrap());
    if let Some(display) = display {
        command.env("DISPLAY", display);
    }
    let mut child = command.spawn().unwrap();
    let status = ended(&mut child, patience);
    let mut text = String::new();
    said.rewind().unwrap();
    said.read_to_string(&mut text).unwrap();
    let from = text.char_indices().rev().nth(3000).map_or(0, |(at, _)| at);
    let end = &text[from..];
    let status = status.unwrap_or_else(|| panic!("the host hung. Its last words:\n{end}"));
    assert!(
        status.success(),
        "the host ended with {status}. Its last words:\n{end}"
    );
    text
}
