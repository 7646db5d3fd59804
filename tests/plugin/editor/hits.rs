//! Hits of the band, marked below the lanes: by accessible names and by keys.

use super::chart::{Host, keeper, page, press, sections};
use super::{Harness, Role, SettingId, text};
use egui::Key;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use fourlimb::editor::drawers::Drawer;
use fourlimb::editor::text::chart as chart_words;
use fourlimb::editor::text::hits as words;
use fourlimb::groove::Stab;
use fourlimb::riff::{Attack, Riff};
use fourlimb::song::hits::HitRow;

const BAR: i64 = 3840;

/// A section of 8 bars that is followed, over a riff with a strong stroke on 2 and, before half a bar of silence.
fn riffed() -> Harness<'static, Host> {
    let mut harness = page();
    press(&mut harness, chart_words::NEW);
    harness.key_press(Key::Enter);
    harness.run();
    harness.key_press(Key::Escape);
    harness.run();
    let attacks = (0..8).flat_map(|bar| {
        [
            (0, 0.5),
            (240, 0.4),
            (480, 0.4),
            (720, 0.4),
            (1440, 1.0),
            (3360, 0.6),
        ]
        .map(|(at, strength)| Attack {
            tick: bar * BAR + at,
            strength,
        })
    });
    let riff = Riff::new(attacks, 0, 8 * BAR);
    keeper(&harness).change_riff(|kept| *kept = riff);
    harness.state_mut().values.set(SettingId::FollowChart, 1.0);
    harness.run();
    harness
}

fn hits(harness: &Harness<'_, Host>) -> Vec<Stab> {
    sections(harness)[0]
        .hits
        .iter()
        .map(|HitRow(hit)| *hit)
        .collect()
}

#[test]
fn a_stroke_of_the_guitar_becomes_a_hit_and_is_none_again() {
    let mut harness = riffed();
    let on = |held| words::place(1, "2 and", held, false);
    assert_eq!(hits(&harness), []);
    // Silence follows, so it is a short one first.
    press(&mut harness, &on(None));
    assert_eq!(
        hits(&harness),
        [Stab {
            at: 1440,
            held: false
        }]
    );
    press(&mut harness, &on(Some(false)));
    assert_eq!(
        hits(&harness),
        [Stab {
            at: 1440,
            held: true
        }]
    );
    press(&mut harness, &on(Some(true)));
    assert_eq!(hits(&harness), []);
    press(&mut harness, text::UNDO);
    assert_eq!(
        hits(&harness),
        [Stab {
            at: 1440,
            held: true
        }]
    );
    // In a run the first one is long.
    press(&mut harness, &words::place(1, "1 e", None, false));
    assert_eq!(
        hits(&harness)[0],
        Stab {
            at: 240,
            held: true
        }
    );
    // The drummer catches it, and the lanes say why.
    let caught = harness.query_all_by_role(Role::GraphicsSymbol).any(|node| {
        let node = node.accesskit_node();
        let said = node.description().unwrap_or_default();
        said.contains("a hit of the band")
    });
    assert!(caught);
}

#[test]
fn hits_are_suggested_and_taken_up_one_by_one() {
    let mut harness = riffed();
    let suggested = words::place(1, "2 and", None, true);
    assert!(harness.query_by_label(&suggested).is_none());
    harness.state_mut().panel.drawer = Some(Drawer::Guitar);
    harness.run();
    harness
        .get_by_role_and_label(Role::CheckBox, words::SUGGEST.0)
        .click();
    harness.run();
    assert_eq!(hits(&harness), [], "nothing is taken up by itself");
    assert!(
        harness
            .query_by_label(&words::place(1, "1 e", None, true))
            .is_none(),
        "weak"
    );
    press(&mut harness, &suggested);
    press(&mut harness, &words::place(2, "2 and", None, true));
    let ticks: Vec<_> = hits(&harness).iter().map(|hit| hit.at).collect();
    assert_eq!(ticks, [1440, BAR + 1440]);
}

#[test]
fn hits_are_marked_with_keys() {
    let mut harness = riffed();
    harness.get_by_label(&words::count(0)).focus();
    harness.run();
    for key in [Key::ArrowRight, Key::ArrowRight, Key::ArrowLeft, Key::Enter] {
        harness.key_press(key);
        harness.run();
    }
    assert_eq!(hits(&harness).len(), 1);
    assert_eq!(hits(&harness)[0].at, 240);
}

/// Where no section holds them, and where one is locked, nothing happens.
#[test]
fn hits_belong_to_sections() {
    let mut harness = riffed();
    harness.state_mut().values.set(SettingId::FollowChart, 0.0);
    harness.run();
    press(&mut harness, &words::place(1, "2 and", None, false));
    assert_eq!(hits(&harness), []);
}
