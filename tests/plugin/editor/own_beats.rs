//! Beats: which suit the guitar, tried on with keys, and the songwriter's own.

use super::chart::{Host, keeper, page, press, says};
use super::{Harness, Role, SettingId, text};
use egui::Key;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use fourlimb::editor::own_beats::slot;
use fourlimb::editor::text::own_beats as words;
use fourlimb::groove::vocabulary;
use fourlimb::riff::{Attack, Riff};

const BAR: i64 = 3840;

fn style(harness: &Harness<'_, Host>) -> u8 {
    harness.state().values.settings.bar_settings.style
}

fn open(harness: &mut Harness<'_, Host>) {
    let beat = harness.get_all_by_role(Role::ComboBox).find(|node| {
        let label = node.accesskit_node().label();
        label.is_some_and(|label| label.starts_with(&text::beat("")))
    });
    beat.unwrap().click();
    harness.run();
}

fn key(harness: &mut Harness<'_, Host>, key: Key) {
    harness.key_press(key);
    harness.run();
}

/// Arrow keys try beats on; Escape leaves what was there, Enter keeps what is tried on.
#[test]
fn beats_are_tried_on_with_keys() {
    let mut harness = page();
    assert_eq!(style(&harness), 0);
    open(&mut harness);
    key(&mut harness, Key::ArrowDown);
    key(&mut harness, Key::ArrowDown);
    assert_eq!(style(&harness), 2);
    key(&mut harness, Key::Escape);
    assert_eq!(style(&harness), 0);
    open(&mut harness);
    key(&mut harness, Key::ArrowDown);
    key(&mut harness, Key::Enter);
    assert_eq!(style(&harness), 1);
    open(&mut harness);
    key(&mut harness, Key::Escape);
    assert_eq!(style(&harness), 1, "kept");
}

/// The beats that suit the riff say so, with the reason; others don't. Without a riff none does.
#[test]
fn beats_that_suit_the_guitar_say_why() {
    let suiting = |harness: &Harness<'_, Host>| -> Vec<String> {
        let all = harness.query_all_by_role(Role::ListBoxOption);
        let labels = all.map(|node| node.accesskit_node().label().unwrap_or_default());
        labels
            .filter(|label| label.contains("suits the guitar: kicks on"))
            .collect()
    };
    let mut harness = page();
    open(&mut harness);
    assert_eq!(suiting(&harness), [] as [&str; 0]);
    key(&mut harness, Key::Escape);
    // Every quarter: four on the floor.
    let attacks = (0..32).map(|i| Attack {
        tick: i * 960,
        strength: 0.9,
    });
    let riff = Riff::new(attacks, 0, 8 * BAR);
    keeper(&harness).change_riff(|kept| *kept = riff);
    harness.state_mut().values.set(SettingId::Density, 0.0);
    harness.run();
    open(&mut harness);
    harness.run();
    let found = suiting(&harness);
    assert!(
        found
            .iter()
            .any(|label| label.starts_with("four on the floor, ")),
        "{found:?}"
    );
    assert!(
        !found.iter().any(|label| label.starts_with("double-kick, ")),
        "{found:?}"
    );
}

/// The phrase on show becomes an own beat in one press, plays, can be taken back and forgotten.
#[test]
fn the_phrase_on_show_becomes_a_beat() {
    let mut harness = page();
    let gallop = vocabulary::slot("gallop").unwrap();
    harness
        .state_mut()
        .values
        .set(SettingId::Style, f32::from(gallop));
    harness.run();
    open(&mut harness);
    press(&mut harness, words::KEEP.0);
    assert_eq!(style(&harness), slot(1));
    let kept = keeper(&harness).document().own_beats().kept();
    assert_eq!(kept.keys().copied().collect::<Vec<_>>(), [1]);
    assert!(says(&harness, "is own 1"));
    // It stands in the list, and is the one that plays.
    open(&mut harness);
    let name = words::own(1, &kept[&1].name);
    let entry = harness.get_by_role_and_label(Role::ListBoxOption, &name);
    assert_eq!(
        entry.accesskit_node().toggled(),
        Some(egui::accesskit::Toggled::True)
    );
    press(&mut harness, words::FORGET.0);
    assert!(keeper(&harness).document().own_beats().is_empty());
    press(&mut harness, text::UNDO);
    assert!(!keeper(&harness).document().own_beats().is_empty());
}
