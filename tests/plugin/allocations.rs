//! The audio thread never allocates. Every hosted test runs under the framework's check, which
//! aborts the program on an allocation in `process`; here is the proof that the check bites.

use std::process::Command;

/// A canary: allocates where allocating is forbidden. Run by the test below, in a child.
#[test]
#[ignore = "aborts the program: run as a child by the test beside it"]
fn canary() {
    nice_assert_no_alloc::assert_no_alloc(|| std::hint::black_box(Box::new([0_u8; 64])));
}

#[test]
fn an_allocation_would_be_caught() {
    let child = Command::new(std::env::current_exe().unwrap())
        .args(["--ignored", "--exact", "allocations::canary"])
        .output()
        .unwrap();
    assert!(
        !child.status.success(),
        "the allocation check is not installed"
    );
    let said = String::from_utf8_lossy(&child.stderr) + String::from_utf8_lossy(&child.stdout);
    assert!(
        said.contains("canary") || said.contains("alloc"),
        "it failed otherwise: {said}"
    );
}

/// The densest music there is: no allocation, no panic.
#[test]
fn everything_at_once_allocates_nothing() {
    let mut host = super::host();
    for (name, text) in [
        ("Beat", "gravity blast"),
        ("Density", "100%"),
        ("Fill chance", "100%"),
        ("Phrase", "2 bars"),
    ] {
        super::set(&mut host, name, text);
    }
    let notes = super::roll(&mut host, 0, 2_000_000, 1024);
    // Bars of 32 notes and more, every other one with a fill in its place.
    assert!(notes.len() > 1000, "{}", notes.len());
}
