//! What hosts have saved must stay true: ids, slots, texts.

use fourlimb::params::FourlimbParams;
use nice_plug::prelude::Params;
use std::fmt::Write as _;

/// The frozen list. A line may be added, and a free style slot may get a beat; nothing else may
/// change, ever.
const FROZEN: &str = include_str!("frozen.txt");

#[test]
fn ids_slots_and_texts_are_frozen() {
    let mut host = super::host();
    let mut now = String::new();
    for ((id, _, _), param) in FourlimbParams::default()
        .param_map()
        .into_iter()
        .zip(host.params().to_vec())
    {
        let (min, max) = param.range;
        let _ = writeln!(
            now,
            "{id} = {} [{min}..{max}] default {}",
            param.name, param.default
        );
        // Choices have a text for each place; the take is a plain number.
        let places = (0..64_u32).filter(|&step| max < 64.0 && f64::from(step) <= max);
        for step in places {
            let _ = writeln!(
                now,
                "    {step}: {}",
                host.show(param.id, f64::from(step)).unwrap()
            );
        }
    }
    if std::env::var_os("UPDATE_FROZEN").is_some() {
        std::fs::write("tests/plugin/frozen.txt", &now).unwrap();
        return;
    }
    for (line, (frozen, now)) in FROZEN.lines().zip(now.lines()).enumerate() {
        assert_eq!(frozen, now, "line {} of tests/plugin/frozen.txt", line + 1);
    }
    assert_eq!(FROZEN.lines().count(), now.lines().count());
}

/// Every text that the plugin shows, it reads.
#[test]
fn shown_texts_can_be_typed() {
    let mut host = super::host();
    for param in host.params().to_vec() {
        let (min, max) = param.range;
        for i in 0..=100 {
            let value = min + (max - min) * f64::from(i) / 100.0;
            let shown = host.show(param.id, value).unwrap();
            let read = host.parse(param.id, &shown).unwrap();
            assert_eq!(
                host.show(param.id, read).unwrap(),
                shown,
                "{} at {value}",
                param.name
            );
        }
        assert!(
            host.parse(param.id, "no such thing").is_err(),
            "{}",
            param.name
        );
    }
}

#[test]
fn every_beat_has_a_slot_and_free_slots_play_the_beat_before() {
    use fourlimb::groove::vocabulary::{VOCABULARY, beat, slot};
    use fourlimb::settings::STYLE_SLOTS;
    for (i, entry) in VOCABULARY.iter().enumerate() {
        assert_eq!(
            slot(entry.name()).map(usize::from),
            Some(i),
            "{} twice?",
            entry.name()
        );
        assert!(!entry.about().is_empty());
    }
    let last = VOCABULARY.last().unwrap().name();
    assert_eq!(beat(STYLE_SLOTS - 1).name(), last);
    assert!(VOCABULARY.len() <= usize::from(STYLE_SLOTS));
}
