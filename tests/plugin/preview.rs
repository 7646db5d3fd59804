//! The preview in a host: heard at its stroke, off in one click and then free, within limits.

use super::{Automation, QUARTER, host, roll, rolling, set, standing};
use hosting::host::{Host, Sent};
use hosting::sound::Sound;

fn loudest(host: &Host, frames: u32) -> f32 {
    let [left, right] = host.heard(frames);
    left.iter()
        .chain(right)
        .fold(0.0, |peak, x| peak.max(x.abs()))
}

#[test]
fn a_fresh_instance_is_heard_at_its_first_stroke() {
    let mut host = host();
    set(&mut host, "Looseness", "0");
    let sent = host.block(&rolling(0), &[], 512).unwrap();
    let first = sent
        .iter()
        .find(|note| note.velocity.is_some())
        .unwrap()
        .sample as usize;
    let [left, _] = host.heard(512);
    // The limiter looks ahead by 1 ms.
    let ahead = 48;
    assert!(
        left[..first + ahead].iter().all(|x| *x == 0.0),
        "silent before the stroke"
    );
    assert!(
        left[first + ahead..].iter().any(|x| x.abs() > 0.01),
        "heard after it"
    );
}

#[test]
fn off_lets_go_and_costs_no_sound() {
    let mut host = host();
    roll(&mut host, 0, QUARTER, 512);
    assert!(loudest(&host, 512) > 0.0);
    let param = host.param("Preview").unwrap().id;
    let off = Automation {
        sample: 0,
        param,
        value: 0.0,
    };
    host.block(&rolling(QUARTER), &[off], 1024).unwrap();
    let notes = roll(&mut host, QUARTER + 1024, QUARTER * 5, 512);
    assert!(
        notes.iter().any(|(_, note)| note.velocity.is_some()),
        "the notes go on"
    );
    assert_eq!(loudest(&host, 512), 0.0);
}

#[test]
fn it_rings_out_after_a_stop() {
    let mut host = host();
    roll(&mut host, 0, QUARTER / 4, 512);
    let mut levels = Vec::new();
    for _ in 0..400 {
        assert!(
            host.block(&standing(QUARTER), &[], 512)
                .unwrap()
                .iter()
                .all(|n| n.velocity.is_none())
        );
        levels.push(loudest(&host, 512));
    }
    assert!(
        levels[..10].iter().all(|level| *level > 1e-4),
        "the opening crash rings on"
    );
    assert_eq!(levels.last(), Some(&0.0), "and is over in the end");
}

#[test]
fn the_note_map_and_the_blocks_do_not_matter() {
    let render = |block: u32| {
        let mut host = host();
        let mut sound = Sound::new(48_000);
        for at in (0..QUARTER * 4).step_by(block as usize) {
            host.block(&rolling(at), &[], block).unwrap();
            let [left, right] = host.heard(block);
            sound.add(left, right);
        }
        sound
    };
    let (one, other) = (render(480), render(96));
    let apart = one.left.iter().zip(&other.left).map(|(a, b)| (a - b).abs());
    assert!(apart.fold(0.0, f32::max) < 1e-4);
}

/// The densest block is still nothing but copies: no allocation (the framework's check is on), and
/// the voices that were ringing are gone after a reset.
#[test]
fn a_reset_is_silent_at_once() {
    let mut host = host();
    let _: Vec<(u32, Sent)> = roll(&mut host, 0, QUARTER, 512);
    host.reset();
    host.block(&standing(QUARTER), &[], 512).unwrap();
    assert_eq!(loudest(&host, 512), 0.0);
}
