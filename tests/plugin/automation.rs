//! Automation actions at its sample.

use super::{Automation, QUARTER, host, ons, rolling, set};

const HI_HAT_CLOSED: u8 = 42;
const CHINA: u8 = 52;

/// Bar 2 of the default beat with a change of a parameter at a sample of it, in one block a quarter.
fn bar_with(name: &str, text: &str, at: u32) -> Vec<(u32, u8, u8)> {
    let mut host = host();
    set(&mut host, "Hand cymbal", "hi-hat closed");
    set(&mut host, "Looseness", "0");
    let param = host.param(name).unwrap().id;
    let value = host.parse(param, text).unwrap();
    let start = QUARTER * 4;
    let mut notes = Vec::new();
    for block in (start..start * 2).step_by(6000) {
        let change = Automation {
            sample: (start + at).saturating_sub(block),
            param,
            value,
        };
        let due = (block..block + 6000).contains(&(start + at));
        let changes = if due { vec![change] } else { vec![] };
        let sent = host.block(&rolling(block), &changes, 6000).unwrap();
        notes.extend(
            sent.into_iter()
                .map(|note| (block - start + note.sample, note)),
        );
    }
    ons(&notes)
}

/// The keys struck at a sample.
fn keys(notes: &[(u32, u8, u8)], at: u32) -> Vec<u8> {
    notes
        .iter()
        .filter(|note| note.0 == at)
        .map(|note| note.1)
        .collect()
}

#[test]
fn the_hand_cymbal_moves_on_the_very_stroke() {
    // The third quarter of the bar is struck at sample 48000.
    let third = QUARTER * 2;
    let before = bar_with("Hand cymbal", "china", third);
    assert!(keys(&before, third).contains(&CHINA), "{before:?}");
    let after = bar_with("Hand cymbal", "china", third + 1);
    assert!(keys(&after, third).contains(&HI_HAT_CLOSED), "{after:?}");
    assert!(keys(&after, QUARTER * 3).contains(&CHINA));
}

#[test]
fn intensity_acts_on_the_very_stroke() {
    let third = QUARTER * 2;
    let velocity = |notes: &[(u32, u8, u8)]| {
        notes
            .iter()
            .find(|n| n.0 == third && n.1 == HI_HAT_CLOSED)
            .unwrap()
            .2
    };
    let soft = velocity(&bar_with("Intensity", "100", third + 1));
    let hard = velocity(&bar_with("Intensity", "100", third));
    assert!(hard > soft + 10, "{soft} {hard}");
}

#[test]
fn density_acts_on_the_next_stroke() {
    let bare = bar_with("Density", "0", 0);
    let full = bar_with("Density", "100", 0);
    assert!(full.len() > bare.len());
    // From the middle of the bar on: the first half is the one, the second half the other.
    let half = QUARTER * 2;
    let mixed = bar_with("Density", "100", half);
    let default_density = bar_with("Phrase", "4 bars", 0);
    let first = |notes: &[(u32, u8, u8)]| notes.iter().filter(|n| n.0 < half).count();
    let second = |notes: &[(u32, u8, u8)]| notes.iter().filter(|n| n.0 >= half).count();
    assert_eq!(first(&mixed), first(&default_density));
    assert_eq!(second(&mixed), second(&full));
}

#[test]
fn style_waits_for_the_bar_line() {
    let half = QUARTER * 2;
    let blast = bar_with("Beat", "blast", half);
    assert_eq!(
        blast,
        bar_with("Phrase", "4 bars", 0),
        "the bar goes on as it began"
    );
    let on_the_line = bar_with("Beat", "blast", 0);
    assert!(
        on_the_line.len() > blast.len(),
        "a change on the line is that bar's"
    );
    let late = bar_with("Beat", "blast", 500);
    assert_eq!(
        late[late.len() - 4..],
        on_the_line[on_the_line.len() - 4..],
        "a late host's too"
    );
}

#[test]
fn style_may_switch_at_the_count() {
    let mut host = host();
    set(&mut host, "Switch at", "count");
    set(&mut host, "Density", "0");
    set(&mut host, "Looseness", "0");
    let param = host.param("Beat").unwrap().id;
    let value = host.parse(param, "double-kick").unwrap();
    let start = QUARTER * 4;
    let change = Automation {
        sample: 100,
        param,
        value,
    };
    let mut kicks = Vec::new();
    for (i, block) in (start..start * 2).step_by(QUARTER as usize).enumerate() {
        let changes = if i == 1 { vec![change] } else { vec![] };
        let mut at = 0;
        while at < QUARTER {
            let changes = if at == 0 { &changes[..] } else { &[] };
            let sent = host.block(&rolling(block + at), changes, 6000).unwrap();
            kicks.extend(
                sent.iter()
                    .filter(|n| n.key == 36 && n.velocity.is_some())
                    .map(|_| i),
            );
            at += 6000;
        }
    }
    // Rock has a kick on 1 and 3; the double kick begins on count 3, after the change in count 2.
    assert_eq!(kicks, [0, 2, 2, 2, 2, 3, 3, 3, 3]);
}
