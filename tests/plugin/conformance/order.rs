//! CLAP wants the events of a block in order of time: those of a hand on a control come before later notes.
//!
//! The framework as it is published sends them last (`docs/upstream.md`); the bundles are built with a repaired one.

use super::{children, clap_host};
use crate::dragging::places::{middle, shown};
use crate::dragging::{Desk, RELEASE};
use crate::window::{PATIENCE, Server};
use anyhow::{Result, ensure};
use egui_kittest::kittest::Queryable as _;
use fourlimb::settings::SettingId;
use hosting::host::{Blocks, Guitar, Transport};
use std::sync::atomic::{AtomicBool, Ordering::Relaxed};
use std::time::Duration;

/// Samples in a block: at the tempo of the test, notes fall into each.
const FRAMES: u32 = 4096;
const RATE: f64 = 48_000.0;
const BPM: f64 = 300.0;

#[test]
#[ignore = "asked of a bundle: the framework as it is published breaks the order"]
fn what_a_hand_changes_comes_before_later_notes() {
    if children::is_inside() {
        return turn().unwrap();
    }
    let Some(server) = Server::start() else {
        println!("Skipped: Xvfb is not installed (Debian's package `xvfb`).");
        return;
    };
    let test = "order::what_a_hand_changes_comes_before_later_notes";
    let said = children::run(test, Some(&server.display), PATIENCE * 2);
    let found = said.lines().find(|line| line.contains("Intensity went"));
    println!("{}", found.expect("the process inside says what it did"));
}

/// A hand drags a control while the drummer plays.
fn turn() -> Result<()> {
    let desk = Desk::new()?;
    let mut host = clap_host();
    host.activate(RATE, FRAMES)?;
    host.set("Beat", "bomb blast", FRAMES)?;
    host.set("Density", "100", FRAMES)?;
    desk.open(&mut host)?;
    let name = SettingId::Intensity.name();
    let param = host.param(name)?.id;
    let before = host.value(param);
    let window = shown(None, None);
    let bar = window.get_by_role_and_label(egui::accesskit::Role::Slider, name);
    let from = middle(bar.rect());
    let to = (from.0 + 40, from.1);
    let is_over = AtomicBool::new(false);
    let (blocks, _) = host.split();
    let notes = std::thread::scope(|scope| {
        let audio = scope.spawn(|| play(blocks, &is_over));
        let turned = desk
            .carry(from, to)
            .and_then(|()| desk.hand(RELEASE, 1, to));
        std::thread::sleep(Duration::from_millis(100));
        is_over.store(true, Relaxed);
        turned.and(audio.join().unwrap())
    })?;
    let after = host.value(param);
    host.split().1.close()?;
    ensure!(before != after, "the hand turned nothing: {before:?}");
    ensure!(notes > 100, "{notes} notes are too few");
    println!("Intensity went from {before:?} to {after:?} during {notes} notes");
    // The thread of the window that closed: the framework does not wait for it.
    std::thread::sleep(Duration::from_millis(500));
    Ok(())
}

/// Rolls until it is over, faster than a song is heard; returns how many notes began. The host checks their order.
fn play(blocks: &mut Blocks, is_over: &AtomicBool) -> Result<usize> {
    let (mut at, mut notes) = (0_u32, 0);
    while !is_over.load(Relaxed) {
        let pos = f64::from(at) / RATE * BPM / 60.0;
        let transport = Transport {
            playing: true,
            pos_quarters: Some(pos),
            bpm: Some(BPM),
            bar_quarters: (pos / 4.0).floor() * 4.0,
            ..Transport::AT_REST
        };
        let sent = blocks.run(&transport, &[], &Guitar::default(), FRAMES)?;
        notes += sent.iter().filter(|note| note.velocity.is_some()).count();
        at += FRAMES;
        std::thread::sleep(Duration::from_millis(5));
    }
    Ok(notes)
}
